//! Pictures of things: text for the terminal, carets under bad records, the burn sheet, JSON. No decisions are made here.

mod adapter;
mod address;
pub mod advice;
mod board;
mod burnable;
mod carets;
mod changes;
mod check;
mod compare;
mod diagnosis;
mod digest;
mod document;
mod dump;
mod explain;
mod find;
mod fit;
mod legend;
mod map;
mod outputs;
mod parts;
mod places;
mod recognise;
mod recognised_form;
mod salvage;
mod sheet;
mod style;
mod unpaired;
mod verdict;
mod vote;
mod wiring;

pub use adapter::{AdapterOutcome, AdapterReport, adapter_picture};
pub use address::RangeView;
pub(crate) use address::address_width;
pub use board::{BoardReport, board_picture};
pub use burnable::{BurnableReport, BurntOver};
pub use carets::{carets, pointed};
pub use changes::ChangesReport;
pub use check::{Check, CheckedFile};
pub use compare::{CompareReport, Compared};
pub use diagnosis::{AloneAnswer, AloneReport, DiagnosisReport, Known, SetReport};
pub use digest::{DigestReport, NamedSum};
pub use document::{EachPiece, Report, SCHEMA};
pub use dump::DumpReport;
pub use explain::{Explained, PieceOnBench, names_joined, what_changed};
pub use find::{FindReport, FoundAt, FoundPlaces};
pub use map::MapReport;
pub use outputs::{FileState, HeldPiece, Output, Outputs};
pub use parts::PartsReport;
pub use recognise::{KnownSet, NotLookedAt, RecogniseReport};
pub use salvage::Salvage;
pub use sheet::{BurnSheet, DifferenceMap, HeldFile, SheetChip, VerdictPage};
pub use style::{Style, size_text};
pub use unpaired::{MissingFile, Unpaired};
pub use vote::{VoteNames, VoteReport, WaveringView};
pub use wiring::{WiringAnswer, WiringReport};

pub(crate) use crate::prose::plural;

#[cfg(test)]
mod tests;
