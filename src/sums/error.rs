//! What can go wrong with a sum.

use super::{Algo, Order};
use crate::prose::{debug_as_display, shown};

/// Why a sum could not be made, turned or balanced. Nothing is ever cut to make it fit.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SumError {
    /// The bytes given are not a whole number of words.
    #[error(
        "{name} adds words of {word} bytes, and a length of {length} leaves {over} over; \
         take a range that is a multiple of {word} bytes long"
    )]
    PartWord {
        /// The sum's name.
        name: &'static str,
        /// Bytes in a word.
        word: usize,
        /// Bytes given in all.
        length: u64,
        /// Bytes behind the last whole word, 1 to `word` - 1.
        over: usize,
    },
    /// An initial value or target has more bits than the sum.
    #[error("{what} {value:#X} is too large: {algo} has {bits} bits, so at most {largest:#X}", bits = algo.bits())]
    TooLarge {
        /// What was given, as `initial value` or `target`.
        what: &'static str,
        /// The value given.
        value: u128,
        /// The sum.
        algo: Algo,
        /// The largest value it can have.
        largest: u128,
    },
    /// A digest has a fixed beginning.
    #[error("{algo} starts as its standard says; an initial value is for sums and CRCs")]
    NoInitialValue {
        /// The digest.
        algo: Algo,
    },
    /// A digest is not a number.
    #[error("{algo} is a string of bytes, not a number, and has no complement; store it as it is")]
    NoComplement {
        /// The digest.
        algo: Algo,
    },
    /// No bytes can be chosen that bring this sum to a target.
    #[error("no bytes can be chosen to bring {algo} to a target: {reason}")]
    NoBalance {
        /// The sum.
        algo: Algo,
        /// Why not, and what to do.
        reason: &'static str,
    },
    /// The stored bytes count in the sum as words of its own order, so no other order is possible.
    #[error(
        "the stored word counts in {algo} like every other, in the order `{own}`; stored as \
         `{asked}` it would count as another value, so ask for `{own}`"
    )]
    OtherOrder {
        /// The sum.
        algo: Algo,
        /// The order of its words.
        own: Order,
        /// The order asked for.
        asked: Order,
    },
    /// A total of one kind was given to balance a sum of another.
    #[error("a total of {found} cannot balance {expected}")]
    OtherSum {
        /// The sum to balance.
        expected: Algo,
        /// The sum the total is of.
        found: Algo,
    },
}

/// A name that is no sum, CRC or digest.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is no sum known here; {}", shown(.word), advice(.nearest))]
pub struct UnknownAlgo {
    /// What was written.
    pub word: String,
    /// The names it may have meant, best first; may be empty.
    pub nearest: Vec<&'static str>,
}

fn advice(nearest: &[&str]) -> String {
    if nearest.is_empty() {
        "known are sum8, sum16, sum32, sum16le, sum16be, sum32le, sum32be, xor8, crc16, crc32, \
         md5, sha1, sha256, and every CRC of the RevEng catalogue by its name, as crc-16/xmodem"
            .to_owned()
    } else {
        format!("nearest: {}", nearest.join(", "))
    }
}

/// A word where one of two or three fixed words must stand.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` stands where {expected} must stand", shown(.word))]
pub struct UnknownChoice {
    /// What was written.
    pub word: String,
    /// The words possible, as a phrase.
    pub expected: &'static str,
}

debug_as_display!(SumError, UnknownAlgo, UnknownChoice);
