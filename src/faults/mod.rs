//! What is wrong with a chip or its socket, told from the bytes.

pub mod compare;
pub mod patterns;
pub mod vote;

pub use patterns::{Pass, Pattern, PatternError};
