//! What files contain, and which of their format's rules they break.

use serde::Serialize;

use super::{RangeView, Report, Style, plural};
use crate::formats::{Finding, Findings, Format, Severity};
use crate::image::{AddressRange, Image};

/// How many ranges and holes of one file are printed; more are only counted.
const MOST_RANGES: usize = 20;

/// All files that were checked.
#[derive(Serialize)]
pub struct Check {
    /// In the order given.
    pub files: Vec<CheckedFile>,
}

/// One file.
#[derive(Serialize)]
pub struct CheckedFile {
    /// Its name.
    pub file: String,
    /// The format.
    pub format: &'static str,
    /// Its form, where the format has several.
    pub form: Option<&'static str>,
    /// How many rules are broken, shown or not.
    pub broken: u64,
    /// Broken rules, the first ones.
    pub errors: Vec<Remark>,
    /// What is odd and breaks no rule that counts.
    pub oddities: Vec<Remark>,
    /// Data records; in formats without records, lines of data.
    pub data_records: u64,
    /// Records of other kinds.
    pub other_records: Vec<RecordKind>,
    /// Bytes, each address counted once.
    pub bytes: u64,
    /// Addresses with bytes.
    pub ranges: Vec<RangeView>,
    /// Holes between them.
    pub gaps: Vec<RangeView>,
    /// How often a record is below the one before it.
    pub steps_back: u64,
    /// The first line that does.
    pub first_step_back: Option<u64>,
    /// Entry point.
    pub entry: Option<u64>,
    /// Header text, bytes that are not UTF-8 replaced.
    pub header: Option<String>,
}

/// Records of one kind.
#[derive(Serialize)]
pub struct RecordKind {
    /// The kind.
    pub kind: &'static str,
    /// How many there are.
    pub records: u64,
}

/// Something found at one place.
#[derive(Serialize)]
pub struct Remark {
    /// Line, counted from 1; none where the file as a whole is meant.
    pub line: Option<u64>,
    /// Column, counted from 1.
    pub column: Option<u64>,
    /// What is wrong, with what was found and what was expected.
    pub text: String,
    /// What would explain it.
    pub causes: Vec<String>,
    /// More places of the same kind.
    pub more: u64,
}

impl From<&Finding> for Remark {
    fn from(finding: &Finding) -> Self {
        let label = finding.problem.label();
        let colon = if label.is_empty() { "" } else { ": " };
        Self {
            line: finding.place.as_ref().map(|p| p.line),
            column: finding.place.as_ref().map(|p| p.column),
            text: format!("{}{colon}{label}", finding.problem),
            causes: finding
                .explanations
                .iter()
                .map(ToString::to_string)
                .collect(),
            more: finding.repeats,
        }
    }
}

impl CheckedFile {
    /// What a reader of `format` found.
    pub fn new(file: String, format: &dyn Format, findings: &Findings, image: &Image) -> Self {
        let remarks = |severity: Severity| {
            let all = findings.list().iter();
            let of_this_kind = all.filter(|f| f.severity == severity);
            of_this_kind.map(Remark::from).collect()
        };
        let spans =
            |ranges: &mut dyn Iterator<Item = AddressRange>| ranges.map(RangeView::from).collect();
        let facts = &findings.facts;
        let extent = image.extent();
        Self {
            file,
            format: format.name(),
            form: facts.form,
            broken: findings.errors(),
            errors: remarks(Severity::Error),
            oddities: remarks(Severity::Warning),
            data_records: facts.arrival.records,
            other_records: (facts.others.iter())
                .map(|&(kind, records)| RecordKind { kind, records })
                .collect(),
            bytes: image.len(),
            ranges: spans(&mut image.ranges()),
            gaps: spans(&mut extent.iter().flat_map(|e| image.holes(*e))),
            steps_back: facts.arrival.steps_back,
            first_step_back: facts.arrival.first_step_back,
            entry: image.entry.map(|e| e.address()),
            header: image
                .header
                .as_ref()
                .map(|h| String::from_utf8_lossy(h).into_owned()),
        }
    }

    fn text(&self, style: Style) -> String {
        let verdict = match self.broken {
            0 => "keeps the rules".into(),
            n => style.bad(&format!("breaks the rules, {}", plural(n, "time"))),
        };
        let form = self.form.map_or(String::new(), |f| format!(" {f}"));
        let mut out = format!(
            "{}  {}{form}, {verdict}\n",
            style.strong(&self.file),
            self.format
        );
        let mut records = Vec::new();
        if self.data_records > 0 {
            records.push(format!(
                "{} of data",
                super::plural(self.data_records, "record")
            ));
        }
        records.extend(
            self.other_records
                .iter()
                .map(|k| format!("{} of {}", k.records, k.kind)),
        );
        if !records.is_empty() {
            out += &format!("  {}\n", records.join(", "));
        }
        if let Some(line) = self.first_step_back {
            out += &format!(
                "  addresses step back {}, first at line {line}\n",
                plural(self.steps_back, "time")
            );
        } else if self.data_records > 1 {
            out += "  addresses rise\n";
        }
        let last = self.ranges.last().map_or(0, |r| r.last);
        let width = super::address_width(last.max(self.entry.unwrap_or(0)));
        let span = |s: &RangeView| s.text(width);
        for (i, range) in self.ranges.iter().enumerate().take(MOST_RANGES) {
            let bytes = plural(range.last - range.first + 1, "byte");
            out += &format!("  {}  {bytes}\n", span(range));
            if let Some(gap) = self.gaps.get(i) {
                let bytes = plural(gap.last - gap.first + 1, "byte");
                out += &style.faint(&format!("  {}  hole of {bytes}", span(gap)));
                out.push('\n');
            }
        }
        if let Some(more @ 1..) = self.ranges.len().checked_sub(MOST_RANGES) {
            out += &format!("  and {} more\n", plural(more as u64, "range"));
        }
        if let Some(entry) = self.entry {
            out += &format!("  entry point {entry:0width$X}\n");
        }
        if let Some(header) = &self.header {
            let safe: String = header.chars().filter(|c| !c.is_control()).collect();
            out += &format!("  header \"{safe}\"\n");
        }
        for (word, remarks) in [("broken", &self.errors), ("odd", &self.oddities)] {
            for remark in remarks {
                let place = match (remark.line, remark.column) {
                    (Some(line), Some(column)) => format!("line {line}, column {column}: "),
                    _ => String::new(),
                };
                let more = match remark.more {
                    0 => String::new(),
                    n => format!(", and {} more like this", plural(n, "place")),
                };
                out += &format!("  {word}: {place}{}{more}\n", remark.text);
            }
        }
        if let Some(more @ 1..) = self.broken.checked_sub(self.errors.len() as u64) {
            out += &format!("  and {} more\n", plural(more, "broken rule"));
        }
        out
    }
}

impl Report for Check {
    const STEP: &'static str = "check";

    fn text(&self, style: Style) -> String {
        self.files.iter().map(|f| f.text(style)).collect()
    }
}
