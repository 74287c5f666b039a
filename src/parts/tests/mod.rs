//! The table against the facts of the trade, and a user's own parts.

mod own;
mod sectors;
mod table;
