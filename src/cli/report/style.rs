//! Colour and width of text, and how counts and sizes are said.

use std::borrow::Cow;
use std::sync::OnceLock;

use anstyle::{Ansi256Color, AnsiColor, Style as Ansi};

use super::fit;

pub(super) use crate::prose::thousands;

/// Columns of a page where no terminal sets the width.
pub(super) const PAGE: usize = 80;
/// Columns of a paragraph at most.
const PROSE: usize = 78;
/// A terminal that says it is narrower is taken for this wide.
const NARROWEST: usize = 20;

/// Colours of the 256 that terminals share, each at least 4 to 1 against black and against white.
const ORIGINS: [Ansi256Color; 6] = [
    Ansi256Color(28),
    Ansi256Color(163),
    Ansi256Color(31),
    Ansi256Color(130),
    Ansi256Color(99),
    Ansi256Color(161),
];

/// How to colour text, and how wide it may be. Every colour is a help only: nothing is said by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    colour: bool,
    /// Of the terminal; none for text that goes elsewhere, which is laid out for a page.
    columns: Option<usize>,
}

impl Style {
    /// Text without colour.
    pub const PLAIN: Style = Style {
        colour: false,
        columns: None,
    };
    /// Text with colour; what prints it takes the colour off where it does not belong.
    pub const COLOUR: Style = Style {
        colour: true,
        columns: None,
    };

    /// Text for a terminal of so many columns.
    pub fn screen(columns: usize) -> Self {
        Self {
            colour: true,
            columns: Some(columns.max(NARROWEST)),
        }
    }

    /// Whether a terminal shows the text, which has no use for lines that are wider than it is.
    pub fn on_terminal(self) -> bool {
        self.columns.is_some()
    }

    /// Columns that a line may have: the terminal's, or a page's.
    pub fn columns(self) -> usize {
        self.columns.unwrap_or(PAGE)
    }

    /// A paragraph in lines. The first word is at `column` already, later lines are set in by `indent`; the last has no end.
    pub fn fill(self, column: usize, indent: usize, text: &str) -> String {
        let columns = self.columns().min(PROSE);
        fit::in_lines(columns, self.on_terminal(), (column, indent), text)
    }

    /// The text as it may be shown: control characters from data are pictures, and lines that are wider than a terminal are
    /// broken.
    pub fn fitted(self, text: &str) -> String {
        let text = safe_text(text);
        match self.columns {
            Some(columns) => fit::broken(&text, columns, columns.min(PAGE)),
            None => text.into_owned(),
        }
    }

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

    /// The word before an error.
    pub fn bad(self, text: &str) -> String {
        self.paint(AnsiColor::Red.on_default().bold(), text)
    }

    /// The word before a warning.
    pub fn odd(self, text: &str) -> String {
        self.paint(AnsiColor::Yellow.on_default().bold(), text)
    }

    /// The letter of an origin of bytes, the `n`th of a picture.
    pub(super) fn origin(self, n: usize, text: &str) -> String {
        let colour = ORIGINS[n % ORIGINS.len()];
        self.paint(Ansi::new().fg_color(Some(colour.into())), text)
    }

    /// What was here before.
    pub fn was(self, text: &str) -> String {
        self.paint(AnsiColor::Yellow.on_default(), text)
    }

    /// What is here now.
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

/// A text in which no control character does anything but end a line, and no colour is but what [`Style`] gives.
pub fn safe_text(text: &str) -> Cow<'_, str> {
    let is_odd = |c: char| c != '\n' && safe_char(c) != c;
    let Some(first) = text.find(is_odd) else {
        return Cow::Borrowed(text);
    };
    let mut out = text[..first].to_owned();
    let mut rest = &text[first..];
    while let Some(c) = rest.chars().next() {
        let own = match c {
            '\x1B' => own_colour(rest),
            _ => None,
        };
        let len = own.unwrap_or(c.len_utf8());
        match (own, c) {
            (Some(_), _) | (None, '\n') => out.push_str(&rest[..len]),
            _ => out.push(safe_char(c)),
        }
        rest = &rest[len..];
    }
    Cow::Owned(out)
}

/// The same on one line.
pub(super) fn safe_line(text: &str) -> String {
    text.chars().map(safe_char).collect()
}

/// How long the colour is that a text begins with, if it is one that [`Style`] gives.
fn own_colour(text: &str) -> Option<usize> {
    static OWN: OnceLock<Vec<String>> = OnceLock::new();
    let own = OWN.get_or_init(|| {
        // A heading of the help is bold with a line below it.
        let heading = Ansi::new().bold().underline();
        let own = [Ansi::new().bold(), Ansi::new().dimmed(), heading].into_iter();
        let own = own.chain([
            AnsiColor::Red.on_default().bold(),
            AnsiColor::Yellow.on_default().bold(),
            AnsiColor::Green.on_default().bold(),
            AnsiColor::Yellow.on_default(),
            AnsiColor::Cyan.on_default(),
        ]);
        let origins = ORIGINS.map(|colour| Ansi::new().fg_color(Some(colour.into())));
        let mut own: Vec<String> = own.chain(origins).map(|ansi| ansi.to_string()).collect();
        own.push(format!("{:#}", Ansi::new().bold()));
        // A longer one first: bold and red begins as bold does.
        own.sort_by_key(|colour| std::cmp::Reverse(colour.len()));
        own
    });
    let own = own
        .iter()
        .find(|colour| text.starts_with(colour.as_str()))?;
    Some(own.len())
}

/// `32K`, `1M`, or plain bytes, `2,484`, where it is not a whole number of K.
pub fn size_text(bytes: u64) -> String {
    const M: u64 = 1 << 20;
    match bytes {
        0 => "0".into(),
        n if n % M == 0 => format!("{}M", n / M),
        n if n % 1024 == 0 => format!("{}K", n / 1024),
        n => thousands(n),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as the Web Content Accessibility Guidelines 2.1 define them. Red, green and blue of
    /// the colours 16 to 231 are steps of 0, 95, 135, 175, 215 and 255 in every terminal that has them (common practice).
    #[test]
    fn colours_are_readable_on_black_and_on_white() {
        let luminance = |Ansi256Color(number): Ansi256Color| {
            let step = |n: u8| [0.0, 95.0, 135.0, 175.0, 215.0, 255.0][usize::from(n % 6)] / 255.0;
            let cube = number - 16;
            let linear = |c: f64| match c <= 0.03928 {
                true => c / 12.92,
                false => ((c + 0.055) / 1.055).powf(2.4),
            };
            let [r, g, b] = [cube / 36, cube / 6, cube].map(|n| linear(step(n)));
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        for colour in ORIGINS {
            let light = luminance(colour);
            let (on_white, on_black) = (1.05 / (light + 0.05), (light + 0.05) / 0.05);
            assert!(
                on_white >= 4.0 && on_black >= 4.0,
                "{colour:?} {on_white} {on_black}"
            );
        }
    }

    #[test]
    fn nothing_from_data_reaches_a_terminal_as_it_is() {
        let shown = |text: &str| Style::COLOUR.fitted(text);
        for (data, safe) in [
            ("a\x1b[31mb", "a␛[31mb"),
            ("\x1b]0;title\x07", "␛]0;title␇"),
            ("\x1b[2J\x1b[1;1H", "␛[2J␛[1;1H"),
            ("bank\r0\t1\u{9b}2J", "bank␍0␉1\u{FFFD}2J"),
            ("gnp.\u{202e}exe", "gnp.\u{FFFD}exe"),
            ("two\nlines\n", "two\nlines\n"),
            ("é 日本", "é 日本"),
        ] {
            assert_eq!(shown(data), safe);
        }
        // What the program paints itself stays.
        for paint in [
            Style::strong,
            Style::faint,
            Style::bad,
            Style::odd,
            Style::was,
            Style::now,
        ] {
            let painted = paint(Style::COLOUR, "text");
            assert_eq!(shown(&painted), painted);
        }
        let painted: String = (0..6).map(|n| Style::COLOUR.origin(n, "m")).collect();
        assert_eq!(shown(&painted), painted);
    }

    #[test]
    fn only_a_terminal_sets_the_width() {
        let long = format!("{}\n", "word ".repeat(30).trim_end());
        assert_eq!(Style::COLOUR.fitted(&long), long);
        assert_eq!(Style::COLOUR.columns(), 80);
        assert_eq!(Style::screen(5).columns(), 20);
        assert!(
            Style::screen(200)
                .fitted(&long)
                .lines()
                .all(|line| line.len() <= 80)
        );
    }
}
