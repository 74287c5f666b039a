//! What a read takes to say, in bits: as a row of stretches that are new, runs of one byte, and copies of what came before.

use crate::faults::code_length::number;

/// The shortest copy worth its price, and what is looked up to find it.
const GRAM: usize = 8;
/// The shortest run.
const RUN: usize = 16;
/// Binary logarithm of the places remembered.
const PLACES: u32 = 18;

/// A read, and what a byte of it takes that is nowhere else.
pub(super) struct Text<'a> {
    read: &'a [u8],
    literal: f64,
}

/// Where what was seen last is, by its bytes.
struct Seen(Vec<u32>);

impl Seen {
    fn new() -> Self {
        Seen(vec![u32::MAX; 1 << PLACES])
    }

    /// Where this was seen, after noting that it is at `at`.
    fn replace(&mut self, gram: u64, salt: usize, at: usize) -> Option<usize> {
        let key = (gram ^ (salt as u64).wrapping_mul(0xD6E8_FEB8_6659_FD93))
            .wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let place = &mut self.0[(key >> (64 - PLACES)) as usize];
        let before = std::mem::replace(place, at as u32);
        (before != u32::MAX).then_some(before as usize)
    }
}

impl<'a> Text<'a> {
    /// Of a read of fewer than 2^32 bytes.
    pub fn new(read: &'a [u8]) -> Self {
        // Bytes in runs are not new, so that they don't make the others cheap.
        let mut counts = [0u32; 256];
        for run in read.chunk_by(|a, b| a == b).filter(|run| run.len() < RUN) {
            counts[usize::from(run[0])] += run.len() as u32;
        }
        let all: u32 = counts.iter().sum();
        let share = counts
            .iter()
            .map(|count| f64::from(*count) / f64::from(all.max(1)));
        let entropy: f64 = share
            .map(|p| if p > 0.0 { -p * p.log2() } else { 0.0 })
            .sum();
        Text {
            read,
            literal: entropy.max(1.0),
        }
    }

    /// Bits that a byte takes that is nowhere else.
    pub fn literal(&self) -> f64 {
        self.literal
    }

    /// Bits for the whole, cut into banks of this size. A copy comes from anywhere before, or from the same place of
    /// another bank, which is cheaper to name; and what ends with a bank needs no end.
    pub fn cost(&self, bank: usize) -> f64 {
        let all = self.read.len();
        let (mut anywhere, mut same_place) = (Seen::new(), Seen::new());
        let in_banks = bank < all;
        let mut bits = 0.0;
        for (n, start) in (0..all).step_by(bank).enumerate() {
            let end = (start + bank).min(all);
            let (mut at, mut new) = (start, 0);
            while at < end {
                let rest = &self.read[at..end];
                let run = rest.iter().take_while(|byte| **byte == rest[0]).count();
                let mut best: Option<(usize, f64)> = None;
                if run >= RUN {
                    let value = if matches!(rest[0], 0 | 0xFF) {
                        5.0
                    } else {
                        12.0
                    };
                    best = Some((run, value));
                } else if let Some(gram) = rest.first_chunk::<GRAM>() {
                    let gram = u64::from_le_bytes(*gram);
                    let found = anywhere.replace(gram, 0, at).map(|from| {
                        let distance = place(at - from, all);
                        (from, 3.0 + distance.min(2.0 + (all as f64).log2()))
                    });
                    let beside = same_place.replace(gram, at - start + 1, at);
                    let beside = beside.filter(|_| in_banks && n > 0);
                    let beside = beside.map(|from| (from, 3.0 + (n as f64).log2()));
                    for (from, price) in found.into_iter().chain(beside) {
                        let pairs = rest.iter().zip(&self.read[from..]);
                        let same = pairs.take_while(|(a, b)| a == b).count();
                        let better = best.is_none_or(|(length, other)| {
                            same > length || same == length && price < other
                        });
                        if same >= GRAM && better {
                            best = Some((same, price));
                        }
                    }
                }
                match best {
                    None => {
                        new += 1;
                        at += 1;
                    }
                    Some((length, price)) => {
                        bits += self.fresh(new) + price;
                        new = 0;
                        bits += match at + length == end {
                            true => 1.0,
                            // Its length may be shorter to say than its end.
                            false => 1.0 + place(at + length - start, bank).min(number(length)),
                        };
                        // What was copied can be copied again.
                        if run < RUN {
                            for at in at + 1..at + length {
                                if let Some(gram) = self.read[at..end].first_chunk::<GRAM>() {
                                    let gram = u64::from_le_bytes(*gram);
                                    anywhere.replace(gram, 0, at);
                                    same_place.replace(gram, at - start + 1, at);
                                }
                            }
                        }
                        at += length;
                    }
                }
            }
            bits += self.fresh(new);
        }
        bits
    }

    fn fresh(&self, bytes: usize) -> f64 {
        match bytes {
            0 => 0.0,
            bytes => 3.0 + number(bytes) + bytes as f64 * self.literal,
        }
    }
}

/// Bits that name a place in so many bytes; round ones are cheap.
fn place(at: usize, all: usize) -> f64 {
    let all = (all.max(2) as f64).log2();
    (1.0 + all)
        .min(4.0 + all - f64::from(at.trailing_zeros()))
        .max(1.0)
}
