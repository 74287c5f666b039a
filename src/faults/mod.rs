//! What is wrong with a chip, its socket or a transfer, told from the bytes; and the patterns
//! to burn so that they tell it.
//!
//! [`Case`] takes the wanted image, what was read, and whatever else is known, and comes to a
//! [`Diagnosis`]. Each fault with a name is a [`Model`]: it says what would be read if it were
//! the fault, and is held against every cell. Those that predict the same read are reported
//! together, for no read through the same socket can tell them apart.
//!
//! Beside it are [`patterns`] to burn, [`compare`](compare::compare) and [`vote`](vote::vote) for reads of
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
//! let said = found.candidates[0].equals[0].sentences(&Names::new(&pin, &[]));
//! assert_eq!(said.finding, "D3 never moves, it reads 1 everywhere");
//! assert!(said.look_next.to_string().starts_with("Look next at pin 15"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod alone;
mod case;
mod case_error;
mod code_length;
pub mod compare;
mod diagnose;
mod loose;
mod models;
mod outcome;
mod pairs;
pub mod patterns;
mod predict;
pub mod recovery;
mod search;
mod signs;
mod transfer;
pub mod vote;
mod weigh;
mod words;

pub use case::Case;
pub use case_error::{CaseError, CaseImage};
pub use models::{Cells, Damage, Holds, Lands, LineFault, Model, ShiftedIn, Story, When};
pub use outcome::{Diagnosis, NotAChip, Verdict};
pub use patterns::{Pass, Pattern, PatternError};
pub use search::{Candidate, Score};
pub use signs::Sign;
pub use words::{LookNext, Names, Sentences, floating};

pub use crate::wiring::{Line, Width};
