//! The name of one line.

use std::fmt;

/// One line of a chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Line {
    /// An address line, counted from A0.
    Address(u8),
    /// A data line, counted from D0.
    Data(u8),
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Line::Address(n) => write!(f, "A{n}"),
            Line::Data(n) => write!(f, "D{n}"),
        }
    }
}
