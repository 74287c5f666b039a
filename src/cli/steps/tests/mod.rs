//! What holds of every step.

mod chips;
mod moves;
mod support;
mod table;
