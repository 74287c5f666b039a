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

/// A word that is no complement.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` stands where `ones` or `twos` must stand", shown(.0))]
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
