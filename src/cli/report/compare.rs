//! How pieces differ from files: ranges, counts, directions, data lines.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::style::Style;
use super::unpaired::Unpaired;
use crate::faults::compare::Turned;
use crate::image::AddressRange;
use crate::ops::{Comparison, Holes};
use crate::prose::plural;

/// How the pieces of a step differ from their files.
#[derive(Serialize)]
pub struct CompareReport {
    /// The answer: there are pieces, all of them are the same, and no piece or file is left over.
    pub same: bool,
    /// Each piece that has a file, in the order of the bench.
    pub pieces: Vec<Compared>,
    /// What is left over.
    #[serde(flatten)]
    pub unpaired: Unpaired,
    /// What the pieces are: chips, when all are in sockets.
    #[serde(skip)]
    pub noun: &'static str,
    /// Whether something went wrong before all were compared.
    #[serde(skip)]
    pub cut_short: bool,
}

/// The differences of one piece from its file.
#[derive(Serialize)]
pub struct Compared {
    /// The piece's name.
    pub piece: String,
    /// The file it is compared with.
    pub against: String,
    /// The answer; holes count as asked for. Never true where nothing was compared.
    pub same: bool,
    /// Addresses at which both have a byte.
    pub compared: u64,
    /// Bytes that differ among those.
    pub bytes: u64,
    /// Bits that differ.
    pub bits: Directions,
    /// Bits that differ, of each data line from D0 up.
    pub data_lines: Vec<Directions>,
    /// Where bytes differ, up to the limit.
    pub ranges: Vec<RangeView>,
    /// How many such ranges are not in the list.
    pub ranges_left_out: u64,
    /// Where only the file has bytes, up to the limit; empty when holes are ignored.
    pub only_in_file: Vec<RangeView>,
    /// How many bytes these are in all.
    pub bytes_only_in_file: u64,
    /// Where only the piece has bytes, up to the limit; empty when holes are ignored.
    pub only_in_piece: Vec<RangeView>,
    /// How many bytes these are in all.
    pub bytes_only_in_piece: u64,
}

/// Bits that differ, from the file to the piece.
#[derive(Clone, Copy, Serialize)]
pub struct Directions {
    /// 0 in the file, 1 in the piece.
    pub to_one: u64,
    /// 1 in the file, 0 in the piece.
    pub to_zero: u64,
}

impl From<Turned> for Directions {
    fn from(turned: Turned) -> Self {
        Self {
            to_one: turned.to_one as u64,
            to_zero: turned.to_zero as u64,
        }
    }
}

impl CompareReport {
    /// The answer for a set, from those for its pieces.
    pub fn new(pieces: Vec<Compared>, unpaired: Unpaired, noun: &'static str) -> Self {
        let all = !pieces.is_empty() && pieces.iter().all(|piece| piece.same);
        Self {
            same: all && unpaired.is_empty(),
            pieces,
            unpaired,
            noun,
            cut_short: false,
        }
    }

    /// What is known when something went wrong on the way.
    pub fn cut_short(self) -> Self {
        Self {
            same: false,
            cut_short: true,
            ..self
        }
    }
}

impl Compared {
    /// The picture of a comparison of a file (first) with a piece (second).
    pub fn new(piece: &str, against: &str, found: &Comparison, holes: Holes, limit: usize) -> Self {
        let shows_holes = holes == Holes::Differ;
        let listed = |ranges: &[AddressRange], wanted: bool| -> Vec<RangeView> {
            let ranges = ranges.iter().take(if wanted { limit } else { 0 });
            ranges.map(|range| (*range).into()).collect()
        };
        let counted = |ranges: &[AddressRange]| match shows_holes {
            true => ranges.iter().map(|range| range.len()).sum(),
            false => 0,
        };
        let sum = |of: fn(&Turned) -> usize| found.lines.iter().map(of).sum::<usize>() as u64;
        Self {
            piece: piece.into(),
            against: against.into(),
            same: found.is_same(holes) && found.compared > 0,
            compared: found.compared,
            bytes: found.bytes,
            bits: Directions {
                to_one: sum(|line| line.to_one),
                to_zero: sum(|line| line.to_zero),
            },
            data_lines: found.lines.iter().map(|line| (*line).into()).collect(),
            ranges: listed(&found.ranges, true),
            ranges_left_out: found.ranges.len().saturating_sub(limit) as u64,
            only_in_file: listed(&found.only_first, shows_holes),
            bytes_only_in_file: counted(&found.only_first),
            only_in_piece: listed(&found.only_second, shows_holes),
            bytes_only_in_piece: counted(&found.only_second),
        }
    }
}

impl Report for CompareReport {
    const STEP: &'static str = "compare";

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

impl CompareReport {
    fn summary(&self) -> String {
        let of = self.pieces.len();
        let compared = plural(of as u64, self.noun);
        let same = self.pieces.iter().filter(|piece| piece.same).count();
        let answer = match (same, of - same) {
            (_, 0) if of == 0 => String::new(),
            (_, 0) => ": all the same".into(),
            (0, 1) => ": it differs".into(),
            (0, _) => ": all differ".into(),
            (same, 1) => format!(": {same} the same, 1 differs"),
            (same, differ) => format!(": {same} the same, {differ} differ"),
        };
        let left_over = self.unpaired.counted(self.noun);
        format!("{compared} compared{answer}{left_over}\n")
    }
}

impl Compared {
    fn text(&self, style: Style) -> String {
        let (piece, against) = (style.strong(&self.piece), &self.against);
        let compared = plural(self.compared, "byte");
        let mut out = match self.bytes {
            0 if self.compared == 0 => {
                format!("{piece} against {against}: no address where both have a byte\n")
            }
            0 => format!("{piece} against {against}: {compared} compared, all the same\n"),
            n => format!(
                "{piece} against {against}: {compared} compared, {} with {} different\n",
                plural(n, "byte"),
                plural(self.bits.to_one + self.bits.to_zero, "bit"),
            ),
        };
        if self.bytes > 0 {
            out += &format!("  from {against} to {}: {}\n", self.piece, ways(self.bits));
        }
        for (n, line) in self.data_lines.iter().enumerate() {
            if line.to_one + line.to_zero > 0 {
                out += &format!("  D{n:<2}  {}\n", ways(*line));
            }
        }
        let spans = self.ranges.iter();
        let spans = spans.chain(&self.only_in_file).chain(&self.only_in_piece);
        let w = address_width(spans.map(|span| span.last).max().unwrap_or(0));
        let list = |spans: &[RangeView], before: &str| -> String {
            let line = |s: &RangeView| format!("  {before}{}\n", s.text(w));
            spans.iter().map(line).collect()
        };
        out += &list(&self.ranges, "");
        if self.ranges_left_out > 0 {
            out += &format!("  and {}\n", plural(self.ranges_left_out, "more range"));
        }
        let only = [
            (self.bytes_only_in_file, against, &self.only_in_file),
            (self.bytes_only_in_piece, &self.piece, &self.only_in_piece),
        ];
        for (bytes, name, spans) in only {
            if bytes > 0 {
                out += &format!(
                    "  {} only in {name}, a hole in the other\n",
                    plural(bytes, "byte")
                );
                out += &list(spans, "  ");
            }
        }
        out
    }
}

fn ways(bits: Directions) -> String {
    let way = |n: u64, way: &str| (n > 0).then(|| format!("{} {way}", plural(n, "bit")));
    let ways = [way(bits.to_one, "0 to 1"), way(bits.to_zero, "1 to 0")];
    let ways: Vec<String> = ways.into_iter().flatten().collect();
    ways.join(", ")
}
