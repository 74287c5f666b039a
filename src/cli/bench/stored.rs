//! Sums that were stored, and what is remembered of them.

use std::sync::Arc;

use crate::board::Board;
use crate::image::AddressRange;
use crate::ops::Stamp;
use crate::sums::Algo;

/// A sum, and the bytes that it left.
#[derive(Clone, Debug)]
pub struct Stored {
    /// How it is made, and where it is.
    pub(super) stamp: Stamp,
    /// What it left there.
    pub(super) bytes: Vec<u8>,
    /// The number of the step that stored it.
    pub(super) at: u64,
}

/// A sum in the addresses of a bus.
pub(super) struct OnBus {
    pub(super) board: Arc<Board>,
    pub(super) space: String,
    pub(super) bank: Option<u64>,
    pub(super) stored: Stored,
}

/// What the bench remembers in addition to its pieces.
#[derive(Default)]
pub(super) struct Stamps {
    /// Sums in the addresses of a bus.
    pub(super) on_boards: Vec<OnBus>,
    /// Sums that are now wrong, and were not stored again or reported.
    pub(super) stale: Vec<Stale>,
}

/// A sum that is now wrong.
pub(super) struct Stale {
    pub(super) name: String,
    pub(super) place: AddressRange,
    pub(super) algo: Algo,
    /// The steps that have changed bytes since, one of which made it so.
    pub(super) steps: Vec<&'static str>,
}

impl Stored {
    /// What a stamp has just left in its place.
    pub fn new(stamp: Stamp, bytes: Vec<u8>) -> Self {
        Self {
            stamp,
            bytes,
            at: 0,
        }
    }

    /// The same sum, all its addresses moved; none where one would leave the address space.
    pub(super) fn moved(self, distance: i128) -> Option<Self> {
        let stamp = self.stamp.moved(distance)?;
        Some(Self { stamp, ..self })
    }
}
