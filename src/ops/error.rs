//! What can go wrong when something is done to an image.

use std::fmt;

use crate::image::{AddressRange, NoMemory, Origin, OutOfSpace, Overlap};
use crate::prose::{debug_as_display, hex, holds, plural, thousands};
use crate::sums::SumError;
use crate::wiring::WiringError;

/// Filler and copies above this many bytes are made only on request: 256 MiB.
pub const LARGE: u64 = 256 << 20;

/// Copies in more separate places than this are made only on request.
pub const SCATTERED: u64 = 1 << 20;

/// Why something could not be done to an image; the image is unchanged then.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum OpError {
    /// There is no byte to work on.
    #[error("the image is empty")]
    Empty,
    /// Bytes would leave the address space.
    #[error("{0}: is the address right?")]
    OutOfSpace(#[from] OutOfSpace),
    /// A move would wrap around.
    #[error("{extent} moved {} would {}: choose another address", signed(.by), out(.by))]
    Wraps {
        /// From the first byte to the last.
        extent: AddressRange,
        /// How far it would move.
        by: i128,
    },
    /// Much more memory than usual would be needed.
    #[error("this makes {}, more than {}", plural(*.bytes, "byte"), thousands(LARGE))]
    Large {
        /// Bytes that would be made.
        bytes: u64,
    },
    /// Copies in very many places, each of which takes far more memory than its bytes.
    #[error("this makes bytes in {} separate places, more than {}", thousands(*.places), thousands(SCATTERED))]
    Scattered {
        /// Places that would be made.
        places: u64,
    },
    /// The memory for it is not there.
    #[error(transparent)]
    Memory(#[from] NoMemory),
    /// The first address is not a multiple of the size, so nothing says where the part begins.
    #[error("the image begins at 0x{first:04X}, which is not a multiple of the size ({})", plural(*.size, "byte"))]
    NoBase {
        /// First address of the image.
        first: u64,
        /// Size of the part in bytes.
        size: u64,
    },
    /// There are bytes before the part.
    #[error("{} before 0x{base:04X}; the first is at 0x{first:04X}{}", there_are(.count), from(.origin))]
    Before {
        /// Where the part begins.
        base: u64,
        /// First address of the image.
        first: u64,
        /// Bytes before it.
        count: u64,
        /// Where the first came from.
        origin: Option<Origin>,
    },
    /// There are bytes after the part.
    #[error("{} too long for {window}; the last byte is at 0x{last:04X}{}", bytes_are(.count), from(.origin))]
    After {
        /// The part's addresses.
        window: AddressRange,
        /// Last address of the image.
        last: u64,
        /// Bytes from the part's end to the last.
        count: u64,
        /// Where the last came from.
        origin: Option<Origin>,
    },
    /// Only whole powers of two can be repeated.
    #[error("{what} has {}, which is not a power of two", plural(*.size, "byte"))]
    NotPowerOfTwo {
        /// What has that size.
        what: Measured,
        /// The size in bytes.
        size: u64,
    },
    /// A hole where a byte is needed.
    #[error("{hole} is a hole, but {what}")]
    Hole {
        /// The hole.
        hole: AddressRange,
        /// What needs a byte there.
        what: &'static str,
    },
    /// Two parts of the image want the same address.
    #[error("{0}")]
    Clash(Box<Overlap>),
    /// Two images that are joined want the same address.
    #[error("{0}")]
    JoinClash(Box<Overlap>),
    /// A count of lanes that makes no sense.
    #[error("{0} lanes are not possible: a bus has 2 to 16")]
    Lanes(u32),
    /// So many banks that the size or an address is probably wrong.
    #[error("this would make {0} banks, numbered from address 0")]
    Banks(u64),
    /// Pieces to be joined differ in length.
    #[error(
        "lanes must be equally long, but lane {lane} goes up to 0x{last:04X} and lane 0 up to 0x{first_last:04X}"
    )]
    UnequalLanes {
        /// Number of the lane that differs.
        lane: usize,
        /// Its last address.
        last: u64,
        /// Last address of the first lane.
        first_last: u64,
    },
    /// A bank has a byte outside its size.
    #[error("bank {bank} has a byte at 0x{address:04X}, but a bank ends at 0x{last:04X}")]
    OutsideBank {
        /// Number of the bank.
        bank: usize,
        /// Address of the byte.
        address: u64,
        /// Last address of a bank.
        last: u64,
    },
    /// A word has a hole in it.
    #[error("the word at 0x{word:04X} has a hole at 0x{hole:04X}")]
    BrokenWord {
        /// Address of the word.
        word: u64,
        /// First missing byte.
        hole: u64,
    },
    /// The bytes to be patched are not what they should be.
    #[error("0x{address:04X} {}, not {}. Is this the right version?", holds(.found), hex(.was))]
    NotAsWas {
        /// Where.
        address: u64,
        /// What is there; `None` for a hole.
        found: Vec<Option<u8>>,
        /// What was expected.
        was: Vec<u8>,
    },
    /// A line of a patch list can't be read.
    #[error("line {line}: {problem}: write `0x7F10 was A9 00 now A9 01`")]
    PatchLine {
        /// The line, counted from 1.
        line: usize,
        /// What is wrong.
        problem: String,
    },
    /// A text is longer than its place.
    #[error("the text has {}, but its place has only {}", plural(*.has, "byte"), thousands(*.length))]
    TextTooLong {
        /// Bytes of the text.
        has: u64,
        /// Bytes of the place.
        length: u64,
    },
    /// The bytes of a stamp would replace loaded data.
    #[error("there is data at the stamp's place {place} ({origin})")]
    StampOverData {
        /// The stamp's place.
        place: AddressRange,
        /// What is there.
        origin: Origin,
    },
    /// A number that is too large for its bytes.
    #[error("{number} does not fit in {bytes} {}", if *.bytes == 1 { "byte" } else { "bytes" })]
    NumberTooLarge {
        /// The number.
        number: u64,
        /// Bytes there are for it.
        bytes: u8,
    },
    /// A text would replace loaded data.
    #[error("there is data at the mark's place {place} ({origin})")]
    MarkOverData {
        /// The text's place.
        place: AddressRange,
        /// What it would replace first.
        origin: Origin,
    },
    /// The sum itself can't be made.
    #[error(transparent)]
    Sum(#[from] SumError),
    /// No range to sum.
    #[error("there is no range to sum over")]
    NoRange,
    /// A balancing stamp must be inside what it balances.
    #[error("the stamp's place {place} is not inside the range, so nothing there can balance it")]
    BalanceOutside {
        /// The stamp's place.
        place: AddressRange,
    },
    /// A wiring that is not possible.
    #[error(transparent)]
    Wiring(#[from] WiringError),
    /// A range without a byte.
    #[error("{range} has no bytes: there is nothing to copy")]
    Nothing {
        /// The range.
        range: AddressRange,
    },
    /// A block that is not inside one bank.
    #[error("{range} is not inside one bank of {}", plural(*.size, "byte"))]
    AcrossBanks {
        /// The block.
        range: AddressRange,
        /// Size of a bank.
        size: u64,
    },
    /// A bank has other data where the block should go.
    #[error("bank {bank} has other data at 0x{address:04X} ({origin})")]
    SpreadOverData {
        /// The bank.
        bank: u64,
        /// The first address that differs.
        address: u64,
        /// Where that byte came from.
        origin: Origin,
    },
    /// A byte whose upper half is not 0 where only a nibble can be.
    #[error("piece {piece} has {byte:02X} at 0x{address:04X}, but a 4-bit chip gives 00 to 0F")]
    NotNibble {
        /// Number of the piece.
        piece: usize,
        /// Where.
        address: u64,
        /// The byte.
        byte: u8,
    },
    /// Not two pieces.
    #[error("a byte has two halves: join two pieces, the low one first, not {0}")]
    Halves(usize),
    /// A balancing stamp must be on a word of the range.
    #[error("the stamp's place {place} is not on a {word}-byte word of the range")]
    BalanceAcrossWords {
        /// The stamp's place.
        place: AddressRange,
        /// Bytes of a word.
        word: usize,
    },
    /// A balancing stamp counts once.
    #[error("the stamp's place {place} is in more than one of the ranges, so it would count twice")]
    BalanceTwice {
        /// The stamp's place.
        place: AddressRange,
    },
    /// A balancing stamp counts as the bytes it has.
    #[error("the stamp's place {place} can't balance the sum and also count as other bytes")]
    BalanceBlank {
        /// The stamp's place.
        place: AddressRange,
    },
}

/// What has a size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Measured {
    /// The part that will be filled.
    Part,
    /// The image, from where the part begins to the last byte.
    Image,
}

impl fmt::Display for Measured {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Measured::Part => "the part",
            Measured::Image => "the image",
        })
    }
}

debug_as_display!(OpError);

fn signed(by: &i128) -> String {
    let way = if *by < 0 { "down" } else { "up" };
    format!("{way} by 0x{:X}", by.unsigned_abs())
}

fn out(by: &i128) -> &'static str {
    match by {
        ..0 => "begin below address 0",
        _ => "end above the last 64-bit address",
    }
}

fn from(origin: &Option<Origin>) -> String {
    origin.as_ref().map_or(String::new(), |o| format!(" ({o})"))
}

fn there_are(count: &u64) -> String {
    match count {
        1 => "there is 1 byte".into(),
        n => format!("there are {}", plural(*n, "byte")),
    }
}

fn bytes_are(count: &u64) -> String {
    match count {
        1 => "the image is 1 byte".into(),
        n => format!("the image is {}", plural(*n, "byte")),
    }
}
