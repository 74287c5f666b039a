//! The sparse image: bytes at 64-bit addresses, holes between them, and where each byte came from.
//!
//! A hole is not 0xFF. An [`Image`] keeps its bytes as sorted [`Span`]s that never touch, and beside them the
//! [`Origins`] of each range, so that a clash can name both sides and filler can be told from data.
//! This module knows no file format.
//!
//! ```
//! use romloom::image::{AddressRange, Clash, Image, Source};
//!
//! let mut rom = Image::from_bytes(0x8000, vec![0xA9, 0x00], Source::File("monitor.hex".into()))?;
//! let basic = Image::from_bytes(0x8001, vec![0x60], Source::File("basic.s19".into()))?;
//! let overlap = rom.merge(basic, Clash::Refuse).unwrap_err();
//! assert!(overlap.to_string().starts_with(
//!     "0x8001 is wanted twice: monitor.hex puts 00 there, basic.s19 puts 60"
//! ));
//! let hole = AddressRange::new(0x8002, 0x8003).ok_or("no such range")?;
//! assert_eq!(rom.contiguous(hole), Err(hole));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod arrays;
mod aside;
mod builder;
mod bytes;
mod chunks;
mod clash;
mod cut;
mod entry;
mod error;
mod halves;
mod lanes;
mod memory;
mod order;
mod origins;
mod permute;
mod range;
mod span;
mod sparse;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
mod whole;

pub(crate) use arrays::arrays;
pub(crate) use aside::{begin_aside, has_second_core};
pub use builder::{Arrival, Builder};
pub use clash::{Clash, Contest, Overlap, UnknownClash};
pub use entry::Entry;
pub use error::OutOfSpace;
pub use memory::NoMemory;
pub(crate) use memory::ask_memory;
pub use order::{Order, UnknownOrder};
pub use origins::{Lines, Origin, OriginRun, Origins, Source};
pub use range::AddressRange;
pub use span::Span;
pub use sparse::Image;
