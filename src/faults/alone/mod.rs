//! What a read alone shows, when nobody has the wanted image.
//!
//! Blank areas prove nothing: something is said of a line only when enough cells could have shown the opposite. Banks and
//! stored sums are named when they make the description of the read clearly shorter, or fit more often than by chance.

mod banks;
mod found;
mod lines;
mod look;
mod parse;
mod stored_sums;

pub use banks::{BankStructure, Common, banks, banks_of};
pub use found::{Alone, Joined};
pub use look::alone;
pub use stored_sums::{StoredSum, SumRange, stored_sums};
