//! The part table: memories that go into a socket, by their generic trade numbers.
//!
//! ```
//! use romloom::parts;
//!
//! let part = parts::find("27c256-15")?; // any case, with or without a speed suffix
//! assert_eq!((part.words, part.width, part.bytes()), (32 * 1024, 8, 32 * 1024));
//! assert_eq!(part.erased, Some(0xFF));
//! assert_eq!(part.pin_of_address(14), Some(27));
//! assert_eq!(parts::find("28C256")?.pin_of_address(14), Some(1)); // not the same socket
//! # Ok::<(), parts::UnknownPart>(())
//! ```
//!
//! # Columns
//!
//! The same in the table, in JSON and in a file of own parts.
//!
//! | column | what it means |
//! | --- | --- |
//! | `name` | the trade number without a maker's letters; for bipolar PROMs, whose numbers differ from maker to maker, the organisation: `27C256`, `prom-32x8` |
//! | `also` | other numbers of a part that is the same in every column |
//! | `words`, `width` | how many words, a power of two, and the bits in each: 4, 8 or 16 |
//! | `kind` | `uv-eprom`, `one-time-eprom`, `electric-eprom`, `eeprom`, `bulk-flash`, `sector-flash`, `page-flash`, `mask-rom` or `bipolar-prom`; see [`Kind`] |
//! | `erased` | what every byte reads as after erasing: all ones or all zeros of the width. Mask ROMs have none. Bipolar PROMs have none in this table, because an unblown fuse reads 0 on some parts and 1 on others |
//! | `page` | bytes loaded and written at once, EEPROMs and page flash only. An EEPROM leaves the bytes of a page that were not loaded as they were; page flash turns them into FF. None: it is written by the byte, or it differs by maker, and then the note says so |
//! | `sector` | bytes erased at once, sector flash only |
//! | `sectors` | instead of `sector`, where they are not all of one size: how many of which size, from chip address 0 up, such as `["7 x 64K", "32K", "2 x 8K", "16K"]`; together they are the whole part, in bytes for 16-bit parts too; see [`Sectors`] |
//! | `pins` | how many pins its package has, in two rows |
//! | `pinout` | what the pins carry, from pin 1 up; see [`Pin`] |
//! | `pinout_source` | what the pins were compared with: `as in KiCad's symbol library`, which a test checks, or `from memory` |
//! | `outputs` | `three-state`, or `open-collector` |
//! | `write_us` | typical time, in microseconds, to write one byte, word or page, all its pulses together |
//! | `program_volts` | programming voltage, only where the number with its suffix decides it; always check the maker's data sheet: too high a voltage destroys the part |
//! | `source` | where the row's other figures come from |
//! | `note` | what to watch for |
//!
//! JSON adds `bytes`, the length of an image of the whole part.
//!
//! # What the numbers say
//!
//! In the families 27, 28, 29, 39, 25 and 23 the digits after the family give kilobits: a 27C256
//! has 256 x 1024 bits. The exceptions: 010, 020, 040 and 080 (spelt 1000, 1001, 301; 2001; 4001;
//! 801 too) have 1, 2, 4 and 8 Mbit; the 16-bit 210, 220 and 240 (or 4002) have 1, 2 and 4 Mbit,
//! and 400, 800, 160 and 322 have 4, 8, 16 and 32 Mbit; a 27E257 has 256 kbit; a 29F002 has 2 Mbit.
//! The prefix does not decide the kind.

mod catalogue;
mod check;
mod error;
mod estimate;
mod kind;
mod marking;
mod own;
mod part;
mod pin;
mod pinouts;
mod sectors;
mod seen;
mod table;
#[cfg(test)]
mod tests;

pub use catalogue::{Catalogue, all, find};
pub use error::{Doubt, OwnPartsError, PartHint, UnknownPart};
pub use estimate::Estimate;
pub use kind::{Drive, Kind, WrittenTwice};
pub use part::Part;
pub use pin::{Pin, UnknownPin};
pub use sectors::{Sectors, UnknownSectors};
pub use seen::{Arrives, Contacts, Gate, seen_in};
