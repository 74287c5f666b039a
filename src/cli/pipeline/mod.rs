//! From words to steps to files: one grammar for the command line and for recipes.

mod check;
mod commands;
mod complete;
mod grammar;
mod man;
mod named;
mod new;
mod plan;
mod recipe;
mod recognise;
mod run;
mod say;
mod slips;
mod tables;
mod whole;
mod words;

use std::ffi::OsString;
use std::process::ExitCode;

use anyhow::{Result, bail};

use grammar::Word;
use plan::{Origin, Plan};

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
                say::complain(&error);
                ExitCode::from(2)
            }
        },
    }
}

fn dispatch(args: &[OsString]) -> Result<ExitCode> {
    if let Some((ask, words)) = args.split_first()
        && ask == complete::ASK
    {
        return complete::answer(commands::grammar(), words);
    }
    let mut grammar = commands::grammar();
    let mut segments = grammar::segments(args)?.into_iter();
    let first = segments.next().unwrap_or_default();
    let (whole, word) = grammar.first(&first)?;
    match word {
        Word::Step(step) => {
            let mut plan = Plan::default();
            // In front of it options for the whole run may stand.
            let at = first.iter().position(|word| word == step.name);
            let words = &first[at.unwrap_or(0)..];
            plan.steps.push((step, Origin::typed(words)));
            for segment in segments {
                plan.steps
                    .push((grammar.step(&segment)?, Origin::typed(&segment)));
            }
            run::run(vec![plan], whole, std::path::Path::new(""))
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
    recipe::parse(&mut commands::grammar(), name, text, settings).map(|plans| plans.len())
}
