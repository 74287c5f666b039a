//! What the words before the cursor have named, for completion: pieces, and what a recipe leaves open.
//!
//! Nothing is run for it, so labels that only a run can tell, as those of banks, are missing.

use std::ffi::OsString;
use std::path::Path;

use super::recipe;
use crate::steps::STEPS;

/// A recipe larger than this is not looked at, in bytes.
const LARGEST: u64 = 1 << 20;

/// The labels that pieces may have behind these words, in order, each once. `takes_value` tells whether a step's option has
/// a value.
pub fn labels(words: &[OsString], takes_value: impl Fn(&str, &str) -> bool) -> Vec<String> {
    let words: Vec<&str> = words.iter().filter_map(|w| w.to_str()).collect();
    let mut labels = Vec::new();
    for segment in words.split(|word| *word == "+") {
        let is_step = |word: &&str| STEPS.iter().any(|step| step.name == *word);
        let Some(at) = segment.iter().position(is_step) else {
            continue;
        };
        let step = segment[at];
        for label in labels_of(step, &segment[at + 1..], |option| takes_value(step, option)) {
            if !labels.contains(&label) {
                labels.push(label);
            }
        }
    }
    labels
}

/// The labels that one step gives.
fn labels_of(step: &str, words: &[&str], takes_value: impl Fn(&str) -> bool) -> Vec<String> {
    let option = |long: &str| {
        let at = words.iter().position(|word| *word == long)?;
        words.get(at + 1).copied()
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
    match (step, &plain[..]) {
        ("load", files) => {
            let stems = files.iter().filter_map(|file| Path::new(file).file_stem());
            stems.map(|stem| stem.to_string_lossy().into()).collect()
        }
        ("seat", _) if option("--rows").is_none() => match option("--lanes") {
            Some("2") => vec!["even".into(), "odd".into()],
            count => lanes(count.unwrap_or_default()),
        },
        ("split", ["lanes", count]) => lanes(count),
        ("split", ["nibbles"]) => vec!["low".into(), "high".into()],
        _ => Vec::new(),
    }
}

/// What the recipe behind `run` leaves open, to be given with `--set`.
pub fn settings(words: &[OsString], folder: &Path) -> Vec<String> {
    let run = words.iter().position(|word| word == "run");
    let behind = run.map_or(&[][..], |at| &words[at + 1..]);
    let recipe = behind.iter().map(|word| folder.join(word)).find(|file| {
        let meta = file.metadata();
        meta.is_ok_and(|meta| meta.is_file() && meta.len() <= LARGEST)
    });
    let text = recipe.and_then(|file| std::fs::read_to_string(file).ok());
    let text = text.unwrap_or_default();
    recipe::names(&text)
        .into_iter()
        .map(str::to_owned)
        .collect()
}
