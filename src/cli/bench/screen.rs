//! The one place that asks how wide the screen is.

use std::io::{self, IsTerminal};

use terminal_size::{Width, terminal_size_of};

use crate::cli::report::Style;

/// Columns of a terminal that does not say how many it has.
const USUAL: usize = 80;

/// How text on standard output is laid out and coloured.
pub fn on_output() -> Style {
    let out = io::stdout();
    style(out.is_terminal(), || {
        terminal_size_of(&out).map(|(width, _)| width)
    })
}

/// How text on standard error is laid out and coloured.
pub fn on_errors() -> Style {
    let err = io::stderr();
    style(err.is_terminal(), || {
        terminal_size_of(&err).map(|(width, _)| width)
    })
}

/// What goes to a file or a pipe is the same whatever terminal the command is started from.
fn style(is_terminal: bool, width: impl Fn() -> Option<Width>) -> Style {
    match is_terminal {
        true => Style::screen(width().map_or(USUAL, |Width(columns)| columns.into())),
        false => Style::COLOUR,
    }
}
