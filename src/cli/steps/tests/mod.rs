//! What holds of every step.

mod chips;
mod moves;
mod table;
