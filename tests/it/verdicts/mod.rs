//! The judge of the verdicts: faults of all kinds on contents of all kinds, and what the diagnosis made of them.

mod bench;
mod case;
mod classes;
mod draw;
mod engine;
mod every;
mod judge;
mod known;
mod several;
mod table;
