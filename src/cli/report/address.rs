//! Addresses in reports.

use serde::Serialize;

/// An address range for JSON: numbers, first and last included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct RangeView {
    /// First address.
    pub first: u64,
    /// Last address.
    pub last: u64,
}

impl From<crate::image::AddressRange> for RangeView {
    fn from(range: crate::image::AddressRange) -> Self {
        Self {
            first: range.first(),
            last: range.last(),
        }
    }
}

impl RangeView {
    /// For people, with this many digits; one address is not shown as a range.
    pub(super) fn text(self, w: usize) -> String {
        let RangeView { first, last } = self;
        match first == last {
            true => format!("{first:0w$X}"),
            false => format!("{first:0w$X}-{last:0w$X}"),
        }
    }
}

/// Hex digits that every address up to `last` fits, at least four.
pub(crate) fn address_width(last: u64) -> usize {
    match last {
        0..=0xFFFF => 4,
        0x1_0000..=0xFF_FFFF => 6,
        0x100_0000..=0xFFFF_FFFF => 8,
        _ => 16,
    }
}
