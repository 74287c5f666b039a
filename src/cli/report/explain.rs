//! What a line of a pipeline does and did, in plain sentences.

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

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

/// A piece as it is on the bench.
#[derive(Clone)]
pub struct PieceOnBench<'i> {
    /// Its name.
    pub name: String,
    /// Its bytes.
    pub image: Cow<'i, Image>,
    /// The part it is seated in.
    pub part: Option<String>,
}

impl PieceOnBench<'_> {
    /// The same, with the bytes that it has now, whatever becomes of the piece.
    pub fn kept(self) -> PieceOnBench<'static> {
        PieceOnBench {
            name: self.name,
            image: Cow::Owned(self.image.into_owned()),
            part: self.part,
        }
    }
}

/// Sentences on what changed between two looks at the bench.
pub fn what_changed(before: &[PieceOnBench], after: &[PieceOnBench]) -> Vec<String> {
    let same = |(a, b): (&PieceOnBench, &PieceOnBench)| a.name == b.name && a.part == b.part;
    if before.len() == after.len() && before.iter().zip(after).all(same) {
        let pairs = before.iter().zip(after);
        return pairs.flat_map(|(a, b)| changed(&a.image, b)).collect();
    }
    let mut out = Vec::new();
    let key = |piece: &PieceOnBench| (piece.name.clone(), piece.part.clone());
    let there: HashSet<_> = after.iter().map(key).collect();
    let stays = |a: &PieceOnBench| there.contains(&key(a));
    if before.len() != after.len() && !before.iter().all(stays) {
        let names: Vec<String> = before.iter().map(|piece| piece.name.clone()).collect();
        let pieces = match after.len() {
            1 => "one piece".into(),
            n => plural(n as u64, "piece"),
        };
        out.push(format!("{} became {pieces}.", names_joined(&names)));
    }
    let were: HashMap<_, &PieceOnBench> = before.iter().map(|a| (key(a), a)).collect();
    let is_new = |b: &&PieceOnBench| {
        let was = were.get(&key(b));
        !was.is_some_and(|a| a.image.same_bytes(&b.image))
    };
    out.extend(after.iter().filter(is_new).map(described));
    out
}

/// `a`, `a and b`, `a, b and c`; of many the first and how many more.
pub fn names_joined(names: &[String]) -> String {
    /// Names that are read through.
    const FEW: usize = 8;
    match names {
        [] => "nothing".into(),
        [one] => one.clone(),
        [most @ .., last] if names.len() <= FEW => format!("{} and {last}", most.join(", ")),
        [first, rest @ ..] => format!("{first} and {} more", thousands(rest.len() as u64)),
    }
}

/// `at 0x8000`, or `at 0x8000-0x8003`.
fn at(range: AddressRange) -> String {
    match range.len() {
        1 => format!("at 0x{:04X}", range.first()),
        _ => format!("at {range}"),
    }
}

/// Bytes here and there: where they all are, or between which addresses.
fn spread(bytes: u64, hull: AddressRange) -> String {
    match bytes == hull.len() {
        true => at(hull),
        false => format!("between 0x{:04X} and 0x{:04X}", hull.first(), hull.last()),
    }
}

fn described(piece: &PieceOnBench) -> String {
    let name = &piece.name;
    let is = match &piece.part {
        Some(part) => format!("{name} is a {part} now, with"),
        None => format!("{name} has"),
    };
    let Some(extent) = piece.image.extent() else {
        return format!("{is} no bytes.");
    };
    let filler = filler(&piece.image);
    let data = plural(piece.image.len() - filler, "byte");
    let what = match filler {
        0 => data,
        _ => format!("{data} of data and {} of filler", thousands(filler)),
    };
    let place = spread(piece.image.len(), extent);
    let holes = match extent.len() - piece.image.len() {
        0 => String::new(),
        holes => format!("; the other {} there are holes", thousands(holes)),
    };
    format!("{is} {what} {place}{holes}.")
}

fn filler(image: &Image) -> u64 {
    let runs = image.origins().runs().iter();
    let filler = runs.filter(|r| r.source.is_filler());
    filler.map(|r| r.range.len()).sum()
}

/// Bytes counted, and the addresses between which they are.
#[derive(Default)]
struct Touched {
    bytes: u64,
    hull: Option<AddressRange>,
}

impl Touched {
    fn add(&mut self, range: AddressRange) {
        self.bytes += range.len();
        self.hull = Some(self.hull.map_or(range, |hull| hull.hull(range)));
    }

    /// `3 bytes WHAT, at 0x8000-0x8002`; nothing where there are none.
    fn said(&self, what: impl Fn(&str, &str) -> String) -> Option<String> {
        let place = spread(self.bytes, self.hull?);
        Some(what(&plural(self.bytes, "byte"), &place))
    }
}

fn changed(before: &Image, piece: &PieceOnBench) -> Vec<String> {
    let (name, after) = (&piece.name, &piece.image);
    if let Some(to) = moved(before, after) {
        return vec![format!("{name} moved to {to}, and no byte of it changed.")];
    }
    let mut differ = Touched::default();
    for span in after.spans() {
        for (start, old) in before.within(span.range()) {
            let from = (start - span.start()) as usize;
            let pairs = (start..).zip(old.iter().zip(&span.bytes()[from..]));
            for (at, _) in pairs.filter(|(_, (a, b))| a != b) {
                AddressRange::new(at, at)
                    .into_iter()
                    .for_each(|here| differ.add(here));
            }
        }
    }
    let only_in = |one: &Image, other: &Image| {
        let mut only = Touched::default();
        for span in one.spans() {
            other.holes(span.range()).for_each(|hole| only.add(hole));
        }
        only
    };
    let (added, gone) = (only_in(after, before), only_in(before, after));
    let fill = filler(after)
        .saturating_sub(filler(before))
        .min(added.bytes);
    let mut out: Vec<String> = Vec::new();
    out.extend(differ.said(|bytes, place| format!("{bytes} of {name} changed, {place}.")));
    out.extend(added.said(|bytes, place| match fill {
        0 => format!("{bytes} came into {name}, {place}."),
        fill if fill == added.bytes => format!("{bytes} of filler came into {name}, {place}."),
        fill => format!(
            "{bytes} came into {name}, {} of them filler, {place}.",
            thousands(fill)
        ),
    }));
    out.extend(gone.said(|bytes, place| format!("{bytes} went out of {name}, {place}.")));
    let holes = |image: &Image| {
        image
            .extent()
            .map_or(0, |extent| extent.len() - image.len())
    };
    match after.extent() {
        _ if out.is_empty() => {}
        None => out.push(format!("Nothing is left of {name}.")),
        Some(extent) => match holes(after) {
            0 if holes(before) > 0 => {
                out.push(format!("{name} has no holes now; it is {}.", at(extent)))
            }
            left if before.extent() == Some(extent) => {
                if left != holes(before) {
                    out.push(format!(
                        "{} of holes are left in {name}.",
                        plural(left, "byte")
                    ));
                }
            }
            0 => out.push(format!("{name} is {} now.", at(extent))),
            left => out.push(format!(
                "{name} is {} now, with {} of holes.",
                at(extent),
                plural(left, "byte")
            )),
        },
    }
    out
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
                format!(
                    "{line}{}\n    {}\n",
                    style.strong(&self.words),
                    style.faint(self.does)
                )
            }
            Some(did) => did.iter().map(|s| format!("    {s}\n")).collect(),
        }
    }
}
