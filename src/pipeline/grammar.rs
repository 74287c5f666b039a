//! Words to steps. The same definitions parse a command line and a recipe line, and print the help.

use std::ffi::OsString;
use std::path::Path;

use anyhow::{Result, anyhow, bail};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::parser::ValueSource;
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches};

use super::run::Whole;
use crate::formats;
use crate::steps::{self, Planned};

/// A parsed step and its name.
pub struct Step {
    /// The word that names it.
    pub name: &'static str,
    /// The step with its arguments.
    pub planned: Box<dyn Planned>,
}

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
    pub fn new() -> Self {
        let root = Whole::augment_args(Command::new("romloom"))
            .version(env!("CARGO_PKG_VERSION"))
            .about("Prepares the bytes that go into ROM chips, and proves the bytes that come back out")
            .help_template("{about}\n\n{usage-heading} {usage}{after-help}\n\nOptions, before the first step:\n{options}")
            .override_usage("romloom [OPTIONS] STEP [ARGS] [+ STEP [ARGS]]...\n       romloom [OPTIONS] run RECIPE [--set NAME=VALUE]...")
            .after_help(overview())
            .subcommand_required(true)
            .arg_required_else_help(true)
            .disable_help_subcommand(true)
            .max_term_width(100)
            .subcommands(steps::STEPS.iter().map(steps::Entry::command))
            .subcommands(super::commands::COMMANDS.iter().map(|c| c.command()));
        Self { root }
    }

    /// The first segment of a command line: options for the whole run, then a step or a command.
    pub fn first(&mut self, words: &[OsString]) -> Result<(Whole, Word)> {
        let matches = self.parse(words)?;
        let whole = Whole::from_arg_matches(&matches)?;
        Ok((whole, self.word(&matches)?))
    }

    /// A further step. Options for the whole run have no place in front of it.
    pub fn step(&mut self, words: &[OsString]) -> Result<Step> {
        let matches = self.parse(words)?;
        let misplaced = matches
            .ids()
            .find(|id| matches.value_source(id.as_str()) == Some(ValueSource::CommandLine));
        if let Some(id) = misplaced {
            let option = id.as_str().replace('_', "-");
            bail!("--{option} concerns the whole run: put it before the first step");
        }
        match self.word(&matches)? {
            Word::Step(step) => Ok(step),
            Word::Command(name, _) => {
                bail!("`{name}` is a command of its own, not a step: it can't stand behind a +")
            }
        }
    }

    /// Parses as if these words stood on a command line.
    pub fn parse(&mut self, words: &[OsString]) -> Result<ArgMatches> {
        let line = std::iter::once(OsString::from("romloom")).chain(words.iter().cloned());
        self.root
            .try_get_matches_from_mut(line)
            .map_err(|e| improve(e, words))
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

/// What clap says of wrong words, without its own `error:`.
pub fn usage_text(error: &clap::Error) -> String {
    let text = error.render().to_string();
    text.strip_prefix("error: ")
        .unwrap_or(&text)
        .trim_end()
        .to_owned()
}

/// Says what to type where the words look like a well-known slip.
fn improve(error: clap::Error, words: &[OsString]) -> anyhow::Error {
    if error.kind() == ErrorKind::InvalidSubcommand
        && let Some(ContextValue::String(word)) = error.get(ContextKind::InvalidSubcommand)
    {
        let path = Path::new(word);
        let extension = path.extension().and_then(|e| e.to_str());
        if path.is_file() || extension.and_then(formats::by_extension).is_some() {
            return anyhow!(
                "`{word}` looks like a file, and a pipeline begins with a step: romloom load {word} + show"
            );
        }
        if extension == Some("loom") {
            return anyhow!("`{word}` looks like a recipe: romloom run {word}");
        }
        let own = steps::STEPS.iter().map(|s| s.name);
        let commands = super::commands::COMMANDS.iter().map(|c| c.name);
        if words.len() == 3
            && words[1..]
                .iter()
                .all(|w| Path::new(w).extension().is_some())
        {
            let (from, to) = (words[1].to_string_lossy(), words[2].to_string_lossy());
            return anyhow!(
                "`{word}` is no step and no command; to make {to} of {from}: romloom load {from} + write {to}"
            );
        }
        let near = crate::sums::nearest(word, own.chain(commands));
        let hint = match near.first() {
            Some(near) => format!("did you mean `{near}`? "),
            None => String::new(),
        };
        return anyhow!(
            "`{word}` is no step and no command: {hint}`romloom steps` lists the steps"
        );
    }
    // Bytes with blanks between them are one word.
    if error.kind() == ErrorKind::UnknownArgument
        && let Some(ContextValue::String(word)) = error.get(ContextKind::InvalidArg)
        && let Some(i) = words
            .iter()
            .rposition(|w| w == word.as_str())
            .filter(|i| *i > 0)
        && [i - 1, i]
            .iter()
            .all(|i| crate::values::bytes(&words[*i].to_string_lossy()).is_ok())
    {
        let first = words[i - 1].to_string_lossy();
        return anyhow!(
            "`{word}` is one word too many; several bytes go into one pair of quotes, as \"{first} {word}\""
        );
    }
    // The usual slip: the + between two steps is missing.
    if matches!(
        error.kind(),
        ErrorKind::UnknownArgument | ErrorKind::InvalidValue | ErrorKind::ValueValidation
    ) && let Some(i) =
        (1..words.len()).find(|i| steps::STEPS.iter().any(|s| words[*i] == s.name))
        && !words[i - 1].to_string_lossy().starts_with('-')
    {
        let step = words[i].to_string_lossy();
        return anyhow!("is a + missing before `{step}`?\n{}", usage_text(&error));
    }
    error.into()
}

/// Steps and commands, one line each.
fn overview() -> String {
    let mut out = String::from("Steps:\n");
    for step in steps::STEPS {
        out += &format!("  {:10} {}\n", step.name, step.about);
    }
    out += "\nCommands:\n";
    for command in super::commands::COMMANDS {
        out += &format!("  {:10} {}\n", command.name, command.about);
    }
    out += "\nFor instance:\n  romloom load monitor.hex basic.s19 + seat 27C256 --at 0x8000 + digest + write chip.bin\n\n`romloom help STEP` explains a step with an example.";
    out
}

/// A positional argument of a command.
pub fn positional(name: &'static str, help: &'static str) -> Arg {
    Arg::new(name).value_name(name).help(help)
}
