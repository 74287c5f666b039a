//! A line that begins with a step that needs something on the bench, or with a file.

use std::ffi::OsString;

use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use super::around::Around;
use super::slip::{Instead, Slip};
use super::spots::{Spot, Takes, spots};
use super::vocabulary::{format_by_name, is_file, long_options, looks_like_file, step_called};
use crate::cli::pipeline::written::WordRange;
use crate::cli::steps::step;
use crate::values;

/// Steps that put something on the bench.
const BEGIN: [&str; 2] = [step::LOAD, step::PATTERN];

/// Steps whose last file is the one that pieces are compared with.
const COMPARED_WITH: [&str; 2] = [step::COMPARE, step::BURNABLE];

/// Steps that work on several pieces.
const ON_SEVERAL: [&str; 3] = [step::VOTE, step::JOIN, step::UNSEAT];

/// Steps that change what is on the bench, and say nothing of it.
const SILENT: [&str; 19] = [
    step::FILL,
    step::HOLLOW,
    step::KEEP,
    step::DROP,
    step::RELOCATE,
    step::PAD,
    step::REPEAT,
    step::COPY,
    step::SEAT,
    step::UNSEAT,
    step::SPLIT,
    step::JOIN,
    step::SPREAD,
    step::SWAP,
    step::REWIRE,
    step::PATCH,
    step::MARK,
    step::STAMP,
    step::VOTE,
];

/// A name for a file that nobody has as_typed yet, in a format that has room for holes where there may be some.
pub fn out_name(name: &str, all_raw: bool) -> &'static str {
    let no_holes = [step::FILL, step::PAD, step::SEAT, step::REPEAT].contains(&name);
    let holes = [step::DROP, step::HOLLOW, step::COPY].contains(&name);
    match (name == step::SPLIT, no_holes || (all_raw && !holes)) {
        (true, _) => "OUT-{name}.bin",
        (false, true) => "OUT.bin",
        (false, false) => "OUT.hex",
    }
}

/// Whether a line may begin with a step that needs something on the bench.
pub fn may_lack_a_load(words: &[&str]) -> bool {
    let mut steps = words.iter().filter_map(|word| step_called(word));
    steps.next().is_some_and(|step| !BEGIN.contains(&step.name))
}

/// Whether a step puts something on the bench.
pub fn begins(words: &[&str]) -> bool {
    words.first().is_some_and(|name| BEGIN.contains(name))
}

/// A first step that needs something on the bench, where a later one, this one of the line, loads it.
pub fn too_early(root: &Command, words: &[&str], late: usize) -> Option<Slip> {
    let at = spots(root, words).name?;
    let step = step_called(words[at]).filter(|step| !BEGIN.contains(&step.name))?;
    let fact = format!("`{}` comes before anything is loaded", step.name);
    let slip = Slip::new(fact).at(Some(WordRange::whole(at)));
    Some(Slip {
        instead: Some(Box::new(Instead::First(late))),
        ..slip
    })
}

/// A line whose first step needs something on the bench, or which begins with a file. `alone` tells that no other step
/// comes after it.
pub fn nothing_there(
    root: &mut Command,
    words: &[&str],
    alone: bool,
    around: Around<'_>,
) -> Option<Slip> {
    let name = spots(root, words).name;
    match name {
        None => files_first(root, words, alone, around),
        Some(at) => {
            let step = step_called(words[at]).filter(|step| !BEGIN.contains(&step.name))?;
            step_first(root, words, (at, step.name), alone, around)
        }
    }
}

/// `a.hex b.hex`, with or without steps after it.
fn files_first(root: &Command, words: &[&str], alone: bool, around: Around<'_>) -> Option<Slip> {
    let at = words.iter().position(|word| !word.starts_with('-'))?;
    let first = words[at];
    let is_recipe = first.ends_with(".loom");
    let known = |word: &&str| {
        let long = word.trim_start_matches('-').split('=').next();
        long_options(root).any(|own| Some(own) == long)
    };
    if !words[..at].iter().all(known) {
        return None;
    }
    if is_recipe || root.find_subcommand(first).is_some() || !looks_like_file(around.folder, first)
    {
        return None;
    }
    let mut load: Vec<String> = words[..at].iter().map(|w| (*w).to_owned()).collect();
    load.push(step::LOAD.into());
    load.extend(words[at..].iter().map(|w| (*w).to_owned()));
    let mut steps = vec![load];
    let more = words[at..].iter().any(|word| step_called(word).is_some());
    steps.extend((alone && !more).then(|| vec![step::SHOW.to_owned()]));
    let slip = Slip::new(format!(
        "`{first}` is a file, and a line begins with a step"
    ));
    Some(slip.write(steps).at(Some(WordRange::whole(at))))
}

fn step_first(
    root: &mut Command,
    words: &[&str],
    (at, name): (usize, &str),
    alone: bool,
    around: Around<'_>,
) -> Option<Slip> {
    let spots = spots(root, words).all;
    let options = |long: &str| {
        words
            .iter()
            .any(|w| *w == long || w.starts_with(&format!("{long}=")))
    };
    let candidates = (at + 1..words.len()).filter(|i| match &spots[*i] {
        Spot::Excess | Spot::Plain(Takes::Input | Takes::Output) => {
            looks_like_file(around.folder, words[*i])
        }
        Spot::Plain(Takes::Value(_)) => {
            looks_like_file(around.folder, words[*i]) && values::number(words[*i]).is_err()
        }
        _ => false,
    });
    let candidates: Vec<usize> = candidates.collect();
    let own = own_file(words, name, &spots, &candidates, around);
    let loaded: Vec<usize> = candidates
        .into_iter()
        .filter(|i| !own.contains(i))
        .collect();
    let mut load: Vec<String> = words[..at].iter().map(|w| (*w).to_owned()).collect();
    load.push(step::LOAD.into());
    load.extend(loaded.iter().map(|i| words[*i].to_owned()));
    if loaded.is_empty() {
        load.push("FILE".into());
    }
    let raw = loaded.iter().filter(|i| is_raw(words[**i])).count();
    let nameless = loaded
        .iter()
        .filter(|i| format_by_name(words[**i]).is_none())
        .count();
    if nameless > 0 && nameless == loaded.len() {
        load.extend(["--as".to_owned(), "raw".to_owned()]);
    }
    if loaded.len() > 1
        && (ON_SEVERAL.contains(&name) || COMPARED_WITH.contains(&name) || name == step::DIAGNOSE)
    {
        load.push("--apart".into());
    } else if raw > 1 {
        load.push("--follow".into());
    }
    let base = words
        .iter()
        .position(|w| *w == "--at")
        .and_then(|i| words.get(i + 1));
    if let (step::SEAT, true, Some(base)) = (name, raw > 0 && raw == loaded.len(), base) {
        load.extend(["--at".to_owned(), (*base).to_owned()]);
    }
    let mut rest: Vec<String> = Vec::new();
    for (i, word) in words.iter().enumerate().skip(at) {
        let wanted = name == step::DIAGNOSE && own.contains(&i) && !options("--wanted");
        rest.extend(wanted.then(|| "--wanted".to_owned()));
        rest.extend((!loaded.contains(&i)).then(|| (*word).to_owned()));
    }
    let chip = match loaded[..] {
        [one] if raw == 1 => std::fs::metadata(around.folder.join(words[one])).ok(),
        _ => None,
    };
    let all = chip
        .filter(|chip| chip.len() > 0)
        .map(|chip| format!("0-0x{:X}", chip.len() - 1));
    rest.extend(
        still_needed(root, &rest)
            .into_iter()
            .map(|word| match (word.as_str(), &all) {
                ("RANGE", Some(all)) => all.clone(),
                ("FILE", _) if name == step::SHEET => "FILE.html".into(),
                _ => word,
            }),
    );
    let mut steps = vec![load, rest];
    if alone && SILENT.contains(&name) {
        let out = out_name(name, raw == loaded.len());
        steps.push(vec![step::WRITE.into(), out.into()]);
    }
    let slip = Slip::new(format!(
        "`{name}` works on what is loaded, and nothing is loaded"
    ));
    Some(slip.write(steps).at(Some(WordRange::whole(at))))
}

fn is_raw(file: &str) -> bool {
    format_by_name(file).is_none_or(|format| format == "raw")
}

/// Of these files those that are the step's own, and are not to be loaded.
fn own_file(
    words: &[&str],
    name: &str,
    spots: &[Spot],
    files: &[usize],
    around: Around<'_>,
) -> Vec<usize> {
    let is_taken = |i: &usize| matches!(spots[*i], Spot::Plain(Takes::Input | Takes::Output));
    let last = || files.last().copied().into_iter().collect();
    match name {
        step::COMPARE | step::BURNABLE => last(),
        step::SHOW if files.iter().any(is_taken) => last(),
        step::DIAGNOSE if files.len() == 2 => last(),
        step::SHEET => {
            let page = |i: &&usize| words[**i].ends_with(".html") || words[**i].ends_with(".svg");
            files.iter().filter(page).copied().collect()
        }
        step::WRITE => {
            // What is there already is what is read, lest a program be overwritten.
            let new = files.iter().find(|i| !is_file(around.folder, words[**i]));
            let raw = files.iter().find(|i| is_raw(words[**i]));
            match files.len() {
                1 => files.to_vec(),
                _ => new.or(raw).copied().into_iter().collect(),
            }
        }
        _ => Vec::new(),
    }
}

/// Names for the arguments that a step still needs.
pub fn still_needed(root: &mut Command, words: &[String]) -> Vec<String> {
    let line = std::iter::once("romloom".to_owned()).chain(words.iter().cloned());
    let line = line.map(OsString::from);
    match root.try_get_matches_from_mut(line) {
        Err(error) if error.kind() == ErrorKind::MissingRequiredArgument => {
            match error.get(ContextKind::InvalidArg) {
                Some(ContextValue::Strings(all)) => all_as_typed(all.iter().map(String::as_str)),
                Some(ContextValue::String(arg)) => as_typed(arg),
                _ => Vec::new(),
            }
        }
        _ => Vec::new(),
    }
}

/// Several of them, those without an option first: an option may take all the words after it.
pub fn all_as_typed<'a>(shown: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<Vec<String>> = shown.map(as_typed).collect();
    all.sort_by_key(|words| words.first().is_some_and(|word| word.starts_with("--")));
    all.concat()
}

/// `--at <ADDR>` as words to type: `--at ADDR`. Of alternatives it is the first option, or the last value.
pub fn as_typed(shown: &str) -> Vec<String> {
    let first = shown.trim_start_matches('<');
    let inner = match first.starts_with("--") {
        true => first.split("|--").next().unwrap_or(first),
        false => shown,
    };
    let clean = inner.replace(['<', '>'], "").replace("...", "");
    let words = clean.split_whitespace().map(|word| {
        let last = word.rsplit('|').next().unwrap_or(word);
        last.trim_end_matches(',').to_owned()
    });
    words.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_parser_shows_becomes_words_to_type() {
        let words = |shown: &str| as_typed(shown).join(" ");
        assert_eq!(words("--at <ADDR>"), "--at ADDR");
        assert_eq!(words("<FILE>..."), "FILE");
        assert_eq!(words("--among <LIST|IMAGE|FOLDER>..."), "--among FOLDER");
        assert_eq!(words("<--to <ADDR>|--by <+N|-N>>"), "--to ADDR");
        assert_eq!(words("<2|4>"), "4");
    }
}
