//! Which rewiring of address and data lines turns one image into another.
//!
//! How often each data bit changes when one address bit changes survives any rewiring: the
//! lines are only called by other names. So do how far a data line's ones lean to one level of an
//! address line, how often two data lines differ, and how many ones a line has; an inversion
//! turns these at most around. Lines are told apart by these figures, each then by those of the
//! lines it meets, until nothing new comes out. Lines that still look alike are tried in turn,
//! and every answer is checked against every byte.
//!
//! A wrong byte spoils the figures by a little, and a dead data line takes its own away. So when
//! no wiring fits exactly, lines are matched by how near their figures are, a guess is compared
//! with some cells and improved, and what it leaves over is counted in all of them. Such a wiring
//! is an answer only when it takes fewer bits to say than a list of the wrong bytes.

mod ambiguity;
mod assignment;
mod budget;
mod exact;
mod figures;
mod near;
mod price;
mod recover;
mod sample;
mod spectrum;
#[cfg(test)]
mod testing;
mod trial;
mod turns;

pub use ambiguity::{Ambiguity, Joint};
pub use recover::{Recovered, RecoveryError, recover};
