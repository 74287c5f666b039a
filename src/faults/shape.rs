//! What the search knows of a chip: its lines and its cells.

use super::line_fault::{Cells, LineFault, When};

/// The lines of a chip, and what is known of its cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::faults) struct Shape {
    pub address_lines: u8,
    pub data_lines: u8,
    pub cells: Option<Cells>,
    /// What a byte reads when it is erased.
    pub erased: u8,
}

impl Shape {
    pub fn size(self) -> usize {
        1 << self.address_lines
    }

    /// What an erased cell reads.
    pub fn erased(self) -> u16 {
        u16::from_le_bytes([self.erased; 2]) & self.ones()
    }

    /// A cell with every bit at 1.
    pub fn ones(self) -> u16 {
        u16::MAX >> (16 - self.data_lines)
    }

    /// The kinds of cell that the chip may have.
    pub fn kinds(self) -> impl Iterator<Item = Cells> + Clone {
        [Cells::Overwrite, Cells::OnlyClear]
            .into_iter()
            .filter(move |kind| self.cells.is_none_or(|known| known == *kind))
    }

    /// The times at which a fault can have been there; reading first.
    pub fn all_times(self) -> impl Iterator<Item = When> {
        let bad_burns = self
            .kinds()
            .flat_map(|kind| [When::Burning(kind), When::Both(kind)]);
        std::iter::once(When::Reading).chain(bad_burns)
    }

    /// The times at which this fault makes a difference of its own: one that loses nothing
    /// cancels when it is there all the time, and reads the same whether it was there first or
    /// last.
    pub fn times(self, fault: LineFault) -> impl Iterator<Item = When> {
        let most = if fault.loses_nothing() { 1 } else { usize::MAX };
        self.all_times().take(most)
    }
}
