//! The wrong bytes because it is the wrong chip, or not this chip alone.

use super::chance::Chance;
use super::fault::World;

/// A mask of address lines and what they must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Identity {
    /// Another version: so many stretches of up to 24 bytes rewritten.
    Version { stretches: usize, seed: u64 },
    /// The chip of another socket.
    Other,
    /// That chip is on the bus at the same time, and a 0 wins.
    BothOnBus,
    /// Read too early: one byte in so many is that of the address before.
    Late { one_in: usize, seed: u64 },
    /// Read as its cousin of 24 pins: the reader's A11 drives a select of the chip that wants the first level, and the
    /// chip's A11 stays at the second.
    Cousin(bool, bool),
    /// Part of the chip's cells is dead: where the address agrees with `value` in the lines of `mask`, the data lines of
    /// `data` (bit i is line i of a byte) read `level`.
    Inside {
        mask: usize,
        value: usize,
        data: u8,
        level: bool,
    },
}

impl Identity {
    /// What is read when `image` was meant.
    pub fn read(self, image: &[u8], world: &World) -> Vec<u8> {
        let size = image.len();
        match self {
            Identity::Version { stretches, seed } => {
                let chance = &mut Chance(seed);
                let mut read = image.to_vec();
                for at in chance.some_of(stretches, size) {
                    let end = (at + 1 + chance.below(24)).min(size);
                    for byte in &mut read[at..end] {
                        *byte = chance.next() as u8;
                    }
                }
                read
            }
            Identity::Other => world.other.to_vec(),
            Identity::BothOnBus => image.iter().zip(world.other).map(|(a, b)| a & b).collect(),
            Identity::Late { one_in, seed } => {
                let chance = &mut Chance(seed);
                let mut read = image.to_vec();
                for at in 1..size {
                    if chance.once_in(one_in) {
                        read[at] = image[at - 1];
                    }
                }
                read
            }
            Identity::Cousin(select, a11) => (0..size)
                .map(|address| {
                    let selected = (address >> 11 & 1 == 1) == select;
                    let cell = address & !(1 << 11) | usize::from(a11) << 11;
                    if selected { image[cell] } else { 0xFF }
                })
                .collect(),
            Identity::Inside {
                mask,
                value,
                data,
                level,
            } => (0..size)
                .map(|address| match (address & mask == value, level) {
                    (false, _) => image[address],
                    (true, false) => image[address] & !data,
                    (true, true) => image[address] | data,
                })
                .collect(),
        }
    }
}
