//! A whole line: what is wrong with it first, and the line as it should be.

use std::ffi::OsString;

use clap::Command;

use super::answer::answer;
use super::around::Around;
use super::slip::{Instead, Slip};
use super::{bench, copied, plus};
use crate::cli::pipeline::words::quoted;

/// What is wrong with a line.
#[derive(Debug)]
pub struct LineAnswer {
    /// Which of its steps is meant.
    pub step: usize,
    /// What is wrong with it.
    pub slip: Slip,
    /// The whole line as it should be, as far as that is clear.
    pub line: Option<String>,
}

impl LineAnswer {
    /// What to do, one paragraph each.
    pub fn advice(&self) -> Vec<&str> {
        let advice = self.slip.advice.iter();
        self.line.iter().chain(advice).map(String::as_str).collect()
    }
}

/// So many slips of one line are mended in one answer.
const MOST: usize = 12;

/// A line of more words than anybody types is mended once only.
const LONGEST: usize = 1000;

/// Whether a line looks as if something may be wrong with it that the parser does not see.
pub fn may_be_wrong(steps: &[Vec<OsString>], around: Around<'_>) -> bool {
    let texts = |words: &[OsString]| -> Vec<String> {
        let texts = words.iter().map(|w| w.to_string_lossy().into_owned());
        texts.collect()
    };
    steps.iter().enumerate().any(|(i, words)| {
        let words = texts(words);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        // `/at`, and no path.
        let short = |word: &str| word.starts_with('/') && !word[1..].contains(['/', '.']);
        let dashed = |word: &&str| word.starts_with(['–', '—']) || short(word);
        let asks = |word: &&str| ["?", "-?", "help"].contains(word);
        words.iter().skip(1).any(|word| dashed(word) || asks(word))
            || plus::may_lack_a_plus(&words)
            || (i == 0 && around.first && bench::may_lack_a_load(&words))
    })
}

/// What is wrong with a line first, and the line with all that can be mended in it. The definitions must be built.
pub fn answer_line(
    root: &mut Command,
    steps: &[Vec<OsString>],
    around: Around<'_>,
) -> Option<LineAnswer> {
    let mut steps = steps.to_vec();
    let mut first: Option<(usize, Slip)> = None;
    let mut mended = false;
    for _ in 0..MOST {
        let Some((at, slip)) = problem(root, &steps, around) else {
            break;
        };
        let long = steps.iter().map(Vec::len).sum::<usize>() > LONGEST;
        if long && mended {
            break;
        }
        let instead = slip.instead.clone().map(|instead| *instead);
        first.get_or_insert((at, slip));
        let before = steps.clone();
        let words = |words: Vec<String>| words.into_iter().map(OsString::from).collect();
        match instead {
            None => break,
            Some(Instead::Steps(new)) => {
                steps.splice(at..=at, new.into_iter().map(words));
            }
            Some(Instead::InFront(front, rest)) => {
                steps[at] = words(rest);
                let front: Vec<OsString> = words(front);
                steps[0].splice(0..0, front);
            }
            Some(Instead::First(step)) => {
                let step = steps.remove(step);
                steps.insert(0, step);
            }
        }
        steps.retain(|words| !words.is_empty());
        if steps == before {
            break;
        }
        mended = true;
    }
    let (step, slip) = first?;
    let line = mended.then(|| shown(&steps, around));
    Some(LineAnswer { step, slip, line })
}

/// What is wrong first: whatever is told before any other complaint, then what the parser refuses.
fn problem(
    root: &mut Command,
    steps: &[Vec<OsString>],
    around: Around<'_>,
) -> Option<(usize, Slip)> {
    let is_first = |i: usize| i == 0 && around.first;
    let texts: Vec<Vec<String>> = steps.iter().map(|words| texts(words)).collect();
    let plain = |i: usize| -> Vec<&str> { texts[i].iter().map(String::as_str).collect() };
    let all = || 0..steps.len();
    let found = all().find_map(|i| Some((i, copied::copied(root, &plain(i), around)?)));
    let found = found.or_else(|| {
        all().find_map(|i| Some((i, plus::forgotten(root, &plain(i), around, is_first(i))?)))
    });
    let found = found.or_else(|| {
        let late = (1..steps.len()).find(|i| bench::begins(&plain(*i)))?;
        let slip = bench::too_early(root, &plain(0), late).filter(|_| around.first)?;
        Some((0, slip))
    });
    let found = found.or_else(|| {
        let slip = around
            .first
            .then(|| bench::nothing_there(root, &plain(0), steps.len() == 1, around));
        Some((0, slip.flatten()?))
    });
    found.or_else(|| {
        all().find_map(|i| {
            let line = std::iter::once(OsString::from("romloom")).chain(steps[i].iter().cloned());
            let error = root.try_get_matches_from_mut(line).err()?;
            let slip = error.use_stderr() && !steps[i].is_empty();
            slip.then(|| (i, answer(&error, &steps[i], root, around, is_first(i))))
        })
    })
}

fn texts(words: &[OsString]) -> Vec<String> {
    let texts = words.iter().map(|w| w.to_string_lossy().into_owned());
    texts.collect()
}

/// A line as it is typed.
fn shown(steps: &[Vec<OsString>], around: Around<'_>) -> String {
    let steps = steps.iter().map(|words| {
        let words: Vec<String> = texts(words).iter().map(|w| quoted(w)).collect();
        words.join(" ")
    });
    let steps: Vec<String> = steps.collect();
    match around.recipe {
        true => steps.join(" + "),
        false => format!("romloom {}", steps.join(" + ")),
    }
}
