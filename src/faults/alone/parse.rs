//! How many bits a read takes to describe: as a row of new stretches, runs of one byte, and copies of what came before.

use crate::faults::cost::integer;

/// The shortest copy worth its cost, and what is looked up to find it.
const GRAM: usize = 6;
/// The shortest run.
const RUN: usize = 16;
/// Binary logarithm of the places remembered.
const PLACES: u32 = 18;

/// A read, and the cost of a byte that is nowhere else in it.
pub(super) struct Described<'a> {
    read: &'a [u8],
    literal: f64,
}

impl<'a> Described<'a> {
    /// Of a read of fewer than 2^32 bytes.
    pub fn new(read: &'a [u8]) -> Self {
        // Bytes in runs don't count as new, so that they don't make the others cheap.
        let mut counts = [0u32; 256];
        for run in read.chunk_by(|a, b| a == b).filter(|run| run.len() < RUN) {
            counts[usize::from(run[0])] += run.len() as u32;
        }
        let all = f64::from(counts.iter().sum::<u32>().max(1));
        let share = counts.iter().map(|count| f64::from(*count) / all);
        let entropy: f64 = share.filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum();
        Described {
            read,
            literal: entropy.max(1.0),
        }
    }

    /// Bits for a byte that is nowhere else.
    pub fn literal(&self) -> f64 {
        self.literal
    }

    /// Bits for the whole, cut into banks of this size. A copy comes from anywhere before, or from the same place of
    /// another bank, which is cheaper to name; and what ends with a bank needs no end.
    pub fn cost(&self, bank: usize) -> f64 {
        Parse::new(self, bank, bank).bits()
    }

    /// Bits for the whole, not cut, but looked through for what banks of this size have in common: what is cheaper then
    /// is only the way to name it.
    pub fn cost_uncut(&self, bank: usize) -> f64 {
        Parse::new(self, self.read.len(), bank).bits()
    }
}

/// Where each group of bytes was seen last.
struct LastPlaces(Vec<u32>);

impl LastPlaces {
    fn new() -> Self {
        LastPlaces(vec![u32::MAX; 1 << PLACES])
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

/// A read while it is described.
struct Parse<'a> {
    text: &'a Described<'a>,
    /// Bytes of a bank, and of those that are looked through for what they have in common.
    bank: usize,
    look_in: usize,
    anywhere: LastPlaces,
    same_place: LastPlaces,
}

/// One step of the description, at one place.
struct Passage {
    length: usize,
    /// Bits, without its end.
    bits: f64,
}

impl<'a> Parse<'a> {
    fn new(text: &'a Described<'a>, bank: usize, look_in: usize) -> Self {
        Parse {
            text,
            bank,
            look_in,
            anywhere: LastPlaces::new(),
            same_place: LastPlaces::new(),
        }
    }

    fn bits(mut self) -> f64 {
        let all = self.text.read.len();
        let mut bits = 0.0;
        for start in (0..all).step_by(self.bank) {
            let end = (start + self.bank).min(all);
            let (mut at, mut new) = (start, 0);
            while at < end {
                let Some(token) = self.token(at, end) else {
                    new += 1;
                    at += 1;
                    continue;
                };
                bits += self.fresh(new, false) + token.bits;
                bits += match at + token.length == end {
                    true => 1.0,
                    false => 1.0 + end_of(at + token.length, token.length, all),
                };
                new = 0;
                at += token.length;
            }
            bits += self.fresh(new, true);
        }
        bits
    }

    /// The longest run or copy from here to the end of the bank, where there is one.
    fn token(&mut self, at: usize, end: usize) -> Option<Passage> {
        let rest = &self.text.read[at..end];
        let run = rest.iter().take_while(|byte| **byte == rest[0]).count();
        if run >= RUN {
            let value = if matches!(rest[0], 0 | 0xFF) {
                5.0
            } else {
                12.0
            };
            return Some(Passage {
                length: run,
                bits: value,
            });
        }
        let found = self.note(at, end).into_iter().flatten();
        let lengths = found.map(|from| {
            let pairs = rest.iter().zip(&self.text.read[from..]);
            (from, pairs.take_while(|(a, b)| a == b).count())
        });
        // Most of what is found at first is other bytes by chance, and is not priced.
        let copies = lengths.filter(|(_, length)| *length >= GRAM);
        let copies = copies.map(|(from, length)| Passage {
            length,
            bits: 3.0 + self.source(at, from),
        });
        // Of two of one length the cheaper.
        let better = |best: Passage, next: Passage| {
            let longer = next.length > best.length;
            match longer || next.length == best.length && next.bits < best.bits {
                true => next,
                false => best,
            }
        };
        let copy = copies.reduce(better)?;
        for at in at + 1..at + copy.length {
            self.note(at, end);
        }
        Some(copy)
    }

    /// Notes that this can be copied from now on; says where it was before: anywhere, and at the same place of a bank.
    fn note(&mut self, at: usize, end: usize) -> [Option<usize>; 2] {
        let Some(gram) = self.text.read[at..end].first_chunk::<GRAM>() else {
            return [None, None];
        };
        let gram = gram
            .iter()
            .fold(0, |gram, byte| gram << 8 | u64::from(*byte));
        [
            self.anywhere.replace(gram, 0, at),
            self.same_place.replace(gram, at % self.look_in + 1, at),
        ]
    }

    /// Bits that name where a copy comes from.
    fn source(&self, at: usize, from: usize) -> f64 {
        let (all, bank) = (self.text.read.len(), at / self.bank);
        match bank > 0 && (at - from) % self.bank == 0 {
            true => (bank as f64).log2(),
            false => place(at - from, all).min(2.0 + (all as f64).log2()),
        }
    }

    /// Bits of a stretch that is nowhere else; one that ends with its bank needs no length.
    fn fresh(&self, bytes: usize, to_the_end: bool) -> f64 {
        let length = match (bytes, to_the_end) {
            (0, _) => return 0.0,
            (_, true) => 1.0,
            (bytes, false) => integer(bytes).min(2.0 + (self.text.read.len() as f64).log2()),
        };
        3.0 + length + bytes as f64 * self.text.literal
    }
}

/// Bits that name a place in this many bytes; round ones are cheap.
fn place(at: usize, all: usize) -> f64 {
    let all = (all.max(2) as f64).log2();
    (1.0 + all)
        .min(4.0 + all - f64::from(at.trailing_zeros()))
        .max(1.0)
}

/// Bits that say where a stretch ends, wherever that is cheapest: by the place, or by its length, which may be round.
fn end_of(end: usize, length: usize, all: usize) -> f64 {
    let zeros = length.trailing_zeros();
    let round = integer(length >> zeros) + integer(zeros as usize + 1);
    place(end, all).min(integer(length)).min(1.0 + round)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    #[test]
    fn what_was_there_before_is_cheap() {
        let noise = Pattern::Random { seed: 3 }.image(4096).unwrap();
        let once = Described::new(&noise).cost_uncut(4096);
        assert!(once > 4096.0 * 7.9, "{once}");
        let twice = noise.repeat(2);
        let (whole, banks) = (
            Described::new(&twice).cost_uncut(4096),
            Described::new(&twice).cost(4096),
        );
        assert!(
            whole - once < 64.0 && banks - once < 64.0,
            "{whole} {banks}"
        );
        let mut tail = noise.clone();
        tail.resize(8192, 0xFF);
        assert!(Described::new(&tail).cost_uncut(4096) - once < 64.0);
    }

    /// Each passage by its formula: a run has its value, a copy its place, and what ends with a bank has no end.
    #[track_caller]
    fn same(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }

    fn letters(range: std::ops::Range<u8>) -> Vec<u8> {
        range.collect()
    }

    #[test]
    fn a_run_costs_its_value_and_its_end() {
        same(Described::new(&[0xFF; 64]).cost(64), 5.0 + 1.0);
        same(Described::new(&[0; 64]).cost(64), 5.0 + 1.0);
        same(Described::new(&[0x55; 64]).cost(64), 12.0 + 1.0);
        same(Described::new(&[0xFF; 64]).cost(32), 2.0 * 6.0);
        // Fewer are one new byte, of a bit at least, and a copy of it.
        let copy = 3.0 + place(1, 15).min(2.0 + 15f64.log2()) + 1.0;
        same(Described::new(&[0x55; 15]).cost(15), 3.0 + 1.0 + 1.0 + copy);
        // One that goes on says where it ends.
        let read = [vec![0xFF; 16], letters(0..16)].concat();
        let text = Described::new(&read);
        let fresh = 3.0 + 1.0 + 16.0 * text.literal();
        same(text.cost(32), 5.0 + 1.0 + end_of(16, 16, 32) + fresh);
    }

    #[test]
    fn a_copy_from_the_same_place_of_a_bank_costs_which_bank() {
        let read = letters(0..32).repeat(2);
        let text = Described::new(&read);
        same(text.literal(), 5.0);
        let fresh = 3.0 + 1.0 + 32.0 * 5.0;
        same(text.cost(32), fresh + 3.0 + 0.0 + 1.0);
        // Not cut into banks, it costs the distance, and the new bytes before it their number.
        let from = place(32, 64).min(2.0 + 6.0);
        let new = 3.0 + integer(32).min(2.0 + 6.0) + 32.0 * 5.0;
        same(text.cost_uncut(32), new + 3.0 + from + 1.0);
        // Of four banks the fourth says which of three.
        let read = [
            letters(0..32),
            letters(32..64),
            letters(64..96),
            letters(0..32),
        ]
        .concat();
        let text = Described::new(&read);
        let fresh = 3.0 + 1.0 + 32.0 * text.literal();
        same(text.cost(32), 3.0 * fresh + 3.0 + 3f64.log2() + 1.0);
    }

    #[test]
    fn of_two_copies_the_longer_is_taken_and_then_the_cheaper() {
        let (a, all) = (letters(0..16), 96);
        let parts = [
            &a[..],
            &letters(16..32),
            &letters(32..48),
            &a,
            &a,
            &letters(48..64),
        ];
        let read = parts.concat();
        let text = Described::new(&read);
        let new = |bytes: usize, to_the_end: bool| {
            let length = match to_the_end {
                true => 1.0,
                false => integer(bytes).min(2.0 + (all as f64).log2()),
            };
            3.0 + length + bytes as f64 * text.literal()
        };
        let far = |from: usize| place(from, all).min(2.0 + (all as f64).log2());
        // In the second bank it comes from 48 bytes before, in the third from the first bank, and not from the second.
        let second = new(16, false) + 3.0 + far(48) + 1.0;
        let third = 3.0 + 2f64.log2() + 1.0 + end_of(80, 16, all) + new(16, true);
        same(text.cost(32), new(32, true) + second + third);
        // A longer one is taken though one from the same place is there.
        let (a, b) = (letters(0..8), letters(8..16));
        let first = [&a[..], &letters(100..124), &letters(130..146), &a, &b];
        let read = [&first.concat()[..], &a, &b, &letters(200..216)].concat();
        let text = Described::new(&read);
        let new = |bytes: usize, end: f64| 3.0 + end + bytes as f64 * text.literal();
        let number = integer(16).min(2.0 + (all as f64).log2());
        let short = 3.0 + far(48) + 1.0 + end_of(56, 8, all);
        let long = 3.0 + far(16) + 1.0 + end_of(80, 16, all);
        let second = new(16, number) + short + new(8, 1.0);
        same(text.cost(32), new(32, 1.0) + second + long + new(16, 1.0));
    }

    #[test]
    fn fewer_than_six_bytes_are_not_copied() {
        let read = [
            letters(0..5),
            letters(10..21),
            letters(0..5),
            letters(30..41),
        ]
        .concat();
        let text = Described::new(&read);
        same(text.cost(32), 3.0 + 1.0 + 32.0 * text.literal());
        let read = [
            letters(0..6),
            letters(10..20),
            letters(0..6),
            letters(30..40),
        ]
        .concat();
        let text = Described::new(&read);
        let new = 3.0 + integer(16).min(2.0 + 5.0) + 16.0 * text.literal();
        let copy = 3.0 + place(16, 32).min(2.0 + 5.0) + 1.0 + end_of(22, 6, 32);
        same(
            text.cost(32),
            new + copy + 3.0 + 1.0 + 10.0 * text.literal(),
        );
    }

    #[test]
    fn round_places_are_cheap() {
        assert!(place(0x4000, 0x10000) < place(0x4001, 0x10000));
        assert_eq!(place(1, 1), 1.0 + 1.0);
    }
}
