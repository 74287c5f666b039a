//! Sums, CRCs and digests over bytes.
//!
//! An [`Algo`] is found by its name, [started](Algo::start), fed in as many parts as is handy,
//! and finished into a [`Sum`], which knows how it is printed and stored:
//!
//! ```
//! use romloom::sums::{Algo, Order};
//!
//! let algo: Algo = "crc-32/iso-hdlc".parse()?;
//! let mut summing = algo.start();
//! summing.feed(b"12345");
//! summing.feed(b"6789");
//! let sum = summing.finish()?;
//! assert_eq!(sum.to_string(), "CBF43926");
//! assert_eq!(sum.to_bytes(Order::Little), [0x26, 0x39, 0xF4, 0xCB]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Plain sums wrap modulo two to the power of their width: `sum8`, `sum16` and `sum32` add bytes,
//! `sum16le` and its like add words, `xor8` is the exclusive-or of bytes. CRCs are those of the
//! RevEng catalogue under their catalogue names in lower case; `crc32` stands for
//! `crc-32/iso-hdlc` and `crc16` for `crc-16/arc`. Digests are `md5`, `sha1` and `sha256`.

mod catalogue;
mod crc;
mod digest;
mod error;
mod plain;

use std::fmt;
use std::str::FromStr;

use catalogue::{CATALOGUE, Entry};
use digest::Digest;
use plain::Plain;

use crate::prose::nearest;

pub use error::{SumError, UnknownAlgo, UnknownChoice};

/// Which sum, CRC or digest.
///
/// Parses from its name or short name, upper or lower case, and prints as its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Algo(Kind);

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Kind {
    Plain(Plain),
    /// The place in the catalogue.
    Crc(u8),
    Digest(Digest),
}

impl Algo {
    /// Sum of bytes in 8 bits.
    pub const SUM8: Algo = Algo(Kind::Plain(Plain::Sum8));
    /// Sum of bytes in 16 bits, as most programmers show it.
    pub const SUM16: Algo = Algo(Kind::Plain(Plain::Sum16));
    /// Sum of bytes in 32 bits.
    pub const SUM32: Algo = Algo(Kind::Plain(Plain::Sum32));
    /// Sum of 16-bit words, low byte first.
    pub const SUM16LE: Algo = Algo(Kind::Plain(Plain::Sum16Le));
    /// Sum of 16-bit words, high byte first.
    pub const SUM16BE: Algo = Algo(Kind::Plain(Plain::Sum16Be));
    /// Sum of 32-bit words, low byte first.
    pub const SUM32LE: Algo = Algo(Kind::Plain(Plain::Sum32Le));
    /// Sum of 32-bit words, high byte first.
    pub const SUM32BE: Algo = Algo(Kind::Plain(Plain::Sum32Be));
    /// Exclusive-or of bytes.
    pub const XOR8: Algo = Algo(Kind::Plain(Plain::Xor8));
    /// `crc-16/arc`, which `crc16` stands for: the catalogue gives CRC-16 as another name of it.
    pub const CRC16: Algo = Algo(Kind::Crc(catalogue::position("crc-16/arc")));
    /// `crc-32/iso-hdlc`, which `crc32` stands for: the catalogue gives CRC-32 as another name
    /// of it.
    pub const CRC32: Algo = Algo(Kind::Crc(catalogue::position("crc-32/iso-hdlc")));
    /// MD5.
    pub const MD5: Algo = Algo(Kind::Digest(Digest::Md5));
    /// SHA-1.
    pub const SHA1: Algo = Algo(Kind::Digest(Digest::Sha1));
    /// SHA-256.
    pub const SHA256: Algo = Algo(Kind::Digest(Digest::Sha256));

    /// Names that stand for a catalogue name.
    const SHORT: [(&'static str, Algo); 2] = [("crc16", Algo::CRC16), ("crc32", Algo::CRC32)];

    /// Every one: plain sums, `xor8`, the CRCs by width and name, digests.
    pub fn all() -> impl Iterator<Item = Algo> {
        let plain = Plain::ALL.into_iter().map(Kind::Plain);
        let crcs = (0..CATALOGUE.len() as u8).map(Kind::Crc);
        let digests = Digest::ALL.into_iter().map(Kind::Digest);
        plain.chain(crcs).chain(digests).map(Algo)
    }

    /// Its name, as `sum16`, `crc-32/iso-hdlc` or `sha256`.
    pub fn name(self) -> &'static str {
        match self.0 {
            Kind::Plain(plain) => plain.name(),
            Kind::Crc(index) => entry(index).name,
            Kind::Digest(digest) => digest.name(),
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
            Kind::Plain(plain) => plain.about().to_owned(),
            Kind::Digest(digest) => digest.about().to_owned(),
            Kind::Crc(index) => {
                let a = entry(index).model.widened();
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

    /// Width of the result in bits: 3 to 82 for CRCs, 8, 16 or 32 for plain sums, 128 to 256 for
    /// digests.
    pub fn bits(self) -> u16 {
        match self.0 {
            Kind::Plain(plain) => plain.bits(),
            Kind::Crc(index) => u16::from(entry(index).model.widened().width),
            Kind::Digest(digest) => digest.bits(),
        }
    }

    /// Bytes the result takes when stored: its bits, rounded up.
    pub fn bytes(self) -> usize {
        usize::from(self.bits().div_ceil(8))
    }

    /// Bytes added together as one word: 2 or 4 for the word sums, 1 for all others.
    pub fn word(self) -> usize {
        match self.0 {
            Kind::Plain(plain) => plain.word(),
            Kind::Crc(_) | Kind::Digest(_) => 1,
        }
    }

    /// The byte order of the words that a word sum adds; `None` for all others.
    pub fn order(self) -> Option<Order> {
        match self.0 {
            Kind::Plain(plain) => plain.order(),
            Kind::Crc(_) | Kind::Digest(_) => None,
        }
    }

    /// Whether it is a digest: a string of bytes, not a number.
    pub fn is_digest(self) -> bool {
        matches!(self.0, Kind::Digest(_))
    }

    /// Begins a sum, as its definition says.
    pub fn start(self) -> Summing {
        self.begin(match self.0 {
            Kind::Crc(index) => entry(index).model.widened().init,
            Kind::Plain(_) | Kind::Digest(_) => 0,
        })
    }

    /// Begins a sum from another initial value: the total so far of a plain sum, or the register
    /// of a CRC in place of the catalogue's `init` (and in its sense: not reflected).
    ///
    /// # Errors
    /// [`SumError::NoInitialValue`] for a digest, [`SumError::TooLarge`] when the value has more
    /// bits than the sum.
    pub fn start_from(self, init: u128) -> Result<Summing, SumError> {
        if self.is_digest() {
            return Err(SumError::NoInitialValue { algo: self });
        }
        self.check_fits("initial value", init)?;
        Ok(self.begin(init))
    }

    /// Begins from a value that fits the width; a digest takes none.
    fn begin(self, init: u128) -> Summing {
        let state = match self.0 {
            Kind::Plain(plain) => State::Plain(plain, plain.start(init as u32)),
            Kind::Crc(index) => State::Crc(crc::Register::start(index, init)),
            Kind::Digest(digest) => State::Digest(digest.start()),
        };
        Summing { algo: self, state }
    }

    /// The sum of these bytes, in one go.
    ///
    /// # Errors
    /// As for [`Summing::finish`].
    pub fn sum(self, bytes: &[u8]) -> Result<Sum, SumError> {
        let mut summing = self.start();
        summing.feed(bytes);
        summing.finish()
    }

    /// All bits of a number of this width set. Not for digests, which have no number.
    fn mask(self) -> u128 {
        u128::MAX >> (128 - u32::from(self.bits().min(128)))
    }

    fn check_fits(self, what: &'static str, value: u128) -> Result<(), SumError> {
        if value <= self.mask() {
            Ok(())
        } else {
            Err(SumError::TooLarge {
                what,
                value,
                algo: self,
                largest: self.mask(),
            })
        }
    }
}

fn entry(index: u8) -> &'static Entry {
    &CATALOGUE[usize::from(index)]
}

/// Hex digits that so many bits take.
fn hex_digits(bits: u16) -> usize {
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

/// A sum under way. Where the feeds are cut makes no difference.
#[derive(Clone)]
pub struct Summing {
    algo: Algo,
    state: State,
}

#[derive(Clone)]
enum State {
    Plain(Plain, plain::Total),
    Crc(crc::Register),
    Digest(digest::Hashing),
}

impl Summing {
    /// Takes the next bytes.
    pub fn feed(&mut self, bytes: &[u8]) {
        match &mut self.state {
            State::Plain(_, total) => total.feed(bytes),
            State::Crc(register) => register.feed(bytes),
            State::Digest(hashing) => hashing.feed(bytes),
        }
    }

    /// The sum of all bytes fed.
    ///
    /// # Errors
    /// [`SumError::PartWord`] when a word sum was fed no whole number of words. No other kind
    /// of sum fails.
    pub fn finish(self) -> Result<Sum, SumError> {
        let value = match self.state {
            State::Plain(plain, total) => {
                Value::Number(u128::from(total.finish(plain)?) & self.algo.mask())
            }
            State::Crc(register) => Value::Number(register.finish()),
            State::Digest(hashing) => Value::Digest(hashing.finish()),
        };
        Ok(Sum {
            algo: self.algo,
            value,
        })
    }
}

impl fmt::Debug for Summing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Summing")
            .field("algo", &self.algo)
            .finish_non_exhaustive()
    }
}

/// A sum made: its value, and which sum it is.
///
/// Prints as hex digits, all of its width with leading zeros: a number in upper case (a width
/// that is no multiple of four is rounded up), a digest in lower case, as each usually stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sum {
    algo: Algo,
    value: Value,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Value {
    /// Below two to the power of the sum's bits.
    Number(u128),
    /// The first [`Algo::bytes`] are the digest.
    Digest([u8; digest::LONGEST]),
}

impl Sum {
    /// The value as a number, below two to the power of [`Algo::bits`]; `None` for a digest.
    pub fn value(&self) -> Option<u128> {
        match self.value {
            Value::Number(number) => Some(number),
            Value::Digest(_) => None,
        }
    }

    /// Which sum it is.
    pub fn algo(&self) -> Algo {
        self.algo
    }

    /// The bytes to store, [`Algo::bytes`] of them. A digest has one order only, whatever
    /// `order` says. A CRC of no whole number of bytes stands in the low bits.
    pub fn to_bytes(&self, order: Order) -> Vec<u8> {
        match self.value {
            Value::Number(number) => number_to_bytes(number, self.algo.bytes(), order),
            Value::Digest(digest) => digest[..self.algo.bytes()].to_vec(),
        }
    }

    /// The value's complement within its width.
    ///
    /// # Errors
    /// [`SumError::NoComplement`] for a digest.
    pub fn complement(self, complement: Complement) -> Result<Sum, SumError> {
        let Value::Number(number) = self.value else {
            return Err(SumError::NoComplement { algo: self.algo });
        };
        let turned = match complement {
            Complement::Ones => !number,
            Complement::Twos => number.wrapping_neg(),
        };
        Ok(Sum {
            algo: self.algo,
            value: Value::Number(turned & self.algo.mask()),
        })
    }
}

impl fmt::Display for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.value {
            Value::Number(number) => {
                let digits = hex_digits(self.algo.bits());
                f.pad(&format!("{number:0digits$X}"))
            }
            Value::Digest(digest) => {
                let digits: String = digest[..self.algo.bytes()]
                    .iter()
                    .map(|byte| format!("{byte:02x}"))
                    .collect();
                f.pad(&digits)
            }
        }
    }
}

/// The low `length` bytes (at most 16) of a number.
fn number_to_bytes(number: u128, length: usize, order: Order) -> Vec<u8> {
    match order {
        Order::Little => number.to_le_bytes()[..length].to_vec(),
        Order::Big => number.to_be_bytes()[16 - length..].to_vec(),
    }
}

/// The order in which the bytes of a number are stored. Parses from `little` or `big`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Order {
    /// The low byte first.
    Little,
    /// The high byte first.
    Big,
}

impl fmt::Display for Order {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Order::Little => "little",
            Order::Big => "big",
        })
    }
}

impl FromStr for Order {
    type Err = UnknownChoice;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        match word.to_ascii_lowercase().as_str() {
            "little" => Ok(Order::Little),
            "big" => Ok(Order::Big),
            _ => Err(UnknownChoice {
                word: word.to_owned(),
                expected: "`little` or `big`",
            }),
        }
    }
}

/// A complement of a number. Parses from `ones` or `twos`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Complement {
    /// Every bit turned over.
    Ones,
    /// Every bit turned over, and one added: what brings the value to 0 when added to it.
    Twos,
}

impl fmt::Display for Complement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Complement::Ones => "ones",
            Complement::Twos => "twos",
        })
    }
}

impl FromStr for Complement {
    type Err = UnknownChoice;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        match word.to_ascii_lowercase().as_str() {
            "ones" => Ok(Complement::Ones),
            "twos" => Ok(Complement::Twos),
            _ => Err(UnknownChoice {
                word: word.to_owned(),
                expected: "`ones` or `twos`",
            }),
        }
    }
}

/// The bytes to store so that the whole range, these bytes included, sums to `target`.
///
/// `total_without_stamp` is the sum of the range with the stamped bytes counted as zeros. There
/// are [`Algo::bytes`] bytes to store. Those of a word sum count as one word, so they must
/// lie on a word boundary, counted from the start of the range, and in the order of the
/// sum's words.
///
/// ```
/// use romloom::sums::{Algo, Order, balance};
///
/// let total = Algo::SUM8.sum(&[0x55, 0xAA, 0x01, 0x00])?;
/// assert_eq!(balance(Algo::SUM8, &total, 0, Order::Little)?, [0x00]);
/// let total = Algo::SUM16BE.sum(&[0x12, 0x34, 0x00, 0x00])?;
/// assert_eq!(balance(Algo::SUM16BE, &total, 0, Order::Big)?, [0xED, 0xCC]);
/// # Ok::<(), romloom::sums::SumError>(())
/// ```
///
/// # Errors
/// [`SumError::NoBalance`] for `sum16` and `sum32` of bytes, CRCs and digests;
/// [`SumError::OtherOrder`] when `order` is not that of a word sum's words (see [`Algo::order`]);
/// [`SumError::TooLarge`] when the target has more bits than the sum;
/// [`SumError::OtherSum`] when the total is not one of `algo`.
pub fn balance(
    algo: Algo,
    total_without_stamp: &Sum,
    target: u128,
    order: Order,
) -> Result<Vec<u8>, SumError> {
    let refuse = |reason| Err(SumError::NoBalance { algo, reason });
    let plain = match algo.0 {
        Kind::Plain(Plain::Sum16 | Plain::Sum32) => {
            return refuse(
                "stored bytes add at most 255 each, which does not reach every target; \
                 use sum8 or a sum of words",
            );
        }
        Kind::Crc(_) => {
            return refuse("a CRC does not add up; store it outside the range it is taken across");
        }
        Kind::Digest(_) => {
            return refuse(
                "a digest is made so that this cannot be done; store it outside the range it is \
                 taken across",
            );
        }
        Kind::Plain(plain) => plain,
    };
    let Some(total) = total_without_stamp
        .value()
        .filter(|_| total_without_stamp.algo == algo)
    else {
        return Err(SumError::OtherSum {
            expected: algo,
            found: total_without_stamp.algo,
        });
    };
    if let Some(own) = plain.order().filter(|&own| own != order) {
        return Err(SumError::OtherOrder {
            algo,
            own,
            asked: order,
        });
    }
    algo.check_fits("target", target)?;
    let missing = match plain {
        Plain::Xor8 => target ^ total,
        _ => target.wrapping_sub(total) & algo.mask(),
    };
    Ok(number_to_bytes(missing, algo.bytes(), order))
}

#[cfg(test)]
mod tests;
