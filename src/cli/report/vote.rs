//! What several reads of one chip agree on, and where they waver.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::style::Style;
use crate::faults::vote::{Trait, Vote};
use crate::prose::{plural, thousands};
use crate::wiring::Width;

/// The outcome of a vote.
#[derive(Serialize)]
pub struct VoteReport {
    /// The label of the majority's piece.
    pub piece: String,
    /// Labels of the reads that voted.
    pub reads: Vec<String>,
    /// What wavered.
    #[serde(flatten)]
    pub wavering: WaveringView,
    /// Rows to print for people at most; scripts get all.
    #[serde(skip)]
    pub limit: usize,
}

/// The bits that were not the same in every read.
#[derive(Serialize)]
pub struct WaveringView {
    /// Bytes of each read.
    pub compared: u64,
    /// Bytes that wavered.
    pub wavering_bytes: u64,
    /// Bits that wavered.
    pub wavering_bits: u64,
    /// Bits that read 0 and 1 equally often.
    pub tied_bits: u64,
    /// How many wavering bits are on each data line, from D0 up.
    pub data_lines: Vec<u64>,
    /// What they have in common.
    pub in_common: Vec<InCommon>,
    /// Each byte that wavered, lowest address first.
    pub bytes: Vec<WaveringByteView>,
}

/// A byte that wavered.
#[derive(Serialize)]
pub struct WaveringByteView {
    /// Its address.
    pub address: u64,
    /// The data lines that wavered.
    pub data_lines: Vec<u8>,
    /// Those of them that read 0 and 1 equally often.
    pub tied: Vec<u8>,
}

/// Something that wavering bits have in common.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum InCommon {
    /// All are on this data line.
    DataLine {
        /// The line.
        line: u8,
    },
    /// Each byte wavers between its own value and that of the address with this line turned.
    AddressLine {
        /// The line.
        line: u8,
    },
    /// They lie only where this address line has this level.
    Half {
        /// The line.
        line: u8,
        /// The level it has there.
        high: bool,
    },
    /// They lie in a small part of the chip.
    Region(RangeView),
    /// They become more with the address.
    Growing,
}

impl WaveringView {
    /// The picture of a vote about reads of a chip of this width that begin at `first`.
    pub fn new(vote: &Vote, first: u64, width: Width) -> Self {
        let mut data_lines = vec![0; width.lines().into()];
        let mut bytes = Vec::with_capacity(vote.wavering.len());
        for byte in &vote.wavering {
            let upper = match width {
                Width::Eight => 0,
                Width::Sixteen => byte.address as u8 % 2 * 8,
            };
            let lines = |bits: u8| -> Vec<u8> {
                let set = (0..8).filter(|line| bits >> line & 1 == 1);
                set.map(|line| line + upper).collect()
            };
            let row = WaveringByteView {
                address: first + byte.address as u64,
                data_lines: lines(byte.bits),
                tied: lines(byte.tied),
            };
            for line in &row.data_lines {
                data_lines[usize::from(*line)] += 1;
            }
            bytes.push(row);
        }
        let in_common = vote.traits_on_chip(width).into_iter();
        Self {
            compared: vote.image.len() as u64,
            wavering_bytes: bytes.len() as u64,
            wavering_bits: data_lines.iter().sum(),
            tied_bits: bytes.iter().map(|byte| byte.tied.len() as u64).sum(),
            in_common: in_common
                .filter_map(|found| InCommon::new(found, first))
                .collect(),
            data_lines,
            bytes,
        }
    }

    /// Whether all reads are the same.
    pub fn is_none(&self) -> bool {
        self.bytes.is_empty()
    }

    /// `12 bytes waver, in 14 bits`.
    pub(super) fn count(&self) -> String {
        let verb = if self.wavering_bytes == 1 {
            "wavers"
        } else {
            "waver"
        };
        let mut out = format!(
            "{} {verb}, in {}",
            plural(self.wavering_bytes, "byte"),
            plural(self.wavering_bits, "bit")
        );
        if self.tied_bits > 0 {
            out += &format!(", {} of them tied", thousands(self.tied_bits));
        }
        out
    }

    /// Sentences on where they are, and the bytes, at most `limit` of them; each a line.
    pub(super) fn rows(&self, limit: usize) -> Vec<String> {
        let mut rows: Vec<String> = self.in_common.iter().map(InCommon::sentence).collect();
        let lines = self.data_lines.iter().enumerate().filter(|(_, n)| **n > 0);
        let lines: Vec<String> = lines
            .map(|(line, n)| format!("D{line} {}", plural(*n, "time")))
            .collect();
        if lines.len() > 1 {
            rows.push(format!("by data line: {}", lines.join(", ")));
        }
        let w = address_width(self.bytes.last().map_or(0, |byte| byte.address));
        for byte in self.bytes.iter().take(limit) {
            let named = |lines: &[u8]| -> String {
                let names: Vec<String> = lines.iter().map(|line| format!("D{line}")).collect();
                names.join(" ")
            };
            let tied = match &byte.tied[..] {
                [] => String::new(),
                tied => format!("  tied: {}", named(tied)),
            };
            rows.push(format!(
                "{:0w$X}  {}{tied}",
                byte.address,
                named(&byte.data_lines)
            ));
        }
        if self.bytes.len() > limit {
            let rest = (self.bytes.len() - limit) as u64;
            rows.push(format!("and {}", plural(rest, "further byte")));
        }
        rows
    }
}

impl InCommon {
    fn new(found: Trait, first: u64) -> Option<Self> {
        Some(match found {
            Trait::DataLine(line) => InCommon::DataLine { line },
            Trait::AddressLine(line) => InCommon::AddressLine { line },
            Trait::Half { line, high } => InCommon::Half { line, high },
            Trait::Region(part) => InCommon::Region(RangeView {
                first: first + *part.start() as u64,
                last: first + *part.end() as u64,
            }),
            Trait::Growing => InCommon::Growing,
        })
    }

    /// What is said about it, without a full stop.
    pub(super) fn sentence(&self) -> String {
        match self {
            InCommon::DataLine { line } => format!("only D{line} wavers"),
            InCommon::AddressLine { line } => format!(
                "each byte wavers between its own and that of its address with A{line} turned, as when A{line} floats"
            ),
            InCommon::Half { line, high } => {
                format!("only where A{line} is {}", u8::from(*high))
            }
            InCommon::Region(part) => {
                let w = address_width(part.last);
                format!("only within {:0w$X}-{:0w$X}", part.first, part.last)
            }
            InCommon::Growing => "more and more as the address grows".into(),
        }
    }
}

impl Report for VoteReport {
    const STEP: &'static str = "vote";

    fn text(&self, style: Style) -> String {
        let reads = plural(self.reads.len() as u64, "read");
        let piece = style.strong(&self.piece);
        let of = plural(self.wavering.compared, "byte");
        if self.wavering.is_none() {
            return format!("{piece}: {reads} of {of}, all the same\n");
        }
        let mut out = format!("{piece}: {reads} of {of}; {}\n", self.wavering.count());
        for row in self.wavering.rows(self.limit) {
            out += &format!("  {row}\n");
        }
        out
    }
}
