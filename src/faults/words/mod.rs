//! Verdicts in plain sentences, as careful as the evidence.
//!
//! "The chip sees A7 as 0" is what a read shows. Only a meter or a second read can say that a
//! contact is bad, so that is what the sentences advise next.

mod blocks;
mod cells;
mod counts;
mod lengths;
mod lines;
mod models;
mod reads;
mod settle;
mod signs;
mod transfers;
mod wording;

pub use wording::{Names, Sentences};
