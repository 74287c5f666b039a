//! Prepare, split, stamp and prove ROM images.
//!
//! The library that the command `romloom` uses, for build scripts and tools. An [`Image`] has bytes at 64-bit
//! addresses, holes between them, and where each byte came from. [`formats`] reads and writes files, [`ops`] has
//! the steps of a pipeline as plain functions, [`board`] lays a program out for its sockets, [`sums`] has the checksums,
//! [`parts`] the part table, [`wiring`] the lines that a board swaps, [`faults`] the diagnosis of a chip that was read, and
//! [`identify`] says which chip of a known set it is. Without the default feature `cli` the build has no argument parser.
//!
//! Every function has an error type of its own; all of them convert into [`Error`], so a build script may look like this:
//!
//! ```
//! use romloom::board::{Board, SocketsSpec};
//! use romloom::formats::{self, Input, ReadOptions, WriteOptions};
//! use romloom::ops::{self, Large, PartBase, Stamp};
//! use romloom::sums::Algo;
//! use romloom::{parts, values};
//!
//! fn main() -> Result<(), romloom::Error> {
//!     // A program for a 16-bit bus, as its assembler wrote it.
//!     let text = ":080000000010000000000400E4\n:00000001FF\n";
//!     let mut input = Input::new("prog.hex", text.as_bytes());
//!     let mut rom = formats::load_from(&mut input, &ReadOptions::default())?.image;
//!
//!     // Pad it to two 27C64, store the sum of its words in the last one, and take it apart for the sockets.
//!     let part = parts::find("27C64")?;
//!     ops::pad(&mut rom, 2 * part.bytes(), PartBase::At(0), 0xFF, Large::Refuse)?;
//!     let all = values::range("0-0x3FFD")?;
//!     Stamp::new(Algo::SUM16BE, vec![all], 0x3FFE).put(&mut rom)?;
//!     let mut sockets = SocketsSpec::new(part.clone(), ["even", "odd"]).at(0);
//!     sockets.lanes = 2;
//!     let chips = Board::new("Heron-16", [sockets])?.seat(&rom)?;
//!     assert_eq!(chips.len(), 2);
//!     assert_eq!(chips[0].len(), 8 * 1024);
//!
//!     // One raw file per chip, which any programmer takes.
//!     if let Some(raw) = formats::by_name("raw") {
//!         let mut even = Vec::new();
//!         raw.write(&chips[0], &WriteOptions::default(), &mut even)?;
//!         assert_eq!(even[..4], [0x00, 0x00, 0x00, 0x04]);
//!     }
//!     Ok(())
//! }
//! ```

pub mod board;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
mod error;
pub mod faults;
pub mod formats;
pub mod identify;
pub mod image;
pub mod ops;
pub mod parts;
mod prose;
pub mod sums;
pub mod values;
pub mod wiring;

pub use error::Error;
pub use image::Image;
