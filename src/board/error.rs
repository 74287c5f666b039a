//! What does not fit a board.

use crate::image::{AddressRange, Origin, OutOfSpace, Overlap};
use crate::prose::{debug_as_display, plural_ungrouped};

/// The largest chip that is filled, 1 GiB: the largest in any socket has a small part of that.
pub(super) const LARGEST_CHIP: u64 = 1 << 30;

/// Why a board can't be built, or why an image does not fit it.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BoardError {
    /// The window's first address is not aligned to it.
    #[error(
        "0x{base:04X} is no multiple of the window of {window} bytes, so the address lines would not agree: the next multiples are 0x{below:04X} and 0x{above:04X}"
    )]
    Base {
        /// The base asked for.
        base: u64,
        /// Bytes of one row of sockets.
        window: u64,
        /// The multiple below.
        below: u64,
        /// The multiple above.
        above: u64,
    },
    /// A count of lanes that no bus has.
    #[error("{0} lanes make no sense: a board has 1, 2, 4, 8 or 16")]
    Lanes(u32),
    /// A count of rows that can't be.
    #[error("{0} rows make no sense: a board has 1 to 256")]
    Rows(u32),
    /// A chip that answers with neither a byte nor a word of 16 bits.
    #[error("a chip's word has 1 or 2 bytes, not {0}")]
    WordBytes(u64),
    /// The rows would end above the last usable address.
    #[error("the window at 0x{base:04X} would end above the last 64-bit address")]
    TooHigh {
        /// CPU address of the first byte.
        base: u64,
    },
    /// The chip's size is no power of two.
    #[error("a chip of {0} bytes makes no sense: its size is a power of two")]
    Chip(u64),
    /// The window is larger than the chip or no power of two.
    #[error(
        "a window of {window} bytes makes no sense for a chip of {chip}: it is a power of two and no larger than the chip"
    )]
    Window {
        /// Bytes of the window.
        window: u64,
        /// Bytes of the chip.
        chip: u64,
    },
    /// The chip is larger than its window and nothing says which part is seen.
    #[error("the chip has {chip} bytes and the window {window}")]
    OpenPlace {
        /// Bytes of the chip.
        chip: u64,
        /// Bytes of the window.
        window: u64,
    },
    /// The held lines don't leave as many as the window needs.
    #[error(
        "a window of {window} bytes needs {needs} of the chip's {has} address lines to follow the CPU, so {held} must be held, and {} are: {}",
        .given.len(),
        names(.given)
    )]
    Lines {
        /// Bytes of the window.
        window: u64,
        /// Lines the window needs.
        needs: u32,
        /// Lines the chip has.
        has: u32,
        /// Lines that must be held.
        held: u32,
        /// Lines that are.
        given: Vec<u8>,
    },
    /// A held line that the chip does not have.
    #[error("A{0} is no address line of this chip")]
    NoSuchLine(u8),
    /// A line that is held twice.
    #[error("A{0} is held twice")]
    HeldTwice(u8),
    /// An excepted range that is not inside the window.
    #[error("{range}, where something else answers, is not inside the window {window}")]
    Except {
        /// The range.
        range: AddressRange,
        /// The window.
        window: AddressRange,
    },
    /// A further range that is larger than the window, or overlaps it.
    #[error(
        "{range}, where the chips answer too, is larger than the window or overlaps it: {window}"
    )]
    Also {
        /// The range.
        range: AddressRange,
        /// The window.
        window: AddressRange,
    },
    /// Data that no chip of the board holds.
    #[error("{} outside {window}, the first at 0x{address:04X}{}", lie(*.count), from(.origin))]
    OutsideWindow {
        /// What the chips hold.
        window: AddressRange,
        /// The first byte outside.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
        /// Bytes outside.
        count: u64,
        /// From the first byte of the image to the last.
        extent: AddressRange,
    },
    /// Data where something else than the chips answers.
    #[error("0x{address:04X}{} lies in {range}, where something else than the chips answers", from(.origin))]
    InExcepted {
        /// The excepted range.
        range: AddressRange,
        /// The first byte in it.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
    },
    /// Two bytes that want the same place in a chip.
    #[error("{0}")]
    Clash(Box<Overlap>),
    /// Bytes would leave the address space.
    #[error(transparent)]
    OutOfSpace(#[from] OutOfSpace),
    /// Chips so large that their size must be wrong.
    #[error("chips of {0} bytes would be filled, more than {most} each", most = LARGEST_CHIP)]
    TooLarge(u64),
}

debug_as_display!(BoardError);

impl From<Overlap> for BoardError {
    fn from(overlap: Overlap) -> Self {
        BoardError::Clash(Box::new(overlap))
    }
}

impl BoardError {
    /// For data outside the window: address and bytes of the smallest aligned window, up to 4 GiB, that would hold all of it.
    pub fn window_for_all(&self) -> Option<AddressRange> {
        let BoardError::OutsideWindow { window, extent, .. } = self else {
            return None;
        };
        let all = window.hull(*extent);
        let size = (0..=32)
            .map(|bits| 1u64 << bits)
            .find(|size| all.first() / size == all.last() / size)?;
        AddressRange::from_len(all.first() / size * size, size)
    }
}

fn lie(count: u64) -> String {
    let verb = if count == 1 { "lies" } else { "lie" };
    format!("{} {verb}", plural_ungrouped(count, "byte"))
}

fn from(origin: &Option<Origin>) -> String {
    origin.as_ref().map_or(String::new(), |o| format!(" ({o})"))
}

fn names(lines: &[u8]) -> String {
    let names: Vec<String> = lines.iter().map(|line| format!("A{line}")).collect();
    names.join(" ")
}
