//! Running plans: everything is checked before anything runs, and every step succeeds before any file is put in place.

use std::path::{Component, Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, anyhow};

use super::plan::{Origin, Plan, Step};
use super::say::complain;
use super::slips;
use super::tables::catalogue;
use super::whole::Whole;
use super::words::quoted;
use crate::cli::bench::{Bench, Level, Outbox, Talk, Verdict, plain};
use crate::cli::report::{self, Explained, PieceOnBench, plural};
use crate::cli::steps::STEPS;
use crate::parts::Catalogue;

/// What a step says of itself: in a recipe with the line and a caret under the word meant.
fn said(step: &Step, origin: &Origin, folder: &Path, text: &str) -> anyhow::Error {
    let words: Vec<&str> = origin.words.iter().map(|w| w.text.as_str()).collect();
    let advice = slips::afterthought(&words, text, folder);
    let advice = advice.map(|a| format!("\n\n{a}")).unwrap_or_default();
    origin.error(&format!("{}: {text}{advice}", step.name))
}

/// Checks and runs the plans one after another, each on an empty bench, then puts all files in place.
///
/// # Errors
/// What was found before anything ran.
pub fn run(plans: Vec<Plan>, whole: Whole, folder: &Path) -> Result<ExitCode> {
    let parts = catalogue(whole.parts.as_deref())?;
    let talk = Talk::new(whole.voice(takes_stdout(&plans)));
    for (_, origin) in plans.iter().flat_map(|p| &p.steps) {
        let words: Vec<&str> = origin.words.iter().map(|w| w.text.as_str()).collect();
        for doubt in slips::doubtful(&words) {
            talk.say(Level::Warning, &origin.placed(&doubt));
        }
    }
    check(&plans, folder, &parts)?;
    let outbox = Outbox::new(whole.placing());
    outbox
        .clean_up_when_interrupted()
        .map_err(|error| anyhow!("watching for interrupts: {}", plain(&error)))?;
    let mut bench = Bench::new(folder.to_owned(), parts, talk, outbox);
    // A recipe is an input too; all steps come from the same one.
    let mut recipes = (plans.iter().flat_map(|p| &p.steps)).flat_map(|(_, o)| &o.recipe);
    let recipe = recipes.next().map(|recipe| PathBuf::from(&recipe.file));
    // What came through a pipe can't be depended on.
    bench.inputs.extend(recipe.filter(|path| path.is_file()));
    for plan in &plans {
        bench.clear();
        for (step, origin) in &plan.steps {
            bench.talk.progress().now(|| origin.placed(step.name), None);
            let before = whole.explain.then(|| Look::at(&bench));
            if let (Some(_), false) = (&before, whole.json) {
                bench.talk.report(&explained(step, origin, None), false);
            }
            let stop = match step.planned.run(&mut bench) {
                Ok(()) => {
                    if step.planned.changes() {
                        bench.check_stamps(step.name);
                    }
                    if let Some(before) = before {
                        let did = before.did(step, &bench, whole.dry_run);
                        bench
                            .talk
                            .report(&explained(step, origin, Some(did)), false);
                    }
                    continue;
                }
                Err(stop) => stop,
            };
            bench.talk.progress().finish();
            complain(&said(step, origin, folder, &stop.text()));
            bench.talk.finish();
            return Ok(ExitCode::from(match stop.verdict {
                Verdict::No => 1,
                Verdict::Trouble => 2,
            }));
        }
    }
    let idle = bench.made.is_empty() && bench.talk.is_silent();
    let finished = finish(&mut bench, &whole);
    bench.talk.progress().finish();
    finished.map_err(|text| anyhow!(text))?;
    let mut steps = plans.iter().flat_map(|p| &p.steps);
    if idle && steps.all(|(step, _)| step.name != "expect") && !whole.json {
        let text = "nothing was written and nothing shown: add + write FILE, or + show";
        bench.talk.say(Level::Note, text);
    }
    Ok(ExitCode::from(u8::from(bench.has_said_no())))
}

/// A step in the words it is written in.
fn explained(step: &Step, origin: &Origin, did: Option<Vec<String>>) -> Explained {
    let words: Vec<String> = origin.words.iter().map(|w| quoted(&w.text)).collect();
    let entry = STEPS.iter().find(|entry| entry.name == step.name);
    Explained {
        line: origin.recipe.as_ref().map(|_| origin.line()),
        words: words.join(" "),
        does: entry.map_or("", |entry| entry.about),
        did,
    }
}

/// The bench as it was before a step.
struct Look {
    pieces: Vec<PieceOnBench>,
    inputs: usize,
    made: usize,
    said_no: bool,
}

impl Look {
    fn at(bench: &Bench) -> Self {
        Self {
            pieces: lying(bench),
            inputs: bench.inputs.len(),
            made: bench.made.len(),
            said_no: bench.has_said_no(),
        }
    }

    /// What a step did since.
    fn did(&self, step: &Step, bench: &Bench, dry_run: bool) -> Vec<String> {
        let mut out = Vec::new();
        let read: Vec<String> = bench.inputs[self.inputs..]
            .iter()
            .map(|p| p.display().to_string())
            .collect();
        if !read.is_empty() {
            out.push(format!("It read {}.", read.join(", ")));
        }
        out.extend(report::what_changed(&self.pieces, &lying(bench)));
        for made in &bench.made[self.made..] {
            let size = made.holds.as_ref().map(|h| plural(h.bytes, "byte"));
            let size = size.map_or(String::new(), |s| format!(", {s}"));
            let when = match dry_run {
                true => "would be put in place",
                false => "is put in place when all lines have succeeded",
            };
            out.push(format!("{} ({}{size}) {when}.", made.file, made.format));
        }
        if bench.has_said_no() && !self.said_no {
            out.push("The answer is no, so the run will end with exit code 1.".into());
        }
        if out.is_empty() {
            out.push(match step.name {
                "expect" => "It is true.".into(),
                _ => "Nothing on the bench changes.".into(),
            });
        }
        out
    }
}

fn lying(bench: &Bench) -> Vec<PieceOnBench> {
    let pieces = bench.pieces.iter();
    let lying = pieces.map(|piece| PieceOnBench {
        label: piece.label.clone(),
        image: piece.image.clone(),
        part: piece.seat.as_ref().map(|seat| seat.part.name.clone()),
    });
    lying.collect()
}

/// Puts files in place and says what was made.
fn finish(bench: &mut Bench, whole: &Whole) -> std::result::Result<(), String> {
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
    Placing(#[from] crate::cli::bench::PlacingError),
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
fn check(plans: &[Plan], folder: &Path, parts: &Catalogue) -> Result<()> {
    let mut names: Vec<(PathBuf, &Origin)> = Vec::new();
    for (step, origin) in plans.iter().flat_map(|p| &p.steps) {
        step.planned
            .check(parts)
            .map_err(|stop| said(step, origin, folder, &stop.text()))?;
        let Some(name) = step.planned.output() else {
            continue;
        };
        let path = plain_path(&folder.join(name));
        if let Some((_, earlier)) = names.iter().find(|(p, _)| *p == path) {
            let earlier = match &origin.recipe {
                Some(_) => format!(" here and on line {}", earlier.line()),
                None => " twice".into(),
            };
            let text = format!("{name} is written{earlier}: give one of the two another name");
            return Err(said(step, origin, folder, &text));
        }
        names.push((path, origin));
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
