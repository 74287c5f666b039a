//! A chip in a socket that is wired for another part: what to wire, what to measure, and what the chip takes.

mod entry;
mod picture;
mod text;
mod view;
mod words;

pub use picture::adapter_picture;
pub use view::{AdapterOutcome, AdapterReport};
