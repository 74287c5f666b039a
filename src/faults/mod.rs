//! What is wrong with a chip, its socket or a transfer, told from the bytes; and the patterns
//! to burn so that they tell it.
//!
//! [`Case`] takes the wanted image, what was read, and whatever else is known, and comes to a
//! [`Diagnosis`]. Each fault with a name is a [`Model`]: it says what would be read if it were
//! the fault, and is held against every cell. Those that predict the same read are reported
//! together, for no read through the same socket can tell them apart.
//!
//! The rooms, from the ground up: `models` names the faults, `predict` says what each would read,
//! `search` and `pairs` find which of them hold, `loose` weighs those that leave something open,
//! `transfer` knows what happens to files, `diagnose` comes to a verdict and `words` says it.
//! Beside them stand [`patterns`] to burn, [`compare`] and [`vote`], [`alone`] for a read
//! without a wanted image, and [`recovery`] of the lines that a board has scrambled.

pub mod alone;
pub mod compare;
mod diagnose;
mod loose;
mod models;
mod pairs;
pub mod patterns;
mod predict;
pub mod recovery;
mod search;
mod signs;
mod transfer;
pub mod vote;
mod words;

pub use diagnose::{Case, CaseError, CaseImage, Diagnosis, NotAChip, Verdict};
pub use models::{Cells, Damage, Explanation, Fill, Holds, Lands, LineFault, Model, When};
pub use patterns::{Pass, Pattern, PatternError};
pub use search::{Candidate, Score};
pub use signs::Sign;
pub use words::{LookNext, Names, Wording, floating};

pub use crate::wiring::{Line, Width};
