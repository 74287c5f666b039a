//! The steps, through the command: every option, the bytes it makes, and what a user is told when it can't.

// A helper that can't go on ends its test.
#![allow(clippy::unwrap_used)]

mod bench;
mod check;
mod edit;
mod layout;
mod load;
mod pieces;
mod show;
mod write;

use bench::Bench;
