//! What holds of every step.

mod moves;
mod table;
