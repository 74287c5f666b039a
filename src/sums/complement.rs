//! Complements of a sum.

use std::fmt;
use std::str::FromStr;

use super::UnknownComplement;

/// A complement of a number. Parses from `ones` or `twos`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Complement {
    /// Every bit inverted.
    Ones,
    /// Every bit inverted, and one added: added to the value, it gives 0.
    Twos,
}

impl Complement {
    /// Both complements.
    pub const ALL: [Complement; 2] = [Complement::Ones, Complement::Twos];
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
    type Err = UnknownComplement;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        match word.to_ascii_lowercase().as_str() {
            "ones" => Ok(Complement::Ones),
            "twos" => Ok(Complement::Twos),
            _ => Err(UnknownComplement(word.to_owned())),
        }
    }
}
