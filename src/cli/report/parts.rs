//! The part table as a list.

use serde::Serialize;

use super::document::Report;
use super::style::{Style, size_text};
use crate::parts::{Drive, Part};

/// Up to this many parts are shown with everything, more with a line each.
const FEW: usize = 4;

/// The parts that were asked for.
#[derive(Serialize)]
pub struct PartsReport<'a> {
    /// In the order of the table.
    pub parts: Vec<&'a Part>,
}

impl Report for PartsReport<'_> {
    const STEP: &'static str = "parts";

    fn text(&self, style: Style) -> String {
        let width = self.parts.iter().map(|p| p.name.len()).max().unwrap_or(0);
        let kind = self.parts.iter().map(|p| p.kind.name().len()).max();
        let kind = kind.unwrap_or(0);
        let mut out = String::new();
        for part in &self.parts {
            let name = format!("{:width$}", part.name);
            let erased = part
                .erased
                .map_or("not erasable".into(), |b| format!("erased {b:02X}"));
            let mut remarks: Vec<String> = Vec::new();
            remarks.extend(part.page.map(|n| format!("pages of {n}")));
            remarks.extend(
                part.sector
                    .map(|n| format!("sectors of {}", size_text(n.into()))),
            );
            remarks.extend(part.sectors.as_ref().map(|s| format!("sectors {s}")));
            remarks.extend(part.program_volts.map(|v| format!("{v} V")));
            if part.outputs == Drive::OpenCollector {
                remarks.push("open collector".into());
            }
            if !part.also.is_empty() {
                remarks.push(format!("also {}", part.also.join(" ")));
            }
            let line = format!(
                "{}  {:>7}  {:kind$}  {} pins  {erased}",
                style.strong(&name),
                part.organisation(),
                part.kind.name(),
                part.pins,
            );
            out += &line;
            if !remarks.is_empty() {
                let gap = "not erasable".len() - erased.len() + 2;
                out += &format!("{:gap$}{}", "", style.faint(&remarks.join(", ")));
            }
            out.push('\n');
            if self.parts.len() <= FEW {
                out += &details(part, style);
            }
        }
        out
    }
}

/// What to watch for, and where the row comes from.
fn details(part: &Part, style: Style) -> String {
    let line = |text: String| format!("  {}\n", style.faint(&text));
    let mut out = String::new();
    if !part.note.is_empty() {
        out += &line(part.note.clone());
    }
    out += &line(match part.pinout {
        None => format!("figures {}", part.source),
        Some(_) if part.source.starts_with(&part.pinout_source) => {
            format!("pins and figures {}", part.source)
        }
        Some(_) => format!("pins {}; figures {}", part.pinout_source, part.source),
    });
    out
}
