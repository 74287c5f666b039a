//! Sums whose carry is added back at the low end, and sums of sums.
//!
//! A carry that is added back makes a sum modulo one less than a power of two. Such a sum is 0 only for bytes that are all
//! 0: any other total that the modulus divides comes out as all ones. A chain of add-with-carry instructions that begins
//! with the carry clear and ends by adding 0 with carry gives exactly this, because the value and its carry together never
//! pass all ones (common practice).
//!
//! Sources: `internet`: R. Braden, D. Borman, C. Partridge, RFC 1071, *Computing the Internet Checksum* (1988). `adler32`:
//! P. Deutsch, J-L. Gailly, RFC 1950, *ZLIB Compressed Data Format Specification* (1996), sections 2.2 and 9.
//! `fletcher16`: J. Fletcher, *An Arithmetic Checksum for Serial Transmissions*, IEEE Transactions on Communications
//! COM-30 (1982), the variant modulo 255.

use crate::image::arrays;

/// What `total` becomes when every carry out of `bits` bits, at most 32, is added back.
pub(super) fn added_back(total: u64, bits: u32) -> u32 {
    let ones = u64::MAX >> (64 - bits);
    match total {
        0 => 0,
        // Below two to the power of `bits`, so that the cast loses nothing.
        _ => ((total - 1) % ones + 1) as u32,
    }
}

/// A sum of 16-bit words under way, high byte first. A last byte without a partner is the high byte of a word whose low byte is 0.
#[derive(Clone)]
pub(super) struct Internet {
    /// Bytes at even places, which are high bytes, and at odd places. 2^56 bytes fit.
    high: u64,
    low: u64,
    /// Whether the next byte is a low one.
    odd: bool,
}

impl Internet {
    pub(super) fn new(total: u32) -> Internet {
        Internet {
            high: 0,
            low: u64::from(total),
            odd: false,
        }
    }

    pub(super) fn feed(&mut self, bytes: &[u8]) {
        let (first, second) = at_even_and_odd(bytes);
        let (high, low) = match self.odd {
            true => (second, first),
            false => (first, second),
        };
        self.high += high;
        self.low += low;
        self.odd ^= bytes.len() % 2 == 1;
    }

    pub(super) fn finish(self) -> u32 {
        // Each is reduced before they are added, so that nothing can overflow; neither becomes 0 by that.
        let high = added_back(self.high, 16);
        added_back(u64::from(high) * 256 + self.low, 16)
    }
}

/// The sum of the bytes at even places, and that of those at odd places: four of each side by side, in 16 bits, which
/// 256 times eight bytes can't fill.
fn at_even_and_odd(bytes: &[u8]) -> (u64, u64) {
    const EVEN: u64 = 0x00FF_00FF_00FF_00FF;
    let across = |lanes: u64| -> u64 { (0..4).map(|i| lanes >> (16 * i) & 0xFFFF).sum() };
    let (mut even, mut odd) = (0, 0);
    for block in bytes.chunks(256 * 8) {
        let (mut evens, mut odds) = (0, 0);
        for eight in arrays(block).map(u64::from_le_bytes) {
            evens += eight & EVEN;
            odds += eight >> 8 & EVEN;
        }
        even += across(evens);
        odd += across(odds);
    }
    for (i, &byte) in bytes.chunks_exact(8).remainder().iter().enumerate() {
        match i % 2 {
            0 => even += u64::from(byte),
            _ => odd += u64::from(byte),
        }
    }
    (even, odd)
}

/// A sum of bytes, and the sum of all values it went through, both by one modulus.
#[derive(Clone)]
pub(super) struct Twice {
    /// 2 to 65,521.
    modulus: u32,
    /// Both below the modulus between two feeds.
    once: u32,
    twice: u32,
}

/// After this many bytes both sums must be reduced: with 5,552 bytes of FF, and both sums as large as the modulus 65,521
/// allows, the second stays below 2^32; with one more it would not.
const REDUCED_AFTER: usize = 5552;

/// Bytes taken in one step.
const STEP: usize = 16;

impl Twice {
    pub(super) fn new(modulus: u32, once: u32, twice: u32) -> Twice {
        Twice {
            modulus,
            once: once % modulus,
            twice: twice % modulus,
        }
    }

    pub(super) fn feed(&mut self, bytes: &[u8]) {
        for block in bytes.chunks(REDUCED_AFTER) {
            let (mut once, mut twice) = (self.once, self.twice);
            for step in arrays::<STEP>(block) {
                // The first byte of a step is in all its running sums, the last only in one.
                let (mut plain, mut weighted) = (0, 0);
                for (i, byte) in step.into_iter().enumerate() {
                    plain += u32::from(byte);
                    weighted += (STEP - i) as u32 * u32::from(byte);
                }
                twice += STEP as u32 * once + weighted;
                once += plain;
            }
            for &byte in block.chunks_exact(STEP).remainder() {
                once += u32::from(byte);
                twice += once;
            }
            self.once = once % self.modulus;
            self.twice = twice % self.modulus;
        }
    }

    /// The second sum above the first, which has `bits` bits.
    pub(super) fn finish(self, bits: u32) -> u32 {
        self.twice << bits | self.once
    }
}
