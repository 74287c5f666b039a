//! What a chip that was read shows, and what explains it.

mod fault;
mod known;
mod set;
mod text;
mod view;

pub use known::Known;
pub use set::SetReport;
pub use view::{DiagnosisAnswer, DiagnosisReport};
