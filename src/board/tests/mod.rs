//! Boards.

mod formula;
mod refused;
mod stretch;
mod worked;
