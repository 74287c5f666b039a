//! What can go wrong with addresses.

use crate::prose::debug_as_display;

/// Bytes would be above the last usable address, [`AddressRange::TOP`](super::AddressRange::TOP), or below address 0.
#[derive(Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("an address would leave the 64-bit address space")]
pub struct OutOfSpace;

debug_as_display!(OutOfSpace);
