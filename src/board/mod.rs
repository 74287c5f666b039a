//! Boards: which chips are in which sockets, and how each bus sees them.
//!
//! A [`Board`] is described once, by [`SocketsSpec`]s or in a file, and is always complete and
//! valid. Programs are laid over it with [`lay`](Board::lay), which gives every chip; chips that were read are put
//! together again with [`unseat`](Board::unseat). Everything uses two functions: from a bus address to the chips
//! ([`at`](Board::at)), and from a chip to the buses ([`seen`](Board::seen)). An [`Adapter`] puts a chip into a socket that
//! is wired for another part, and ends in a window of a board.
//!
//! ```
//! use romloom::board::{Board, Outside, Program, SocketsSpec, Target};
//! use romloom::image::{Clash, Image, Source};
//! use romloom::parts;
//!
//! // Two chips of 8K side by side on a 16-bit bus, from address 0 up.
//! let mut sockets = SocketsSpec::new(parts::find("27C64")?.clone(), ["even", "odd"]).at(0);
//! sockets.lanes = 2;
//! let board = Board::new("Heron-16", [sockets])?;
//! let image = Image::from_bytes(0, b"\x00\x01\x02\x03".to_vec(), Source::File("prog".into()))?;
//! let program = Program { name: "prog", image, target: Target::default() };
//! let laid = board.lay(vec![program], Clash::Refuse, Outside::Refuse)?;
//! assert_eq!(laid.chips[0].image.len(), 8 * 1024);
//! assert_eq!(laid.chips[0].image.byte(1), Some(0x02));
//! # Ok::<(), romloom::Error>(())
//! ```

mod adapter;
mod address;
mod bulk;
mod check;
mod fault;
mod file;
mod halves;
mod hardware;
mod lay;
mod lines;
mod open;
mod seat;
mod shown;
mod spec;
mod store;
mod stretch;
mod view;

#[cfg(test)]
mod tests;

pub use adapter::{
    Adapter, AdapterOptions, AdapterPin, Condition, Deciding, Feed, Fitting, NoAdapter, Question,
    SelectLevel, UpperLines,
};
pub use address::{Answer, Cell, Nibble, Seen};
pub use fault::{BoardFault, Key, Wrong};
pub use file::{BoardFileError, FileProblem};
pub use hardware::{Board, Socket};
pub use lay::{Chip, Dropped, Laid, LayError, Outside, Program, Target};
pub use open::{Opened, PutError};
pub use seat::Seat;
pub use spec::{CPU, Level, SocketsSpec, SwitchedPin, WindowSpec, Wire};
pub use store::{Store, Window};
pub use stretch::Stretch;
pub use view::{UnseatError, Unseated, Unseating};
