//! What a look at one read finds.

use std::ops::RangeInclusive;

/// Two address lines that act as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Joined {
    /// The read is the same when either or both are 0: shorted, and 0 wins.
    Low,
    /// The read is the same when either or both are 1: shorted, and 1 wins.
    High,
}

/// What is remarkable about a read, in cells: bytes, or words of a chip 16 bits wide. Every field that is empty or `None`
/// had nothing to report.
///
/// Small, repeated and blank images show the same signs as bad lines: where
/// [`constant`](Self::constant) is set, nothing else means anything.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Alone {
    /// The read is this one cell everywhere.
    pub constant: Option<u16>,
    /// Cells outside runs of one value: those that say something about a line.
    pub telling: usize,
    /// Address lines that make no difference: the cell at every address is that at the address
    /// with this line turned. The content repeats at a distance of two to the power of the line.
    pub idle_address: Vec<u8>,
    /// Pairs of address lines, neither of them idle, that act as one.
    pub joined_address: Vec<(u8, u8, Joined)>,
    /// Data lines that never move, and where they stay (true is 1).
    pub constant_data: Vec<(u8, bool)>,
    /// Pairs of data lines that move but are always equal.
    pub equal_data: Vec<(u8, u8)>,
    /// Pairs of data lines that move and are always opposite.
    pub opposite_data: Vec<(u8, u8)>,
    /// Whether the upper half echoes the lower.
    pub halves_equal: bool,
    /// Runs of at least [`BLANK`](Self::BLANK) cells that are all 1, or all 0, as the first and last cell, with that value.
    pub blank: Vec<(RangeInclusive<usize>, u16)>,
    /// Cells after which the content only repeats: a power of two, smaller than the read.
    pub repeats_after: Option<usize>,
    /// Cells up to the end of the content, when at least [`RUN`](Self::RUN) are left that are all of one blank value, and
    /// that value.
    pub blank_after: Option<(usize, u16)>,
}

impl Alone {
    /// The shortest run of cells that counts as blank: programs contain shorter ones.
    pub const BLANK: usize = 256;
    /// A run of this many cells of one value says nothing about a line.
    pub const RUN: usize = 16;
    /// This many cells must be able to show the opposite before something is said of a line: by chance it would happen in
    /// one read of a million.
    pub const EVIDENCE: usize = 20;

    /// Cells of the smallest chip that has room for the whole content, where that is smaller than the read.
    pub fn smallest(&self, cells: usize) -> Option<usize> {
        let content = self.blank_after.map(|(cells, _)| cells.next_power_of_two());
        let smallest = self.repeats_after.into_iter().chain(content).min()?;
        (smallest < cells && smallest > 0).then_some(smallest)
    }
}
