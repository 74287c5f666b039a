//! What every step has: its words, its arguments, its help, and how it runs.

use clap::{ArgMatches, Command};

use crate::cli::bench::{Argument, Bench, Stop};
use crate::parts::Catalogue;

/// One step of a pipeline.
pub trait Step: clap::Args + Sized + 'static {
    /// The word that names it.
    const NAME: &'static str;
    /// One line for lists, without a full stop.
    const ABOUT: &'static str;
    /// What it does, in the words of somebody who reads a recipe to somebody else.
    const SENTENCE: &'static str;
    /// What a person needs to know beyond the options.
    const HELP: &'static str;
    /// A worked example: a command after `$ ` and what it prints. Run as a test.
    const EXAMPLE: &'static str;

    /// Checks what the parser can't, before anything runs.
    ///
    /// # Errors
    /// What is wrong with the options.
    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let _ = parts;
        Ok(())
    }

    /// What this one does, where its arguments say more than [`SENTENCE`](Self::SENTENCE).
    fn sentence(&self) -> Option<&'static str> {
        None
    }

    /// The files that it will write, each with its argument and its name as given, so that two alike are refused before
    /// anything runs. Names that differ for each piece are not among them.
    fn outputs(&self) -> Vec<(Argument, &str)> {
        Vec::new()
    }

    /// Does its work.
    ///
    /// # Errors
    /// [`Stop`] ends the pipeline.
    fn run(&self, bench: &mut Bench) -> Result<(), Stop>;
}

/// A step with its arguments, ready to run.
pub trait Planned {
    /// See [`Step::check`].
    fn check(&self, parts: &Catalogue) -> Result<(), Stop>;
    /// See [`Step::sentence`].
    fn sentence(&self) -> Option<&'static str>;
    /// See [`Step::outputs`].
    fn outputs(&self) -> Vec<(Argument, &str)>;
    /// See [`Step::run`].
    fn run(&self, bench: &mut Bench) -> Result<(), Stop>;
}

impl<S: Step> Planned for S {
    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        Step::check(self, parts)
    }

    fn sentence(&self) -> Option<&'static str> {
        Step::sentence(self)
    }

    fn outputs(&self) -> Vec<(Argument, &str)> {
        Step::outputs(self)
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        Step::run(self, bench)
    }
}

/// A line of the table.
pub struct StepEntry {
    /// See [`Step::NAME`].
    pub name: &'static str,
    /// See [`Step::ABOUT`].
    pub about: &'static str,
    /// See [`Step::HELP`].
    pub help: &'static str,
    /// See [`Step::SENTENCE`].
    pub sentence: &'static str,
    /// See [`Step::EXAMPLE`].
    pub example: &'static str,
    augment: fn(Command) -> Command,
    augment_and_help: fn(Command) -> Command,
    plan: fn(&mut ArgMatches) -> Result<Box<dyn Planned>, clap::Error>,
}

impl StepEntry {
    pub(super) const fn of<S: Step>() -> Self {
        Self {
            name: S::NAME,
            about: S::ABOUT,
            help: S::HELP,
            sentence: S::SENTENCE,
            example: S::EXAMPLE,
            augment: S::augment_args,
            augment_and_help: augment_and_help::<S>,
            plan: plan::<S>,
        }
    }

    /// The step as a clap command; its arguments and its help are built only when it is used.
    pub fn command(&self) -> Command {
        Command::new(self.name)
            .about(self.about)
            .defer(self.augment_and_help)
    }

    /// The same for a line that asks for no help, with only the line of help that each argument has.
    pub fn command_without_help(&self) -> Command {
        Command::new(self.name)
            .about(self.about)
            .defer(self.augment)
    }

    /// The step as parsed arguments make it, which are taken out of `matches`.
    ///
    /// # Errors
    /// What clap says of the arguments.
    pub fn plan(&self, matches: &mut ArgMatches) -> Result<Box<dyn Planned>, clap::Error> {
        (self.plan)(matches)
    }

    /// Whether the step, or the part of it that was chosen, was asked for JSON.
    pub fn prints_json(&self, matches: &ArgMatches) -> bool {
        let asked = matches.try_get_one("json").ok().flatten();
        let inner = matches.subcommand();
        asked == Some(&true) || inner.is_some_and(|(_, inner)| self.prints_json(inner))
    }
}

/// Used for a blank in help where no line may be broken.
pub const HARD_BLANK: &str = "\u{A0}";

fn augment_and_help<S: Step>(command: Command) -> Command {
    let help = format!("{}\n\nExample:\n\n{}", S::HELP, indented(S::EXAMPLE));
    // The parser reads a plain `{n}` as a line break; a colour reset inside hides it, and is invisible when printed. It would break
    // the example's lines at any blank: `HARD_BLANK` keeps them whole until the help is printed.
    S::augment_args(command).after_long_help(help.replace("{n}", "{\u{1b}[0mn}"))
}

fn plan<S: Step>(matches: &mut ArgMatches) -> Result<Box<dyn Planned>, clap::Error> {
    Ok(Box::new(S::from_arg_matches_mut(matches)?))
}

fn indented(text: &str) -> String {
    let lines: Vec<String> = text.lines().map(|l| format!("    {l}")).collect();
    lines.join("\n").replace(' ', HARD_BLANK)
}
