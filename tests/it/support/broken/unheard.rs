//! What no list of faults has: a verdict must not be certain of anything here, except of what reads the very same.

use super::chance::Chance;
use super::fault::World;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unheard {
    /// Blocks of this size in any order, some of them lost.
    Shuffled { block: usize, seed: u64 },
    /// XOR with a key of so many bytes.
    Key { length: usize, seed: u64 },
    /// The bytes in ascending order.
    Sorted,
    /// The whole as one row of bits, moved by so many.
    BitsMoved(u32),
    /// Its first part, and the second part of another program.
    Half,
    /// Each byte and the one before it added up.
    Summed,
    /// The addresses from the end to the start.
    Backwards,
    /// One byte in so many is anything.
    Noise { one_in: usize, seed: u64 },
    /// Another program and nothing of this one.
    Stranger,
}

impl Unheard {
    /// What is read when `image` was meant.
    pub fn read(self, image: &[u8], world: &World) -> Vec<u8> {
        let size = image.len();
        match self {
            Unheard::Shuffled { block, seed } => {
                let chance = &mut Chance(seed);
                let mut blocks: Vec<&[u8]> = image.chunks(block).collect();
                chance.shuffle(&mut blocks);
                for n in 0..blocks.len() {
                    if chance.once_in(4) {
                        blocks[n] = blocks[chance.below(blocks.len())];
                    }
                }
                blocks.concat()
            }
            Unheard::Key { length, seed } => {
                let chance = &mut Chance(seed);
                let key: Vec<u8> = (0..length).map(|_| chance.next() as u8).collect();
                (image.iter().zip(key.iter().cycle()))
                    .map(|(byte, key)| byte ^ key)
                    .collect()
            }
            Unheard::Sorted => {
                let mut read = image.to_vec();
                read.sort_unstable();
                read
            }
            Unheard::BitsMoved(by) => (0..size)
                .map(|at| {
                    let before = image[(at + size - 1) % size];
                    ((u32::from(before) << 8 | u32::from(image[at])) >> by) as u8
                })
                .collect(),
            Unheard::Half => [&image[..size / 2], &world.other[size / 2..]].concat(),
            Unheard::Summed => (0..size)
                .map(|at| image[at].wrapping_add(image[(at + size - 1) % size]))
                .collect(),
            Unheard::Backwards => image.iter().rev().copied().collect(),
            Unheard::Noise { one_in, seed } => {
                let chance = &mut Chance(seed);
                let mut read = image.to_vec();
                for byte in &mut read {
                    if chance.once_in(one_in) {
                        *byte = chance.next() as u8;
                    }
                }
                read
            }
            Unheard::Stranger => world.other.to_vec(),
        }
    }
}
