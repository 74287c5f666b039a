//! The steps: one file each, with its arguments, its help and example, and the call into [`ops`](crate::ops).

mod burnable;
pub(crate) mod common;
mod compare;
mod copy;
mod diagnose;
mod digest;
mod drop;
mod expect;
mod fill;
mod find;
mod hollow;
mod join;
mod keep;
mod load;
mod mark;
mod pad;
mod patch;
mod pattern;
mod relocate;
mod repeat;
mod rewire;
mod seat;
mod sheet;
mod show;
mod split;
mod spread;
mod stamp;
mod swap;
mod vote;
mod write;

use std::path::Path;

use clap::{ArgMatches, Command};

use crate::cli::bench::{Bench, Stop};
use crate::image::Image;
use crate::parts::Catalogue;

/// The table of steps, in the order in which people meet them.
pub const STEPS: &[Entry] = &[
    Entry::of::<load::Load>(),
    Entry::of::<pattern::Pattern>(),
    Entry::of::<fill::Fill>(),
    Entry::of::<hollow::Hollow>(),
    Entry::of::<keep::Keep>(),
    Entry::of::<drop::Drop>(),
    Entry::of::<relocate::Relocate>(),
    Entry::of::<pad::Pad>(),
    Entry::of::<repeat::Repeat>(),
    Entry::of::<copy::Copy>(),
    Entry::of::<find::Find>(),
    Entry::of::<seat::Seat>(),
    Entry::of::<split::Split>(),
    Entry::of::<join::Join>(),
    Entry::of::<spread::Spread>(),
    Entry::of::<swap::Swap>(),
    Entry::of::<rewire::Rewire>(),
    Entry::of::<patch::Patch>(),
    Entry::of::<mark::Mark>(),
    Entry::of::<stamp::Stamp>(),
    Entry::of::<expect::Expect>(),
    Entry::of::<burnable::Burnable>(),
    Entry::of::<compare::Compare>(),
    Entry::of::<vote::Vote>(),
    Entry::of::<diagnose::Diagnose>(),
    Entry::of::<digest::Digest>(),
    Entry::of::<show::Show>(),
    Entry::of::<write::Write>(),
    Entry::of::<sheet::Sheet>(),
];

pub(super) use load::{format_of, unreadable};

/// Reads a file as `load` does; a raw one begins at 0.
///
/// # Errors
/// As `load` has them.
pub fn read_file(bench: &mut Bench, file: &Path) -> Result<Image, Stop> {
    load::read_other(bench, file, 0)
}

/// One step of a pipeline.
pub trait Step: clap::Args + Sized + 'static {
    /// The word that names it.
    const NAME: &'static str;
    /// One line for lists, without a full stop.
    const ABOUT: &'static str;
    /// What a person needs to know beyond the options.
    const HELP: &'static str;
    /// A worked example: a command behind `$ ` and what it prints. Run as a test.
    const EXAMPLE: &'static str;

    /// Whether it may change a byte on the bench.
    const CHANGES: bool = true;

    /// Checks what the parser can't, before anything runs.
    ///
    /// # Errors
    /// What is wrong with the options.
    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let _ = parts;
        Ok(())
    }

    /// The file name it will write, as given, so that two alike are refused before anything runs.
    fn output(&self) -> Option<&str> {
        None
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
    /// See [`Step::output`].
    fn output(&self) -> Option<&str>;
    /// See [`Step::CHANGES`].
    fn changes(&self) -> bool;
    /// See [`Step::run`].
    fn run(&self, bench: &mut Bench) -> Result<(), Stop>;
}

impl<S: Step> Planned for S {
    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        Step::check(self, parts)
    }

    fn output(&self) -> Option<&str> {
        Step::output(self)
    }

    fn changes(&self) -> bool {
        S::CHANGES
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        Step::run(self, bench)
    }
}

/// A line of the table.
pub struct Entry {
    /// See [`Step::NAME`].
    pub name: &'static str,
    /// See [`Step::ABOUT`].
    pub about: &'static str,
    /// See [`Step::HELP`].
    pub help: &'static str,
    /// See [`Step::EXAMPLE`].
    pub example: &'static str,
    augment: fn(Command) -> Command,
    plan: fn(&ArgMatches) -> Result<Box<dyn Planned>, clap::Error>,
}

impl Entry {
    const fn of<S: Step>() -> Self {
        Self {
            name: S::NAME,
            about: S::ABOUT,
            help: S::HELP,
            example: S::EXAMPLE,
            augment: augment::<S>,
            plan: plan::<S>,
        }
    }

    /// The step as a clap command; its arguments are built only when it is used.
    pub fn command(&self) -> Command {
        Command::new(self.name)
            .about(self.about)
            .defer(self.augment)
    }

    /// The step as parsed arguments make it.
    ///
    /// # Errors
    /// What clap says of the arguments.
    pub fn plan(&self, matches: &ArgMatches) -> Result<Box<dyn Planned>, clap::Error> {
        (self.plan)(matches)
    }
}

fn augment<S: Step>(command: Command) -> Command {
    S::augment_args(command).after_long_help(format!(
        "{}\n\nExample:\n\n{}",
        S::HELP,
        indented(S::EXAMPLE)
    ))
}

fn plan<S: Step>(matches: &ArgMatches) -> Result<Box<dyn Planned>, clap::Error> {
    Ok(Box::new(S::from_arg_matches(matches)?))
}

fn indented(text: &str) -> String {
    let lines: Vec<String> = text.lines().map(|l| format!("    {l}")).collect();
    lines.join("\n")
}

#[cfg(test)]
mod tests;
