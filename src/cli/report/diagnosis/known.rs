//! What is known about a chip apart from its bytes.

use crate::faults::{Names, Sentences};
use crate::parts::Part;
use crate::wiring::{Line, Width};

/// What is known about a chip apart from its bytes.
#[derive(Clone, Copy, Default)]
pub struct Known<'a> {
    /// The part.
    pub part: Option<&'a Part>,
    /// The names of the case's other images, in their order.
    pub others: &'a [String],
    /// The names of the parts that the chip may be instead, in the case's order.
    pub cousins: &'a [String],
    /// The address of the read's first byte.
    pub first: u64,
}

impl Known<'_> {
    /// The pin that a line has on the part.
    pub fn pin(&self, line: Line) -> Option<u8> {
        let part = self.part?;
        match line {
            Line::Address(line) => part.pin_of_address(line),
            Line::Data(line) => part.pin_of_data(line),
        }
    }

    /// The sentences, with the names that are known.
    pub fn said(&self, say: impl FnOnce(&Names) -> Sentences) -> Sentences {
        let pin = |line| self.pin(line);
        let names = Names::new(&pin).others(self.others).cousins(self.cousins);
        say(&names.at(self.first, self.width()))
    }

    /// The width of the chip; of an unknown one, 8 bits.
    pub(super) fn width(&self) -> Width {
        match self.part {
            Some(part) if part.width == 16 => Width::Sixteen,
            _ => Width::Eight,
        }
    }
}
