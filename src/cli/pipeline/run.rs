//! Running plans: everything is checked before anything runs, and every step succeeds before any file is put in place.

use std::borrow::Cow;
use std::collections::HashMap;
use std::path::{Component, Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, anyhow};

use super::depfile;
use super::plan::{Plan, PlannedStep};
use super::run_options::RunOptions;
use super::say::complain;
use super::slips;
use super::tables::catalogue;
use super::words::quoted;
use super::written::Wording;
use crate::cli::bench::{Bench, Console, Ending, MessageKind, OutputMode, Stop, is_stdout};
use crate::cli::report::{self, Explained, PieceOnBench, plural};
use crate::cli::steps::step;
use crate::parts::Catalogue;

/// Why a step stops, shown at the word that it is about.
fn stopped(step: &PlannedStep, wording: &Wording, folder: &Path, stop: &Stop) -> anyhow::Error {
    let at = stop
        .argument
        .and_then(|argument| step.places.find(argument));
    let advice = slips::afterthought(wording, at.map(|at| at.word), &stop.cause, folder);
    let (fact, helps) = stop.fact_and_advice();
    let advice: Vec<&str> = helps.into_iter().chain(advice.as_deref()).collect();
    let title = format!("{}: {fact}", step.name());
    wording.pointed(at, &title, &advice).into()
}

/// Checks and runs the plans one after another, each on an empty bench, then puts all files in place.
///
/// # Errors
/// What was found before anything ran.
pub fn run(plans: Vec<Plan>, options: RunOptions, folder: &Path) -> Result<ExitCode> {
    let parts = catalogue(options.parts.as_deref())?;
    let console = Console::new(OutputMode {
        documents_only: prints_json(&plans),
        ..options.mode(takes_stdout(&plans))
    });
    for (_, wording) in plans.iter().flat_map(|p| &p.steps) {
        for doubt in slips::doubtful(&wording.texts()) {
            console.say(MessageKind::Warning, &wording.placed(&doubt));
        }
    }
    check(&plans, folder, &parts)?;
    let staging = options.staging()?;
    let mut bench = Bench::new(folder.to_owned(), parts, console, staging);
    // A recipe is an input too, as is a list of parts; all steps come from the same recipe.
    let mut recipes = (plans.iter().flat_map(|p| &p.steps)).filter_map(|(_, w)| w.recipe());
    let recipe = recipes.next().map(PathBuf::from);
    // What came through a pipe can't be depended on.
    let read = recipe.into_iter().chain(options.parts.clone());
    bench.inputs.extend(read.filter(|path| path.is_file()));
    for plan in &plans {
        bench.clear();
        for (step, wording) in &plan.steps {
            bench
                .console
                .progress()
                .now(|| wording.placed(step.name()), None);
            let before = options.explain.then(|| Look::at(&bench));
            if let (Some(_), false) = (&before, options.json) {
                bench.console.report(&explained(step, wording, None), false);
            }
            let ran = step.planned.run(&mut bench);
            let stop = match ran.and_then(|()| bench.ran(step.name())) {
                Ok(()) => {
                    if let Some(before) = before {
                        let did = before.did(step, &bench, options.dry_run);
                        bench
                            .console
                            .report(&explained(step, wording, Some(did)), false);
                    }
                    continue;
                }
                Err(stop) => stop,
            };
            bench.console.progress().finish();
            for (what, text) in bench.staging.half_new(false) {
                bench.console.say(what, &text);
            }
            complain(&stopped(step, wording, folder, &stop));
            bench.console.finish();
            return Ok(ExitCode::from(match stop.ending {
                Ending::No => 1,
                Ending::Trouble => 2,
            }));
        }
    }
    let idle = bench.made.is_empty() && bench.console.is_silent();
    let finished = finish(&mut bench, &options);
    bench.console.progress().finish();
    finished.map_err(|text| anyhow!(text))?;
    let mut steps = plans.iter().flat_map(|p| &p.steps);
    if idle && steps.all(|(step, _)| step.name() != step::EXPECT) && !options.json {
        let text = "nothing was written and nothing shown: add + write FILE, or + show";
        bench.console.say(MessageKind::Note, text);
    }
    Ok(ExitCode::from(u8::from(bench.has_said_no())))
}

/// A step in the words it is written in.
fn explained(step: &PlannedStep, wording: &Wording, did: Option<Vec<String>>) -> Explained {
    let words: Vec<String> = wording.texts().into_iter().map(quoted).collect();
    Explained {
        line: wording.line(),
        words: words.join(" "),
        does: step.planned.sentence().unwrap_or(step.entry.sentence),
        did,
    }
}

/// The bench as it was before a step.
struct Look {
    pieces: Vec<PieceOnBench<'static>>,
    inputs: usize,
    made: usize,
    said_no: bool,
}

impl Look {
    fn at(bench: &Bench) -> Self {
        Self {
            pieces: lying(bench).map(PieceOnBench::kept).collect(),
            inputs: bench.inputs.len(),
            made: bench.made.len(),
            said_no: bench.has_said_no(),
        }
    }

    /// What a step did since.
    fn did(&self, step: &PlannedStep, bench: &Bench, dry_run: bool) -> Vec<String> {
        let mut out = Vec::new();
        let read: Vec<String> = bench.inputs[self.inputs..]
            .iter()
            .map(|p| p.display().to_string())
            .collect();
        if !read.is_empty() {
            out.push(format!("It read {}.", report::names_joined(&read)));
        }
        out.extend(report::what_changed(
            &self.pieces,
            &lying(bench).collect::<Vec<_>>(),
        ));
        for made in &bench.made[self.made..] {
            let size = made.holds.as_ref().map(|h| plural(h.bytes, "byte"));
            let size = size.map_or(String::new(), |s| format!(", {s}"));
            let file = format!("{} ({}{size})", made.file, made.format);
            let is_same = made.state == report::FileState::Unchanged;
            out.push(match dry_run {
                _ if is_same => format!("{file} has these bytes already and is left as it is."),
                true => format!("It would write {file}."),
                false => {
                    format!("It wrote {file}, which takes its place when every step has succeeded.")
                }
            });
        }
        if bench.has_said_no() && !self.said_no {
            out.push("A check said no, so the run ends with exit code 1.".into());
        }
        if out.is_empty() {
            out.push(match step.name() {
                step::EXPECT => "It is true.".into(),
                _ => "Nothing on the bench changed.".into(),
            });
        }
        out
    }
}

fn lying(bench: &Bench) -> impl Iterator<Item = PieceOnBench<'_>> {
    bench.pieces.iter().map(|piece| PieceOnBench {
        name: piece.name.clone(),
        image: Cow::Borrowed(piece.image()),
        part: piece.part().map(|part| part.name.clone()),
    })
}

/// Puts files in place and says what was made.
fn finish(bench: &mut Bench, options: &RunOptions) -> std::result::Result<(), String> {
    if let Some(path) = &options.depfile {
        depfile::stage(bench, path)?;
    }
    for (what, text) in bench.staging.half_new(true) {
        bench.console.say(what, &text);
    }
    if let Some(lost) = bench.console.lost() {
        return Err(format!("{lost}; no file has been replaced"));
    }
    bench.staging.put_in_place().map_err(|e| e.to_string())?;
    for made in &mut bench.made {
        made.state = bench.staging.state_of(&made.file).unwrap_or(made.state);
    }
    if !bench.made.is_empty() && (options.json || !bench.console.is_quiet()) {
        let outputs = report::Outputs {
            outputs: std::mem::take(&mut bench.made),
            dry_run: options.dry_run,
        };
        bench.console.report(&outputs, false);
    }
    bench.console.finish();
    match bench.console.lost() {
        Some(lost) if options.dry_run => Err(lost),
        Some(lost) => Err(format!("{lost}; all files are in place")),
        None => Ok(()),
    }
}

/// What can be told before anything runs: options that contradict each other, and two outputs with one name.
fn check(plans: &[Plan], folder: &Path, parts: &Catalogue) -> Result<()> {
    let mut names: HashMap<PathBuf, &Wording> = HashMap::new();
    for (step, wording) in plans.iter().flat_map(|p| &p.steps) {
        step.planned
            .check(parts)
            .map_err(|stop| stopped(step, wording, folder, &stop))?;
        for (argument, name) in step.planned.outputs() {
            let path = plain_path(&folder.join(name));
            if let Some(earlier) = names.insert(path, wording) {
                let earlier = match earlier.line() {
                    Some(line) if Some(line) != wording.line() => {
                        format!(" here and on line {line}")
                    }
                    _ => " twice".into(),
                };
                let stop = Stop::trouble(format!("{name} is written{earlier}"))
                    .advise("give one of the two another name")
                    .at(argument);
                return Err(stopped(step, wording, folder, &stop));
            }
        }
    }
    Ok(())
}

/// A path without its `.` parts.
fn plain_path(path: &Path) -> PathBuf {
    let parts = path.components();
    parts.filter(|c| !matches!(c, Component::CurDir)).collect()
}

/// Whether a step prints a document, which a program is going to read.
fn prints_json(plans: &[Plan]) -> bool {
    let mut steps = plans.iter().flat_map(|p| &p.steps);
    steps.any(|(step, _)| step.json)
}

fn takes_stdout(plans: &[Plan]) -> bool {
    let mut steps = plans.iter().flat_map(|p| &p.steps);
    steps.any(|(step, _)| {
        (step.planned.outputs().iter()).any(|(_, name)| is_stdout(Path::new(name)))
    })
}
