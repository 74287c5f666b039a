//! Numbers, ranges and byte strings as people write them.
//!
//! Each has a function, and a type to [`parse`](str::parse) into, for settings of a build script.
//!
//! ```
//! use romloom::image::AddressRange;
//! use romloom::values::{self, ByteString, InSpace, Number, Place, Size};
//!
//! assert_eq!(values::number("0x8000")?, 32768);
//! assert_eq!("8000h".parse::<Number>()?.0, 32768);
//! assert_eq!("32K".parse::<Size>()?.0, 32768);
//! assert_eq!("EA EA 4C0080".parse::<ByteString>()?.0, [0xEA, 0xEA, 0x4C, 0x00, 0x80]);
//! assert_eq!("text:HERON\\r".parse::<ByteString>()?.0, b"HERON\r");
//!
//! let rom: AddressRange = "0x8000-0xFFFF".parse()?;
//! assert_eq!(rom, "0x8000+32K".parse()?);
//!
//! // An address as the CPU sees it, whatever the chip's own are.
//! let vector: InSpace<u64> = "cpu:0xFFFC".parse()?;
//! assert_eq!((vector.place, vector.value), (Place::cpu(), 0xFFFC));
//!
//! let error = "FFFF".parse::<Number>().unwrap_err();
//! assert_eq!(
//!     error.to_string(),
//!     "`FFFF` has no mark that says it is hexadecimal: write 0xFFFF or FFFFh"
//! );
//! # Ok::<(), values::BadValue>(())
//! ```

mod bad_value;
mod bytes;
mod digits;
mod meant;
mod number;
mod place;
mod range;

pub use bad_value::BadValue;
pub use bytes::{ByteString, byte, bytes, pairs, text};
pub use number::{Number, Size, number, offset, size};
pub use place::{BankSet, InSpace, Place, address, addresses};
pub use range::range;
