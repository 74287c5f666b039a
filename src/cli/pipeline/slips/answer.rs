//! What the parser refuses, in our own words, with the word meant.

use std::ffi::OsString;

use clap::Command;
use clap::error::ErrorKind;

use super::around::Around;
use super::refused::Refused;
use super::slip::Slip;
use super::{names, options, surplus, values};
use crate::cli::pipeline::written::WordRange;

/// Says in plain words what the parser found wrong, and what to type where the words look like a well-known slip. `first`
/// tells whether the bench is empty before these words.
pub fn answer(
    error: &clap::Error,
    words: &[OsString],
    root: &Command,
    around: Around<'_>,
    first: bool,
) -> Slip {
    let texts: Vec<_> = words.iter().map(|w| w.to_string_lossy()).collect();
    let texts: Vec<&str> = texts.iter().map(AsRef::as_ref).collect();
    let refused = Refused::new(error, &texts, root, around, first);
    let slip = match error.kind() {
        ErrorKind::InvalidSubcommand => names::unknown_name(&refused),
        ErrorKind::UnknownArgument => first_unknown(&refused),
        ErrorKind::ValueValidation | ErrorKind::InvalidValue => values::wrong_value(&refused),
        ErrorKind::MissingRequiredArgument => values::missing(&refused),
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            names::missing_way(&refused)
        }
        ErrorKind::ArgumentConflict => options::conflict(&refused),
        ErrorKind::TooManyValues => options::needless_value(&refused),
        ErrorKind::WrongNumberOfValues | ErrorKind::TooFewValues => values::wrong_count(&refused),
        ErrorKind::InvalidUtf8 => Some(values::no_text(&refused, words)),
        _ => None,
    };
    slip.unwrap_or_else(|| unusual(&refused))
}

/// An option or a word that is unknown: the one that comes first.
fn first_unknown(refused: &Refused<'_>) -> Option<Slip> {
    let option = options::unknown_option(refused);
    let word = surplus::word_too_many(refused);
    let at = |slip: &Slip| slip.at.as_ref().map(|at| at.word);
    match (option, word) {
        (Some(option), Some(word)) if at(&word) < at(&option) => Some(word),
        (Some(option), _) => Some(option),
        (None, word) => word,
    }
}

/// Something that nobody has met yet.
fn unusual(refused: &Refused<'_>) -> Slip {
    let slip = match refused.command().map(Command::get_name) {
        Some(name) => Slip::new(format!("these words of `{name}` make no sense together"))
            .so(format!("`romloom help {name}` explains it")),
        None => Slip::new("these words make no sense together").so("`romloom help` explains it"),
    };
    slip.at(refused.name().map(WordRange::whole))
}
