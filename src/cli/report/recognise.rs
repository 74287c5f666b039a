//! Which read is which chip of a set.

use serde::Serialize;

use super::document::Report;
use super::style::Style;
use crate::identify::{ContentForm, Cut, Identity, KnownChip, Nearest};
use crate::prose::{plural, thousands};

/// The answers, in the reads' order.
#[derive(Serialize)]
pub struct RecogniseReport {
    /// One for each read.
    pub reads: Vec<RecognisedRead>,
    /// Known chips that none of the reads is.
    pub missing: Vec<String>,
}

/// One read.
#[derive(Serialize)]
pub struct RecognisedRead {
    /// Its file.
    pub read: String,
    /// What it is.
    pub answer: AnswerKind,
    /// The known chip.
    pub known: Option<String>,
    /// The form: of the known chip, or with `holds` of the read.
    pub form: Option<FormView>,
    /// How often it stands in the read.
    pub times: Option<usize>,
    /// With `with`, the read that it makes the known chip with.
    pub other: Option<String>,
    /// With `constant`, the byte.
    pub value: Option<u8>,
    /// The known chip that an unknown read is nearest to.
    pub nearest: Option<NearestView>,
}

/// What a read is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum AnswerKind {
    /// A form of a known chip.
    Is,
    /// A known chip is a form of the read.
    Holds,
    /// Put together with another read, a known chip.
    With,
    /// One byte throughout.
    Constant,
    /// Nothing known.
    Unknown,
}

/// What is cut out of a chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum CutKind {
    /// All of it.
    Whole,
    /// One of several equal parts.
    Bank,
    /// Every nth byte.
    Lane,
}

/// In which form.
#[derive(Clone, Copy, Serialize)]
pub struct FormView {
    /// What is cut out.
    pub cut: CutKind,
    /// Which bank or lane, counted from 0.
    pub n: usize,
    /// Of how many.
    pub of: usize,
    /// Every bit inverted.
    pub inverted: bool,
    /// The two bytes of each word exchanged.
    pub swapped: bool,
}

/// A chip that is like it.
#[derive(Serialize)]
pub struct NearestView {
    /// The known chip.
    pub known: String,
    /// The form of it.
    pub form: FormView,
    /// Bytes that differ.
    pub differing: u64,
    /// Bytes compared.
    pub compared: u64,
    /// What would explain it, as a sentence without a full stop.
    pub finding: Option<String>,
}

impl From<ContentForm> for FormView {
    fn from(form: ContentForm) -> Self {
        let (cut, n, of) = match form.cut {
            Cut::Whole => (CutKind::Whole, 0, 1),
            Cut::Bank { n, of } => (CutKind::Bank, n, of),
            Cut::Lane { n, of } => (CutKind::Lane, n, of),
        };
        Self {
            cut,
            n,
            of,
            inverted: form.inverted,
            swapped: form.swapped,
        }
    }
}

impl RecogniseReport {
    /// The picture of the answers.
    pub fn new(reads: &[String], known: &[KnownChip], answers: &[Identity]) -> Self {
        let name = |n: usize| {
            known
                .get(n)
                .map(|chip| chip.name.clone())
                .unwrap_or_default()
        };
        let mut found = vec![false; known.len()];
        let mut rows = Vec::new();
        for (read, answer) in reads.iter().zip(answers) {
            let mut row = RecognisedRead {
                read: read.clone(),
                answer: AnswerKind::Unknown,
                known: None,
                form: None,
                times: None,
                other: None,
                value: None,
                nearest: None,
            };
            let mut is = |answer, chip: usize, form: FormView| {
                (row.answer, row.known, row.form) = (answer, Some(name(chip)), Some(form));
                if let Some(found) = found.get_mut(chip) {
                    *found = true;
                }
            };
            match answer {
                Identity::Is { known, form, times } => {
                    is(AnswerKind::Is, *known, (*form).into());
                    row.times = Some(*times);
                }
                Identity::Holds { known, form } => is(AnswerKind::Holds, *known, (*form).into()),
                Identity::With { known, cut, other } => {
                    let form = ContentForm {
                        cut: *cut,
                        inverted: false,
                        swapped: false,
                    };
                    is(AnswerKind::With, *known, form.into());
                    row.other = reads.get(*other).cloned();
                }
                Identity::Constant(value) => {
                    (row.answer, row.value) = (AnswerKind::Constant, Some(*value));
                }
                Identity::Unknown(nearest) => {
                    row.nearest = nearest.as_ref().map(|near: &Nearest| NearestView {
                        known: name(near.known),
                        form: near.form.into(),
                        differing: near.differing,
                        compared: near.compared,
                        finding: near.finding.clone(),
                    });
                }
            }
            rows.push(row);
        }
        let missing = found.iter().enumerate().filter(|(_, found)| !**found);
        Self {
            reads: rows,
            missing: missing.map(|(n, _)| name(n)).collect(),
        }
    }

    /// Whether every read is a known chip.
    pub fn all_known(&self) -> bool {
        let known = |read: &RecognisedRead| read.known.is_some();
        self.reads.iter().all(known)
    }
}

impl FormView {
    /// `the odd lane of rom.bin, inverted`.
    fn of(self, name: &str) -> String {
        let part = match self.part() {
            Some(part) => format!("the {part} of {name}"),
            None => name.to_owned(),
        };
        part + self.turned()
    }

    fn part(self) -> Option<String> {
        let (n, of) = (self.n, self.of);
        const ORDER: [&str; 4] = ["first", "second", "third", "fourth"];
        Some(match (self.cut, of) {
            (CutKind::Bank, 2) => ["lower half", "upper half"].get(n)?.to_string(),
            (CutKind::Bank, 4) => format!("{} quarter", ORDER.get(n)?),
            (CutKind::Bank, _) => format!("bank {n} (of {of})"),
            (CutKind::Lane, 2) => ["even lane", "odd lane"].get(n)?.to_string(),
            (CutKind::Lane, _) => format!("lane {n} (of {of})"),
            (CutKind::Whole, _) => return None,
        })
    }

    fn turned(self) -> &'static str {
        match (self.inverted, self.swapped) {
            (false, false) => "",
            (true, false) => ", inverted",
            (false, true) => ", the bytes of each word exchanged",
            (true, true) => ", inverted and the bytes of each word exchanged",
        }
    }
}

impl RecognisedRead {
    fn sentence(&self) -> String {
        let known = self.known.as_deref().unwrap_or_default();
        match (self.answer, self.form) {
            (AnswerKind::Is, Some(form)) => {
                let times = match self.times {
                    None | Some(1) => String::new(),
                    Some(2) => ", twice over".into(),
                    Some(n) => format!(", {n} times over"),
                };
                format!("is {}{times}", form.of(known))
            }
            (AnswerKind::Holds, Some(form)) => {
                let part = form.part().unwrap_or_default();
                format!("holds {known} in its {part}{}", form.turned())
            }
            (AnswerKind::With, Some(form)) => {
                let other = self.other.as_deref().unwrap_or_default();
                format!("is {}, beside {other}", form.of(known))
            }
            (AnswerKind::Constant, _) => match self.value {
                Some(0xFF) => "is all FF: blank, not selected or not there".into(),
                value => format!("is all {:02X}", value.unwrap_or(0)),
            },
            _ => match &self.nearest {
                None => "is unknown".into(),
                Some(near) => format!(
                    "is unknown; nearest is {}: {} of {} differ",
                    near.form.of(&near.known),
                    thousands(near.differing),
                    plural(near.compared, "byte")
                ),
            },
        }
    }
}

impl Report for RecogniseReport {
    const STEP: &'static str = "recognise";

    fn text(&self, style: Style) -> String {
        let names = self.reads.iter().map(|read| read.read.chars().count());
        let width = names.max().unwrap_or(0);
        let mut out = String::new();
        for read in &self.reads {
            let gap = " ".repeat(width - read.read.chars().count() + 3);
            out += &format!("{}{gap}{}\n", style.strong(&read.read), read.sentence());
            let finding = read.nearest.as_ref().and_then(|near| near.finding.as_ref());
            if let Some(finding) = finding {
                out += &format!("{}{finding}\n", " ".repeat(width + 3));
            }
        }
        if !self.missing.is_empty() {
            out += &format!("not among these reads: {}\n", self.missing.join(", "));
        }
        out
    }
}
