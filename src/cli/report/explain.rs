//! What a line of a pipeline does and did, in plain sentences.

use serde::Serialize;

use super::document::Report;
use super::style::Style;
use crate::image::{AddressRange, Image};
use crate::prose::{plural, thousands};

/// A step, and what came of it once it has run.
#[derive(Serialize)]
pub struct Explained {
    /// The recipe's line, where it is one.
    pub line: Option<usize>,
    /// The step as it is written.
    pub words: String,
    /// What such a step does.
    pub does: &'static str,
    /// What this one did, sentence by sentence; none before it has run.
    pub did: Option<Vec<String>>,
}

/// A piece as it lies on the bench.
#[derive(Clone)]
pub struct PieceOnBench {
    /// Its label.
    pub name: String,
    /// Its bytes.
    pub image: Image,
    /// The part it is seated in.
    pub part: Option<String>,
}

/// Sentences on what changed between two looks at the bench.
pub fn what_changed(before: &[PieceOnBench], after: &[PieceOnBench]) -> Vec<String> {
    let same = |(a, b): (&PieceOnBench, &PieceOnBench)| a.name == b.name && a.part == b.part;
    if before.len() == after.len() && before.iter().zip(after).all(same) {
        let pairs = before.iter().zip(after);
        return pairs.filter_map(|(a, b)| changed(&a.image, b)).collect();
    }
    let mut out = Vec::new();
    let stays = |a: &PieceOnBench| after.iter().any(|b| same((a, b)));
    if before.len() != after.len() && !before.iter().all(stays) {
        out.push(format!(
            "{} became {}.",
            plural(before.len() as u64, "piece"),
            after.len()
        ));
    }
    let is_new = |b: &&PieceOnBench| {
        !before
            .iter()
            .any(|a| same((a, b)) && a.image.same_bytes(&b.image))
    };
    out.extend(after.iter().filter(is_new).map(described));
    out
}

fn described(piece: &PieceOnBench) -> String {
    let Some(extent) = piece.image.extent() else {
        return format!("{} holds nothing.", piece.name);
    };
    let filler = filler(&piece.image);
    let holes = extent.len() - piece.image.len();
    let mut what = match filler {
        0 => plural(piece.image.len(), "byte"),
        _ => format!(
            "{} of data and {} of filler",
            plural(piece.image.len() - filler, "byte"),
            thousands(filler)
        ),
    };
    what += &match holes {
        0 => String::new(),
        _ => format!(", with holes of {} between", plural(holes, "byte")),
    };
    let part = match &piece.part {
        Some(part) => format!(", a {part},"),
        None => String::new(),
    };
    format!("{}{part} holds {what}, at {extent}.", piece.name)
}

fn filler(image: &Image) -> u64 {
    let runs = image.origins().runs().iter();
    let filler = runs.filter(|r| r.source.is_filler());
    filler.map(|r| r.range.len()).sum()
}

fn changed(before: &Image, piece: &PieceOnBench) -> Option<String> {
    let (name, after) = (&piece.name, &piece.image);
    if let Some(to) = moved(before, after) {
        return Some(format!("{name} moves to {to}, no byte changes."));
    }
    let (mut kept, mut differ) = (0, 0);
    let mut changed: Option<AddressRange> = None;
    for span in after.spans() {
        for (start, old) in before.within(span.range()) {
            let from = (start - span.start()) as usize;
            kept += old.len() as u64;
            let pairs = (start..).zip(old.iter().zip(&span.bytes()[from..]));
            for (at, _) in pairs.filter(|(_, (a, b))| a != b) {
                differ += 1;
                let here = AddressRange::new(at, at);
                changed = changed.zip(here).map(|(all, here)| all.hull(here)).or(here);
            }
        }
    }
    let (added, gone) = (after.len() - kept, before.len() - kept);
    let fill = filler(after).saturating_sub(filler(before)).min(added);
    let mut said = Vec::new();
    if let Some(range) = changed {
        said.push(format!("{} changed in {range}", plural(differ, "byte")));
    }
    if fill > 0 {
        said.push(format!("{} of filler added", plural(fill, "byte")));
    }
    if added > fill {
        said.push(format!("{} added", plural(added - fill, "byte")));
    }
    if gone > 0 {
        said.push(format!("{} taken out", plural(gone, "byte")));
    }
    let now = after.extent().map_or("nothing is left".into(), |extent| {
        match extent.len() - after.len() {
            0 => format!("it is {extent} without a hole"),
            holes => format!("it is {extent}, with holes of {}", plural(holes, "byte")),
        }
    });
    (!said.is_empty()).then(|| format!("{name}: {}; {now}.", said.join(", ")))
}

/// Where to, when all bytes have moved together.
fn moved(before: &Image, after: &Image) -> Option<AddressRange> {
    let (from, to) = (before.extent()?, after.extent()?);
    if from == to || from.len() != to.len() || before.len() != after.len() {
        return None;
    }
    let mut shifted = before.clone();
    let by = i128::from(to.first()) - i128::from(from.first());
    shifted.shift(by).ok()?;
    shifted.same_bytes(after).then_some(to)
}

impl Report for Explained {
    const STEP: &'static str = "explain";

    fn text(&self, style: Style) -> String {
        match &self.did {
            None => {
                let line = self.line.map_or(String::new(), |n| format!("line {n}: "));
                let mut does = self.does.chars();
                let first = does.next().map(|c| c.to_uppercase().to_string());
                let does = format!("{}{}.", first.unwrap_or_default(), does.as_str());
                format!(
                    "{line}{}\n    {}\n",
                    style.strong(&self.words),
                    style.faint(&does)
                )
            }
            Some(did) => did.iter().map(|s| format!("    {s}\n")).collect(),
        }
    }
}
