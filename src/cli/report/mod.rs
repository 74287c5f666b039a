//! Pictures of things: text for the terminal, carets under bad records, the burn sheet, JSON. No decisions are made here.

pub mod advice;
mod burnable;
mod carets;
mod changes;
mod check;
mod compare;
mod diagnosis;
mod difference_map;
mod digest;
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

use serde::Serialize;

pub use burnable::Burnable;
pub use carets::{carets, pointed};
pub use changes::Changes;
pub use check::{Check, CheckedFile};
pub use compare::{Compare, Directions};
pub use diagnosis::{Diagnosis, Known};
pub use difference_map::difference_map;
pub use digest::{Digest, NamedSum};
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
pub use vote::{InCommon, Vote, Wavering};
pub use wiring::{WiringAnswer, WiringReport};

/// The version of every JSON document's layout; it rises when a key changes its meaning or goes away.
pub const SCHEMA: u32 = 1;

/// A result that can be shown to people and to scripts.
pub trait Report: Serialize {
    /// The step that made it, as JSON names it.
    const STEP: &'static str;

    /// For people: lines of text, each with its end.
    fn text(&self, style: Style) -> String;

    /// For scripts: an object with `schema`, `step` and the report's own keys.
    fn json(&self) -> serde_json::Value {
        let mut value = serde_json::json!({ "schema": SCHEMA, "step": Self::STEP });
        if let (Some(to), Ok(serde_json::Value::Object(own))) =
            (value.as_object_mut(), serde_json::to_value(self))
        {
            to.extend(own);
        }
        value
    }
}

/// An address range for JSON: numbers, first and last included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Span {
    /// First address.
    pub first: u64,
    /// Last address.
    pub last: u64,
}

impl From<crate::image::AddressRange> for Span {
    fn from(range: crate::image::AddressRange) -> Self {
        Self {
            first: range.first(),
            last: range.last(),
        }
    }
}

/// Hex digits that every address up to `last` fits, at least four.
pub(crate) fn address_width(last: u64) -> usize {
    match last {
        0..=0xFFFF => 4,
        0x1_0000..=0xFF_FFFF => 6,
        0x100_0000..=0xFFFF_FFFF => 8,
        _ => 16,
    }
}

#[cfg(test)]
#[cfg(feature = "cli")]
mod tests;
