//! Small chips for the tests of the engine.

use super::predict::Images;
use crate::faults::shape::Shape;

/// A chip with so many address and data lines that reads FF where it is erased.
pub(super) fn shape(address_lines: u8, data_lines: u8) -> Shape {
    Shape {
        address_lines,
        data_lines,
        cells: None,
        erased: 0xFF,
    }
}

/// The wanted image of such a chip, and nothing else that is known.
pub(super) fn wanted_alone(shape: Shape, wanted: &[u16]) -> Images<'_> {
    Images {
        shape,
        wanted,
        old: None,
        others: &[],
        cousins: &[],
    }
}
