//! Intel HEX.
//!
//! Rules: Intel, *Hexadecimal Object File Format Specification*, Revision A, 6 January 1988.

mod data;
mod form;
mod format;
mod later;
mod place;
mod read;
mod trail;
mod write;

pub use format::IntelHex;

#[cfg(test)]
mod tests;
