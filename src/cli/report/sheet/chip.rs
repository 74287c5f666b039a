//! A chip of the sheet.

use crate::board::Seat;
use crate::cli::report::digest::NamedSum;
use crate::image::{AddressRange, Image};
use crate::parts::Part;
use crate::sums::Algo;

/// One chip, or an image without a known socket.
pub struct SheetChip<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its bytes, at the chip's addresses.
    pub image: &'a Image,
    /// The part that it is the content of, in a socket or not yet.
    pub part: Option<&'a Part>,
    /// Its place on a board.
    pub seat: Option<&'a Seat>,
    /// The step, if any, that has moved its bytes since it was seated.
    pub rearranged_by: Option<&'static str>,
    /// Files that contain it.
    pub files: Vec<HeldFile>,
    /// Its sums, the first as most programmers show it.
    pub sums: Vec<NamedSum>,
}

/// A file that contains a chip.
pub struct HeldFile {
    /// Its name, as the steps name it.
    pub name: String,
    /// Format and form, such as `intel-hex I8HEX`.
    pub format: String,
}

impl HeldFile {
    /// Whether it has no addresses of its own.
    pub(super) fn is_raw(&self) -> bool {
        self.format == "raw"
    }

    /// How a programmer is told to load it, where `first` is the address of its first byte.
    pub(super) fn how_to_load(&self, first: u64) -> String {
        match (self.is_raw(), first) {
            (true, _) => "raw binary at 0".to_owned(),
            (false, 0) => format!("{}, at the addresses in it, no offset", self.format),
            (false, first) => format!(
                "{}; its first byte is at {first:04X} and must go to 0",
                self.format
            ),
        }
    }
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

    /// Whether every byte is what an erased chip reads, so that there is nothing to burn.
    pub(super) fn is_erased(&self) -> bool {
        let Some(erased) = self.seat.and_then(|seat| seat.part().erased) else {
            return false;
        };
        let mut bytes = self.image.spans().iter().flat_map(|span| span.bytes());
        self.holes() == 0 && bytes.all(|byte| *byte == erased)
    }

    /// One of its sums, as it is shown.
    pub(super) fn sum(&self, algo: Algo) -> Option<&str> {
        let sum = self.sums.iter().find(|sum| sum.algo == algo);
        sum.map(|sum| sum.value.as_str())
    }
}
