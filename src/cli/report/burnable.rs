//! Whether pieces can be programmed over the content of their chips.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::style::Style;
use super::unpaired::Unpaired;
use super::verdict::{Paragraph, wrapped};
use crate::prose::plural;

/// Sectors shown to people; scripts get all.
const MOST: usize = 12;

/// The answer for the pieces of a step.
#[derive(Serialize)]
pub struct BurnableReport {
    /// The answer: there are pieces, it is yes for all of them, and no piece or file is left over.
    pub burnable: bool,
    /// Each piece that has a read of its chip, in the order of the bench.
    pub pieces: Vec<BurntOver>,
    /// What is left over.
    #[serde(flatten)]
    pub unpaired: Unpaired,
    /// What the pieces are: chips, when all are in sockets.
    #[serde(skip)]
    pub noun: &'static str,
    /// Whether something went wrong before all were looked at.
    #[serde(skip)]
    pub cut_short: bool,
}

/// The answer for one piece.
#[derive(Serialize)]
pub struct BurntOver {
    /// The piece's name.
    pub piece: String,
    /// The read it is compared with.
    pub against: String,
    /// The part, when known.
    pub part: Option<String>,
    /// The answer.
    pub burnable: bool,
    /// Words with a bit that would have to go back to its erased state.
    pub words: u64,
    /// Bytes with such a bit.
    pub bytes: u64,
    /// Such bits.
    pub bits: u64,
    /// Where these words are, up to the limit.
    pub ranges: Vec<RangeView>,
    /// How many such ranges are not in the list.
    pub ranges_left_out: u64,
    /// First addresses of the sectors that must be erased, where the part erases by sectors.
    pub sectors: Vec<u64>,
    /// What else to know, as sentences.
    pub remarks: Vec<String>,
    /// Bits in a word of the part.
    #[serde(skip)]
    pub width: u8,
}

impl BurnableReport {
    /// The answer for a set, from those for its pieces.
    pub fn new(pieces: Vec<BurntOver>, unpaired: Unpaired, noun: &'static str) -> Self {
        let all = !pieces.is_empty() && pieces.iter().all(|piece| piece.burnable);
        Self {
            burnable: all && unpaired.is_empty(),
            pieces,
            unpaired,
            noun,
            cut_short: false,
        }
    }

    /// What is known when something went wrong on the way.
    pub fn cut_short(self) -> Self {
        Self {
            burnable: false,
            cut_short: true,
            ..self
        }
    }

    fn summary(&self) -> String {
        let of = self.pieces.len();
        let asked = plural(of as u64, self.noun);
        let yes = self.pieces.iter().filter(|piece| piece.burnable).count();
        let answer = match (yes, of - yes) {
            (0, 0) => String::new(),
            (_, 0) => ": all can be programmed over".into(),
            (yes, no) => format!(": {yes} can be programmed over, {no} can't"),
        };
        let left_over = self.unpaired.counted(self.noun);
        format!("{asked} looked at{answer}{left_over}\n")
    }
}

impl Report for BurnableReport {
    const STEP: &'static str = "burnable";

    fn text(&self, style: Style) -> String {
        let pieces = self.pieces.iter().map(|piece| piece.text(style));
        let mut out: String = pieces.collect();
        out += &self.unpaired.text(self.noun, style);
        let is_set = self.pieces.len() != 1 || !self.unpaired.is_empty();
        if is_set && !self.cut_short {
            out += &self.summary();
        }
        out
    }
}

impl BurntOver {
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
            let in_words = match self.width {
                0..=8 => plural(self.bytes, "byte"),
                _ => plural(self.words, "word"),
            };
            let bits = plural(self.bits, "bit");
            out += &format!("  {bits} in {in_words} would have to go back to the erased state\n");
        }
        let w = address_width(self.ranges.last().map_or(0, |r| r.last));
        for range in &self.ranges {
            out += &format!("  {}\n", range.text(w));
        }
        if self.ranges_left_out > 0 {
            out += &format!("  and {}\n", plural(self.ranges_left_out, "more range"));
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
            out += &wrapped(style, &Paragraph::Sentence(remark.clone()));
        }
        out
    }
}
