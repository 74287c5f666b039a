//! What can go wrong with a sum.

use super::{Algo, Order};
use crate::prose::{debug_as_display, plural, shown};

/// Why a sum could not be made, complemented or balanced. Nothing is ever cut to make it fit.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SumError {
    /// The bytes given are not a whole number of words.
    #[error(
        "{name} adds words of {word} bytes, and {over} of {} are left over; \
         use a range whose length is a multiple of {word} bytes",
        plural(*.length, "byte")
    )]
    PartWord {
        /// The sum's name.
        name: &'static str,
        /// Bytes in a word.
        word: usize,
        /// Bytes given in all.
        length: u64,
        /// Bytes after the last whole word, 1 to `word` - 1.
        over: usize,
    },
    /// An initial value or target has more bits than the sum.
    #[error("{what} {value:#X} is too large: {algo} has {bits} bits, so the largest is {largest:#X}", bits = algo.bits())]
    TooLarge {
        /// What was given: `initial value` or `target`.
        what: &'static str,
        /// The value given.
        value: u128,
        /// The sum.
        algo: Algo,
        /// The largest value it can have.
        largest: u128,
    },
    /// A digest has a fixed beginning.
    #[error(
        "{algo} always starts as its standard says; only sums and CRCs can have an initial value"
    )]
    NoInitialValue {
        /// The digest.
        algo: Algo,
    },
    /// A digest is not a number.
    #[error(
        "{algo} is a string of bytes, not a number, so it has no complement; store it as it is"
    )]
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
        "the stored word is part of {algo} and counts in the order `{own}`; stored as \
         `{asked}` it would count as another value, so use `{own}`"
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

/// A word that is not a complement.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a complement: write ones or twos", shown(.0))]
pub struct UnknownComplement(
    /// What was written.
    pub String,
);

debug_as_display!(SumError, UnknownComplement);

impl Algo {
    pub(super) fn check_fits(self, what: &'static str, value: u128) -> Result<(), SumError> {
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
