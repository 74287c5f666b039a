//! Values that an argument does not take, and arguments that are missing.

use std::any::TypeId;
use std::error::Error;
use std::ffi::OsString;
use std::num::{IntErrorKind, ParseIntError};
use std::path::PathBuf;

use clap::Arg;
use clap::error::ContextKind;

use super::options::called;
use super::refused::Refused;
use super::slip::Slip;
use super::vocabulary::{step_called, with_plus};
use crate::cli::pipeline::words::quoted;
use crate::cli::pipeline::written::WordRange;
use crate::sums::UnknownAlgo;
use crate::values::{self, BadValue};

/// A value that its argument does not take.
pub fn wrong_value(refused: &Refused<'_>) -> Option<Slip> {
    let arg = refused.argument(refused.says(ContextKind::InvalidArg)?)?;
    let value = refused.says(ContextKind::InvalidValue)?;
    let option = arg.get_long().map(|long| format!("--{long}"));
    let front = option
        .as_deref()
        .map(|o| format!("{o}: "))
        .unwrap_or_default();
    // `load --at` at the end, or with nothing but a comment behind it.
    if let Some(at) = refused.without_value(arg) {
        let names = arg.get_value_names().unwrap_or_default();
        let what = names.first().map_or("VALUE", |name| name.as_str());
        let slip = Slip::new(format!("{front}a value is missing")).so(format!(
            "write {} {what} (a # in front of a word starts a comment)",
            option.unwrap_or_default()
        ));
        return Some(slip.at(Some(at)));
    }
    let at = refused.values(arg);
    let at = at.into_iter().find(|at| refused.text(at) == value);
    let slip = Slip::new("").at(at.clone());
    let said = |fact: String| Slip { fact, ..slip };
    let plus = refused.step().and_then(|_| with_plus(refused.step_words()));
    if let Some(line) = plus.filter(|_| step_called(value).is_some()) {
        let slip = said(format!("{front}`{value}` is a step"));
        return Some(slip.also(format!("is a + missing? {line}")));
    }
    // `keep 0x8000 0x9000`.
    let next = at.and_then(|at| refused.words.get(at.word + 1));
    let names = arg.get_value_names().unwrap_or_default();
    let numbers = |next: &&&str| [value, next].iter().all(|w| values::number(w).is_ok());
    if let Some(next) = next.filter(|next| names.iter().any(|n| n == "RANGE") && numbers(next)) {
        let slip = said(format!("{front}`{value}` is not a range"));
        return Some(slip.so(format!("a range is one word, as {value}-{next}")));
    }
    if names.iter().any(|n| n == "RANGE") && several_ranges(value) {
        let slip = said(format!("{front}`{value}` is several ranges"));
        return Some(slip.so("give one at a time, with the option again for each"));
    }
    let cause = refused.error.source();
    let bad_value = cause.and_then(|cause| cause.downcast_ref::<BadValue>());
    if value.is_empty() && bad_value == values::number(value).as_ref().err() {
        let slip = said(format!("{front}there is no number here"));
        return Some(slip.so("a shell makes nothing of $C000: write 0xC000"));
    }
    Some(match cause {
        Some(cause) => said(format!("{front}{}", said_of(value, cause))),
        None => {
            let known = refused.context(ContextKind::ValidValue).join(", ");
            let of = option.map(|o| format!(" of {o}")).unwrap_or_default();
            said(format!("`{value}` is no value{of}")).so(format!("it takes {known}"))
        }
    })
}

/// `0-1,3-4`.
fn several_ranges(text: &str) -> bool {
    let mut ranges = text.split(',');
    text.contains(',') && ranges.all(|range| values::range(range).is_ok())
}

/// The cause, with the value that it is about where it does not name that itself.
fn said_of(value: &str, cause: &(dyn Error + 'static)) -> String {
    match cause.downcast_ref().map(ParseIntError::kind) {
        Some(IntErrorKind::PosOverflow) => return format!("`{value}` is too large"),
        Some(_) => return format!("`{value}` is not a number"),
        None => {}
    }
    let names_it = cause.is::<BadValue>() || cause.is::<UnknownAlgo>();
    match names_it {
        true => cause.to_string(),
        false => format!("`{value}`: {cause}"),
    }
}

/// An option with more or fewer values than it takes.
pub fn wrong_count(refused: &Refused<'_>) -> Option<Slip> {
    let arg = refused.argument(refused.says(ContextKind::InvalidArg)?)?;
    let names = arg.get_value_names().unwrap_or_default();
    let names: Vec<&str> = names.iter().map(|name| name.as_str()).collect();
    let option = called(arg);
    let slip = Slip::new(format!("{option} takes {} values", names.len()))
        .so(format!("{option} {}", names.join(" ")));
    Some(slip.at(refused.options(arg).pop()))
}

/// A required argument that is not given.
pub fn missing(refused: &Refused<'_>) -> Option<Slip> {
    let missing = refused.context(ContextKind::InvalidArg).join(" ");
    let missing = missing.replace(['<', '>'], "");
    let words = refused.step_words();
    let name = words.first()?;
    let slip =
        Slip::new(format!("`{name}` needs {missing}")).at(refused.name().map(WordRange::whole));
    let plus = refused.step().and_then(|_| with_plus(words));
    if let Some(line) = plus {
        return Some(slip.also(format!("is a + missing? {line}")));
    }
    let given: Vec<String> = words.iter().map(|w| quoted(w)).collect();
    Some(slip.so(format!(
        "{} {missing} (see `romloom help {name}`)",
        given.join(" ")
    )))
}

/// A word that is no UTF-8 text, where only text can be taken.
pub fn no_text(refused: &Refused<'_>, words: &[OsString]) -> Slip {
    let is_path = |arg: &Arg| {
        let kind = arg.get_value_parser().type_id();
        kind == TypeId::of::<PathBuf>() || kind == TypeId::of::<OsString>()
    };
    let broken = (0..words.len()).filter(|i| words[*i].to_str().is_none());
    let taken: Vec<usize> = refused
        .arguments()
        .filter(|arg| is_path(arg))
        .flat_map(|arg| refused.values(arg))
        .map(|at| at.word)
        .collect();
    let at = broken.into_iter().find(|i| !taken.contains(i));
    let word = at
        .and_then(|i| refused.words.get(i))
        .copied()
        .unwrap_or_default();
    Slip::new(format!("`{word}` is not UTF-8 text")).at(at.map(WordRange::whole))
}
