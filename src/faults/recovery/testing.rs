//! An image for the tests of this room.

use crate::faults::Pattern;

/// A program in a third of the chip: what is blank beside it makes every line lean.
pub(super) fn program() -> Vec<u16> {
    let noise = Pattern::Random { seed: 41 }.image(2048).unwrap();
    let cell = |(a, byte): (usize, u8)| match a {
        700.. => 0xFF,
        _ => u16::from(byte & (a as u8 | 0x1F)),
    };
    noise.into_iter().enumerate().map(cell).collect()
}
