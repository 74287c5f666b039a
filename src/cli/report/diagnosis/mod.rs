//! What a chip that was read shows, and what explains it.

mod alone;
mod banks;
mod fault;
mod known;
mod text;
mod view;

pub use alone::{AloneAnswer, AloneReport};
pub use known::Known;
pub use view::DiagnosisReport;
