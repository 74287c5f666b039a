//! What could be read of damaged files.

use serde::Serialize;

use super::{RangeView, Report, Style, plural};
use crate::formats::Salvaged;

/// One file, or several copies of one.
#[derive(Serialize)]
pub struct Salvage {
    /// The files.
    pub files: Vec<String>,
    /// Sound data records taken.
    pub records: u64,
    /// Bytes that could be read.
    pub bytes: u64,
    /// Lines that could not be read.
    pub damaged_lines: u64,
    /// Sound records left out because their address is not certain.
    pub left_out_records: u64,
    /// Bytes left out for the same reason.
    pub left_out_bytes: u64,
    /// What is missing.
    pub missing: Vec<MissingSpan>,
    /// The lines that are left out.
    pub left_out: Vec<LinesLeftOut>,
}

/// Lines that are left out because it is not certain where their bytes belong.
#[derive(Serialize)]
pub struct LinesLeftOut {
    /// The file.
    pub file: String,
    /// The first of the lines, counted from 1.
    pub first_line: u64,
    /// The last.
    pub last_line: u64,
    /// Bytes in them.
    pub bytes: u64,
    /// The damaged line that makes them so.
    pub damaged_line: u64,
}

impl LinesLeftOut {
    fn text(&self) -> String {
        let numbers = match self.first_line == self.last_line {
            true => format!("line {}", self.first_line),
            false => format!("lines {} to {}", self.first_line, self.last_line),
        };
        let (bytes, file, damaged) = (plural(self.bytes, "byte"), &self.file, self.damaged_line);
        format!("left out {numbers}, {bytes}: {file} line {damaged} is damaged\n")
    }
}

/// Addresses without a byte that very probably had one.
#[derive(Serialize)]
pub struct MissingSpan {
    /// First and last address.
    #[serde(flatten)]
    pub range: RangeView,
    /// The file.
    pub file: String,
    /// Why they are missing.
    pub why: String,
}

impl Salvage {
    /// For these files.
    pub fn new(files: Vec<String>, salvaged: &Salvaged) -> Self {
        Self {
            files,
            records: salvaged.records,
            bytes: salvaged.bytes,
            damaged_lines: salvaged.damaged_lines,
            left_out_records: salvaged.left_out_records,
            left_out_bytes: salvaged.left_out_bytes,
            missing: (salvaged.missing.iter())
                .map(|m| MissingSpan {
                    range: m.range.into(),
                    file: m.file.to_string(),
                    why: m.why.to_string(),
                })
                .collect(),
            left_out: (salvaged.left_out.iter())
                .map(|(file, lines)| LinesLeftOut {
                    file: file.to_string(),
                    first_line: lines.first,
                    last_line: lines.last,
                    bytes: lines.bytes,
                    damaged_line: lines.damaged,
                })
                .collect(),
        }
    }
}

impl Report for Salvage {
    const STEP: &'static str = "load";

    fn text(&self, style: Style) -> String {
        let mut out = format!(
            "salvaged from {}: {} in {}, {} damaged\n",
            style.strong(&self.files.join(" and ")),
            plural(self.bytes, "byte"),
            plural(self.records, "record"),
            plural(self.damaged_lines, "line"),
        );
        if self.left_out_bytes > 0 {
            out += "left out, without a certain address: ";
            if self.left_out_records > 0 {
                out += &format!("{}, ", plural(self.left_out_records, "record"));
            }
            out += &format!("{}\n", plural(self.left_out_bytes, "byte"));
        }
        for lines in &self.left_out {
            out += &lines.text();
        }
        let last = self.missing.iter().map(|m| m.range.last).max().unwrap_or(0);
        let width = super::address_width(last);
        for missing in &self.missing {
            let RangeView { first, last } = missing.range;
            out += &format!(
                "missing {}, {}: {} {}\n",
                missing.range.text(width),
                plural(last - first + 1, "byte"),
                missing.file,
                missing.why
            );
        }
        if self.missing.is_empty() && self.left_out_bytes == 0 {
            out += match self.damaged_lines {
                0 => "nothing is missing\n",
                _ => "which bytes are missing is not known\n",
            };
        }
        out
    }
}
