//! A diagnosis as the report has it.

use serde::{Serialize, Serializer};

use super::fault::FaultView;
use super::known::Known;
use crate::cli::report::address::address_width;
use crate::cli::report::compare::Directions;
use crate::cli::report::vote::WaveringView;
use crate::faults::compare::Differences;
use crate::faults::recovery::Recovered;
use crate::faults::vote::{Trait, Vote};
use crate::faults::{
    Diagnosis, LookNext, NotAChip, Score, Sentences, Sign, Story, Verdict, floating,
};

/// Ranges, runs and explanations shown to people; scripts get all.
pub(super) const MOST: usize = 8;

/// What a diagnosis comes to, with and without a wanted image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DiagnosisAnswer {
    /// The read is the wanted image.
    Same,
    /// The reads differ among themselves.
    Wavers,
    /// The first candidate explains all, and the read proves it.
    Certain,
    /// The candidates explain all, and the read doesn't prove them.
    Possible,
    /// The first candidate leaves something over.
    Likely,
    /// Nothing explains the read.
    CannotTell,
}

impl From<Verdict> for DiagnosisAnswer {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Same => Self::Same,
            Verdict::Wavers => Self::Wavers,
            Verdict::Certain => Self::Certain,
            Verdict::Possible => Self::Possible,
            Verdict::Likely => Self::Likely,
            Verdict::CannotTell => Self::CannotTell,
        }
    }
}

/// A verdict on one chip.
#[derive(Serialize)]
pub struct DiagnosisReport {
    /// Labels of the reads.
    pub reads: Vec<String>,
    /// What should have been read.
    pub wanted: Option<String>,
    /// The part, when known.
    pub part: Option<String>,
    /// What it comes to.
    pub verdict: DiagnosisAnswer,
    /// Bytes of the read, or of the majority of the reads.
    pub bytes: u64,
    /// How it differs from what is wanted.
    pub differences: Option<DifferencesView>,
    /// Where the reads differ among themselves, when there are several.
    pub wavering: Option<WaveringView>,
    /// What explains the read, the best first.
    pub candidates: Vec<CandidateView>,
    /// Findings that the read doesn't rule out, for they leave open which cells they hit.
    pub not_ruled_out: Vec<String>,
    /// What the read shows besides, as sentences.
    pub remarks: Vec<String>,
    /// What would settle what is left open, as sentences.
    pub to_settle: Option<String>,
}

/// Differences in figures.
#[derive(Serialize)]
pub struct DifferencesView {
    /// Bytes compared.
    pub compared: u64,
    /// Bytes that differ among them.
    pub bytes: u64,
    /// Bits that differ, from the wanted image to the read.
    pub bits: Directions,
    /// Bytes by which the read is too short.
    pub missing: u64,
    /// Bytes by which it is too long.
    pub surplus: u64,
}

/// Findings that predict the same read.
#[derive(Serialize)]
pub struct CandidateView {
    /// All that can't be told apart by this read.
    pub equals: Vec<ExplanationView>,
    /// The evidence, as a sentence.
    pub because: String,
    /// The evidence in figures; none without a wanted image.
    pub score: Option<ScoreView>,
}

/// How many cells (bytes, or words of a chip with 16 data lines) a finding says rightly.
#[derive(Serialize)]
pub struct ScoreView {
    /// Cells that differ from the wanted image.
    pub differing: u64,
    /// Those of them that it explains.
    pub explained: u64,
    /// Cells that are as wanted.
    pub equal: u64,
    /// Those of them that it contradicts.
    pub contradicted: u64,
}

/// Something that may be wrong with a chip, its socket or a transfer.
#[derive(Serialize)]
pub struct ExplanationView {
    /// What the read shows, as a sentence without a full stop.
    pub finding: String,
    /// Where to look, as sentences.
    #[serde(serialize_with = "as_text")]
    pub look_next: LookNext,
    /// The faults, one or two.
    pub faults: Vec<FaultView>,
}

impl DiagnosisReport {
    /// The picture of a diagnosis against a wanted image; `first` is the address of the read's
    /// first byte.
    pub fn new(
        reads: &[String],
        wanted: &str,
        found: &Diagnosis,
        bytes: usize,
        first: u64,
        known: Known<'_>,
    ) -> Self {
        let width = known.width();
        let vote = found.vote.as_ref();
        let wavering = vote.map(|vote| WaveringView::new(vote, first, width));
        let all = found.candidates.iter().map(|candidate| {
            let equals = candidate.equals.iter();
            CandidateView {
                equals: equals.map(|e| explained(*e, known)).collect(),
                because: candidate.score.because(width),
                score: Some(candidate.score.into()),
            }
        });
        let candidates = match (vote, &wavering, found.verdict) {
            (Some(vote), Some(wavering), Verdict::Wavers) => floating_lines(vote, wavering, known),
            _ => all.collect(),
        };
        let not_ruled_out = found.not_excluded.iter();
        let mut remarks = Vec::new();
        match found.only_transfers {
            Some(NotAChip::Lengths) => remarks.push(
                "The two are not equally long, so only damage by a transfer was looked for; cut or \
                 pad one to the size of the chip to look for bad lines."
                    .into(),
            ),
            Some(NotAChip::NoPowerOfTwo) => remarks.push(
                "No chip has this size, so only damage by a transfer was looked for; pad both to \
                 the size of the chip to look for bad lines."
                    .into(),
            ),
            None => {}
        }
        let ranges = &found.differences.ranges;
        if found.verdict != Verdict::Certain && (1..=MOST).contains(&ranges.len()) {
            let w = address_width(first + bytes as u64);
            let ranges = ranges.iter().map(|range| {
                let (start, end) = (first + *range.start() as u64, first + *range.end() as u64);
                format!("{start:0w$X}-{end:0w$X}")
            });
            let ranges: Vec<String> = ranges.collect();
            remarks.push(format!("What differs stands at {}.", ranges.join(", ")));
        }
        Self {
            reads: reads.to_vec(),
            wanted: Some(wanted.into()),
            part: known.part.map(|part| part.name.clone()),
            verdict: found.verdict.into(),
            bytes: bytes as u64,
            differences: Some((&found.differences).into()),
            wavering,
            candidates,
            not_ruled_out: not_ruled_out
                .map(|model| explained((*model).into(), known).finding)
                .collect(),
            remarks,
            to_settle: found.to_settle(bytes),
        }
    }

    /// Adds that scrambled lines explain what no fault does.
    pub fn add_wiring(&mut self, found: &Recovered) {
        let how_far = match found.is_exact() {
            true => "byte for byte",
            false => "all but a few bytes or a dead data line",
        };
        self.remarks.push(format!(
            "Lines that are swapped or inverted turn the wanted image into this read, {how_far}: --recover-wiring lists \
             them."
        ));
    }
}

impl From<&Differences> for DifferencesView {
    fn from(found: &Differences) -> Self {
        Self {
            compared: found.compared as u64,
            bytes: found.bytes as u64,
            bits: found.bits().into(),
            missing: found.only_first as u64,
            surplus: found.only_second as u64,
        }
    }
}

impl From<Score> for ScoreView {
    fn from(score: Score) -> Self {
        Self {
            differing: score.differing as u64,
            explained: score.explained as u64,
            equal: score.equal as u64,
            contradicted: score.broken as u64,
        }
    }
}

/// The lines that the wavering bits of several reads have in common.
pub(super) fn floating_lines(
    vote: &Vote,
    wavering: &WaveringView,
    known: Known<'_>,
) -> Vec<CandidateView> {
    let traits = vote.traits_on_chip(known.width());
    let lines = traits.iter().filter_map(Trait::line);
    lines
        .map(|line| {
            let said = known.said(|names| floating(line, names));
            CandidateView {
                equals: vec![ExplanationView::new(
                    said,
                    vec![FaultView::floating(line, known)],
                )],
                because: wavering.count(),
                score: None,
            }
        })
        .collect()
}

fn explained(explanation: Story, known: Known<'_>) -> ExplanationView {
    let said = known.said(|names| explanation.sentences(names));
    let faults = explanation.models();
    ExplanationView::new(said, faults.map(|m| FaultView::of(m, known)).collect())
}

pub(super) fn of_sign(sign: Sign, known: Known<'_>) -> ExplanationView {
    let said = known.said(|names| sign.sentences(known.width(), names));
    ExplanationView::new(said, vec![FaultView::of_sign(sign, known)])
}

impl ExplanationView {
    fn new(said: Sentences, faults: Vec<FaultView>) -> Self {
        Self {
            finding: said.finding,
            look_next: said.look_next,
            faults,
        }
    }
}

fn as_text<S: Serializer>(look_next: &LookNext, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(look_next)
}
