//! What a reader has to say about a file: errors and oddities as data, each with its place.
//!
//! A reader goes on after an error, so that one run shows all of them; what happens then depends on how strictly the caller
//! reads.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use super::explain::{self, RecordRules};
use super::explanation::Explanation;
use super::facts::{Facts, LeftOutLines};
use super::line::TextLine;
use super::place::TextPlace;
use super::problem::Problem;

/// How strictly a file is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Strictness {
    /// Accepts what real tools write if it does no harm, and warns where it is odd.
    #[default]
    Usual,
    /// Refuses everything that the format's rules refuse.
    Strict,
    /// Takes every sound record of a damaged file and leaves holes for the rest.
    Salvage,
}

/// Whether a finding stops the file from being used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The file can be used; something in it is odd.
    Warning,
    /// The file breaks a rule that matters.
    Error,
}

/// This many errors are kept with their place; more are only counted.
pub(super) const MOST_ERRORS: usize = 20;

/// One thing found at one place.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Whether the file can still be used.
    pub severity: Severity,
    /// What is wrong.
    pub problem: Problem,
    /// Where; `None` when it concerns the file as a whole.
    pub place: Option<TextPlace>,
    /// How many more of the same kind were found and not kept.
    pub repeats: u64,
    /// What would explain it, where that is known.
    pub explanations: Vec<Explanation>,
}

/// Everything found in one file, in order.
#[derive(Clone, Debug)]
pub struct Findings {
    /// The file's name in messages.
    pub file: Arc<str>,
    /// How strictly it is read.
    pub strictness: Strictness,
    /// What was counted on the way.
    pub facts: Facts,
    list: Vec<Finding>,
    errors: u64,
    /// The damaged record that was looked at last, with its line.
    last_damaged: Option<(u64, Vec<u8>)>,
    seeks_explanations: bool,
}

impl Findings {
    /// Nothing found yet.
    pub fn new(file: Arc<str>, strictness: Strictness) -> Self {
        Self {
            file,
            strictness,
            facts: Facts::default(),
            list: Vec::new(),
            errors: 0,
            last_damaged: None,
            seeks_explanations: true,
        }
    }

    /// The same, without looking for what would explain a damage: for callers that only count.
    pub fn without_explanations(self) -> Self {
        Self {
            seeks_explanations: false,
            ..self
        }
    }

    /// Everything that was kept, in order.
    pub fn list(&self) -> &[Finding] {
        &self.list
    }

    /// How many errors there were, kept or not.
    pub fn errors(&self) -> u64 {
        self.errors
    }

    /// Errors that were counted but not kept.
    pub fn errors_not_shown(&self) -> u64 {
        let kept = self
            .list
            .iter()
            .filter(|f| f.severity == Severity::Error)
            .count();
        self.errors - kept as u64
    }

    /// Whether rules are enforced too whose breach does no harm.
    pub fn is_strict(&self) -> bool {
        self.strictness == Strictness::Strict
    }

    /// A broken rule that makes the record, or the file, unusable.
    #[cold]
    pub(super) fn error(&mut self, place: Option<TextPlace>, problem: Problem) {
        self.errors += 1;
        if self.errors as usize <= MOST_ERRORS {
            self.list.push(Finding {
                severity: Severity::Error,
                problem,
                place,
                repeats: 0,
                explanations: Vec::new(),
            });
        }
    }

    /// As [`error`](Self::error), but the place is worked out only if it is kept: a line may contain any number of words,
    /// and finding a column means walking along it.
    #[cold]
    pub(super) fn error_at(&mut self, place: impl FnOnce() -> TextPlace, problem: Problem) {
        let place = (self.errors < MOST_ERRORS as u64).then(place);
        self.error(place, problem);
    }

    /// A record that is not sound: its place and problem, and what would explain it.
    #[cold]
    pub(super) fn damaged_record(
        &mut self,
        line: &TextLine<'_>,
        text: Range<usize>,
        (mark, problem): (Range<usize>, Problem),
        rules: &RecordRules<'_>,
    ) {
        let shown = self.errors < MOST_ERRORS as u64;
        self.error_at(|| TextPlace::new(line, mark), problem);
        if !shown || !self.seeks_explanations {
            return;
        }
        let record = &line.bytes[text.clone()];
        let before = self.last_damaged.take();
        let before = before.filter(|(number, _)| number + 1 == line.number);
        let broken =
            before.and_then(|(number, first)| explain::of_two((number, &first), record, rules));
        match broken {
            Some(cause) => self.explain_last(vec![cause]),
            None => self.explain_last(explain::of_record(line, text, rules)),
        }
        self.last_damaged = Some((line.number, record.to_vec()));
    }

    /// Salvage, in formats without records: the line is damaged when it caused errors; `before` is how many there were before it.
    pub(super) fn note_damage(&mut self, before: u64, line: u64) {
        if self.errors > before && self.is_salvage() {
            self.facts.damaged_line(line, None);
        }
    }

    /// Salvage: a sound record is left out, and it was said why.
    #[cold]
    pub(super) fn leave_out_record(&mut self, line: u64, bytes: usize) {
        if self.is_salvage() {
            let mut lines = LeftOutLines::after(line);
            lines.add(line, bytes as u64);
            self.facts.leave_out(lines);
        }
    }

    /// Adds what would explain the finding noted last.
    pub(super) fn explain_last(&mut self, explanations: Vec<Explanation>) {
        if let Some(last) = self.list.last_mut() {
            last.explanations = explanations;
        }
    }

    /// Adds what would explain the finding of one kind, if there is one and nothing explains it yet.
    pub(super) fn explain(
        &mut self,
        is: impl Fn(&Problem) -> bool,
        cause: impl FnOnce(&Problem) -> Option<Explanation>,
    ) {
        let finding = self
            .list
            .iter_mut()
            .find(|f| is(&f.problem) && f.explanations.is_empty());
        if let Some(finding) = finding {
            finding.explanations.extend(cause(&finding.problem));
        }
    }

    /// Whether every sound record counts, however damaged the file is.
    pub fn is_salvage(&self) -> bool {
        self.strictness == Strictness::Salvage
    }

    /// Something odd: a warning, an error when reading strictly.
    #[cold]
    pub(super) fn odd(&mut self, place: Option<TextPlace>, problem: Problem) {
        match self.is_strict() {
            true => self.error(place, problem),
            false => self.warning(place, problem),
        }
    }

    /// Something that is odd in a sound file and a sign of damage in a damaged one: a warning, an error when reading
    /// strictly or in salvage.
    #[cold]
    pub(super) fn suspect(&mut self, place: Option<TextPlace>, problem: Problem) {
        match self.is_salvage() {
            true => self.error(place, problem),
            false => self.odd(place, problem),
        }
    }

    /// Something to know about a file although it breaks no rule, however strictly it is read.
    #[cold]
    pub(super) fn warning(&mut self, place: Option<TextPlace>, problem: Problem) {
        match self.warning_like(&problem) {
            Some(first) => first.repeats += 1,
            None => self.list.push(Finding {
                severity: Severity::Warning,
                problem,
                place,
                repeats: 0,
                explanations: Vec::new(),
            }),
        }
    }

    /// As [`warning`](Self::warning), but the place is worked out only if it is kept.
    #[cold]
    pub(super) fn warning_at(&mut self, place: impl FnOnce() -> TextPlace, problem: Problem) {
        let known = self.warning_like(&problem).is_some();
        self.warning((!known).then(place), problem);
    }

    /// The warning of the same kind, if there is one.
    fn warning_like(&mut self, problem: &Problem) -> Option<&mut Finding> {
        let kind = std::mem::discriminant(problem);
        self.list
            .iter_mut()
            .find(|f| f.severity == Severity::Warning && std::mem::discriminant(&f.problem) == kind)
    }

    /// Something that only the strict rules refuse: silent otherwise.
    #[cold]
    pub(super) fn strictly(&mut self, place: Option<TextPlace>, problem: Problem) {
        if self.is_strict() {
            self.error(place, problem);
        }
    }

    /// As [`strictly`](Self::strictly), but the place is worked out only if it is kept.
    #[cold]
    pub(super) fn strictly_at(&mut self, place: impl FnOnce() -> TextPlace, problem: Problem) {
        if self.is_strict() {
            self.error_at(place, problem);
        }
    }
}

/// `line 7, column 42: the checksum is wrong: says 3C, the record's bytes give 3B`, for logs and plain text.
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "line {}, column {}: ", place.line, place.column)?;
        }
        write!(f, "{}", self.problem)?;
        match self.problem.label() {
            label if label.is_empty() => Ok(()),
            label => write!(f, ": {label}"),
        }
    }
}
