//! Blocks of bytes that are at other places than meant, or lost on the way.

use super::chance::Chance;

/// What is after the end when bytes are put in or lost before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tail {
    /// The length changes with it.
    Free,
    /// What is too much is cut off, what is missing reads FF.
    Kept,
}

/// A fault of blocks; places and lengths in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Block {
    /// The block is at `to` as well; what was there is lost.
    Copied {
        from: usize,
        length: usize,
        to: usize,
    },
    /// The block is at `to`, and erased cells where it was.
    Moved {
        from: usize,
        length: usize,
        to: usize,
    },
    Swapped {
        first: usize,
        second: usize,
        length: usize,
    },
    /// The block follows itself so many times, over what was there.
    Repeated {
        from: usize,
        length: usize,
        times: usize,
    },
    Missing {
        from: usize,
        length: usize,
        reads: u8,
    },
    /// The piece comes twice, all after it later.
    Doubled {
        from: usize,
        length: usize,
        tail: Tail,
    },
    Lost {
        from: usize,
        length: usize,
        tail: Tail,
    },
    /// So many bytes of chance are put in.
    PutIn {
        at: usize,
        length: usize,
        seed: u64,
        tail: Tail,
    },
    /// All moved up by so many bytes; what leaves at one end comes in at the other.
    Rotated(isize),
    /// All moved up by so many bytes, erased bytes come in.
    Shifted(isize),
    /// Banks of this size in any order.
    BankOrder { size: usize, seed: u64 },
    BanksSwapped {
        size: usize,
        first: usize,
        second: usize,
    },
    /// The bank `from` is in the place of the bank `to` as well.
    BankTwice { size: usize, from: usize, to: usize },
}

impl Block {
    /// What is read when `image` was meant.
    pub fn read(self, image: &[u8]) -> Vec<u8> {
        let size = image.len();
        let mut read = image.to_vec();
        match self {
            Block::Copied { from, length, to } => {
                read[to..to + length].copy_from_slice(&image[from..from + length]);
            }
            Block::Moved { from, length, to } => {
                read[from..from + length].fill(0xFF);
                read[to..to + length].copy_from_slice(&image[from..from + length]);
            }
            Block::Swapped {
                first,
                second,
                length,
            } => {
                read[first..first + length].copy_from_slice(&image[second..second + length]);
                read[second..second + length].copy_from_slice(&image[first..first + length]);
            }
            Block::Repeated {
                from,
                length,
                times,
            } => {
                for n in 1..=times * length {
                    let at = from + length + n - 1;
                    if at < size {
                        read[at] = image[from + (n - 1) % length];
                    }
                }
            }
            Block::Missing {
                from,
                length,
                reads,
            } => read[from..from + length].fill(reads),
            Block::Doubled { from, length, tail } => {
                let piece = &image[from..from + length];
                read = [&image[..from + length], piece, &image[from + length..]].concat();
                tail.settle(&mut read, size);
            }
            Block::Lost { from, length, tail } => {
                read.drain(from..from + length);
                tail.settle(&mut read, size);
            }
            Block::PutIn {
                at,
                length,
                seed,
                tail,
            } => {
                let chance = &mut Chance(seed);
                let new: Vec<u8> = (0..length).map(|_| chance.next() as u8).collect();
                read.splice(at..at, new);
                tail.settle(&mut read, size);
            }
            Block::Rotated(by) => {
                let from = |at: usize| (at as isize - by).rem_euclid(size as isize) as usize;
                read = (0..size).map(|at| image[from(at)]).collect();
            }
            Block::Shifted(by) => {
                let from = |at: usize| usize::try_from(at as isize - by).ok();
                read = (0..size)
                    .map(|at| {
                        from(at)
                            .and_then(|from| image.get(from))
                            .copied()
                            .unwrap_or(0xFF)
                    })
                    .collect();
            }
            Block::BankOrder { size, seed } => {
                let mut banks: Vec<&[u8]> = image.chunks_exact(size).collect();
                Chance(seed).shuffle(&mut banks);
                read = banks.concat();
            }
            Block::BanksSwapped {
                size,
                first,
                second,
            } => {
                let mut banks: Vec<&[u8]> = image.chunks_exact(size).collect();
                banks.swap(first, second);
                read = banks.concat();
            }
            Block::BankTwice { size, from, to } => {
                let mut banks: Vec<&[u8]> = image.chunks_exact(size).collect();
                banks[to] = banks[from];
                read = banks.concat();
            }
        }
        read
    }
}

impl Tail {
    pub fn settle(self, read: &mut Vec<u8>, size: usize) {
        if self == Tail::Kept {
            read.resize(size, 0xFF);
        }
    }
}
