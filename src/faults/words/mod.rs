//! Verdicts in plain sentences, as careful as the evidence.
//!
//! "The chip sees A7 as 0" is what a read shows; that a contact is bad takes a meter or a second
//! read to say, so that is where the reader is sent next.

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

pub use wording::{LookNext, Names, Sentences};
