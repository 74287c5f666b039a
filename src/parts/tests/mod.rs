//! The table against the facts of the trade, and a user's own parts.

mod markings;
mod own;
mod sectors;
mod table;
