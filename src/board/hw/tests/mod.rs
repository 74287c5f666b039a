//! Boards.

mod formula;
mod refused;
mod shown;
mod worked;
