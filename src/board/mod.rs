//! The sockets of a board, and what the CPU sees of the chips in them.
//!
//! A [`Board`] says how a set of equal sockets sees the CPU's address space. [`Board::seat`] takes a program apart into one
//! image per chip, each at chip address 0; [`Board::unseat`] puts the chips together again as the bus does.
//!
//! ```
//! use romloom::board::Board;
//! use romloom::image::{Image, Source};
//!
//! // Two chips of 8K side by side on a 16-bit bus, from address 0 up.
//! let board = Board::builder(8 * 1024, 0).lanes(2).build()?;
//! let program = Image::from_bytes(0, b"\x00\x01\x02\x03".to_vec(), Source::File("prog".into()))?;
//! let chips = board.seat(&program, 0xFF)?;
//! assert_eq!(chips[0].byte(1), Some(0x02));
//! let seated: Vec<_> = board.sockets().zip(&chips).collect();
//! assert_eq!(board.unseat(&seated)?.byte(3), Some(0x03));
//! # Ok::<(), romloom::Error>(())
//! ```

mod builder;
mod chips;
mod error;
pub mod hw;
mod layout;
mod seat;
#[cfg(test)]
mod tests;

pub use builder::BoardBuilder;
pub use error::BoardError;
pub use layout::{Board, Placement, Socket};
pub use seat::Seat;
