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
    /// The lines that are left out, one sentence each.
    #[serde(skip)]
    left_out_lines: Vec<String>,
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
            left_out_lines: (salvaged.left_out.iter())
                .map(|(file, lines)| {
                    let numbers = match lines.first == lines.last {
                        true => format!("line {}", lines.first),
                        false => format!("lines {} to {}", lines.first, lines.last),
                    };
                    let (bytes, damaged) = (plural(lines.bytes, "byte"), lines.damaged);
                    format!("{numbers}, {bytes}: {file} line {damaged} is damaged")
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
        for lines in &self.left_out_lines {
            out += &format!("left out {lines}\n");
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
