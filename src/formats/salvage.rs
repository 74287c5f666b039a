//! What could be read of a damaged file, and what is missing.
//!
//! A place is called missing only on evidence: a damaged line between two sound ones with a hole between them, the digits
//! of a damaged line where they are plausible, or a hole between neighbouring lines that is as large as whole records.

use std::sync::Arc;

use super::facts::LeftOutLines;
use super::findings::Findings;
use super::layout;
use crate::image::{AddressRange, Contest, Image, Source};

/// A damaged line can have had at most this many bytes.
const MOST_DATA: u64 = 255;
/// Lost lines are suspected in a hole of up to this many records.
const MOST_LOST: u64 = 4;

/// What could be read of one file, or of several copies of it.
#[derive(Clone, Debug)]
pub struct Salvaged {
    /// The file's name; the first one's, where there are several copies.
    pub file: Arc<str>,
    /// Data records taken; in formats without records, lines of data.
    pub records: u64,
    /// Bytes of the image.
    pub bytes: u64,
    /// Lines that could not be read.
    pub damaged_lines: u64,
    /// Sound records without a certain address.
    pub left_out_records: u64,
    /// Bytes without a certain address.
    pub left_out_bytes: u64,
    /// The lines of both, by file, in order.
    pub left_out: Vec<(Arc<str>, LeftOutLines)>,
    /// What is missing, lowest address first.
    pub missing: Vec<Missing>,
}

/// Addresses without a byte that very probably had one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Missing {
    /// The addresses.
    pub range: AddressRange,
    /// The file.
    pub file: Arc<str>,
    /// Why they are missing.
    pub why: WhyMissing,
}

/// Why something is missing.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum WhyMissing {
    /// Damaged lines are between the sound ones on either side.
    Between {
        /// The first damaged line.
        first: u64,
        /// The last.
        last: u64,
    },
    /// A damaged line names them.
    Named {
        /// The line.
        line: u64,
    },
    /// Two neighbouring lines leave out as much as whole records contain.
    Gap {
        /// The line before the hole.
        behind: u64,
    },
    /// Sound records differ.
    Contested(Box<Contest>),
}

impl std::fmt::Display for WhyMissing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WhyMissing::Between { first, last } if first == last => {
                write!(f, "line {first} is damaged")
            }
            WhyMissing::Between { first, last } => write!(f, "lines {first} to {last} are damaged"),
            WhyMissing::Named { line } => {
                write!(
                    f,
                    "line {line} is damaged, and its digits name these addresses"
                )
            }
            WhyMissing::Gap { behind } => write!(
                f,
                "no record between lines {behind} and {}; a lost line would explain it",
                behind + 1
            ),
            WhyMissing::Contested(contest) => {
                write!(f, "{} and {} differ", contest.earlier, contest.later)
            }
        }
    }
}

impl Salvaged {
    /// What could be read of the file that gave these findings and this image.
    pub fn of(findings: &Findings, image: &Image) -> Self {
        let facts = &findings.facts;
        let mut salvaged = Self {
            file: findings.file.clone(),
            records: facts.arrival.records,
            bytes: image.len(),
            damaged_lines: facts.damaged_lines(),
            left_out_records: facts.left_out_records,
            left_out_bytes: facts.left_out_bytes,
            left_out: (facts.left_out.iter())
                .map(|lines| (findings.file.clone(), *lines))
                .collect(),
            missing: missing(findings, image),
        };
        salvaged.settle(image);
        salvaged
    }

    /// Adds another copy, whose bytes are in `image` too.
    pub fn add(&mut self, other: Salvaged, image: &Image) {
        self.records += other.records;
        self.damaged_lines += other.damaged_lines;
        self.left_out_records += other.left_out_records;
        self.left_out_bytes += other.left_out_bytes;
        self.left_out_records += other.left_out_records;
        self.left_out_bytes += other.left_out_bytes;
        self.left_out.extend(other.left_out);
        self.missing.extend(other.missing);
        self.settle(image);
    }

    /// Drops what is in the image, and names each address once.
    fn settle(&mut self, image: &Image) {
        self.bytes = image.len();
        self.missing
            .sort_by_key(|m| (m.range.first(), m.range.last()));
        let mut reach = None;
        let mut out: Vec<Missing> = Vec::new();
        for missing in self.missing.drain(..) {
            for hole in image.holes(missing.range) {
                let from = reach.map_or(hole.first(), |r: u64| hole.first().max(r + 1));
                let Some(range) = AddressRange::new(from, hole.last()) else {
                    continue;
                };
                reach = Some(range.last());
                out.push(Missing {
                    range,
                    ..missing.clone()
                });
            }
        }
        self.missing = out;
    }
}

fn missing(findings: &Findings, image: &Image) -> Vec<Missing> {
    let file = &findings.file;
    let found = |range, why| Missing {
        range,
        file: file.clone(),
        why,
    };
    let facts = &findings.facts;
    let mut out: Vec<Missing> = (facts.contested.iter())
        .map(|c| found(c.range, WhyMissing::Contested(Box::new(c.clone()))))
        .collect();
    let lines = LinePlaces::of(image);
    let mut damaged = facts.damaged.iter().peekable();
    while let Some(group) = damaged.next() {
        // Damaged lines with no sound data between them leave one hole.
        let (before, after) = lines.around(group.first, group.last);
        let mut last = group.last;
        let mut all = vec![group];
        while let Some(next) = damaged.next_if(|d| lines.around(d.first, d.last) == (before, after))
        {
            last = next.last;
            all.push(next);
        }
        let gap = gap(before, after, last - group.first + 1);
        let named = |range: &AddressRange| gap.is_none_or(|gap| gap.covers(*range));
        let mut covered = 0;
        for damaged in &all {
            if let Some(range) = damaged.covers.filter(named) {
                covered += range.len();
                let line = damaged.first;
                out.push(found(range, WhyMissing::Named { line }));
            }
        }
        // Where the digits don't say everything, the hole does.
        if let Some(gap) = gap.filter(|gap| covered < gap.len()) {
            let why = WhyMissing::Between {
                first: group.first,
                last,
            };
            out.push(found(gap, why));
        }
    }
    let lost = layout::gaps_between_lines(image).filter(|gap| gap.records <= MOST_LOST);
    out.extend(lost.map(|gap| found(gap.range, WhyMissing::Gap { behind: gap.behind })));
    out
}

/// The hole that `lines` damaged lines can have left between two addresses.
fn gap(before: Option<u64>, after: Option<u64>, lines: u64) -> Option<AddressRange> {
    let gap = AddressRange::new(before?.checked_add(1)?, after?.checked_sub(1)?)?;
    (gap.len() <= lines.saturating_mul(MOST_DATA)).then_some(gap)
}

/// The addresses of the lines of a file, in the order of lines.
struct LinePlaces {
    /// First and last line, first and last address.
    runs: Vec<[u64; 4]>,
}

impl LinePlaces {
    fn of(image: &Image) -> Self {
        let mut runs: Vec<[u64; 4]> = (image.origins().runs().iter())
            .filter(|run| matches!(*run.source, Source::File(_)))
            .filter_map(|run| {
                let (first, last) = (run.range.first(), run.range.last());
                Some([run.line_at(first)?, run.line_at(last)?, first, last])
            })
            .collect();
        runs.sort_unstable();
        Self { runs }
    }

    /// The last address of the line before `first`, and the first address of the line after `last`.
    fn around(&self, first: u64, last: u64) -> (Option<u64>, Option<u64>) {
        let split = self.runs.partition_point(|run| run[0] < first);
        let before = self.runs[..split].last().filter(|run| run[1] < first);
        let after = self.runs[split..].iter().find(|run| run[0] > last);
        (before.map(|run| run[3]), after.map(|run| run[2]))
    }
}
