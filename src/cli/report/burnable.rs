//! Whether a piece can be programmed over what its chip holds.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::style::Style;
use crate::prose::plural;

/// Ranges and sectors shown to people; scripts get all.
const MOST: usize = 12;

/// The answer for one piece.
#[derive(Serialize)]
pub struct BurnableReport {
    /// The piece's label.
    pub piece: String,
    /// The read it is held against.
    pub against: String,
    /// The part, when known.
    pub part: Option<String>,
    /// The answer.
    pub burnable: bool,
    /// Bytes with a bit that would have to go back to its erased state.
    pub bytes: u64,
    /// Such bits.
    pub bits: u64,
    /// Where these bytes are.
    pub ranges: Vec<RangeView>,
    /// First addresses of the sectors that must be erased, where the part erases by sectors.
    pub sectors: Vec<u64>,
    /// What else to know, as sentences.
    pub remarks: Vec<String>,
}

impl Report for BurnableReport {
    const STEP: &'static str = "burnable";

    fn text(&self, style: Style) -> String {
        let answer = match self.burnable {
            true => "can be programmed over",
            false => "can't be programmed over",
        };
        let mut out = format!("{} {answer} {}", style.strong(&self.piece), self.against);
        if let Some(part) = &self.part {
            out += &format!(" in a {part}");
        }
        out.push('\n');
        if self.bits > 0 {
            out += &format!(
                "  {} in {} would have to go back to the erased state\n",
                plural(self.bits, "bit"),
                plural(self.bytes, "byte")
            );
        }
        let w = address_width(self.ranges.last().map_or(0, |r| r.last));
        for range in self.ranges.iter().take(MOST) {
            out += &format!("  {:0w$X}-{:0w$X}\n", range.first, range.last);
        }
        if self.ranges.len() > MOST {
            out += &format!(
                "  and {}\n",
                plural((self.ranges.len() - MOST) as u64, "further range")
            );
        }
        if !self.sectors.is_empty() {
            let sectors = self.sectors.iter().take(MOST);
            let sectors: Vec<String> = sectors.map(|s| format!("{s:0w$X}")).collect();
            let more = if self.sectors.len() > MOST {
                " ..."
            } else {
                ""
            };
            out += &format!("  sectors to erase begin at {}{more}\n", sectors.join(" "));
        }
        for remark in &self.remarks {
            out += &format!("  {remark}\n");
        }
        out
    }
}
