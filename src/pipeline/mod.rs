//! From words to steps to files: one grammar for the command line and for recipes.

mod check;
mod commands;
mod grammar;
mod recipe;
mod recognise;
mod run;

use std::ffi::OsString;
use std::process::ExitCode;

use anyhow::{Result, anyhow, bail};

use crate::bench::{Stop, Voice};
use grammar::{Grammar, Word};
use run::{Plan, Whole};

/// Runs the command with these arguments, the program's own name first, and gives the exit code.
///
/// 0 done, 1 a check said no, 2 trouble.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().skip(1).collect();
    match dispatch(&args) {
        Ok(code) => code,
        Err(error) => match error.downcast::<clap::Error>() {
            // Help and version are no errors; clap knows where each is printed.
            Ok(usage) => {
                let code = if usage.use_stderr() { 2 } else { 0 };
                let _ = usage.print();
                ExitCode::from(code)
            }
            Err(error) => {
                complain(&format!("{error:#}"));
                ExitCode::from(2)
            }
        },
    }
}

fn dispatch(args: &[OsString]) -> Result<ExitCode> {
    let mut grammar = Grammar::new();
    let mut segments = grammar::segments(args)?.into_iter();
    let first = segments.next().unwrap_or_default();
    let (whole, word) = grammar.first(&first)?;
    match word {
        Word::Step(step) => {
            let mut plan = Plan::default();
            plan.add(step, None);
            for segment in segments {
                plan.add(grammar.step(&segment)?, None);
            }
            Ok(run::run(vec![plan], whole, std::path::Path::new("")))
        }
        Word::Command(name, matches) => {
            if segments.next().is_some() {
                bail!("`{name}` is a command of its own and takes no steps behind a +");
            }
            commands::dispatch(&mut grammar, &name, &matches, whole)
        }
    }
}

/// Parses a recipe through the grammar of the command line, runs nothing, and says how many pipelines it has.
///
/// # Errors
/// What is wrong, with `name` and the line.
pub fn parse_recipe(name: &str, text: &str, settings: &[(String, String)]) -> Result<usize> {
    recipe::parse(&mut Grammar::new(), name, text, settings).map(|plans| plans.len())
}

/// An error on standard error, in the one form all errors have.
fn complain(text: &str) {
    use std::io::Write;
    let style = anstyle::AnsiColor::Red.on_default().bold();
    // Nobody is left to tell when standard error is closed.
    let _ = writeln!(anstream::stderr(), "{style}error{style:#}: {text}");
}

impl Whole {
    fn voice(&self, stdout_is_taken: bool) -> Voice {
        Voice {
            quiet: self.quiet,
            json: self.json,
            stdout_is_taken,
            progress: !self.quiet && !self.json,
        }
    }
}

/// A step's stop as an error, for the places where nothing has run yet.
fn stopped(stop: Stop) -> anyhow::Error {
    match stop {
        Stop::SaidNo(text) | Stop::Trouble(text) | Stop::Shown(text) => anyhow!(text),
    }
}
