//! Pictures of things: text for the terminal, carets under bad records, the burn sheet, JSON. No decisions are made here.

mod address;
pub mod advice;
mod burnable;
mod carets;
mod changes;
mod check;
mod compare;
mod diagnosis;
mod difference_map;
mod digest;
mod document;
mod dump;
mod explain;
mod find;
mod legend;
mod map;
mod outputs;
mod parts;
mod recognise;
mod salvage;
mod sheet;
mod style;
mod svg;
mod verdict;
mod vote;
mod wiring;

pub use address::RangeView;
pub(crate) use address::address_width;
pub use burnable::Burnable;
pub use carets::{carets, pointed};
pub use changes::Changes;
pub use check::{Check, CheckedFile};
pub use compare::Compare;
pub use diagnosis::{DiagnosisAnswer, DiagnosisReport, Known};
pub use difference_map::difference_map;
pub use digest::{Digest, NamedSum};
pub use document::{Report, SCHEMA};
pub use dump::Dump;
pub use explain::{Explained, Lying, what_changed};
pub use find::{Find, FoundAt};
pub use map::Map;
pub use outputs::{Holds, Output, Outputs};
pub use parts::Parts;
pub use recognise::Recognised;
pub use salvage::Salvage;
pub use sheet::{Chip, Sheet, diagnosis_sheet};
pub use style::{Style, plural, size};
pub use vote::{VoteReport, WaveringView};
pub use wiring::{WiringAnswer, WiringReport};

#[cfg(test)]
mod tests;
