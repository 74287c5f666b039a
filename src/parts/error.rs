//! What can go wrong with a part's name, and with a file of own parts.

use crate::prose::{debug_as_display, shown};

/// A name that is no part of the table.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{}` is no part of the table{}",
    shown(.word),
    suggestion(.nearest)
)]
pub struct UnknownPart {
    /// What was written.
    pub word: String,
    /// The names it may have meant, best first; may be empty.
    pub nearest: Vec<String>,
}

/// A file of own parts that cannot be taken. None of its parts was.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: {message}")]
pub struct OwnPartsError {
    /// The file, as it was named.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The column, counted from 1, in characters.
    pub column: usize,
    /// What stood there, what was expected, and what to do.
    pub message: String,
}

fn suggestion(nearest: &[String]) -> String {
    if nearest.is_empty() {
        String::new()
    } else {
        format!("; nearest: {}", nearest.join(", "))
    }
}

debug_as_display!(UnknownPart, OwnPartsError);
