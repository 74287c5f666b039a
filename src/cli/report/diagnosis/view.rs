//! A diagnosis as the report has it.

use serde::Serialize;

use super::fault::FaultView;
use super::known::Known;
use crate::cli::report::address::address_width;
use crate::cli::report::compare::Directions;
use crate::cli::report::vote::{VoteNames, WaveringView};
use crate::faults::compare::Differences;
use crate::faults::reads::Vote;
use crate::faults::recovery::Recovered;
use crate::faults::{Candidate, Case, Diagnosis, Model, Score, Sentences, Sign, Story, Verdict};
use crate::prose::{plural, thousands};

/// Ranges, runs and explanations shown to people; scripts get all.
pub(super) const MOST: usize = 8;

/// The answer of a diagnosis, with and without a wanted image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DiagnosisAnswer {
    /// The read is the wanted image.
    Same,
    /// The reads differ among themselves, and the majority is the wanted image, or what wavers explains what is wrong in it.
    Wavers,
    /// The first candidate explains all, and every story that would read otherwise is far less likely.
    Certain,
    /// The first candidate is much likelier than the next.
    Likely,
    /// Several stories are about as likely, or none is.
    Open,
}

impl DiagnosisAnswer {
    fn of(found: &Diagnosis) -> Self {
        let wavers = found.vote.as_ref().is_some_and(|vote| !vote.unanimous());
        match found.verdict {
            Verdict::Same if wavers => Self::Wavers,
            _ if found.wavering_explains => Self::Wavers,
            Verdict::Same => Self::Same,
            Verdict::Certain => Self::Certain,
            Verdict::Likely => Self::Likely,
            Verdict::Open => Self::Open,
        }
    }
}

/// A verdict on one chip.
#[derive(Serialize)]
pub struct DiagnosisReport {
    /// Names of the reads.
    pub reads: Vec<String>,
    /// What should have been read.
    pub wanted: Option<String>,
    /// The part, when known.
    pub part: Option<String>,
    /// The answer.
    pub verdict: DiagnosisAnswer,
    /// Bytes of the read, or of the majority of the reads.
    pub bytes: u64,
    /// How it differs from what is wanted.
    pub differences: Option<DifferencesView>,
    /// Where the reads differ among themselves, when there are several.
    pub wavering: Option<WaveringView>,
    /// What explains the read: the answer, then the stories that would read otherwise, the best first.
    pub candidates: Vec<CandidateView>,
    /// Bits by which the answer is cheaper than the next story; none when there is no other.
    pub lead_bits: Option<f64>,
    /// Bytes that differ where the wanted image has data; none when it has data everywhere.
    pub differing_in_data: Option<u64>,
    /// What else the read shows, as sentences.
    pub remarks: Vec<String>,
    /// What would decide what is left open, as sentences.
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
    /// All that can't be told apart by this read, the usual cause first.
    pub equals: Vec<ExplanationView>,
    /// The evidence, as a sentence.
    pub because: String,
    /// The evidence in figures; none without a wanted image.
    pub score: Option<ScoreView>,
    /// What the first of them and what it leaves over cost to tell, in bits; none without a wanted image.
    pub bits: Option<f64>,
}

/// How many cells (bytes, or words of a chip with 16 data lines) a finding predicts rightly.
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
    pub look_next: String,
    /// The faults, one or two.
    pub faults: Vec<FaultView>,
}

impl DiagnosisReport {
    /// The picture of a diagnosis against a wanted image. The case is the one that was diagnosed.
    pub fn new(
        reads: &[String],
        wanted: &str,
        case: &Case,
        found: &Diagnosis,
        bytes: usize,
        known: Known<'_>,
    ) -> Self {
        let first = known.first;
        let vote = found.vote.as_ref();
        let wavering = vote.map(|vote| wavering(vote, reads, known));
        let verdict = DiagnosisAnswer::of(found);
        let all = found.candidates.iter();
        let all = all.map(|candidate| CandidateView {
            equals: candidate
                .equals
                .iter()
                .map(|e| explained(e, known))
                .collect(),
            because: because(candidate, found, known),
            score: Some(candidate.score.into()),
            bits: Some(round(candidate.bits)),
        });
        let candidates = match verdict {
            DiagnosisAnswer::Wavers => Vec::new(),
            _ => all.collect(),
        };
        let mut remarks = Vec::new();
        if verdict != DiagnosisAnswer::Same {
            remarks.extend(as_wanted_remark(&found.as_wanted, reads));
        }
        if let Some(in_data) = found.in_data {
            remarks.push(data_remark(in_data, found.differences.bytes));
        }
        let ranges = &found.differences.ranges;
        if found.verdict != Verdict::Certain && (1..=MOST).contains(&ranges.len()) {
            let w = address_width(first + bytes as u64);
            let ranges = ranges.iter().map(|range| {
                let (start, end) = (first + *range.start() as u64, first + *range.end() as u64);
                match start == end {
                    true => format!("{start:0w$X}"),
                    false => format!("{start:0w$X}-{end:0w$X}"),
                }
            });
            let ranges: Vec<String> = ranges.collect();
            remarks.push(format!("It differs at {}.", ranges.join(", ")));
        }
        Self {
            reads: reads.to_vec(),
            wanted: Some(wanted.into()),
            part: known.part.map(|part| part.name.clone()),
            verdict,
            bytes: bytes as u64,
            differences: Some((&found.differences).into()),
            wavering,
            candidates,
            lead_bits: found
                .lead()
                .filter(|_| verdict != DiagnosisAnswer::Wavers)
                .map(round),
            differing_in_data: found.in_data.map(|bytes| bytes as u64),
            remarks,
            to_settle: found.to_settle(case),
        }
    }

    /// Adds that scrambled lines explain what no fault explains.
    pub fn add_wiring(&mut self, found: &Recovered) {
        let how_far = match found.is_exact() {
            true => "byte for byte",
            false => "except for a few bytes or a dead data line",
        };
        self.remarks.push(format!(
            "Swapped or inverted lines turn the wanted image into this read, {how_far}: --recover-wiring lists \
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

/// What several reads agree on, with the names that are known.
pub(super) fn wavering(vote: &Vote, reads: &[String], known: Known<'_>) -> WaveringView {
    let pin = |line| known.pin(line);
    let names = VoteNames {
        reads,
        first: known.first,
        pin: &pin,
    };
    WaveringView::new(vote, names, None)
}

/// Which of several reads are exactly as wanted.
fn as_wanted_remark(as_wanted: &[usize], reads: &[String]) -> Option<String> {
    let all = reads.len();
    let names: Vec<&str> = as_wanted.iter().map(|&n| reads[n].as_str()).collect();
    match &names[..] {
        [] => None,
        [name] => Some(format!(
            "Read {} of {all}, {name}, is exactly as wanted.",
            as_wanted[0] + 1
        )),
        names if names.len() == all => Some(format!("All {all} reads are exactly as wanted.")),
        names => Some(format!(
            "{} of {all} reads are exactly as wanted: {}.",
            names.len(),
            names.join(", ")
        )),
    }
}

/// How sure an answer is, in a word.
pub(super) fn sure(answer: DiagnosisAnswer) -> &'static str {
    match answer {
        DiagnosisAnswer::Certain => "certain",
        DiagnosisAnswer::Likely => "likely",
        _ => "open",
    }
}

/// Bits to a tenth: nobody needs more.
fn round(bits: f64) -> f64 {
    (bits * 10.0).round() / 10.0
}

/// The evidence for a candidate: what it explains, or, for a list, what it lists.
fn because(candidate: &Candidate, found: &Diagnosis, known: Known<'_>) -> String {
    let lists = candidate
        .equals
        .first()
        .is_some_and(|story| !story.predicts());
    let d = &found.differences;
    match candidate.equals.first().map(|story| &story.first) {
        Some(Model::NothingInCommon) => format!(
            "alone the read takes {} bits to describe, and no story with the wanted image takes fewer",
            thousands(found.alone_bits.round() as u64)
        ),
        Some(Model::Cells(_) | Model::PagesLeft { .. }) if lists => {
            let bits = d.bits();
            format!(
                "{} in {} of {} differ, {} from 0 to 1 and {} from 1 to 0",
                plural((bits.to_one + bits.to_zero) as u64, "bit"),
                thousands(d.bytes as u64),
                plural(d.compared as u64, "byte"),
                thousands(bits.to_one as u64),
                thousands(bits.to_zero as u64)
            )
        }
        _ => candidate.score.because(known.width()),
    }
}

/// What differs where the wanted image has data, and where it has none.
fn data_remark(in_data: usize, all: usize) -> String {
    let elsewhere = all - in_data.min(all);
    match (in_data, elsewhere) {
        (0, 0) => "Every program byte is right.".into(),
        (0, n) => format!(
            "Every program byte is right; {} where the program has none.",
            differ(n)
        ),
        (n, 0) => format!("All {} are in the program.", plural(n as u64, "difference")),
        (n, m) => format!(
            "{} in the program, and {} where it has no data.",
            differ(n),
            thousands(m as u64)
        ),
    }
}

fn differ(n: usize) -> String {
    match n {
        1 => "1 byte differs".into(),
        n => format!("{} bytes differ", thousands(n as u64)),
    }
}

pub(super) fn explained(story: &Story, known: Known<'_>) -> ExplanationView {
    let said = known.said(|names| story.sentences(names));
    let faults = story
        .models()
        .flat_map(|model| FaultView::all_of(model, known));
    ExplanationView::new(said, faults.collect())
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
