//! A finished sum, and how it is printed and stored.

use std::fmt;

use super::algo::hex_digits;
use super::{Algo, Complement, Order, SumError, digest};

/// A finished sum: its value, and which sum it is.
///
/// Prints as hex digits, with leading zeros up to its width: a number in upper case (a width
/// that is not a multiple of four is rounded up), a digest in lower case, as is usual for each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sum {
    pub(super) algo: Algo,
    pub(super) value: Value,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Value {
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
    /// `order` says. A CRC that does not fill its bytes is in the low bits.
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
pub(super) fn number_to_bytes(number: u128, length: usize, order: Order) -> Vec<u8> {
    match order {
        Order::Little => number.to_le_bytes()[..length].to_vec(),
        Order::Big => number.to_be_bytes()[16 - length..].to_vec(),
    }
}
