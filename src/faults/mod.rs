//! What is wrong with a chip, its socket or a transfer, worked out from the bytes; and the patterns
//! to burn so that a read shows it.
//!
//! [`Case`] takes the wanted image, what was read, and whatever else is known, and comes to a
//! [`Diagnosis`]. Each fault with a name is a [`Model`]: it says what would be read with that
//! fault, and is compared with every cell. Those that predict the same read are reported
//! together, because no read through the same socket can tell them apart.
//!
//! Beside it are [`patterns`] to burn, [`compare`](compare::compare) and [`Reads`](reads::Reads) for reads of
//! one chip, [`alone`](alone::alone) for a read without a wanted image, and [`recovery`] of the lines that a
//! board has scrambled. [`Sentences`] says all of it in sentences.
//!
//! ```
//! use romloom::faults::{Case, Names, Pattern, Verdict};
//! use romloom::wiring::Line;
//!
//! // D3 of the socket has no contact and reads as 1.
//! let wanted = "telltale".parse::<Pattern>()?.image(8192)?;
//! let read: Vec<u8> = wanted.iter().map(|byte| byte | 1 << 3).collect();
//!
//! let found = Case::new(&wanted, &read).diagnose()?;
//! assert_eq!(found.verdict, Verdict::Certain);
//! let pin = |line| (line == Line::Data(3)).then_some(15);
//! let said = found.candidates[0].equals[0].sentences(&Names::new(&pin));
//! assert_eq!(said.finding, "D3 never moves, it reads 1 everywhere");
//! assert!(said.look_next.starts_with("Check pin 15"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod alone;
mod case;
mod case_error;
pub mod compare;
mod cost;
pub mod cousin;
mod engine;
mod line_fault;
mod moves;
mod outcome;
pub mod patterns;
pub mod reads;
pub mod recovery;
mod set;
mod shape;
mod signs;
mod story;
mod transfer;
mod verdict;
mod words;

pub use case::Case;
pub use case_error::{CaseError, CaseImage};
pub use line_fault::{Cells, LineFault, When};
pub use outcome::{Candidate, Diagnosis, Score};
pub use patterns::{Pass, Pattern, PatternError};
pub use set::{SetDiagnosis, SetVerdict, diagnose_set, other_place};
pub use signs::Sign;
pub use story::{
    Before, CellKind, Damage, Edit, Holds, Lands, Length, LineOf, Model, Moves, OpenBus, ShiftedIn,
    Story,
};
pub use verdict::Verdict;
pub use words::{Names, Sentences};

pub use crate::wiring::{Line, Width};
