//! The forms that every report has.

use std::io::{self, Write};

use serde::Serialize;

use super::style::Style;

/// The version of every JSON document's layout; it rises when a key changes its meaning or is removed.
pub const SCHEMA: u32 = 1;

/// A result that can be shown to people and to scripts.
pub trait Report: Serialize {
    /// The step that made it, by its name in JSON.
    const STEP: &'static str;

    /// For people: lines of text, each with its end.
    fn text(&self, style: Style) -> String;

    /// The same, no wider than the terminal that shows it.
    fn shown(&self, style: Style) -> String {
        style.fitted(&self.text(style))
    }

    /// The same as [`shown`](Self::shown), written line by line where it may be long.
    ///
    /// # Errors
    /// What the writer says.
    fn write_text(&self, style: Style, out: &mut dyn Write) -> io::Result<()> {
        out.write_all(self.shown(style).as_bytes())
    }

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

    /// The same on one line without its end, its keys in the order in which they are declared. It is written without a copy
    /// in memory, because a list may have an entry for each byte of a chip.
    ///
    /// # Errors
    /// What the writer says.
    fn write_document(&self, out: &mut dyn Write) -> io::Result<()> {
        #[derive(Serialize)]
        struct Document<'r, R: ?Sized> {
            schema: u32,
            step: &'static str,
            #[serde(flatten)]
            report: &'r R,
        }
        let document = Document {
            schema: SCHEMA,
            step: Self::STEP,
            report: self,
        };
        Ok(serde_json::to_writer(out, &document)?)
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

    fn write_text(&self, style: Style, out: &mut dyn Write) -> io::Result<()> {
        (self.pieces.iter()).try_for_each(|piece| piece.write_text(style, out))
    }
}
