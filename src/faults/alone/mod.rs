//! What a read tells by itself, when nobody has the wanted image.
//!
//! Blank areas prove nothing: of a line something is said only when enough cells could have shown the opposite. Banks and
//! stored sums are named when they make the read clearly shorter to say, or fit more often than chance allows.

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
