//! What is known of a set of chips.

use crate::sums::{Algo, ListedSum};

/// A chip of the set.
#[derive(Clone, Debug)]
pub struct KnownChip {
    /// Its name.
    pub name: String,
    /// Its content, or a sum of it.
    pub by: KnownBy,
}

/// What is known of a chip.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub enum KnownBy {
    /// All of it.
    Image(Vec<u8>),
    /// A sum, in hex of any case.
    Sum(Algo, String),
}

impl From<ListedSum> for KnownChip {
    fn from(listed: ListedSum) -> Self {
        Self {
            name: listed.name,
            by: KnownBy::Sum(listed.algo, listed.digits),
        }
    }
}
