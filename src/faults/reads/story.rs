//! The stories of why reads of one chip differ.

use crate::faults::story::Story;
use crate::wiring::Line;

/// What makes reads differ. Lines are those of the chip, cells its bytes or words, and reads are counted from 0.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ReadsStory {
    /// Nothing: they are the same.
    Stable,
    /// Some cells are weak: the same bits read now 0 and now 1.
    WeakCells,
    /// Reading is disturbed: bits are wrong anywhere, others in each read.
    Noise,
    /// A data line floats: what wavers is on it.
    DataLine(u8),
    /// An address line floats: what wavers shows the cell whose address differs in it.
    AddressLine(u8),
    /// The chip had not answered yet: what wavers shows the cell before.
    ReadTooEarly,
    /// One read differs, and all others agree.
    OddRead {
        /// Which.
        read: usize,
        /// What it shows.
        shows: Oddity,
    },
    /// The reads have different contents, and can't be of one chip that is well read: groups of those that belong
    /// together, in the order of their first ones. A read that is one byte throughout belongs to none: it proves nothing.
    DifferentContents(Vec<Vec<usize>>),
}

/// What a read shows that differs from all others.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Oddity {
    /// Bits or bytes that differ.
    Bits,
    /// Bits that differ, all on this data line.
    DataLine(u8),
    /// This byte throughout.
    Only(u8),
    /// What this story makes of the others.
    Story(Story),
}

impl ReadsStory {
    /// The line that it is about.
    pub fn line(&self) -> Option<Line> {
        match self {
            ReadsStory::DataLine(line) => Some(Line::Data(*line)),
            ReadsStory::AddressLine(line) => Some(Line::Address(*line)),
            ReadsStory::OddRead {
                shows: Oddity::DataLine(line),
                ..
            } => Some(Line::Data(*line)),
            _ => None,
        }
    }
}

/// A story, with what it costs and leaves over.
#[derive(Clone, Debug, PartialEq)]
pub struct ToldOfReads {
    /// The story.
    pub story: ReadsStory,
    /// What it and what it leaves over cost to tell, in bits.
    pub bits: f64,
    /// Changed bits that it does not explain.
    pub left: usize,
    /// Whether it may be called certain when no other story is near: it leaves nothing over, is not a list, and the reads
    /// show it at two places at least.
    pub(super) proved: bool,
    /// Whether it is a line that explains all that wavers, whatever it costs to say what the chip then contains.
    pub(super) explains_all: bool,
}
