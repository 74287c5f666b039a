//! Sums and hashes of one piece.

use serde::{Serialize, Serializer};

use super::address::{RangeView, address_width};
use super::document::Report;
use super::style::Style;
use crate::prose::plural;
use crate::sums::Algo;

/// Sums and hashes of one piece.
#[derive(Serialize)]
pub struct DigestReport {
    /// The piece's name.
    pub piece: String,
    /// From the first byte to the last.
    pub range: Option<RangeView>,
    /// Bytes summed.
    pub bytes: u64,
    /// Holes between them, which no sum counts.
    pub holes: u64,
    /// The sums, in the order in which they were asked for.
    pub sums: Vec<NamedSum>,
}

/// One sum.
#[derive(Serialize)]
pub struct NamedSum {
    /// Which; in JSON its catalogue name.
    #[serde(serialize_with = "by_name")]
    pub algo: Algo,
    /// The value in hex.
    pub value: String,
    /// A word on what it is, for people.
    #[serde(skip)]
    pub remark: &'static str,
}

fn by_name<S: Serializer>(algo: &Algo, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(algo.name())
}

impl Report for DigestReport {
    const STEP: &'static str = "digest";

    fn text(&self, style: Style) -> String {
        let mut out = style.strong(&self.piece);
        match self.range {
            Some(range) => {
                let range = range.text(address_width(range.last));
                out += &format!("   {range}   {}", plural(self.bytes, "byte"));
            }
            None => out += "   no bytes",
        }
        if self.holes > 0 {
            out += &format!(", {} not counted", plural(self.holes, "hole"));
        }
        out.push('\n');
        let width = self
            .sums
            .iter()
            .map(|s| s.algo.name().len())
            .max()
            .unwrap_or(0);
        for sum in &self.sums {
            let mut line = format!("  {:width$}  {}", sum.algo, sum.value);
            if !sum.remark.is_empty() {
                line += &style.faint(&format!("  {}", sum.remark));
            }
            out += &line;
            out.push('\n');
        }
        out
    }
}
