//! Which sum, by its name.

use std::fmt;
use std::str::FromStr;

use super::Order;
use super::catalogue::{self, CATALOGUE, ListedCrc};
use super::digest::DigestKind;
use super::plain::Plain;
use crate::prose::{debug_as_display, nearest, shown};

/// Which sum, CRC or digest.
///
/// Parses from its name or short name, upper or lower case, and prints as its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Algo(pub(super) Family);

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Family {
    Plain(Plain),
    /// The place in the catalogue.
    Crc(u8),
    Digest(DigestKind),
}

impl Algo {
    /// Sum of bytes in 8 bits.
    pub const SUM8: Algo = Algo(Family::Plain(Plain::Sum8));
    /// Sum of bytes in 16 bits, as most programmers show it.
    pub const SUM16: Algo = Algo(Family::Plain(Plain::Sum16));
    /// Sum of bytes in 32 bits.
    pub const SUM32: Algo = Algo(Family::Plain(Plain::Sum32));
    /// Sum of bytes in 8 bits, each carry added back, as a chain of add-with-carry does.
    pub const CARRY8: Algo = Algo(Family::Plain(Plain::Carry8));
    /// Sum of bytes in 16 bits, each carry added back.
    pub const CARRY16: Algo = Algo(Family::Plain(Plain::Carry16));
    /// Sum of 16-bit words, high byte first, each carry added back: RFC 1071, which stores its ones' complement.
    pub const INTERNET: Algo = Algo(Family::Plain(Plain::Internet));
    /// Sum of bytes and sum of the sums, both modulo 255, after J. Fletcher, 1982.
    pub const FLETCHER16: Algo = Algo(Family::Plain(Plain::Fletcher16));
    /// Sum of bytes, from 1 up, and sum of the sums, both modulo 65,521: RFC 1950.
    pub const ADLER32: Algo = Algo(Family::Plain(Plain::Adler32));
    /// Sum of 16-bit words, low byte first.
    pub const SUM16LE: Algo = Algo(Family::Plain(Plain::Sum16Le));
    /// Sum of 16-bit words, high byte first.
    pub const SUM16BE: Algo = Algo(Family::Plain(Plain::Sum16Be));
    /// Sum of 32-bit words, low byte first.
    pub const SUM32LE: Algo = Algo(Family::Plain(Plain::Sum32Le));
    /// Sum of 32-bit words, high byte first.
    pub const SUM32BE: Algo = Algo(Family::Plain(Plain::Sum32Be));
    /// Exclusive-or of bytes.
    pub const XOR8: Algo = Algo(Family::Plain(Plain::Xor8));
    /// `crc-16/arc`, which `crc16` means: the catalogue gives CRC-16 as another name of it.
    pub const CRC16: Algo = Algo(Family::Crc(catalogue::position("crc-16/arc")));
    /// `crc-32/iso-hdlc`, which `crc32` means: the catalogue gives CRC-32 as another name
    /// of it.
    pub const CRC32: Algo = Algo(Family::Crc(catalogue::position("crc-32/iso-hdlc")));
    /// MD5.
    pub const MD5: Algo = Algo(Family::Digest(DigestKind::Md5));
    /// SHA-1.
    pub const SHA1: Algo = Algo(Family::Digest(DigestKind::Sha1));
    /// SHA-256.
    pub const SHA256: Algo = Algo(Family::Digest(DigestKind::Sha256));

    /// Short names for a catalogue name.
    const SHORT: [(&'static str, Algo); 2] = [("crc16", Algo::CRC16), ("crc32", Algo::CRC32)];

    /// Every one: plain sums, `xor8`, the CRCs by width and name, digests.
    pub fn all() -> impl Iterator<Item = Algo> {
        let plain = Plain::ALL.into_iter().map(Family::Plain);
        let crcs = (0..CATALOGUE.len() as u8).map(Family::Crc);
        let digests = DigestKind::ALL.into_iter().map(Family::Digest);
        plain.chain(crcs).chain(digests).map(Algo)
    }

    /// Its name, such as `sum16`, `crc-32/iso-hdlc` or `sha256`.
    pub fn name(self) -> &'static str {
        match self.0 {
            Family::Plain(plain) => plain.name(),
            Family::Crc(index) => listed(index).name,
            Family::Digest(digest) => digest.name(),
        }
    }

    /// Its other, short name, where it has one: `crc16` or `crc32`.
    pub fn short_name(self) -> Option<&'static str> {
        let (short, _) = Self::SHORT.into_iter().find(|&(_, algo)| algo == self)?;
        Some(short)
    }

    /// What it is, in one line for lists. A CRC's says its parameters in the catalogue's terms,
    /// and its short name.
    pub fn about(self) -> String {
        match self.0 {
            Family::Plain(plain) => plain.about().to_owned(),
            Family::Digest(digest) => digest.about().to_owned(),
            Family::Crc(index) => {
                let a = listed(index).model.widened();
                let digits = hex_digits(self.bits());
                let first = if a.refin { "low" } else { "high" };
                let reflected = if a.refin == a.refout {
                    ""
                } else {
                    ", result reflected"
                };
                let short = self
                    .short_name()
                    .map(|short| format!("; short name {short}"))
                    .unwrap_or_default();
                format!(
                    "CRC of {} bits, polynomial {:0digits$X}, init {:0digits$X}, {first} bit \
                     first{reflected}, xorout {:0digits$X}{short}",
                    a.width, a.poly, a.init, a.xorout
                )
            }
        }
    }

    /// What a CRC of bytes that end in their own CRC comes to, whatever the bytes are; `None` for all other sums.
    ///
    /// The CRC is stored low byte first when its result is reflected, otherwise high byte first. So such a CRC tells no two
    /// images apart. The catalogue lists it as the residue, before the final exclusive-or.
    ///
    /// ```
    /// use romloom::sums::Algo;
    ///
    /// let with_own_sum = b"123456789\x26\x39\xF4\xCB";
    /// let sum = Algo::CRC32.sum(with_own_sum)?;
    /// assert_eq!(sum.value(), Algo::CRC32.residue());
    /// # Ok::<(), romloom::sums::SumError>(())
    /// ```
    pub fn residue(self) -> Option<u128> {
        let Family::Crc(index) = self.0 else {
            return None;
        };
        let a = listed(index).model.widened();
        Some(a.residue ^ a.xorout)
    }

    /// Width of the result in bits: 3 to 82 for CRCs, 8, 16 or 32 for plain sums, 128 to 256 for
    /// digests.
    pub fn bits(self) -> u16 {
        match self.0 {
            Family::Plain(plain) => plain.bits(),
            Family::Crc(index) => u16::from(listed(index).model.widened().width),
            Family::Digest(digest) => digest.bits(),
        }
    }

    /// Bytes the result takes when stored: its bits, rounded up.
    pub fn bytes(self) -> usize {
        usize::from(self.bits().div_ceil(8))
    }

    /// Bytes added together as one word: 2 or 4 for the word sums, 2 for `internet`, 1 for all others.
    pub fn word(self) -> usize {
        match self.0 {
            Family::Plain(plain) => plain.word(),
            Family::Crc(_) | Family::Digest(_) => 1,
        }
    }

    /// The byte order of the words that a word sum or `internet` adds; `None` for all others.
    pub fn order(self) -> Option<Order> {
        match self.0 {
            Family::Plain(plain) => plain.order(),
            Family::Crc(_) | Family::Digest(_) => None,
        }
    }

    /// Whether it is a digest: a string of bytes, not a number.
    pub fn is_digest(self) -> bool {
        matches!(self.0, Family::Digest(_))
    }

    /// All bits of a number of this width set. Not for digests, which have no number.
    pub(super) fn mask(self) -> u128 {
        u128::MAX >> (128 - u32::from(self.bits().min(128)))
    }
}

pub(super) fn listed(index: u8) -> &'static ListedCrc {
    &CATALOGUE[usize::from(index)]
}

/// How many hex digits this many bits take.
pub(super) fn hex_digits(bits: u16) -> usize {
    usize::from(bits.div_ceil(4))
}

impl fmt::Display for Algo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Algo {
    type Err = UnknownAlgo;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        let names = || {
            let full = Self::all().map(|algo| (algo.name(), algo));
            Self::SHORT.into_iter().chain(full)
        };
        names()
            .find(|(name, _)| name.eq_ignore_ascii_case(word))
            .map(|(_, algo)| algo)
            .ok_or_else(|| UnknownAlgo {
                word: word.to_owned(),
                nearest: nearest(word, names().map(|(name, _)| name)),
            })
    }
}

/// A name that is not a sum, CRC or digest.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a known sum; {}", shown(.word), advice(.nearest))]
pub struct UnknownAlgo {
    /// What was written.
    pub word: String,
    /// The names it may have meant, best first; may be empty.
    pub nearest: Vec<&'static str>,
}

fn advice(nearest: &[&str]) -> String {
    if nearest.is_empty() {
        "known sums are sum8, sum16, sum32, carry8, carry16, internet, fletcher16, adler32, sum16le, sum16be, sum32le, \
         sum32be, xor8, crc16, crc32, md5, sha1, sha256, and every CRC of the RevEng catalogue by its name, such as crc-16/xmodem"
            .to_owned()
    } else {
        format!("nearest: {}", nearest.join(", "))
    }
}

debug_as_display!(UnknownAlgo);
