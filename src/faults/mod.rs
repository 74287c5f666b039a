//! What is wrong with a chip, its socket or a transfer, told from the bytes; and the patterns
//! to burn so that they tell it.

pub mod alone;
pub mod compare;
mod diagnose;
mod loose;
mod models;
mod pairs;
pub mod patterns;
mod predict;
mod search;
mod transfer;
pub mod vote;
pub mod wiring;

pub use diagnose::{Case, CaseError, Diagnosis, NotAChip, Verdict, Width};
pub use models::{Cells, Damage, Explanation, Fill, Holds, Lands, Line, LineFault, Model, When};
pub use patterns::{Pass, Pattern, PatternError};
pub use search::{Candidate, Score};
