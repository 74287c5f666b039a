//! The sockets of a board, and what the CPU sees of the chips in them.

mod layout;

pub use layout::{Board, BoardError, PlacingInChip, Seat, Socket};
