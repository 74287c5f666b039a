//! What a chip that was read shows, and what explains it.

mod fault;
mod known;
mod text;
mod view;

pub use known::Known;
pub use view::{DiagnosisAnswer, DiagnosisReport};
