//! A bench of broken chips: it burns and reads images the way a faulty socket, chip or transfer would, cell by cell,
//! straight from what each fault means.
//!
//! It shares no code with the crate: what the diagnosis calls a fault is judged by what this bench makes of it. Common
//! practice throughout: an erased cell reads ones, burning ascends through the addresses.

mod blocks;
mod cells;
mod chance;
mod fault;
mod identity;
mod lengths;
mod lines;
mod mistakes;
mod reads;
mod transfer;
mod unheard;

pub use blocks::{Block, Tail};
pub use cells::{Before, Cell};
pub use chance::Chance;
pub use fault::{Fault, Held, World};
pub use identity::Identity;
pub use lengths::{Length, OpenBus};
pub use lines::{Cells, Kind, Lines, Phase};
pub use mistakes::Mistake;
pub use reads::{flip, floating_address, floating_data, wavering};
pub use transfer::Damage;
pub use unheard::Unheard;
