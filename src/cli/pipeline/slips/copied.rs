//! What was copied along with a step, or is written as another shell has it.

use clap::Command;

use super::around::Around;
use super::option_names::meanings;
use super::slip::Slip;
use super::vocabulary::{is_file, long_options, step_called};
use crate::cli::pipeline::parsed::by_command;
use crate::cli::pipeline::written::WordRange;

/// The program's own name or a prompt before a step; an option that begins with a dash, or with a slash.
pub fn copied(root: &Command, words: &[&str], around: Around<'_>) -> Option<Slip> {
    let found = prompt(words).or_else(|| asks(words, around));
    found.or_else(|| dashed(root, words, around))
}

/// `seat /?` and `seat help`.
fn asks(words: &[&str], around: Around<'_>) -> Option<Slip> {
    let [name, rest @ ..] = words else {
        return None;
    };
    step_called(name)?;
    let asks = ["?", "/?", "-?", "/h", "/help"];
    let at = match rest {
        ["help"] => 0,
        _ => (0..rest.len()).find(|at| {
            let word = rest[*at];
            // The value of an option may be anything.
            let is_value = words[*at].starts_with("--");
            asks.contains(&word) && !is_value && !is_file(around.folder, word)
        })?,
    };
    let slip = Slip::new(format!("`{}` is not a word of `{name}`", rest[at]));
    let slip = slip.so(format!("romloom help {name}"));
    Some(slip.at(Some(WordRange::whole(at + 1))))
}

/// `romloom load a.hex` as a line of a recipe, or `$ load a.hex`.
fn prompt(words: &[&str]) -> Option<Slip> {
    let (first, rest) = words.split_first()?;
    let program = first.rsplit(['/', '\\']).next().unwrap_or(first);
    let is_ours = ["romloom", "romloom.exe"].contains(&program);
    let is_prompt =
        ["$", ">", "%", "PS"].contains(first) || (first.contains(':') && first.ends_with('>'));
    if rest.is_empty() || !(is_ours || is_prompt) {
        return None;
    }
    let fact = match is_ours {
        true => format!("`{first}` is the program's own name, and here a step is needed"),
        false => format!("`{first}` is not a step"),
    };
    let rest = rest.iter().map(|word| (*word).to_owned()).collect();
    let slip = Slip::new(fact).at(Some(WordRange::whole(0)));
    Some(slip.write_one(rest))
}

/// `–at` with a dash of a page in place of two hyphens, and `/at` for `--at`.
fn dashed(root: &Command, words: &[&str], around: Around<'_>) -> Option<Slip> {
    let long = |word: &str| {
        let bare = match word.strip_prefix(['–', '—']) {
            Some(bare) => bare.trim_start_matches(['-', '–', '—']),
            None => word.strip_prefix('/')?,
        };
        let (name, value) = match bare.split_once(['=', ':']) {
            Some((name, value)) => (name, Some(value.to_owned())),
            None => (bare, None),
        };
        let groups = by_command(root, words);
        let mut options = groups.iter().flat_map(|group| long_options(group.command));
        let known = options.any(|own| own.eq_ignore_ascii_case(name));
        let step = groups.get(1).map_or("", |group| group.command.get_name());
        let known = known || (step_called(step).is_some() && meanings(step, name).next().is_some());
        let option = format!("--{}", name.to_lowercase());
        (known && !is_file(around.folder, word)).then(|| {
            let mut all = vec![option];
            all.extend(value);
            all
        })
    };
    let (at, option) = (words.iter().enumerate().skip(1)).find_map(|(i, w)| Some((i, long(w)?)))?;
    let slip = Slip::new(format!("`{}` does not begin with two hyphens", words[at]));
    let mut all: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
    all.splice(at..=at, option);
    Some(slip.write_one(all).at(Some(WordRange::whole(at))))
}
