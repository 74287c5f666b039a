//! What was found, why it is believed and where to look next, as three headings with sentences.

use super::style::Style;

/// What is under a heading.
pub(super) enum Paragraph {
    /// A sentence or several.
    Sentence(String),
    /// One of a list.
    Item(String),
}

impl From<String> for Paragraph {
    fn from(text: String) -> Self {
        Paragraph::Sentence(text)
    }
}

impl From<&str> for Paragraph {
    fn from(text: &str) -> Self {
        Paragraph::Sentence(text.into())
    }
}

/// A verdict's sentences under their headings; a heading without any is left out.
pub(super) fn verdict(
    style: Style,
    finding: Vec<Paragraph>,
    because: Vec<Paragraph>,
    look_next: Vec<Paragraph>,
) -> String {
    let mut out = String::new();
    for (heading, sentences) in [
        ("Finding", finding),
        ("Because", because),
        ("Look next", look_next),
    ] {
        if !sentences.is_empty() {
            out += &format!("{}\n", style.strong(heading));
            for paragraph in sentences {
                out += &wrapped(style, &paragraph);
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

/// A sentence in lines, each two columns in; an item's later lines two more.
pub(super) fn wrapped(style: Style, paragraph: &Paragraph) -> String {
    let (text, first) = match paragraph {
        Paragraph::Sentence(text) => (text, "  "),
        Paragraph::Item(text) => (text, "  - "),
    };
    format!("{first}{}\n", style.fill(first.len(), first.len(), text))
}
