//! Colour, and how counts and sizes are said.

use anstyle::{AnsiColor, Style as Ansi};

pub(super) use crate::prose::thousands;

/// How to colour text. Every colour is a help only: nothing is said by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    colour: bool,
}

impl Style {
    /// Text without colour.
    pub const PLAIN: Style = Style { colour: false };
    /// Text with colour; whoever prints it takes the colour off where it does not belong.
    pub const COLOUR: Style = Style { colour: true };

    /// Whether there is colour.
    pub fn has_colour(self) -> bool {
        self.colour
    }

    fn paint(self, ansi: Ansi, text: &str) -> String {
        match self.colour {
            true => format!("{ansi}{text}{ansi:#}"),
            false => text.into(),
        }
    }

    /// Something to find at a glance.
    pub fn strong(self, text: &str) -> String {
        self.paint(Ansi::new().bold(), text)
    }

    /// Something that only accompanies.
    pub fn faint(self, text: &str) -> String {
        self.paint(Ansi::new().dimmed(), text)
    }

    /// The word in front of an error.
    pub fn bad(self, text: &str) -> String {
        self.paint(AnsiColor::Red.on_default().bold(), text)
    }

    /// The word in front of a warning.
    pub fn odd(self, text: &str) -> String {
        self.paint(AnsiColor::Yellow.on_default().bold(), text)
    }

    /// What stood here before.
    pub fn was(self, text: &str) -> String {
        self.paint(AnsiColor::Yellow.on_default(), text)
    }

    /// What stands here now.
    pub fn now(self, text: &str) -> String {
        self.paint(AnsiColor::Cyan.on_default(), text)
    }
}

/// A character that is safe to show: control characters as their pictures, what turns the direction of the text as the
/// replacement character.
pub(super) fn safe_char(c: char) -> char {
    match c {
        '\0'..='\x1F' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{FFFD}'),
        '\x7F' => '\u{2421}',
        '\u{061C}' | '\u{200E}' | '\u{200F}' => '\u{FFFD}',
        '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => '\u{FFFD}',
        c if c.is_control() => '\u{FFFD}',
        c => c,
    }
}

/// `32K`, `1M`, or plain bytes, `2,484`, where it is no whole number of K.
pub fn size_text(bytes: u64) -> String {
    const M: u64 = 1 << 20;
    match bytes {
        0 => "0".into(),
        n if n % M == 0 => format!("{}M", n / M),
        n if n % 1024 == 0 => format!("{}K", n / 1024),
        n => thousands(n),
    }
}
