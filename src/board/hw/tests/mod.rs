//! Boards.

mod formula;
mod refused;
mod worked;
