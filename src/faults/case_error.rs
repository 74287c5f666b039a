//! Why there can be no diagnosis.

use std::fmt;

use super::reads::VoteError;
use crate::prose::{debug_as_display, plural, thousands};

/// The largest image, in bytes: 24 address lines.
pub(super) const LARGEST: usize = 1 << 24;

/// An image of a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum CaseImage {
    /// What should have been read.
    Wanted,
    /// What was read.
    Read,
    /// The chip's content before.
    Old,
    /// Another image of the set.
    Other,
    /// The read of another part.
    Cousin,
}

impl fmt::Display for CaseImage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            CaseImage::Wanted => "wanted image",
            CaseImage::Read => "read",
            CaseImage::Old => "old image",
            CaseImage::Other => "other image",
            CaseImage::Cousin => "read of another part",
        })
    }
}

/// Why there can be no diagnosis.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CaseError {
    /// An image has no bytes.
    #[error("there is nothing to diagnose: the {which} has no bytes")]
    Empty {
        /// The wanted image or the read.
        which: CaseImage,
    },
    /// An image is larger than any chip this is made for.
    #[error("the {which} has {}; a diagnosis takes at most {}", plural(*.length as u64, "byte"), thousands(LARGEST as u64))]
    TooLarge {
        /// The wanted image or the read.
        which: CaseImage,
        /// Its bytes.
        length: usize,
    },
    /// Half a word is left over.
    #[error("the {which} has {}, which is not a whole number of 16-bit words", plural(*.length as u64, "byte"))]
    PartWord {
        /// The wanted image or the read.
        which: CaseImage,
        /// Its bytes.
        length: usize,
    },
    /// An old or other image is of another size.
    #[error("the {which} has {}, but the wanted image has {}", plural(*.length as u64, "byte"), thousands(*.wanted as u64))]
    OtherLength {
        /// The old image or another one of the set.
        which: CaseImage,
        /// Its bytes.
        length: usize,
        /// The wanted image's bytes.
        wanted: usize,
    },
    /// More other images than can be numbered.
    #[error("a case takes at most 64 other images, but {count} were given")]
    TooManyOthers {
        /// Images given.
        count: usize,
    },
    /// The reads can't be put together.
    #[error(transparent)]
    Vote(#[from] VoteError),
    /// The reads have different contents: no majority of them is what a chip contains.
    #[error("the reads are not of one chip: {} different contents", groups.len())]
    DifferentContents {
        /// Reads that belong together, counted from 0.
        groups: Vec<Vec<usize>>,
    },
}

debug_as_display!(CaseError);
