//! Why lists of lines are not a wiring, and why an image can't be rewired.

use super::Line;
use crate::image::OutOfSpace;
use crate::prose::debug_as_display;

/// Why lists of lines are not a wiring, or why an image can't be rewired.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum WiringError {
    /// A line is in the list twice, so another is missing.
    #[error("{double} is there twice and {missing} is missing")]
    Double {
        /// The line that is there twice.
        double: Line,
        /// The lowest that is missing.
        missing: Line,
    },
    /// A line above those that the list can name: one of `count` lines names the lowest `count`.
    #[error("{line} is outside {first}-{last}, the lines that a list of {count} names")]
    Outside {
        /// The line.
        line: Line,
        /// The lowest line of the list.
        first: Line,
        /// The highest line of the list.
        last: Line,
        /// Lines in the list.
        count: usize,
    },
    /// A data line that a chip 8 bits wide does not have.
    #[error("there is no {line}")]
    NoSuchLine {
        /// The line.
        line: Line,
    },
    /// More lines than there can be.
    #[error("{count} lines are too many: there can be at most {most}")]
    TooMany {
        /// Lines in the list.
        count: usize,
        /// The most there can be: 32 address lines, 8 or 16 data lines.
        most: usize,
    },
    /// A word of a chip 16 bits wide is only half in the image.
    #[error("the word at 0x{word:04X} has a hole at 0x{hole:04X}")]
    BrokenWord {
        /// Address of the word's first byte.
        word: u64,
        /// The lowest address of it that has no byte.
        hole: u64,
    },
    /// A block would pass the last address.
    #[error(transparent)]
    OutOfSpace(#[from] OutOfSpace),
}

debug_as_display!(WiringError);
