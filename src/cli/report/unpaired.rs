//! A set of chips and a set of files that don't fit together.

use serde::Serialize;

use super::style::{Style, safe_char};
use crate::prose::plural;

/// Pieces without a file, and files without a piece.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Unpaired {
    /// Pieces that have no file.
    pub missing: Vec<MissingFile>,
    /// Files that belong to no piece, as a step names them.
    pub surplus: Vec<String>,
}

/// A file that is not there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MissingFile {
    /// The piece that it should belong to.
    pub piece: String,
    /// The file, as a step names it.
    pub file: String,
}

impl Unpaired {
    /// Whether every piece has its file, and every file its piece.
    pub fn is_empty(&self) -> bool {
        self.missing.is_empty() && self.surplus.is_empty()
    }

    /// A line for each; the pieces are called by this noun.
    pub fn text(&self, noun: &str, style: Style) -> String {
        let mut out = String::new();
        let safe = |text: &str| text.chars().map(safe_char).collect::<String>();
        for MissingFile { piece, file } in &self.missing {
            let (piece, file) = (style.strong(&safe(piece)), safe(file));
            out += &format!("{piece}: there is no file {file}\n");
        }
        for file in &self.surplus {
            let file = style.strong(&safe(file));
            out += &format!("{file}: no {noun} on the bench belongs to it\n");
        }
        out
    }

    /// How many of each, after the count of those that have both: `; 1 without a file, 2 files without a chip`.
    pub fn counted(&self, noun: &str) -> String {
        let missing = match self.missing.len() {
            0 => None,
            n => Some(format!("{} without a file", plural(n as u64, noun))),
        };
        let surplus = match self.surplus.len() {
            0 => None,
            n => Some(format!("{} without a {noun}", plural(n as u64, "file"))),
        };
        let counts: Vec<String> = missing.into_iter().chain(surplus).collect();
        match counts[..] {
            [] => String::new(),
            _ => format!("; {}", counts.join(", ")),
        }
    }
}
