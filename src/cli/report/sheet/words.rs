//! Names and ranges as the pages show them.

use maud::{Markup, html};

use crate::cli::report::address::RangeView;
use crate::cli::report::style::safe_char;

/// A heading of more bytes is set smaller.
const LONG: usize = 32;

/// The class of a long heading.
pub(super) fn long(heading: &str) -> Option<&'static str> {
    (heading.len() > LONG).then_some("long")
}

/// `8000-FFFF`, or `8000` for one address.
pub fn said(range: impl Into<RangeView>, w: usize) -> String {
    range.into().text(w)
}

/// Text without control characters, and without what no XML file may contain.
pub(super) fn safe(text: &str) -> String {
    let no_character = |c: char| matches!(c, '\u{FFFE}' | '\u{FFFF}');
    let chars = text.chars().map(safe_char);
    chars
        .map(|c| if no_character(c) { '\u{FFFD}' } else { c })
        .collect()
}

/// Room a character takes, in tenths of a usual letter's width; generous.
fn room(c: char) -> usize {
    match c {
        'm' | 'w' | '@' | '%' | '&' | '<' | '>' | '=' | '+' | '~' | 'A'..='Z' => 15,
        c if c.is_ascii() || c == '…' => 10,
        _ => 20,
    }
}

/// As much of the beginning of a text as fits into the room of `most` usual letters.
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

/// A sentence of the terminal's, in which words to type are between backquotes.
pub(super) fn with_typed_words(text: &str) -> Markup {
    let parts: Vec<&str> = text.split('`').collect();
    // A backquote without a partner stays a backquote.
    if parts.len() % 2 == 0 {
        return html! { (safe(text)) };
    }
    html! {
        @for (i, part) in parts.iter().enumerate() {
            @if i % 2 == 1 { code { (safe(part)) } } @else { (safe(part)) }
        }
    }
}

/// `U2, U3 and U4`; of many names the first, and how many more.
pub(super) fn in_a_row(names: &[&str]) -> String {
    const MOST: usize = 8;
    let more = names.len().saturating_sub(MOST);
    let mut names: Vec<String> = names.iter().take(MOST).map(|name| safe(name)).collect();
    if more > 0 {
        names.push(format!("{more} more"));
    }
    match names.pop() {
        None => String::new(),
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} and {last}", names.join(", ")),
    }
}

/// Text whose lines don't break inside UV-C.
pub(super) fn unbroken(text: &str) -> String {
    text.replace("UV-C", "UV\u{2011}C")
}
