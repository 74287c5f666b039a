//! Motorola S-records.
//!
//! Rules: Motorola, *M68000 Family Programmer's Reference Manual* (M68000PM/AD), Appendix C, S-record output format.
//! S6 came later, by common practice.

mod form;
mod format;
mod later;
mod read;
mod write;

pub use format::SRecords;

#[cfg(test)]
mod tests;
