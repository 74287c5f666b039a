//! Several reads of one chip: the majority of them, and what makes them differ.
//!
//! [`Reads`] takes the reads and whatever else is known, and gives a [`Vote`]: the image by majority, the bytes that
//! waver, and the stories that could make them waver, each with its cost in bits, as the engine has them for one read.

mod address_lines;
mod distribution;
mod groups;
mod majority;
mod observed;
mod stories;
mod story;
#[cfg(test)]
mod testing;
mod vote;
mod weigh;

pub use distribution::Distribution;
pub use majority::WaveringByte;
pub use story::{Oddity, ReadsStory, ToldOfReads};
pub use vote::{Reads, Vote, VoteError};
