//! Cells that hold another bit than was meant, and cells that were never burned.

use super::chance::Chance;
use super::fault::World;
use super::reads::{floating_address, floating_data};

/// What is in a cell that was not burned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Before {
    Blank,
    /// The chip's old content.
    Old,
}

impl Before {
    fn of(self, size: usize, world: &World) -> Vec<u8> {
        match self {
            Before::Blank => vec![0xFF; size],
            Before::Old => world.old[..size].to_vec(),
        }
    }
}

/// A fault of cells. Where cells are hit by chance, `seed` decides which.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cell {
    /// So many programmed bits went back to 1.
    Leaked { bits: usize, seed: u64 },
    /// So many erased bits read 0.
    Lost { bits: usize, seed: u64 },
    /// So many bits read the other way.
    Scattered { bits: usize, seed: u64 },
    /// The chip held something, and bits only go to 0.
    NotBlank,
    /// One page in so many was not burned.
    PagesLeft {
        page: usize,
        one_in: usize,
        before: Before,
        seed: u64,
    },
    /// In each page of this size only the first bytes were burned.
    PageCut {
        page: usize,
        kept: usize,
        before: Before,
    },
    /// A programmer that sends `burst` bytes to a chip with a smaller page: the page buffer's address wraps, then the
    /// page of the first byte is written, or that of the last.
    PageWrapped {
        page: usize,
        burst: usize,
        into_last: bool,
    },
    /// Nothing burned from this address up.
    Stopped { at: usize, before: Before },
    /// Nothing burned at all.
    Nothing(Before),
    /// Every cell is programmed.
    Zeros,
    /// One address line floats while reading: each access takes a level by chance.
    Floating { line: usize, seed: u64 },
    /// One data line does.
    FloatingData { line: usize, seed: u64 },
}

impl Cell {
    /// What is read when `image` was meant.
    pub fn read(self, image: &[u8], world: &World) -> Vec<u8> {
        let size = image.len();
        match self {
            Cell::Leaked { bits, seed } => flipped(image, bits, seed, |bit| bit == 0),
            Cell::Lost { bits, seed } => flipped(image, bits, seed, |bit| bit == 1),
            Cell::Scattered { bits, seed } => flipped(image, bits, seed, |_| true),
            Cell::NotBlank => image
                .iter()
                .zip(world.old)
                .map(|(new, old)| new & old)
                .collect(),
            Cell::PagesLeft {
                page,
                one_in,
                before,
                seed,
            } => {
                let chance = &mut Chance(seed);
                let mut read = image.to_vec();
                let before = before.of(size, world);
                for (new, old) in read.chunks_mut(page).zip(before.chunks(page)) {
                    if chance.once_in(one_in) {
                        new.copy_from_slice(old);
                    }
                }
                read
            }
            Cell::PageCut { page, kept, before } => {
                let mut read = before.of(size, world);
                for (new, meant) in read.chunks_mut(page).zip(image.chunks(page)) {
                    let kept = kept.min(new.len());
                    new[..kept].copy_from_slice(&meant[..kept]);
                }
                read
            }
            Cell::PageWrapped {
                page,
                burst,
                into_last,
            } => {
                let mut chip = vec![0xFF; size];
                for (n, sent) in image.chunks_exact(burst).enumerate() {
                    let mut buffer = vec![0xFF; page];
                    for (i, &byte) in sent.iter().enumerate() {
                        buffer[i % page] = byte;
                    }
                    let start = n * burst + if into_last { burst - page } else { 0 };
                    chip[start..start + page].copy_from_slice(&buffer);
                }
                chip
            }
            Cell::Stopped { at, before } => {
                let mut read = image[..at].to_vec();
                read.extend(&before.of(size, world)[at..]);
                read
            }
            Cell::Nothing(before) => before.of(size, world),
            Cell::Zeros => vec![0; size],
            Cell::Floating { line, seed } => floating_address(image, line, &mut Chance(seed)),
            Cell::FloatingData { line, seed } => floating_data(image, line, &mut Chance(seed)),
        }
    }
}

/// So many different bits flipped, of those that may; all of them where there are fewer.
fn flipped(image: &[u8], bits: usize, seed: u64, may: impl Fn(u8) -> bool) -> Vec<u8> {
    let chance = &mut Chance(seed);
    let bit = |place: usize| image[place / 8] >> (place % 8) & 1;
    let there: usize = (0..8 * image.len())
        .filter(|&place| may(bit(place)))
        .count();
    let mut read = image.to_vec();
    let mut left = bits.min(there);
    while left > 0 {
        let place = chance.below(8 * image.len());
        if may(bit(place)) && (read[place / 8] ^ image[place / 8]) >> (place % 8) & 1 == 0 {
            read[place / 8] ^= 1 << (place % 8);
            left -= 1;
        }
    }
    read
}
