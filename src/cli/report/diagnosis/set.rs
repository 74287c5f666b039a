//! The verdict on the chips of one board: all together, then each.

use serde::Serialize;

use super::known::Known;
use super::view::{DiagnosisAnswer, DiagnosisReport, explained, sure};
use crate::cli::report::document::Report;
use crate::cli::report::style::Style;
use crate::cli::report::unpaired::Unpaired;
use crate::cli::report::verdict::{Paragraph, verdict};
use crate::faults::SetVerdict;
use crate::prose::thousands;

/// The answer about the chips of a set together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SetAnswer {
    /// Every read is as wanted.
    AllAsWanted,
    /// The right chips in other sockets.
    Swapped,
    /// One chip was read twice, or there are two of it.
    ReadTwice,
    /// One fault explains all chips that differ.
    InCommon,
    /// Every chip is another version.
    OtherVersion,
    /// Each chip separately.
    EachForItself,
}

/// The verdict on a set.
#[derive(Serialize)]
pub struct SetReport {
    /// The answer about all together.
    pub verdict: SetAnswer,
    /// What is said about all of them, as sentences without a full stop.
    pub findings: Vec<String>,
    /// Where to look, as sentences.
    pub look_next: Vec<String>,
    /// The verdict on each chip, in the order of the bench.
    pub chips: Vec<DiagnosisReport>,
    /// What is left over.
    #[serde(flatten)]
    pub unpaired: Unpaired,
    /// What the pieces are: chips, when all are in sockets.
    #[serde(skip)]
    pub noun: &'static str,
}

impl SetReport {
    /// The picture of a set's verdict. `known` is of the first chip that differs.
    pub fn new(
        found: &SetVerdict,
        chips: Vec<DiagnosisReport>,
        unpaired: Unpaired,
        noun: &'static str,
        known: Known<'_>,
    ) -> Self {
        let name = |n: usize| chips[n].reads.join(", ");
        let labels = "Compare the labels and the sockets, put each chip where it belongs, and read them once more.";
        let (answer, findings, look_next) = match found {
            SetVerdict::AllAsWanted => (
                SetAnswer::AllAsWanted,
                vec!["Every chip is as wanted".to_owned()],
                vec![
                    "The chips are right. Look elsewhere: at the sockets, the supply, the select lines and the parts around \
                     them. A programmer that swaps or inverts lines hides this when it reads what it burned itself."
                        .to_owned(),
                ],
            ),
            SetVerdict::Swapped(places) => (
                SetAnswer::Swapped,
                places
                    .iter()
                    .map(|&(chip, of)| format!("{} contains what belongs in {}", name(chip), name(of)))
                    .collect(),
                vec![labels.to_owned()],
            ),
            &SetVerdict::ReadTwice(chip, of) => (
                SetAnswer::ReadTwice,
                vec![format!(
                    "{} contains what belongs in {}, and so does {}",
                    name(chip),
                    name(of),
                    name(of)
                )],
                vec![format!(
                    "One chip was read twice, or burned twice. Read {} once more. {labels}",
                    name(chip)
                )],
            ),
            SetVerdict::InCommon(story) => {
                let said = explained(story, known);
                (
                    SetAnswer::InCommon,
                    vec![
                        "One fault explains every chip that differs, and would not show in the others".to_owned(),
                        said.finding,
                    ],
                    vec![
                        "Look first at what these reads had in common: the reader's socket and its adapter, and the board only \
                         if the chips were read in it."
                            .to_owned(),
                        said.look_next.clone(),
                    ],
                )
            }
            SetVerdict::OtherVersion => (
                SetAnswer::OtherVersion,
                vec!["Every chip is another version: some stretches are new, and everything else is as wanted".to_owned()],
                vec!["Compare the version on the labels with the version of the wanted images.".to_owned()],
            ),
            _ => (
                SetAnswer::EachForItself,
                vec!["The chips that differ have no fault in common".to_owned()],
                Vec::new(),
            ),
        };
        Self {
            verdict: answer,
            findings,
            look_next,
            chips,
            unpaired,
            noun,
        }
    }

    /// Each chip's name, and its verdict in a line.
    pub(in crate::cli::report) fn rows(&self) -> Vec<(String, String)> {
        let chips = self.chips.iter();
        chips
            .map(|chip| (chip.reads.join(", "), row(chip)))
            .collect()
    }

    /// Whether every chip is as wanted and none is missing.
    pub fn is_as_wanted(&self) -> bool {
        self.verdict == SetAnswer::AllAsWanted && self.unpaired.is_empty()
    }
}

impl Report for SetReport {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let right = |chip: &&DiagnosisReport| chip.verdict == DiagnosisAnswer::Same;
        let same = self.chips.iter().filter(right).count();
        let noun = match self.chips.len() {
            1 => self.noun.to_owned(),
            _ => format!("{}s", self.noun),
        };
        let mut out = format!(
            "{} {noun}: {same} as wanted, {} not{}\n",
            self.chips.len(),
            self.chips.len() - same,
            self.unpaired.counted(self.noun)
        );
        let rows = self.rows();
        let width = rows.iter().map(|(name, _)| name.chars().count()).max();
        for (name, row) in &rows {
            let pad = " ".repeat(width.unwrap_or(0) - name.chars().count());
            out += &format!("  {}{pad}  {row}\n", style.strong(name));
        }
        out += &self.unpaired.text(self.noun, style);
        out += &verdict(
            style,
            self.findings
                .iter()
                .map(|finding| Paragraph::from(format!("{finding}.")))
                .collect(),
            Vec::new(),
            self.look_next
                .iter()
                .cloned()
                .map(Paragraph::from)
                .collect(),
        );
        if matches!(
            self.verdict,
            SetAnswer::EachForItself | SetAnswer::OtherVersion
        ) {
            for chip in self.chips.iter().filter(|chip| !right(chip)) {
                out += "\n";
                out += &chip.text(style);
            }
        }
        out
    }
}

/// One chip in a line: how sure, and what.
fn row(chip: &DiagnosisReport) -> String {
    let finding = chip
        .candidates
        .first()
        .and_then(|first| first.equals.first());
    let differ = chip
        .differences
        .as_ref()
        .map_or(0, |d| d.bytes + d.missing + d.surplus);
    match (chip.verdict, finding) {
        (DiagnosisAnswer::Same, _) => "as wanted".to_owned(),
        (answer, Some(equal)) => {
            let more = chip
                .candidates
                .first()
                .map_or(0, |first| first.equals.len() - 1);
            let or = match more {
                0 => "",
                _ => ", or another cause that reads the same",
            };
            format!(
                "{} bytes differ; {}: {}{or}",
                thousands(differ),
                sure(answer),
                equal.finding
            )
        }
        (_, None) => format!(
            "{} bytes differ; none of the known faults explains it",
            thousands(differ)
        ),
    }
}
