//! Names and ranges as the pages show them.

use crate::cli::report::address::RangeView;
use crate::cli::report::style::safe_char;

/// A heading of more bytes is set smaller.
const LONG: usize = 32;

/// The class of a long heading.
pub(super) fn long(heading: &str) -> Option<&'static str> {
    (heading.len() > LONG).then_some("long")
}

/// `8000-FFFF`.
pub fn said(range: impl Into<RangeView>, w: usize) -> String {
    let RangeView { first, last } = range.into();
    format!("{first:0w$X}-{last:0w$X}")
}

/// Text without control characters.
pub(super) fn safe(text: &str) -> String {
    text.chars().map(safe_char).collect()
}

/// Room a character takes, in tenths of a usual letter's width; generous.
fn room(c: char) -> usize {
    match c {
        'm' | 'w' | '@' | '%' | '&' | '<' | '>' | '=' | '+' | '~' | 'A'..='Z' => 15,
        c if c.is_ascii() || c == '…' => 10,
        _ => 20,
    }
}

/// The beginning of a text, so much that it takes the room of `most` usual letters.
pub fn short(text: &str, most: usize) -> String {
    let text = safe(text);
    if text.chars().map(room).sum::<usize>() <= most * 10 {
        return text;
    }
    let mut left = (most * 10).saturating_sub(room('…'));
    let fits = |c: &char| {
        let enough = left >= room(*c);
        left = left.saturating_sub(room(*c));
        enough
    };
    let mut out: String = text.chars().take_while(fits).collect();
    out.push('…');
    out
}

/// The end of a text, where a path has what tells files apart.
pub(super) fn short_start(text: &str, most: usize) -> String {
    let backwards: String = text.chars().rev().collect();
    short(&backwards, most).chars().rev().collect()
}

/// Text whose lines don't break inside UV-C.
pub(super) fn unbroken(text: &str) -> String {
    text.replace("UV-C", "UV\u{2011}C")
}
