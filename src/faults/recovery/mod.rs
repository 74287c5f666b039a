//! Which rewiring of address and data lines turns one image into another.
//!
//! How often each data bit changes when one address bit changes survives any rewiring: the
//! lines are only called by other names. So do how far a data line's ones lean to one level of an
//! address line, how often two data lines differ, and how many ones a line has; an inversion
//! turns these at most around. Lines are told apart by these figures, each then by those of the
//! lines it meets, until nothing new comes out. Lines that still look alike are tried in turn,
//! and every answer is checked against every byte.

mod attempt;
mod figures;
mod recover;

pub use recover::{Recovered, RecoveryError, recover};
