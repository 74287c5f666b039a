//! Words to steps. The same definitions parse a command line and a recipe line, and print the help.

use std::ffi::OsString;

use anyhow::{Result, anyhow, bail};
use clap::parser::ValueSource;
use clap::{ArgMatches, Args, Command, FromArgMatches};

use super::plan::Step;
use super::slips::improve;
use super::whole::Whole;
use crate::cli::steps;

/// What the first segment of a command line is.
pub enum Word {
    /// The first step of a pipeline.
    Step(Step),
    /// A command of its own.
    Command(String, ArgMatches),
}

/// The whole grammar, built once per run; a step's arguments are built when it is used.
pub struct Grammar {
    root: Command,
}

/// Splits arguments at each lone `+`.
pub fn segments(args: &[OsString]) -> Result<Vec<Vec<OsString>>> {
    let segments: Vec<Vec<OsString>> = args.split(|a| a == "+").map(<[_]>::to_vec).collect();
    if segments.len() > 1 {
        match segments.iter().position(Vec::is_empty) {
            None => {}
            Some(0) => bail!("a step is missing before the first +"),
            Some(i) if i + 1 == segments.len() => bail!("a step is missing behind the last +"),
            Some(_) => bail!("a step is missing between two +"),
        }
    }
    Ok(segments)
}

impl Grammar {
    /// The grammar of the steps and of these commands, each with its line for lists.
    pub fn new(commands: impl Iterator<Item = (Command, &'static str)>) -> Self {
        let (commands, abouts): (Vec<Command>, Vec<&str>) = commands.unzip();
        let list = commands.iter().map(Command::get_name).zip(abouts);
        let overview = overview(list);
        let root = Whole::augment_args(Command::new("romloom"))
            .version(env!("CARGO_PKG_VERSION"))
            .about("Prepares the bytes that go into ROM chips, and proves the bytes that come back out")
            .help_template("{about}\n\n{usage-heading} {usage}{after-help}\n\nOptions, before the first step:\n{options}")
            .override_usage("romloom [OPTIONS] STEP [ARGS] [+ STEP [ARGS]]...\n       romloom [OPTIONS] run RECIPE [--set NAME=VALUE]...")
            .after_help(overview)
            .subcommand_required(true)
            .arg_required_else_help(true)
            .disable_help_subcommand(true)
            .max_term_width(100)
            .subcommands(steps::STEPS.iter().map(steps::Entry::command))
            .subcommands(commands);
        Self { root }
    }

    /// The first segment of a command line: options for the whole run, then a step or a command.
    pub fn first(&mut self, words: &[OsString]) -> Result<(Whole, Word)> {
        let matches = self.matches(words, true)?;
        let whole = Whole::from_arg_matches(&matches)?;
        Ok((whole, self.word(&matches)?))
    }

    /// A further step. Options for the whole run have no place in front of it.
    pub fn step(&mut self, words: &[OsString]) -> Result<Step> {
        let matches = self.matches(words, false)?;
        let misplaced = matches
            .ids()
            .find(|id| matches.value_source(id.as_str()) == Some(ValueSource::CommandLine));
        if let Some(id) = misplaced {
            let option = id.as_str().replace('_', "-");
            bail!("`--{option}` concerns the whole run: put it before the first step");
        }
        match self.word(&matches)? {
            Word::Step(step) => Ok(step),
            Word::Command(name, _) => {
                bail!("`{name}` is a command of its own, not a step: it can't stand behind a +")
            }
        }
    }

    /// The definitions themselves.
    pub fn into_root(self) -> Command {
        self.root
    }

    /// The help of a step or command, or of all, by way of an error that is none.
    pub fn help(&mut self, topic: Option<&str>) -> Result<()> {
        let words = topic.into_iter().chain(["--help"]);
        let words: Vec<OsString> = words.map(OsString::from).collect();
        self.matches(&words, true).map(|_| ())
    }

    /// Parses as if these words stood on a command line; `first` where they begin it.
    fn matches(&mut self, words: &[OsString], first: bool) -> Result<ArgMatches> {
        let line = std::iter::once(OsString::from("romloom")).chain(words.iter().cloned());
        let matches = self.root.try_get_matches_from_mut(line);
        matches.map_err(|e| improve(e, words, &self.root, first))
    }

    fn word(&self, matches: &ArgMatches) -> Result<Word> {
        let (name, matches) = matches
            .subcommand()
            .ok_or_else(|| anyhow!("a step is missing: see `romloom steps`"))?;
        Ok(match steps::STEPS.iter().find(|s| s.name == name) {
            Some(entry) => Word::Step(Step {
                name: entry.name,
                planned: entry.plan(matches)?,
            }),
            None => Word::Command(name.to_owned(), matches.clone()),
        })
    }
}

/// Steps and commands, one line each.
fn overview<'a>(commands: impl Iterator<Item = (&'a str, &'a str)>) -> String {
    let mut out = String::from("Steps:\n");
    for step in steps::STEPS {
        out += &format!("  {:10} {}\n", step.name, step.about);
    }
    out += "\nCommands:\n";
    for (name, about) in commands {
        out += &format!("  {name:10} {about}\n");
    }
    out += "\nFor instance:\n  romloom load monitor.hex basic.s19 + seat 27C256 --at 0x8000 + digest + write chip.bin\n\n`romloom help STEP` explains a step with an example.";
    out
}
