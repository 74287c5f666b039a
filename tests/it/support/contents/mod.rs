//! Contents for chips that look like those of real machines, made from a seed: programs of three processors, tables,
//! text, mostly blank chips, and the samples' own programs.

mod folder;
mod m6502;
mod m68000;
mod processor;
mod program;
mod rom;
mod tables;
mod text;
mod z80;

pub use rom::{Content, Kind};
