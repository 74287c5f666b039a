//! What several reads of one chip agree on, and where they waver.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::style::Style;
use crate::faults::reads::{Distribution, ReadsStory, Vote};
use crate::faults::{Names, Sentences, Verdict};
use crate::prose::{plural, thousands};
use crate::wiring::Line;

/// Bytes that are listed for people when nobody says how many.
const LISTED: usize = 16;

/// The outcome of a vote.
#[derive(Serialize)]
pub struct VoteReport {
    /// The name of the majority's piece.
    pub piece: String,
    /// What wavered.
    #[serde(flatten)]
    pub wavering: WaveringView,
}

/// The bits that were not the same in every read.
#[derive(Serialize)]
pub struct WaveringView {
    /// Names of the reads that voted.
    pub reads: Vec<String>,
    /// Bytes of each read.
    pub compared: u64,
    /// What makes the reads differ: the likeliest story.
    pub story: StoryName,
    /// How sure that is.
    pub verdict: Sure,
    /// Other stories that are about as likely, when it is open.
    pub about_as_likely: Vec<StoryName>,
    /// The lines that the story, and those that are about as likely, are about, such as `D3`.
    pub lines: Vec<String>,
    /// Their pins on the part, where known, in the same order.
    pub pins: Vec<Option<u8>>,
    /// The read that differs from all others, when that is the story.
    pub odd_read: Option<String>,
    /// Reads that belong together, when they have different contents.
    pub groups: Vec<Vec<String>>,
    /// What the reads show, as a sentence without a full stop.
    pub finding: String,
    /// Where to look, as sentences; empty when nothing wavers.
    pub look_next: String,
    /// Bytes that wavered.
    pub wavering_bytes: u64,
    /// Bits that wavered.
    pub wavering_bits: u64,
    /// Bits that read 0 and 1 equally often.
    pub tied_bits: u64,
    /// Bits of each read that are not the majority's, in the order of the reads.
    pub changed_bits: Vec<u64>,
    /// How many wavering bits are on each data line, from D0 up.
    pub data_lines: Vec<u64>,
    /// What else they have in common.
    pub in_common: Vec<InCommon>,
    /// Each byte that wavered, lowest address first, up to the limit.
    pub bytes: Vec<WaveringByteView>,
    /// How many more there are.
    pub bytes_left_out: u64,
    /// The stories of the answer for people, with their evidence.
    #[serde(skip)]
    pub answer: Vec<(Sentences, String)>,
    /// Bytes that are listed for people.
    #[serde(skip)]
    listed: usize,
}

/// What makes reads differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum StoryName {
    /// Nothing does.
    Stable,
    /// The same bits waver.
    WeakCells,
    /// Bits anywhere change.
    Noise,
    /// A data line floats.
    DataLine,
    /// An address line floats.
    AddressLine,
    /// The cell before shows.
    ReadTooEarly,
    /// One read differs.
    OddRead,
    /// The reads are not of one chip.
    DifferentContents,
}

/// How sure the story is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sure {
    /// The reads are the same.
    Same,
    /// The story explains all, and every other one is far less likely.
    Certain,
    /// It is much likelier than the next.
    Likely,
    /// Others are about as likely.
    Open,
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
    /// They are only where this address line has this level.
    Half {
        /// The line.
        line: u8,
        /// The level it has there.
        high: bool,
    },
    /// They are in a small part of the chip.
    Region(RangeView),
    /// There are more of them at higher addresses.
    Growing,
}

/// What a vote is shown with.
#[derive(Clone, Copy)]
pub struct VoteNames<'a> {
    /// The names of the reads.
    pub reads: &'a [String],
    /// The address of their first byte.
    pub first: u64,
    /// The pins of the part's lines, where it is known.
    pub pin: &'a dyn Fn(Line) -> Option<u8>,
}

impl WaveringView {
    /// The picture of a vote, with at most `limit` of the bytes that waver.
    pub fn new(vote: &Vote, names: VoteNames<'_>, limit: Option<usize>) -> Self {
        let all = limit.unwrap_or(usize::MAX);
        let view = |byte: &crate::faults::reads::WaveringByte| {
            let upper = (byte.address % vote.width.bytes()) as u8 * 8;
            let lines = |bits: u8| -> Vec<u8> {
                let set = (0..8).filter(|line| bits >> line & 1 == 1);
                set.map(|line| line + upper).collect()
            };
            WaveringByteView {
                address: names.first + byte.address as u64,
                data_lines: lines(byte.bits),
                tied: lines(byte.tied),
            }
        };
        let data_lines: Vec<u64> = vote.lines().into_iter().map(|n| n as u64).collect();
        let tied = vote.ties().map(|byte| u64::from(byte.tied.count_ones()));
        let said_with = Names::new(names.pin).at(names.first, vote.width);
        let answer = vote.answer().iter();
        let answer: Vec<(Sentences, String)> = answer
            .map(|told| {
                (
                    told.sentences(vote, names.reads, &said_with),
                    told.because(vote, names.reads),
                )
            })
            .collect();
        let said = answer.first().map(|(said, _)| said.clone());
        let (finding, look_next) = match said {
            Some(said) => (said.finding, said.look_next),
            None => (String::new(), String::new()),
        };
        let others = vote.answer().iter().skip(1);
        let lines = vote.answer().iter().filter_map(|told| told.story.line());
        let lines: Vec<Line> = lines.collect();
        let name = |n: &usize| names.reads[*n].clone();
        let groups = vote.different_contents().unwrap_or_default();
        let in_common = vote.distributions.iter();
        Self {
            reads: names.reads.to_vec(),
            compared: vote.image.len() as u64,
            story: StoryName::of(vote.story()),
            verdict: Sure::of(vote.verdict),
            about_as_likely: others.map(|told| StoryName::of(&told.story)).collect(),
            lines: lines.iter().map(Line::to_string).collect(),
            pins: lines.iter().map(|line| (names.pin)(*line)).collect(),
            odd_read: vote.odd_read().map(|read| name(&read)),
            groups: groups
                .iter()
                .map(|group| group.iter().map(name).collect())
                .collect(),
            finding,
            look_next,
            wavering_bytes: vote.wavering.len() as u64,
            wavering_bits: data_lines.iter().sum(),
            tied_bits: tied.sum(),
            changed_bits: vote.changed.iter().map(|&bits| bits as u64).collect(),
            data_lines,
            in_common: in_common
                .map(|remark| InCommon::new(remark, names.first))
                .collect(),
            bytes: vote.wavering.iter().take(all).map(view).collect(),
            bytes_left_out: vote.wavering.len().saturating_sub(all) as u64,
            answer,
            listed: limit.unwrap_or(LISTED),
        }
    }

    /// Whether all reads are the same.
    pub fn is_none(&self) -> bool {
        self.wavering_bytes == 0
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

    /// What the reads show and how sure that is, each a line.
    pub(super) fn told(&self) -> Vec<String> {
        let mut findings = self.answer.iter().map(|(said, _)| said.finding.clone());
        match self.verdict {
            Sure::Same => Vec::new(),
            Sure::Certain => vec![format!("{}; this is certain", self.finding)],
            Sure::Likely => vec![format!("{}; this is likely", self.finding)],
            Sure::Open if self.answer.len() == 1 => {
                vec![format!("{}; this is open", self.finding)]
            }
            Sure::Open => {
                let mut rows = vec!["this is open; these are about equally likely:".to_owned()];
                rows.extend(findings.by_ref().map(|finding| format!("- {finding}")));
                rows
            }
        }
    }

    /// Sentences on where they are, and the bytes, at most `limit` of them; each a line.
    pub(super) fn rows(&self, limit: usize) -> Vec<String> {
        let mut rows: Vec<String> = self.in_common.iter().map(InCommon::sentence).collect();
        let lines = self.data_lines.iter().enumerate().filter(|(_, n)| **n > 0);
        let lines: Vec<String> = lines
            .map(|(line, n)| format!("D{line} {}", plural(*n, "bit")))
            .collect();
        if lines.len() > 1 {
            rows.push(format!("by data line: {}", lines.join(", ")));
        }
        let by_read = self.reads.iter().zip(&self.changed_bits);
        let by_read: Vec<String> = by_read
            .map(|(read, bits)| format!("{read} {}", thousands(*bits)))
            .collect();
        if by_read.len() > 2 {
            rows.push(format!("changed bits by read: {}", by_read.join(", ")));
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
        let listed = self.bytes.len().min(limit) as u64;
        if self.wavering_bytes > listed {
            let rest = self.wavering_bytes - listed;
            rows.push(format!("and {}", plural(rest, "more byte")));
        }
        rows
    }
}

impl StoryName {
    fn of(story: &ReadsStory) -> Self {
        match story {
            ReadsStory::Stable => StoryName::Stable,
            ReadsStory::WeakCells => StoryName::WeakCells,
            ReadsStory::Noise => StoryName::Noise,
            ReadsStory::DataLine(_) => StoryName::DataLine,
            ReadsStory::AddressLine(_) => StoryName::AddressLine,
            ReadsStory::ReadTooEarly => StoryName::ReadTooEarly,
            ReadsStory::OddRead { .. } => StoryName::OddRead,
            ReadsStory::DifferentContents(_) => StoryName::DifferentContents,
        }
    }
}

impl Sure {
    fn of(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Same => Sure::Same,
            Verdict::Certain => Sure::Certain,
            Verdict::Likely => Sure::Likely,
            Verdict::Open => Sure::Open,
        }
    }
}

impl InCommon {
    fn new(found: &Distribution, first: u64) -> Self {
        match found {
            Distribution::Half { line, high } => InCommon::Half {
                line: *line,
                high: *high,
            },
            Distribution::Region(part) => InCommon::Region(RangeView {
                first: first + *part.start() as u64,
                last: first + *part.end() as u64,
            }),
            Distribution::Growing => InCommon::Growing,
        }
    }

    /// What is said about it, without a full stop.
    pub(super) fn sentence(&self) -> String {
        match self {
            InCommon::Half { line, high } => {
                format!("only where A{line} is {}", u8::from(*high))
            }
            InCommon::Region(part) => {
                let w = address_width(part.last);
                format!("only within {}", part.text(w))
            }
            InCommon::Growing => "more and more as the address grows".into(),
        }
    }
}

impl Report for VoteReport {
    const STEP: &'static str = "vote";

    fn text(&self, style: Style) -> String {
        let wavering = &self.wavering;
        let reads = plural(wavering.reads.len() as u64, "read");
        let piece = style.strong(&self.piece);
        let of = plural(wavering.compared, "byte");
        if wavering.is_none() {
            return format!("{piece}: {reads} of {of}, all the same\n");
        }
        let mut out = format!("{piece}: {reads} of {of}; {}\n", wavering.count());
        let mut rows = wavering.told();
        if wavering.odd_read.is_some() && wavering.verdict != Sure::Open {
            rows.push(wavering.look_next.clone());
        }
        // Nobody needs a list of bytes that are in no chip.
        if wavering.groups.is_empty() {
            rows.extend(wavering.rows(wavering.listed));
        }
        for row in rows {
            out += &format!("  {row}\n");
        }
        out
    }
}
