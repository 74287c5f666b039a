//! A chip of the sheet.

use crate::board::Seat;
use crate::cli::report::digest::NamedSum;
use crate::image::{AddressRange, Image};
use crate::parts::Part;

/// One chip, or an image that no socket is known for.
pub struct SheetChip<'a> {
    /// Its name.
    pub label: &'a str,
    /// Its bytes, at the chip's addresses.
    pub image: &'a Image,
    /// The part that it is the content of, in a socket or not yet.
    pub part: Option<&'a Part>,
    /// Its place on a board.
    pub seat: Option<&'a Seat>,
    /// The step, if any, that has moved its bytes since it was seated.
    pub rearranged_by: Option<&'static str>,
    /// Files that hold it, each with its format.
    pub files: Vec<(String, String)>,
    /// Its sums, the first as most programmers show it.
    pub sums: Vec<NamedSum>,
}

impl SheetChip<'_> {
    /// The whole chip; of an unseated image, from its first byte to its last.
    pub(super) fn range(&self) -> Option<AddressRange> {
        let whole = self
            .seat
            .and_then(|s| AddressRange::from_len(0, s.part().bytes()));
        match (whole, self.image.extent()) {
            (Some(whole), Some(extent)) => Some(whole.hull(extent)),
            (whole, extent) => whole.or(extent),
        }
    }

    pub(super) fn holes(&self) -> u64 {
        self.range()
            .map_or(0, |range| range.len() - self.image.len())
    }
}
