//! Running plans: everything is checked before anything runs, and every step succeeds before any file is put in place.

use std::path::{Component, Path, PathBuf};
use std::process::ExitCode;

use super::grammar::Step;
use super::{complain, stopped};
use crate::bench::{Bench, Outbox, Placing, Stop, Talk, plain};
use crate::parts::Catalogue;
use crate::report;

/// What concerns the whole run.
#[derive(clap::Args, Clone, Debug, Default)]
pub struct Whole {
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
    /// Parts of your own, in TOML, beside the built-in ones
    #[arg(long, value_name = "FILE")]
    pub parts: Option<PathBuf>,
}

impl Whole {
    /// Both, as when options stand before and behind `run`.
    pub fn or(self, other: Whole) -> Whole {
        Whole {
            depfile: self.depfile.or(other.depfile),
            dry_run: self.dry_run || other.dry_run,
            always: self.always || other.always,
            durable: self.durable || other.durable,
            quiet: self.quiet || other.quiet,
            json: self.json || other.json,
            parts: self.parts.or(other.parts),
        }
    }
}

/// The steps of one pipeline, each with where it stands in a recipe.
#[derive(Default)]
pub struct Plan {
    steps: Vec<(Step, Option<Origin>)>,
}

/// A recipe's file and line, for messages.
#[derive(Clone, Debug)]
pub struct Origin {
    /// The recipe.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
}

impl Plan {
    /// Adds a step behind the others.
    pub fn add(&mut self, step: Step, origin: Option<Origin>) {
        self.steps.push((step, origin));
    }

    /// Whether there is no step.
    pub fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }
}

/// Where a message comes from: `board.loom line 7: pad`, or `pad`.
fn place(step: &Step, origin: Option<&Origin>) -> String {
    match origin {
        Some(Origin { file, line }) => format!("{file} line {line}: {}", step.name),
        None => step.name.into(),
    }
}

/// Checks and runs the plans one after another, each on an empty bench, then puts all files in place.
pub fn run(plans: Vec<Plan>, whole: Whole, folder: &Path) -> ExitCode {
    let checked = super::commands::catalogue(whole.parts.as_deref())
        .and_then(|parts| check(&plans, folder, &parts).map(|()| parts));
    let parts = match checked {
        Ok(parts) => parts,
        Err(error) => {
            complain(&error.to_string());
            return ExitCode::from(2);
        }
    };
    let placing = Placing {
        always: whole.always,
        durable: whole.durable,
        dry_run: whole.dry_run,
    };
    let talk = Talk::new(whole.voice(takes_stdout(&plans)));
    let outbox = Outbox::new(placing);
    if let Err(error) = outbox.clean_up_when_interrupted() {
        complain(&format!("watching for interrupts: {}", plain(&error)));
        return ExitCode::from(2);
    }
    let mut bench = Bench::new(folder.to_owned(), parts, talk, outbox);
    for plan in &plans {
        bench.clear();
        for (step, origin) in &plan.steps {
            let place = || place(step, origin.as_ref());
            bench.talk.progress().now(place, None);
            let (text, code) = match step.planned.run(&mut bench) {
                Ok(()) => continue,
                Err(Stop::SaidNo(text)) => (text, 1),
                Err(Stop::Trouble(text) | Stop::Shown(text)) => (text, 2),
            };
            bench.talk.progress().finish();
            complain(&format!("{}: {text}", place()));
            bench.talk.finish();
            return ExitCode::from(code);
        }
    }
    let finished = finish(&mut bench, &whole);
    bench.talk.progress().finish();
    if let Err(text) = finished {
        complain(&text);
        return ExitCode::from(2);
    }
    ExitCode::from(u8::from(bench.has_said_no()))
}

/// Puts files in place and says what was made.
fn finish(bench: &mut Bench, whole: &Whole) -> Result<(), String> {
    if let Some(depfile) = &whole.depfile {
        let text = dependencies(bench);
        let stage = bench.outbox.stage::<Depfile>(
            &depfile.display().to_string(),
            depfile,
            |out| Ok(out.write_all(text.as_bytes())?),
            |_| Ok(()),
        );
        stage.map_err(|e| e.to_string())?;
    }
    if let Some(lost) = bench.talk.lost() {
        return Err(format!("{lost}; no file has been replaced"));
    }
    bench.outbox.put_in_place().map_err(|e| e.to_string())?;
    if !bench.made.is_empty() && (whole.json || !bench.talk.is_quiet()) {
        let outputs = report::Outputs {
            outputs: std::mem::take(&mut bench.made),
            dry_run: whole.dry_run,
        };
        bench.talk.report(&outputs, false);
    }
    bench.talk.finish();
    match bench.talk.lost() {
        Some(lost) => Err(format!("{lost}; all files are in place")),
        None => Ok(()),
    }
}

#[derive(Debug, thiserror::Error)]
enum Depfile {
    #[error(transparent)]
    Placing(#[from] crate::bench::PlacingError),
    #[error("the dependency file: {}", plain(.0))]
    Io(#[from] std::io::Error),
}

/// `out.bin: a.hex b.s19`, in make's syntax.
fn dependencies(bench: &Bench) -> String {
    let escape = |name: &str| {
        let mut out = String::new();
        for c in name.chars() {
            match c {
                ' ' | '#' | '\\' | ':' => out.extend(['\\', c]),
                '$' => out.push_str("$$"),
                c => out.push(c),
            }
        }
        out
    };
    let outputs: Vec<String> = (bench.outbox.names())
        .filter(|name| *name != "-")
        .map(escape)
        .collect();
    let mut inputs: Vec<&PathBuf> = Vec::new();
    for input in &bench.inputs {
        if !inputs.contains(&input) {
            inputs.push(input);
        }
    }
    let inputs: Vec<String> = (inputs.into_iter())
        .map(|path| escape(&path.display().to_string()))
        .collect();
    format!("{}: {}\n", outputs.join(" "), inputs.join(" "))
}

/// What can be told before anything runs: options that contradict each other, and two outputs with one name.
fn check(plans: &[Plan], folder: &Path, parts: &Catalogue) -> anyhow::Result<()> {
    let mut names: Vec<(PathBuf, String)> = Vec::new();
    for (step, origin) in plans.iter().flat_map(|p| &p.steps) {
        let place = place(step, origin.as_ref());
        step.planned
            .check(parts)
            .map_err(|stop| stopped(stop.about(&place)))?;
        let Some(name) = step.planned.output() else {
            continue;
        };
        let path = plain_path(&folder.join(name));
        if let Some((_, earlier)) = names.iter().find(|(p, _)| *p == path) {
            anyhow::bail!(
                "{place}: {name} is written here and at {earlier}: two outputs can't have one name"
            );
        }
        names.push((path, place));
    }
    Ok(())
}

/// A path without its `.` parts.
fn plain_path(path: &Path) -> PathBuf {
    let parts = path.components();
    parts.filter(|c| !matches!(c, Component::CurDir)).collect()
}

fn takes_stdout(plans: &[Plan]) -> bool {
    let mut steps = plans.iter().flat_map(|p| &p.steps);
    steps.any(|(step, _)| step.planned.output() == Some("-"))
}
