//! Sums of bytes, sums of words, and the exclusive-or of bytes.

use super::Order;
use super::carry::{Internet, Twice, added_back};
use crate::image::arrays;

/// The sums that are plain arithmetic. Those of bytes and words wrap modulo two to the power of their width.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Plain {
    Sum8,
    Sum16,
    Sum32,
    Carry8,
    Carry16,
    Internet,
    Fletcher16,
    Adler32,
    Sum16Le,
    Sum16Be,
    Sum32Le,
    Sum32Be,
    Xor8,
}

impl Plain {
    pub(super) const ALL: [Plain; 13] = [
        Plain::Sum8,
        Plain::Sum16,
        Plain::Sum32,
        Plain::Carry8,
        Plain::Carry16,
        Plain::Internet,
        Plain::Fletcher16,
        Plain::Adler32,
        Plain::Sum16Le,
        Plain::Sum16Be,
        Plain::Sum32Le,
        Plain::Sum32Be,
        Plain::Xor8,
    ];

    pub(super) fn name(self) -> &'static str {
        match self {
            Plain::Sum8 => "sum8",
            Plain::Sum16 => "sum16",
            Plain::Sum32 => "sum32",
            Plain::Carry8 => "carry8",
            Plain::Carry16 => "carry16",
            Plain::Internet => "internet",
            Plain::Fletcher16 => "fletcher16",
            Plain::Adler32 => "adler32",
            Plain::Sum16Le => "sum16le",
            Plain::Sum16Be => "sum16be",
            Plain::Sum32Le => "sum32le",
            Plain::Sum32Be => "sum32be",
            Plain::Xor8 => "xor8",
        }
    }

    pub(super) fn about(self) -> &'static str {
        match self {
            Plain::Sum8 => "sum of bytes, kept to 8 bits",
            Plain::Sum16 => "sum of bytes, kept to 16 bits; what most programmers show",
            Plain::Sum32 => "sum of bytes, kept to 32 bits",
            Plain::Carry8 => {
                "sum of bytes in 8 bits, each carry added back, as a chain of add-with-carry does"
            }
            Plain::Carry16 => "sum of bytes in 16 bits, each carry added back",
            Plain::Internet => {
                "sum of 16-bit words, high byte first, each carry added back (RFC 1071, which stores the ones' \
                 complement); an odd byte at the end counts as one with 00 after it"
            }
            Plain::Fletcher16 => {
                "low byte: sum of bytes modulo 255; high byte: sum of all its values on the way, modulo 255 (J. \
                 Fletcher, 1982)"
            }
            Plain::Adler32 => {
                "low half: 1 plus the sum of bytes, modulo 65521; high half: sum of all its values on the way, \
                 modulo 65521 (RFC 1950, which stores the high byte first)"
            }
            Plain::Sum16Le => "sum of 16-bit words, low byte first, kept to 16 bits",
            Plain::Sum16Be => "sum of 16-bit words, high byte first, kept to 16 bits",
            Plain::Sum32Le => "sum of 32-bit words, low byte first, kept to 32 bits",
            Plain::Sum32Be => "sum of 32-bit words, high byte first, kept to 32 bits",
            Plain::Xor8 => "exclusive-or of all bytes",
        }
    }

    pub(super) fn bits(self) -> u16 {
        match self {
            Plain::Sum8 | Plain::Carry8 | Plain::Xor8 => 8,
            Plain::Sum16 | Plain::Carry16 | Plain::Internet | Plain::Fletcher16 => 16,
            Plain::Sum16Le | Plain::Sum16Be => 16,
            Plain::Sum32 | Plain::Adler32 | Plain::Sum32Le | Plain::Sum32Be => 32,
        }
    }

    /// How many bytes are added together as one number.
    pub(super) fn word(self) -> usize {
        match self {
            Plain::Sum16Le | Plain::Sum16Be | Plain::Internet => 2,
            Plain::Sum32Le | Plain::Sum32Be => 4,
            _ => 1,
        }
    }

    /// The order of the bytes in a word; `None` where single bytes are added.
    pub(super) fn order(self) -> Option<Order> {
        match self {
            Plain::Sum16Le | Plain::Sum32Le => Some(Order::Little),
            Plain::Sum16Be | Plain::Sum32Be | Plain::Internet => Some(Order::Big),
            _ => None,
        }
    }

    /// The total of no bytes.
    pub(super) fn initial(self) -> u32 {
        match self {
            Plain::Adler32 => 1,
            _ => 0,
        }
    }

    /// Starts from a total that fits the width.
    pub(super) fn start(self, total: u32) -> Total {
        match self {
            Plain::Xor8 => Total::Xor(total as u8),
            Plain::Sum8 | Plain::Sum16 | Plain::Sum32 => Total::Bytes(total),
            Plain::Carry8 => Total::Carry(total.into(), 8),
            Plain::Carry16 => Total::Carry(total.into(), 16),
            Plain::Internet => Total::Internet(Internet::new(total)),
            Plain::Fletcher16 => Total::Twice(Twice::new(255, total & 0xFF, total >> 8), 8),
            Plain::Adler32 => Total::Twice(Twice::new(65_521, total & 0xFFFF, total >> 16), 16),
            Plain::Sum16Le => Total::Words2(Words::new(total, Order::Little)),
            Plain::Sum16Be => Total::Words2(Words::new(total, Order::Big)),
            Plain::Sum32Le => Total::Words4(Words::new(total, Order::Little)),
            Plain::Sum32Be => Total::Words4(Words::new(total, Order::Big)),
        }
    }
}

/// A plain sum under way.
///
/// The running total of bytes and words has 32 bits whatever the width: a sum modulo 2^32 is right modulo 2^16 and
/// 2^8 too, so that cutting it down once, at the end, is enough.
#[derive(Clone)]
pub(super) enum Total {
    Xor(u8),
    Bytes(u32),
    /// The sum of every byte fed, and the bits into which carries are added back at the end.
    Carry(u64, u32),
    Internet(Internet),
    /// With the bits of the lower sum.
    Twice(Twice, u32),
    Words2(Words<2>),
    Words4(Words<4>),
}

/// Bytes that are not a whole number of words.
#[derive(Debug)]
pub(super) struct PartWord {
    /// Bytes in a word.
    pub(super) word: usize,
    /// Bytes fed in all.
    pub(super) length: u64,
    /// Bytes after the last whole word.
    pub(super) over: usize,
}

impl Total {
    pub(super) fn feed(&mut self, bytes: &[u8]) {
        match self {
            Total::Xor(total) => *total = bytes.iter().fold(*total, |x, b| x ^ b),
            Total::Bytes(total) => *total = total.wrapping_add(sum_of_bytes(bytes)),
            Total::Carry(total, _) => {
                // No block fills 32 bits.
                let blocks = bytes.chunks(1 << 20);
                *total += blocks.map(|b| u64::from(sum_of_bytes(b))).sum::<u64>();
            }
            Total::Internet(words) => words.feed(bytes),
            Total::Twice(sums, _) => sums.feed(bytes),
            Total::Words2(words) => words.feed(bytes),
            Total::Words4(words) => words.feed(bytes),
        }
    }

    /// The total; of plain bytes and words, modulo 2^32.
    ///
    /// # Errors
    /// [`PartWord`] when the last word is not whole.
    pub(super) fn finish(self) -> Result<u32, PartWord> {
        match self {
            Total::Xor(total) => Ok(u32::from(total)),
            Total::Bytes(total) => Ok(total),
            Total::Carry(total, bits) => Ok(added_back(total, bits)),
            Total::Internet(words) => Ok(words.finish()),
            Total::Twice(sums, bits) => Ok(sums.finish(bits)),
            Total::Words2(words) => words.finish(),
            Total::Words4(words) => words.finish(),
        }
    }
}

/// The sum of all bytes, modulo 2^32, eight bytes at a time, in four sums of 16 bits side by side: 128 times eight bytes
/// can't fill these.
fn sum_of_bytes(bytes: &[u8]) -> u32 {
    const EVEN: u64 = 0x00FF_00FF_00FF_00FF;
    let rest = bytes.chunks_exact(8).remainder();
    let rest: u32 = rest.iter().map(|b| u32::from(*b)).sum();
    bytes.chunks(128 * 8).fold(rest, |total, block| {
        let lanes = arrays(block).fold(0, |lanes, eight| {
            let eight = u64::from_le_bytes(eight);
            lanes + (eight & EVEN) + (eight >> 8 & EVEN)
        });
        let sum: u32 = (0..4)
            .map(|i| (lanes >> (16 * i)) as u16)
            .map(u32::from)
            .sum();
        total.wrapping_add(sum)
    })
}

/// A sum of words of `N` bytes under way. A word may come in several feeds.
#[derive(Clone)]
pub(super) struct Words<const N: usize> {
    total: u32,
    order: Order,
    /// The first `held` bytes are those of a word that is not complete yet.
    begun: [u8; N],
    held: usize,
    /// Bytes fed until now.
    length: u64,
}

impl<const N: usize> Words<N> {
    fn new(total: u32, order: Order) -> Self {
        Words {
            total,
            order,
            begun: [0; N],
            held: 0,
            length: 0,
        }
    }

    fn add(&mut self, words: impl Iterator<Item = [u8; N]>) {
        // Checked once and not for every word, so that the compiler can take many words at a time.
        let total = match self.order {
            Order::Little => words.map(little).fold(0, u32::wrapping_add),
            Order::Big => words.map(big).fold(0, u32::wrapping_add),
        };
        self.total = self.total.wrapping_add(total);
    }

    fn feed(&mut self, mut bytes: &[u8]) {
        self.length += bytes.len() as u64;
        if self.held > 0 {
            let (first, rest) = bytes.split_at(bytes.len().min(N - self.held));
            self.begun[self.held..self.held + first.len()].copy_from_slice(first);
            self.held += first.len();
            if self.held < N {
                return;
            }
            self.add(std::iter::once(self.begun));
            bytes = rest;
        }
        self.add(arrays(bytes));
        let rest = bytes.chunks_exact(N).remainder();
        self.begun[..rest.len()].copy_from_slice(rest);
        self.held = rest.len();
    }

    fn finish(self) -> Result<u32, PartWord> {
        if self.held == 0 {
            Ok(self.total)
        } else {
            Err(PartWord {
                word: N,
                length: self.length,
                over: self.held,
            })
        }
    }
}

/// The value of a word with its low byte first.
fn little<const N: usize>(word: [u8; N]) -> u32 {
    word.iter()
        .rev()
        .fold(0, |value, &b| value << 8 | u32::from(b))
}

/// The value of a word with its high byte first.
fn big<const N: usize>(word: [u8; N]) -> u32 {
    word.iter().fold(0, |value, &b| value << 8 | u32::from(b))
}
