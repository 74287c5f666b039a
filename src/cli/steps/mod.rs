//! The steps: one file each, with its arguments, its help and example, and the call into [`ops`](crate::ops).

mod burnable;
mod chip_set;
pub(crate) mod common;
mod compare;
mod copy;
mod diagnose;
mod digest;
mod drop;
mod entry;
mod expect;
mod fill;
mod find;
mod hollow;
mod join;
mod keep;
mod lanes;
mod load;
mod mark;
mod named;
mod pad;
mod patch;
mod pattern;
mod placeholders;
mod programs;
mod read_chip;
mod references;
mod relocate;
mod repeat;
mod rewire;
mod seat;
mod sheet;
mod show;
mod split;
mod spread;
mod stamp;
mod swap;
mod table;
#[cfg(test)]
mod tests;
mod unseat;
mod vote;
mod write;

pub use entry::{Planned, Step, StepEntry};
pub use load::{chosen_format, raw_by_default, unreadable};
pub use table::{STEPS, step};
