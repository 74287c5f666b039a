//! Boards: which chips are in which sockets, and how each bus sees them.
//!
//! A [`Board`](hw::Board) is described once, by [`SocketsSpec`](hw::SocketsSpec)s or in a file, and is made only whole and
//! sound. Programs are laid over it with [`lay`](hw::Board::lay), which gives every chip; chips that were read come back
//! with [`unseat`](hw::Board::unseat). Everything goes through two functions: from a bus address to the chips
//! ([`at`](hw::Board::at)), and from a chip to the buses ([`seen`](hw::Board::seen)).
//!
//! ```
//! use romloom::board::hw::{Board, Outside, Program, SocketsSpec, Target};
//! use romloom::image::{Clash, Image, Source};
//! use romloom::parts;
//!
//! // Two chips of 8K side by side on a 16-bit bus, from address 0 up.
//! let mut sockets = SocketsSpec::new(parts::find("27C64")?.clone(), ["even", "odd"]).at(0);
//! sockets.lanes = 2;
//! let board = Board::new("Heron-16", [sockets])?;
//! let image = Image::from_bytes(0, b"\x00\x01\x02\x03".to_vec(), Source::File("prog".into()))?;
//! let program = Program { name: "prog", image: &image, target: Target::default() };
//! let laid = board.lay(&[program], Clash::Refuse, Outside::Refuse)?;
//! assert_eq!(laid.chips[0].image.len(), 8 * 1024);
//! assert_eq!(laid.chips[0].image.byte(1), Some(0x02));
//! # Ok::<(), romloom::Error>(())
//! ```

pub mod hw;
