//! Which read is which chip of a set.

use std::collections::HashSet;
use std::path::Path;

use serde::Serialize;

use super::document::Report;
use super::recognised_form::{FormView, contains, phrase};
use super::style::{Style, safe_char};
use crate::faults::{Model, Names};
use crate::identify::{self, Identity, Recognised};
use crate::prose::{plural, thousands};

/// Names that are listed on a screen, and matches of one read.
const NAMES: usize = 12;
const MATCHES: usize = 8;
/// Missing chips that are listed at all.
const MISSING: usize = 1000;

/// What is known.
#[derive(Default)]
pub struct KnownSet {
    /// The names of the known chips, by their numbers.
    pub names: Vec<String>,
    /// Images among them.
    pub references: u64,
    /// Images that have holes.
    pub with_holes: u64,
    /// Lists of sums, and sums in them.
    pub lists: u64,
    /// Sums in the lists.
    pub sums: u64,
    /// Files that were not looked at.
    pub left_out: Vec<NotLookedAt>,
}

/// A file of a folder that was not looked at.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct NotLookedAt {
    /// The file.
    pub file: String,
    /// Why.
    pub why: String,
}

impl NotLookedAt {
    /// This file, for this reason.
    pub fn new(file: &Path, why: &str) -> Self {
        let file = file.display().to_string();
        // The reason may begin with the file's name.
        let why = why.strip_prefix(&format!("{file}: ")).unwrap_or(why);
        Self {
            why: why.to_owned(),
            file,
        }
    }
}

impl KnownSet {
    /// Remembers that a file was not looked at.
    pub fn leave_out(&mut self, file: &Path, why: &str) {
        self.left_out.push(NotLookedAt::new(file, why));
    }
}

/// The answers, in the reads' order.
#[derive(Serialize)]
pub struct RecogniseReport {
    /// One for each read.
    pub reads: Vec<RecognisedRead>,
    /// Known chips that none of the reads is, the first ones.
    pub missing: Vec<String>,
    /// Missing ones that are not listed.
    pub missing_left_out: usize,
    /// What the reads were compared with.
    pub tried: Tried,
    /// Files that were not looked at.
    pub left_out: Vec<NotLookedAt>,
}

/// What the reads were compared with.
#[derive(Serialize)]
pub struct Tried {
    /// Images.
    pub references: u64,
    /// Lists of sums.
    pub lists: u64,
    /// Sums in them.
    pub sums: u64,
}

/// One read.
#[derive(Serialize)]
pub struct RecognisedRead {
    /// Its file.
    pub read: String,
    /// Its bytes.
    pub bytes: usize,
    /// What is said of it.
    pub answer: RecognisedKind,
    /// With `constant`, the byte.
    pub value: Option<u8>,
    /// The known chips that it is said of, the plainest form first.
    pub matches: Vec<MatchView>,
    /// Matches that are not listed.
    pub matches_left_out: usize,
}

/// What is said of a read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum RecognisedKind {
    /// It is a form of a known chip, or contains one.
    Is,
    /// Probably the same.
    Likely,
    /// None of them; this one is the nearest.
    Nearest,
    /// One byte throughout.
    Constant,
    /// Nothing known.
    Unknown,
}

/// A known chip that a read is.
#[derive(Serialize)]
pub struct MatchView {
    /// The known chip.
    pub known: String,
    /// In what form.
    pub form: FormView,
    /// The read that makes the known chip together with this one.
    pub other: Option<String>,
    /// Bytes that differ.
    pub differing: usize,
    /// Bytes compared.
    pub compared: usize,
    /// What would explain it, as a sentence without a full stop.
    pub finding: Option<String>,
}

impl RecogniseReport {
    /// The picture of the answers about reads, each with its name and size in bytes.
    pub fn new<'r>(
        reads: impl Iterator<Item = (&'r str, usize)> + Clone,
        known: &KnownSet,
        answers: &[Identity],
    ) -> Self {
        let mut found = vec![false; known.names.len()];
        let mut rows = Vec::new();
        for ((read, bytes), identity) in reads.clone().zip(answers) {
            let (answer, value) = match identity.answer {
                Recognised::Is => (RecognisedKind::Is, None),
                Recognised::IsLikely => (RecognisedKind::Likely, None),
                Recognised::Nearest => (RecognisedKind::Nearest, None),
                Recognised::Constant(value) => (RecognisedKind::Constant, Some(value)),
                _ => (RecognisedKind::Unknown, None),
            };
            let told = matches!(answer, RecognisedKind::Is | RecognisedKind::Likely);
            for one in identity.matches.iter().filter(|_| told) {
                if let Some(found) = found.get_mut(one.known) {
                    *found = true;
                }
            }
            let other = |n: usize| Some(reads.clone().nth(n)?.0.to_owned());
            let view = |one: &identify::Match| MatchView {
                known: known.names.get(one.known).cloned().unwrap_or_default(),
                form: FormView::from(&one.form),
                other: one.beside.and_then(other),
                differing: one.difference.as_ref().map_or(0, |d| d.bytes),
                compared: one.difference.as_ref().map_or(bytes, |d| d.compared),
                finding: finding(one),
            };
            rows.push(RecognisedRead {
                read: read.to_owned(),
                bytes,
                answer,
                value,
                matches: identity.matches.iter().map(view).collect(),
                matches_left_out: identity.left_out,
            });
        }
        let missing = found.iter().zip(&known.names).filter(|(found, _)| !**found);
        let missing: Vec<&String> = missing.map(|(_, name)| name).collect();
        Self {
            reads: rows,
            missing: missing.iter().take(MISSING).map(|n| (*n).clone()).collect(),
            missing_left_out: missing.len().saturating_sub(MISSING),
            tried: Tried {
                references: known.references,
                lists: known.lists,
                sums: known.sums,
            },
            left_out: known.left_out.clone(),
        }
    }

    /// Whether every read is a known chip, byte for byte in some form.
    pub fn all_known(&self) -> bool {
        let exact = |read: &RecognisedRead| {
            let first = read.matches.first();
            read.is_told() && first.is_some_and(|first| first.differing == 0)
        };
        self.reads.iter().all(exact)
    }

    /// `12 references, 3 lists with 250,000 sums`.
    fn tried(&self) -> String {
        let tried = &self.tried;
        let mut parts = Vec::new();
        if tried.references > 0 {
            parts.push(plural(tried.references, "reference"));
        }
        if tried.lists > 0 {
            let sums = plural(tried.sums, "sum");
            parts.push(format!("{} with {sums}", plural(tried.lists, "list")));
        }
        parts.join(", ")
    }
}

/// What would explain a difference, or where the bytes are from. What only counts them adds nothing.
fn finding(one: &identify::Match) -> Option<String> {
    let difference = one.difference.as_ref()?;
    let story = difference.story.as_ref()?;
    let says = story.predicts() || matches!(story.first, Model::Moves(_));
    says.then(|| story.sentences(&Names::NONE).finding)
}

impl MatchView {
    fn is_exact(&self) -> bool {
        self.differing == 0 && self.finding.is_none()
    }
}

impl RecognisedRead {
    fn is_told(&self) -> bool {
        matches!(self.answer, RecognisedKind::Is | RecognisedKind::Likely)
    }

    /// What is said, line by line.
    fn lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        match (self.answer, self.value) {
            (RecognisedKind::Constant, Some(0xFF)) => {
                lines.push("is all FF: blank, not selected or not there".to_owned());
            }
            (RecognisedKind::Constant, value) => {
                lines.push(format!("is all {:02X}", value.unwrap_or(0)));
            }
            (RecognisedKind::Unknown, _) => lines.push("is unknown".to_owned()),
            _ => {}
        }
        let mut said: Option<&String> = None;
        let mut names: HashSet<String> = HashSet::new();
        for (n, one) in self.matches.iter().take(MATCHES).enumerate() {
            let verb = match (self.answer, n, contains(&one.form, self.bytes)) {
                (RecognisedKind::Nearest, 0, _) => "is none of them; nearest is ",
                (RecognisedKind::Nearest, _, true) if one.is_exact() => "it contains ",
                (RecognisedKind::Nearest, ..) => "as near is ",
                (RecognisedKind::Likely, 0, false) => "is likely ",
                (RecognisedKind::Likely, 0, true) => "likely contains ",
                (_, 0, false) => "is ",
                (_, 0, true) => "contains ",
                (_, _, false) => "also ",
                (_, _, true) => "also contains ",
            };
            let name: String = one.known.chars().map(safe_char).collect();
            let mut line = format!("{verb}{}", phrase(&one.form, &name, self.bytes));
            if let Some(other) = &one.other {
                let other: String = other.chars().map(safe_char).collect();
                line += &format!(", beside {other}");
            }
            if one.differing > 0 {
                line += &format!(
                    "{} {} of {} {}",
                    if self.is_told() { ", but" } else { ":" },
                    thousands(one.differing as u64),
                    plural(one.compared as u64, "byte"),
                    if one.differing == 1 {
                        "differs"
                    } else {
                        "differ"
                    }
                );
            }
            // A list may have a sum twice.
            if !names.insert(line.replacen(verb, "", 1)) {
                continue;
            }
            lines.push(line);
            if one.finding.as_ref() != said {
                lines.extend(one.finding.clone());
                said = one.finding.as_ref();
            }
        }
        let more = self.matches.len().saturating_sub(MATCHES) + self.matches_left_out;
        if more > 0 {
            lines.push(format!("and {} more", plural(more as u64, "known chip")));
        }
        lines
    }
}

impl Report for RecogniseReport {
    const STEP: &'static str = "recognise";

    fn text(&self, style: Style) -> String {
        let safe = |name: &str| name.chars().map(safe_char).collect::<String>();
        let names = self.reads.iter().map(|read| read.read.chars().count());
        let width = names.max().unwrap_or(0);
        let mut out = String::new();
        for read in &self.reads {
            let mut front = style.strong(&safe(&read.read));
            let mut gap = width - read.read.chars().count() + 3;
            for line in read.lines() {
                out += &format!("{front}{}{line}\n", " ".repeat(gap));
                (front, gap) = (String::new(), width + 3);
            }
        }
        let missing = self.missing.len() + self.missing_left_out;
        if missing > NAMES {
            let all = self.tried.references + self.tried.sums;
            out += &format!(
                "not among these reads: {} of {}\n",
                thousands(missing as u64),
                plural(all, "known chip")
            );
        } else if missing > 0 {
            let names: Vec<String> = self.missing.iter().map(|name| safe(name)).collect();
            out += &format!("not among these reads: {}\n", names.join(", "));
        }
        let open = |read: &RecognisedRead| {
            matches!(
                read.answer,
                RecognisedKind::Nearest | RecognisedKind::Unknown
            )
        };
        if self.reads.iter().any(open) {
            out += &format!("tried: {}\n", self.tried());
        }
        for left_out in self.left_out.iter().take(NAMES) {
            let file = safe(&left_out.file);
            out += &format!("left out: {file}: {}\n", safe(&left_out.why));
        }
        if let Some(more) = self.left_out.len().checked_sub(NAMES + 1) {
            out += &format!("left out: {} more\n", plural(more as u64 + 1, "file"));
        }
        out
    }
}
