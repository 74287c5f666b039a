//! What a chip that was read shows, and what explains it.

mod alone;
mod banks;
mod fault;
mod known;
mod set;
mod text;
mod view;
mod wavering;

pub use alone::{AloneAnswer, AloneReport};
pub use known::Known;
pub use set::SetReport;
pub use view::DiagnosisReport;
