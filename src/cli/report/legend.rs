//! One letter for each origin of bytes, the same in every picture of one report.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Serialize;

use crate::image::{Image, OriginRun, Source};

/// One letter of a picture.
#[derive(Serialize)]
pub struct LegendEntry {
    /// The letter.
    pub letter: char,
    /// Its origin.
    pub origin: String,
    /// Bytes of that origin.
    pub bytes: u64,
    #[serde(skip)]
    pub(super) tone: Tone,
}

/// How an origin is coloured: filler is dimmer than the data, stamps are brighter.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    Faint,
    Plain,
    Strong,
}

/// The letters for all origins in `images`, as the eye meets them, filler last.
pub(super) fn letters(images: &[&Image]) -> Vec<LegendEntry> {
    /// A source, its bytes, and the image and address of the first.
    type Met = (Arc<Source>, u64, (usize, u64));
    let mut met: BTreeMap<String, Met> = BTreeMap::new();
    for (i, image) in images.iter().enumerate() {
        for run in image.origins().runs() {
            let first = (i, run.range.first());
            let entry = met
                .entry(run.source.to_string())
                .or_insert_with(|| (run.source.clone(), 0, first));
            entry.1 += run.range.len();
        }
    }
    let mut sources: Vec<Met> = met.into_values().collect();
    sources.sort_by_cached_key(|(source, _, first)| (source.is_filler(), *first));
    let mut taken: Vec<char> = Vec::new();
    // The first of a kind gets its usual letter.
    let mut usual: Vec<Option<char>> = Vec::new();
    for (source, ..) in &sources {
        let letter = usual_letter(source).filter(|l| !taken.contains(l));
        taken.extend(letter);
        usual.push(letter);
    }
    let keys = sources.iter().zip(usual);
    keys.map(|((source, bytes, _), usual)| LegendEntry {
        letter: usual.unwrap_or_else(|| {
            let letter = free_letter(source, &taken);
            taken.push(letter);
            letter
        }),
        origin: source.to_string(),
        bytes: *bytes,
        tone: match **source {
            _ if source.is_filler() => Tone::Faint,
            Source::Stamp(_) => Tone::Strong,
            _ => Tone::Plain,
        },
    })
    .collect()
}

fn usual_letter(source: &Source) -> Option<char> {
    match source {
        Source::Filler => Some('f'),
        Source::Stamp(_) => Some('s'),
        _ => None,
    }
}

/// A letter of its name, or whatever is free.
fn free_letter(source: &Source, taken: &[char]) -> char {
    let name = source.to_string().to_ascii_lowercase();
    let name = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let own = name.chars().filter(char::is_ascii_lowercase);
    own.chain('a'..='z')
        .chain('A'..='Z')
        .find(|c| !taken.contains(c))
        .unwrap_or('+')
}

/// Which of the keys these runs have, the one with the fewest bytes first: a cell shows it, so that nothing small hides
/// behind something large.
pub(super) fn present(keys: &[LegendEntry], runs: impl Iterator<Item = OriginRun>) -> Vec<usize> {
    let mut met: Vec<usize> = Vec::new();
    let mut last: Option<Arc<Source>> = None;
    for run in runs {
        // Runs of one source mostly follow one another.
        if last.as_ref().is_some_and(|l| Arc::ptr_eq(l, &run.source)) {
            continue;
        }
        let name = run.source.to_string();
        let key = keys.iter().position(|k| k.origin == name);
        met.extend(key.filter(|k| !met.contains(k)));
        last = Some(run.source);
    }
    met.sort_by_key(|k| keys[*k].bytes);
    met
}
