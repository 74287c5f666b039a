//! What a read alone shows, for people and for scripts.

use serde::Serialize;

use super::banks::{BanksView, SumView, counted};
use super::known::Known;
use super::view::{CandidateView, MOST, of_sign, wavering};
use super::wavering::{read_again, wavering_findings};
use crate::cli::report::address::{RangeView, address_width};
use crate::cli::report::document::Report;
use crate::cli::report::style::Style;
use crate::cli::report::verdict::{Paragraph, sentence, verdict};
use crate::cli::report::vote::WaveringView;
use crate::faults::alone::{Alone, BankStructure, StoredSum};
use crate::faults::reads::Vote;
use crate::prose::{plural, thousands};
use crate::wiring::Width;

/// Smaller reads are not expected to have banks.
const SHOWS_BANKS: u64 = 8 * 1024;

/// The answer about a read without a wanted image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AloneAnswer {
    /// Nothing looks wrong.
    Sound,
    /// Something looks wrong.
    Suspect,
    /// The reads differ among themselves.
    Wavers,
}

/// What a read alone shows.
#[derive(Serialize)]
pub struct AloneReport {
    /// Names of the reads.
    pub reads: Vec<String>,
    /// The part, when known.
    pub part: Option<String>,
    /// The answer.
    pub verdict: AloneAnswer,
    /// Bytes of the read, or of the majority of the reads.
    pub bytes: u64,
    /// Where the reads differ among themselves, when there are several.
    pub wavering: Option<WaveringView>,
    /// What is suspicious.
    pub candidates: Vec<CandidateView>,
    /// Bytes after which the content only repeats.
    pub repeats_after: Option<u64>,
    /// The range after the content that has only one value, if there is one.
    pub blank_after: Option<BlankView>,
    /// Bytes of the smallest chip with room for everything, if that is smaller.
    pub smallest: Option<u64>,
    /// Longer runs of one value.
    pub blank: Vec<BlankView>,
    /// Its banks, where it shows some or their size was given.
    pub banks: Option<BanksView>,
    /// Stored sums that fit, when they were asked for.
    pub sums: Option<Vec<SumView>>,
    /// What would decide about what is suspicious, as sentences.
    pub to_settle: Option<String>,
    #[serde(skip)]
    width: Width,
    #[serde(skip)]
    constant: bool,
}

/// A range of one value.
#[derive(Clone, Copy, Serialize)]
pub struct BlankView {
    /// Where.
    pub range: RangeView,
    /// The byte that is all there is in it.
    pub byte: u8,
}

impl AloneReport {
    /// The picture of a read of this many bytes, the first at this address, and of the vote that it came from.
    pub fn new(
        reads: &[String],
        found: &Alone,
        vote: Option<&Vote>,
        (bytes, first): (usize, u64),
        known: Known<'_>,
    ) -> Self {
        let width = known.width();
        let cell = width.bytes();
        let cells = bytes / cell;
        let signs: Vec<CandidateView> = found
            .signs(cells, width)
            .into_iter()
            .map(|sign| CandidateView {
                equals: vec![of_sign(sign, known)],
                because: sign.because(cells, found.telling, width),
                score: None,
                bits: None,
            })
            .collect();
        let lines = signs.iter().any(|sign| {
            let mut faults = sign.equals.iter().flat_map(|equal| &equal.faults);
            faults.any(|fault| !fault.lines.is_empty())
        });
        let wavering = vote.map(|vote| wavering(vote, reads, known));
        let wavers = vote.is_some_and(|vote| !vote.unanimous());
        let blank = |from: usize, to: usize, value: u16| BlankView {
            range: RangeView {
                first: first + (from * cell) as u64,
                last: first + (to * cell) as u64 - 1,
            },
            // A blank word is the same byte twice.
            byte: value as u8,
        };
        let runs = found.blank.iter();
        let in_bytes = |cells: usize| (cells * cell) as u64;
        Self {
            reads: reads.to_vec(),
            part: known.part.map(|part| part.name.clone()),
            verdict: match (wavers, found.is_suspect()) {
                (true, _) => AloneAnswer::Wavers,
                (_, true) => AloneAnswer::Suspect,
                _ => AloneAnswer::Sound,
            },
            bytes: bytes as u64,
            wavering,
            candidates: signs,
            repeats_after: found.repeats_after.map(in_bytes),
            blank_after: found.blank_after.map(|(at, value)| blank(at, cells, value)),
            smallest: found.smallest(cells).map(in_bytes),
            blank: runs
                .map(|(run, value)| blank(*run.start(), run.end() + 1, *value))
                .collect(),
            banks: None,
            sums: None,
            to_settle: lines.then(|| {
                "Small, repeated and regular content looks the same as bad lines. Add the wanted \
                 image with --wanted, or burn the pattern `telltale` into a chip of the same kind \
                 and read it in the same socket."
                    .into()
            }),
            width,
            constant: found.constant.is_some(),
        }
    }

    /// Adds the banks.
    pub fn add_banks(&mut self, banks: &BankStructure) {
        self.banks = Some(banks.into());
    }

    /// Adds sums that are stored in pieces of this size, which are these banks, or the whole.
    pub fn add_sums(&mut self, sums: &[StoredSum], size: usize, banks: &[usize]) {
        let views = sums.iter().map(|sum| SumView::new(sum, size, banks));
        self.sums.get_or_insert_with(Vec::new).extend(views);
        if sums.iter().any(|sum| !sum.fails.is_empty()) && self.verdict == AloneAnswer::Sound {
            self.verdict = AloneAnswer::Suspect;
        }
    }

    fn header(&self, style: Style) -> String {
        let reads = match &self.reads[..] {
            [one] => style.strong(one),
            [first, .., last] => format!(
                "the majority of {} reads, {} to {},",
                self.reads.len(),
                style.strong(first),
                style.strong(last)
            ),
            [] => String::new(),
        };
        let bytes = plural(self.bytes, "byte");
        format!("{reads}: {bytes}, nothing to compare them with\n")
    }

    /// What wavers, when the reads are not all the same.
    fn differing_reads(&self) -> Option<&WaveringView> {
        self.wavering.as_ref().filter(|found| !found.is_none())
    }

    fn findings(&self) -> Vec<Paragraph> {
        let equals = self.candidates.iter().flat_map(|all| &all.equals);
        let mut out: Vec<Paragraph> = self
            .differing_reads()
            .map(wavering_findings)
            .unwrap_or_default();
        out.extend(equals.map(|equal| Paragraph::from(format!("{}.", equal.finding))));
        if self.verdict == AloneAnswer::Sound {
            out.push("Nothing in this read looks like a fault.".into());
        }
        if let Some(banks) = &self.banks {
            out.extend(banks.findings(self.width).into_iter().map(Paragraph::from));
        }
        if let Some(sums) = &self.sums {
            out.extend(sums.iter().map(|sum| Paragraph::from(sum.finding())));
            if sums.is_empty() {
                out.push("No stored sum fits better than chance.".into());
            }
        }
        out
    }

    fn reasons(&self) -> Vec<Paragraph> {
        let mut out: Vec<String> = self
            .candidates
            .iter()
            .map(|candidate| sentence(&candidate.because))
            .collect();
        out.dedup();
        if self.constant {
            return out.into_iter().map(Paragraph::from).collect();
        }
        let size = |bytes: u64| counted(bytes, self.width);
        if let Some(after) = self.repeats_after {
            out.push(format!("After {} the content only repeats.", size(after)));
        }
        let w = address_width(self.blank.last().map_or(0, |run| run.range.last));
        if let Some(end) = &self.blank_after {
            out.push(format!(
                "From {:0w$X} to the end everything is {:02X}.",
                end.range.first, end.byte
            ));
        }
        if let Some(smallest) = self.smallest {
            out.push(format!(
                "The smallest chip with room for all of it has {}.",
                size(smallest)
            ));
        }
        let end = self.blank_after.map(|end| end.range.first);
        let inner = self.blank.iter().filter(|run| Some(run.range.first) != end);
        let inner: Vec<String> = inner
            .map(|run| {
                let RangeView { first, last } = run.range;
                format!("{first:0w$X}-{last:0w$X} is all {:02X}", run.byte)
            })
            .collect();
        out.extend((!inner.is_empty()).then(|| format!("{}.", few(inner))));
        if self.banks.is_none() && self.bytes >= SHOWS_BANKS {
            out.push("It shows no banks.".into());
        }
        if let Some(bits) = self.banks.as_ref().and_then(|banks| banks.gain_bits) {
            out.push(format!(
                "With these banks the read takes {} bits less to describe than without.",
                thousands(bits)
            ));
        }
        out.into_iter().map(Paragraph::from).collect()
    }

    fn places(&self) -> Vec<Paragraph> {
        let mut out: Vec<String> = Vec::new();
        for equal in self
            .candidates
            .iter()
            .flat_map(|all| &all.equals)
            .take(MOST)
        {
            // The heading says it already.
            let place = equal.look_next.clone();
            if !out.contains(&place) {
                out.push(place);
            }
        }
        let wrong = self.sums.iter().flatten().any(|sum| !sum.fails.is_empty());
        if wrong {
            out.push(
                "A bank whose stored sum does not fit was changed after it was stamped, was never \
                 stamped, or reads wrong: read it again before you trust it."
                    .into(),
            );
        }
        if let Some(wavering) = self.differing_reads() {
            out.extend(read_again(wavering));
        }
        out.extend(self.to_settle.clone());
        out.into_iter().map(Paragraph::from).collect()
    }
}

/// The first ones of a list, and how many more there are.
fn few(mut list: Vec<String>) -> String {
    let more = list.len().saturating_sub(MOST);
    list.truncate(MOST);
    if more > 0 {
        list.push(format!("and {more} more"));
    }
    list.join(", ")
}

impl Report for AloneReport {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let mut out = self.header(style);
        if let Some(wavering) = self.wavering.as_ref().filter(|found| !found.is_none()) {
            let count = wavering.count();
            out += &format!("  the reads differ among themselves: {count}\n");
            for row in wavering.rows(MOST) {
                out += &format!("    {row}\n");
            }
        }
        out += &verdict(style, self.findings(), self.reasons(), self.places());
        out
    }
}
