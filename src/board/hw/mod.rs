//! Boards as hardware.

mod address;
mod bulk;
mod check;
mod fault;
mod file;
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
pub use view::Unseated;
