//! The steps, through the command: every option, the bytes it makes, and what a user is told when it can't.

mod bench;
mod check;
mod edit;
mod layout;
mod load;
mod pieces;
mod show;
mod write;

use bench::Bench;
