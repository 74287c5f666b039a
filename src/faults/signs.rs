//! What looks wrong in one read alone.

use super::alone::{Alone, Joined};
use crate::wiring::Width;

/// Something that a healthy chip with a program in it hardly shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Sign {
    /// Every cell reads as an erased one does, this value.
    Blank(u16),
    /// Every cell reads this value, which is not the erased one.
    Constant(u16),
    /// An address line makes no difference.
    IdleAddress {
        /// The line.
        line: u8,
        /// Whether it is the highest: then the upper half echoes the lower.
        halves_equal: bool,
    },
    /// Two address lines act as one.
    JoinedAddress(u8, u8, Joined),
    /// A data line never moves.
    ConstantData {
        /// The line.
        line: u8,
        /// Whether it stays at 1.
        high: bool,
    },
    /// Two data lines move and are always equal.
    EqualData(u8, u8),
    /// Two data lines move and are always opposite.
    OppositeData(u8, u8),
}

impl Alone {
    /// What looks wrong in the read, of this many cells of this width. A read that is one value throughout shows no line.
    pub fn signs(&self, cells: usize, width: Width) -> Vec<Sign> {
        if let Some(value) = self.constant {
            let erased = u16::MAX >> (16 - width.lines());
            return vec![match value == erased {
                true => Sign::Blank(value),
                false => Sign::Constant(value),
            }];
        }
        let idle = self.idle_address.iter().map(|&line| Sign::IdleAddress {
            line,
            halves_equal: self.halves_equal && cells == 2 << line,
        });
        let joined = self.joined_address.iter();
        let constant = self.constant_data.iter();
        let equal = self.equal_data.iter();
        let opposite = self.opposite_data.iter();
        idle.chain(joined.map(|&(a, b, joined)| Sign::JoinedAddress(a, b, joined)))
            .chain(constant.map(|&(line, high)| Sign::ConstantData { line, high }))
            .chain(equal.map(|&(a, b)| Sign::EqualData(a, b)))
            .chain(opposite.map(|&(a, b)| Sign::OppositeData(a, b)))
            .collect()
    }

    /// Whether anything looks wrong.
    pub fn is_suspect(&self) -> bool {
        self.constant.is_some()
            || !self.idle_address.is_empty()
            || !self.joined_address.is_empty()
            || !self.constant_data.is_empty()
            || !self.equal_data.is_empty()
            || !self.opposite_data.is_empty()
    }

    /// Forgets data lines from this one up that never move: a part of 4 data lines has nothing in the upper half of the
    /// bytes of its image.
    pub fn forget_data_lines_from(&mut self, first: u8) {
        self.constant_data.retain(|(line, _)| *line < first);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::alone::alone;

    #[test]
    fn a_blank_chip_shows_nothing_else() {
        let signs = |byte, width| alone(&[byte; 64], width).signs(64 / width.bytes(), width);
        assert_eq!(signs(0xFF, Width::Eight), [Sign::Blank(0xFF)]);
        assert_eq!(signs(0x00, Width::Eight), [Sign::Constant(0)]);
        assert_eq!(signs(0xFF, Width::Sixteen), [Sign::Blank(0xFFFF)]);
    }

    #[test]
    fn only_the_highest_line_makes_halves_equal() {
        let read: Vec<u8> = (0..128u8)
            .map(|a| (a & 0b01_0111).wrapping_mul(37))
            .collect();
        let found = alone(&read, Width::Eight);
        let idle = |line, halves_equal| Sign::IdleAddress { line, halves_equal };
        let signs = found.signs(64, Width::Eight);
        assert!(signs.contains(&idle(3, false)), "{signs:?}");
        assert!(signs.contains(&idle(5, true)), "{signs:?}");
        assert!(found.is_suspect());
    }
}
