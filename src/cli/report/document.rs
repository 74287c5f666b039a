//! What every report can be turned into.

use serde::Serialize;

use super::style::Style;

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

/// What a step reports of each piece it works on: one document, however many pieces there are.
#[derive(Serialize)]
pub struct EachPiece<R> {
    /// In the order of the bench.
    pub pieces: Vec<R>,
}

impl<R: Report> Report for EachPiece<R> {
    const STEP: &'static str = R::STEP;

    fn text(&self, style: Style) -> String {
        self.pieces.iter().map(|piece| piece.text(style)).collect()
    }
}
