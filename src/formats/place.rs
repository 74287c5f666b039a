//! Where something is in a text file.

use std::ops::Range;

use super::line::TextLine;

/// Characters kept on each side of the place in a long line.
const CONTEXT: usize = 120;

/// A place in a text file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextPlace {
    /// Line, counted from 1.
    pub line: u64,
    /// Column of the first character meant, counted in characters from 1.
    pub column: u64,
    /// The line, or the part of it around the place when it is long.
    pub text: Vec<u8>,
    /// The bytes of `text` that are meant.
    pub mark: Range<usize>,
    /// Whether `text` leaves out the beginning of the line.
    pub cut_before: bool,
    /// Whether `text` leaves out the end of the line.
    pub cut_after: bool,
}

impl TextPlace {
    /// The bytes `mark` of `line`, widened so that no character is cut in the middle.
    pub fn new(line: &TextLine<'_>, mark: Range<usize>) -> Self {
        let bytes = line.bytes;
        let len = bytes.len();
        let start = mark.start.min(len);
        let end = mark.end.clamp(start, len);
        let mark = character_around(bytes, start).map_or(start, |c| c.start)
            ..character_around(bytes, end).map_or(end, |c| c.end);
        let from = mark.start.saturating_sub(CONTEXT);
        let from = character_around(bytes, from).map_or(from, |c| c.end);
        let to = (mark.start + CONTEXT).min(len);
        let to = character_around(bytes, to).map_or(to, |c| c.start);
        let column = String::from_utf8_lossy(&bytes[..mark.start])
            .chars()
            .count() as u64
            + 1;
        Self {
            line: line.number,
            column,
            text: bytes[from..to].to_vec(),
            mark: mark.start - from..mark.end.min(to) - from,
            cut_before: from > 0,
            cut_after: (to as u64) < line.length,
        }
    }
}

/// The character of several bytes that contains position `at`, if `at` is not at its edge.
fn character_around(bytes: &[u8], at: usize) -> Option<Range<usize>> {
    (at.saturating_sub(3)..at).find_map(|start| {
        let width = match bytes[start] {
            0xC2..=0xDF => 2,
            0xE0..=0xEF => 3,
            0xF0..=0xF4 => 4,
            _ => return None,
        };
        let character = start..start + width;
        let is_one = std::str::from_utf8(bytes.get(character.clone())?).is_ok();
        (is_one && at < character.end).then_some(character)
    })
}
