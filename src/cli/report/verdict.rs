//! What was found, why it is believed and where to look next, as three headings with sentences.

use super::style::Style;

/// Columns of a line at most.
const COLUMNS: usize = 78;

/// A verdict's sentences under their headings; a heading without any is left out.
pub(super) fn verdict(
    style: Style,
    finding: Vec<String>,
    because: Vec<String>,
    look_next: Vec<String>,
) -> String {
    let mut out = String::new();
    for (heading, sentences) in [
        ("Finding", finding),
        ("Because", because),
        ("Look next", look_next),
    ] {
        if !sentences.is_empty() {
            out += &format!("{}\n", style.strong(heading));
            for sentence in sentences {
                out += &wrapped(&sentence);
            }
        }
    }
    out
}

/// With a capital and a full stop.
pub(super) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .map_or(String::new(), |c| c.to_uppercase().collect());
    let stop = if text.ends_with('.') { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}

/// A sentence in lines of [`COLUMNS`], each two columns in; an item's later lines two more.
fn wrapped(text: &str) -> String {
    let more = if text.starts_with("- ") { "    " } else { "  " };
    let mut out = String::new();
    let mut line = String::from(" ");
    for word in text.split(' ') {
        if line.len() + 1 + word.len() > COLUMNS && line.trim() != "" {
            out += &line;
            out.push('\n');
            line = more[1..].to_owned();
        }
        line.push(' ');
        line += word;
    }
    out += &line;
    out.push('\n');
    out
}
