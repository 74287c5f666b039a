//! The bench: what is on it while a pipeline runs, and what waits to be put in place when it is done.

mod aside;
mod console;
mod files;
mod leftovers;
mod piece;
mod places;
mod progress;
mod reader;
mod screen;
mod staging;
mod stamps;
mod stop;
mod stored;
mod system;
mod work;

pub use aside::{do_both, write_aside};
pub use console::{Console, MessageKind, OutputMode};
pub use piece::Piece;
pub use places::{PieceInBank, Worked};
pub use progress::Progress;
pub use reader::{MOST_READ, ReadLimit, Reader};
pub use screen::{on_errors, on_output};
pub use staging::{Staging, StagingError, WritePolicy, is_stdout};
pub(crate) use stop::argument;
pub use stop::{Argument, Blame, Cause, Ending, Stop};
pub use stored::Stored;
pub use system::plain;
pub use work::Bench;
#[cfg(test)]
pub use work::ON;

pub use crate::board::Seat;
