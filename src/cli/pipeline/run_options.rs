//! What concerns the whole run. On a command line it may be anywhere.

use std::ffi::OsString;
use std::path::PathBuf;

use anyhow::{Result, anyhow};
use clap::Command;

use crate::cli::bench::{OutputMode, Staging, WritePolicy, plain};

/// What concerns the whole run.
#[derive(clap::Args, Clone, Debug, Default)]
pub struct RunOptions {
    /// Write the files each output depends on, in make's syntax
    #[arg(long, value_name = "FILE")]
    pub depfile: Option<PathBuf>,
    /// Do everything but put files in place
    #[arg(long)]
    pub dry_run: bool,
    /// Rewrite files even when they would not change
    #[arg(long)]
    pub always: bool,
    /// Sync every file and its folder to the disk
    #[arg(long)]
    pub durable: bool,
    /// Say nothing but warnings, errors and asked-for results
    #[arg(long)]
    pub quiet: bool,
    /// Print all results as one JSON document
    #[arg(long)]
    pub json: bool,
    /// Say in plain sentences what each step did
    #[arg(long)]
    pub explain: bool,
    /// Parts of your own, in TOML, beside the built-in ones
    #[arg(long, value_name = "FILE")]
    pub parts: Option<PathBuf>,
}

impl RunOptions {
    /// Both, as when options are given before and after `run`.
    pub fn or(self, other: RunOptions) -> RunOptions {
        RunOptions {
            depfile: self.depfile.or(other.depfile),
            dry_run: self.dry_run || other.dry_run,
            always: self.always || other.always,
            durable: self.durable || other.durable,
            quiet: self.quiet || other.quiet,
            json: self.json || other.json,
            explain: self.explain || other.explain,
            parts: self.parts.or(other.parts),
        }
    }

    /// How files are put in place.
    pub fn policy(&self) -> WritePolicy {
        WritePolicy {
            always: self.always,
            durable: self.durable,
            dry_run: self.dry_run,
        }
    }

    /// Where files wait until all of them are made. An interrupt removes them.
    ///
    /// # Errors
    /// The system does not let the process wait for interrupts.
    pub fn staging(&self) -> Result<Staging> {
        let staging = Staging::new(self.policy());
        let watched = staging.clean_up_when_interrupted();
        watched.map_err(|error| anyhow!("watching for interrupts: {}", plain(&error)))?;
        Ok(staging)
    }

    /// How the run talks.
    pub fn mode(&self, stdout_is_taken: bool) -> OutputMode {
        OutputMode {
            quiet: self.quiet,
            json: self.json,
            documents_only: false,
            stdout_is_taken,
            progress: !self.quiet && !self.json,
        }
    }
}

/// The steps of a typed line, or its command, with the options for the whole run before the first one. What a step has itself,
/// such as the `--json` of one that reports, stays with it. So does what the parser will refuse: it says what is wrong.
pub fn gathered(root: &Command, mut steps: Vec<Vec<OsString>>) -> Vec<Vec<OsString>> {
    let mut front = Vec::new();
    for words in &mut steps {
        // More than one where a + is missing, or glued to a name.
        let names = words.iter().filter_map(|word| word.to_str());
        let here = names.filter_map(|name| root.find_subcommand(name.trim_start_matches('+')));
        let here: Vec<&Command> = here.collect();
        if here.is_empty() {
            continue;
        }
        let takes_value = |long: &str| {
            let mut options = root.get_arguments();
            let option = options.find(|a| a.get_long() == Some(long))?;
            let is_own = |command: &&Command| {
                let mut own = Command::clone(command);
                own.build();
                has_option(&own, long)
            };
            (!here.iter().any(is_own)).then(|| option.get_action().takes_values())
        };
        *words = without_run_options(std::mem::take(words), takes_value, &mut front);
    }
    if let Some(first) = steps.first_mut() {
        first.splice(..0, front);
    }
    steps
}

fn has_option(command: &Command, long: &str) -> bool {
    command.get_arguments().any(|a| a.get_long() == Some(long))
        || command.get_subcommands().any(|kind| has_option(kind, long))
}

/// `takes_value` tells of an option for the whole run whether it takes a value; of no other.
fn without_run_options(
    words: Vec<OsString>,
    takes_value: impl Fn(&str) -> Option<bool>,
    front: &mut Vec<OsString>,
) -> Vec<OsString> {
    let mut rest = Vec::new();
    let mut words = words.into_iter().peekable();
    while let Some(word) = words.next() {
        if word == "--" {
            rest.push(word);
            rest.extend(words.by_ref());
            break;
        }
        let option = word.to_str().and_then(|word| word.strip_prefix("--"));
        let (long, has_value) = match option.map(|option| option.split_once('=')) {
            Some(Some((long, _))) => (Some(long), true),
            _ => (option, false),
        };
        match long.and_then(&takes_value) {
            // A flag may be given twice, and means no more than once.
            Some(false) if !has_value && front.contains(&word) => {}
            Some(takes) if takes == has_value => front.push(word),
            Some(true) if words.peek().is_some_and(|value| !begins_option(value)) => {
                front.push(word);
                front.extend(words.next());
            }
            _ => rest.push(word),
        }
    }
    rest
}

fn begins_option(word: &OsString) -> bool {
    word.as_encoded_bytes().starts_with(b"-")
}
