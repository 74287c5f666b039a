//! The order of the bytes of a number.

use std::fmt;
use std::str::FromStr;

use crate::prose::{debug_as_display, shown};

/// The order in which the bytes of a number are stored. Parses from `little` or `big`, upper or lower case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Order {
    /// The low byte first.
    Little,
    /// The high byte first.
    Big,
}

impl Order {
    /// Every order.
    pub const ALL: [Order; 2] = [Order::Little, Order::Big];
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
    type Err = UnknownOrder;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        match word.to_ascii_lowercase().as_str() {
            "little" => Ok(Order::Little),
            "big" => Ok(Order::Big),
            _ => Err(UnknownOrder(word.to_owned())),
        }
    }
}

/// A word that is neither byte order.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a byte order: write little or big", shown(.0))]
pub struct UnknownOrder(
    /// What was written.
    pub String,
);

debug_as_display!(UnknownOrder);
