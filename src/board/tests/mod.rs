//! Boards.

mod adapters;
mod formula;
mod growth;
mod refused;
mod stretch;
mod unshown;
mod worked;
