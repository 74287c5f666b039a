//! What the words before the cursor have named, for completion: pieces, and what a recipe leaves open.
//!
//! Nothing is run for it, so names that only a run can tell, such as those of banks, are missing, and pieces that are gone
//! again by then are offered.

use std::ffi::OsString;
use std::path::Path;

use super::recipe;
use crate::cli::steps::{STEPS, step};

/// A recipe larger than this is not looked at, in bytes.
const LARGEST: u64 = 1 << 20;

/// The names that pieces may have after these words, in order, each once. `takes_value` tells whether a step's option has
/// a value.
pub fn pieces(words: &[OsString], takes_value: impl Fn(&str, &str) -> bool) -> Vec<String> {
    let words: Vec<&str> = words.iter().filter_map(|w| w.to_str()).collect();
    let mut names = Vec::new();
    for segment in words.split(|word| *word == "+") {
        let is_step = |word: &&str| STEPS.iter().any(|entry| entry.name == *word);
        let Some(at) = segment.iter().position(is_step) else {
            continue;
        };
        let name = segment[at];
        for piece in names_of(name, &segment[at + 1..], |option| takes_value(name, option)) {
            if !names.contains(&piece) {
                names.push(piece);
            }
        }
    }
    names
}

/// The names that one step gives.
fn names_of(name: &str, words: &[&str], takes_value: impl Fn(&str) -> bool) -> Vec<String> {
    // `--name rom` or `--name=rom`.
    let option = |long: &str| {
        words.iter().enumerate().find_map(|(at, word)| {
            let rest = word.strip_prefix(long)?;
            match rest.is_empty() {
                true => words.get(at + 1).copied(),
                false => rest.strip_prefix('='),
            }
        })
    };
    if let Some(given) = option("--names").or(option("--name")) {
        return given.split(',').map(str::to_owned).collect();
    }
    let mut plain = Vec::new();
    let mut is_value = false;
    for word in words {
        let option = word.strip_prefix("--");
        if !is_value && option.is_none() {
            plain.push(*word);
        }
        is_value = option.is_some_and(&takes_value);
    }
    let lanes = |count: &str| {
        let count = count.parse().unwrap_or(0).min(16);
        (0..count).map(|lane| format!("lane{lane}")).collect()
    };
    match (name, &plain[..]) {
        (step::LOAD, files) => {
            // Without --apart all are one piece, which the first names.
            let apart = words.contains(&"--apart");
            let pieces = files.iter().take(if apart { usize::MAX } else { 1 });
            let stem = |file: &&str| match *file {
                "-" => Some("input".into()),
                file => Some(Path::new(file).file_stem()?.to_string_lossy().into()),
            };
            pieces.filter_map(stem).collect()
        }
        (step::PATTERN, [kind, ..]) => vec![(*kind).into()],
        (step::SEAT, _) if option("--rows").is_none() => match option("--lanes") {
            Some("2") => vec!["even".into(), "odd".into()],
            count => lanes(count.unwrap_or_default()),
        },
        (step::SPLIT, ["lanes", count]) => lanes(count),
        (step::SPLIT, ["nibbles"]) => vec!["low".into(), "high".into()],
        _ => Vec::new(),
    }
}

/// What the recipe after `run` leaves open, to be given with `--set`.
pub fn settings(words: &[OsString], folder: &Path) -> Vec<String> {
    let run = words.iter().position(|word| word == "run");
    let behind = run.map_or(&[][..], |at| &words[at + 1..]);
    let recipe = behind.iter().map(|word| folder.join(word)).find(|file| {
        let meta = file.metadata();
        meta.is_ok_and(|meta| meta.is_file() && meta.len() <= LARGEST)
    });
    let text = recipe.and_then(|file| std::fs::read_to_string(file).ok());
    let text = text.unwrap_or_default();
    let mut names = recipe::names(&text);
    let set = behind
        .iter()
        .filter_map(|word| word.to_str()?.split_once('='));
    let set: Vec<&str> = set
        .map(|(name, _)| name.trim_start_matches("--set="))
        .collect();
    names.retain(|name| !set.contains(&name.as_str()));
    names
}
