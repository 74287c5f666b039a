//! What can go wrong with a part's name, and with a file of own parts.

use super::{Kind, Part};
use crate::prose::{debug_as_display, shown};

/// A name or marking that does not mean one part of the table.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", said(.word, .doubt, .candidates))]
pub struct UnknownPart {
    /// What was written.
    pub word: String,
    /// Why it is not a part.
    pub doubt: Doubt,
    /// What it may be, best first; may be empty.
    pub candidates: Vec<PartHint>,
}

/// Why a marking does not mean one part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Doubt {
    /// It contains no number of the table; the candidates are those with the most similar spelling.
    Unlike,
    /// The number is in the table, but not with the letters after it.
    Letters,
    /// The number belongs to several parts, which letters after it tell apart.
    Forms,
    /// It can mean different parts, for the reason given.
    Different(&'static str),
    /// One maker's number for a small PROM, digits only; the table has another name for it.
    MakersNumber,
}

/// A part that a marking may mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartHint {
    /// Its name in the table.
    pub name: String,
    /// Its size, such as `32Kx8`.
    pub organisation: String,
    /// Its kind.
    pub kind: Kind,
    /// How many pins it has.
    pub pins: u8,
    /// What to watch for; may be empty.
    pub note: String,
}

impl PartHint {
    pub(super) fn of(part: &Part) -> PartHint {
        PartHint {
            name: part.name.clone(),
            organisation: part.organisation(),
            kind: part.kind,
            pins: part.pins,
            note: part.note.clone(),
        }
    }
}

/// A file of own parts that can't be used. None of its parts was added.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: {message}")]
pub struct OwnPartsError {
    /// The file, as it was named.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The column, counted from 1, in characters.
    pub column: usize,
    /// What was found, what was expected, and what to do.
    pub message: String,
}

fn said(word: &str, doubt: &Doubt, candidates: &[PartHint]) -> String {
    let word = shown(word);
    let names: Vec<&str> = candidates.iter().map(|part| part.name.as_str()).collect();
    let names = names.join(", ");
    match doubt {
        Doubt::Unlike if names.is_empty() => format!("`{word}` is not in the part table"),
        Doubt::Unlike => format!("`{word}` is not in the part table; nearest: {names}"),
        Doubt::Letters => format!(
            "`{word}` is not in the part table, and letters after a number can mean another part; nearest: {names}"
        ),
        Doubt::Forms => {
            format!(
                "`{word}` is the number of several parts, which differ in the letters after it: {names}"
            )
        }
        Doubt::Different(why) => {
            format!(
                "`{word}` can mean several parts, because {why}: it is {}",
                names.replace(", ", " or ")
            )
        }
        Doubt::MakersNumber => format!("`{word}` is one maker's number for a {names}"),
    }
}

debug_as_display!(UnknownPart, OwnPartsError);
