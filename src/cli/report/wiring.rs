//! Lines that a board has scrambled, and the step that undoes it.

use serde::Serialize;

use super::document::Report;
use super::style::Style;
use super::verdict::{Paragraph, sentence, verdict};
use crate::faults::recovery::Recovered;
use crate::prose::plural;
use crate::wiring::Line;

/// Whether a wiring turns the wanted image into the read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WiringAnswer {
    /// They are the same: all lines are straight.
    Straight,
    /// This one does.
    Rewired,
    /// None was found.
    None,
}

/// Lines that a board has scrambled, found again.
#[derive(Serialize)]
pub struct WiringReport {
    /// Labels of the reads.
    pub reads: Vec<String>,
    /// The image that was rewired.
    pub wanted: String,
    /// What was found.
    pub verdict: WiringAnswer,
    /// For each address line of the chip, from A0 up, the image's line it is wired to.
    pub address: Vec<u8>,
    /// For each data line of the chip, from D0 up, the image's line it is wired to.
    pub data: Vec<u8>,
    /// Lines of the chip that are inverted besides, as `A3`.
    pub inverted: Vec<String>,
    /// Groups of the image's lines that can't be told apart by it, as `A8`.
    pub alike: Vec<Vec<String>>,
    /// Whether other inversions would do the same.
    pub other_inversions: bool,
    /// The step that undoes it.
    pub undo: Option<String>,
    /// Why nothing was found.
    pub why_not: Option<String>,
    /// Bytes of the image.
    pub bytes: u64,
}

impl WiringReport {
    /// The picture of a recovered wiring, which the step `undo` undoes.
    pub fn new(
        reads: &[String],
        wanted: &str,
        bytes: usize,
        found: &Recovered,
        undo: Option<String>,
    ) -> Self {
        let wiring = &found.wiring;
        let named = |groups: &[Vec<u8>], line: fn(u8) -> Line| -> Vec<Vec<String>> {
            let name = |group: &Vec<u8>| group.iter().map(|n| line(*n).to_string()).collect();
            groups.iter().map(name).collect()
        };
        let mut alike = named(&found.alike_address, Line::Address);
        alike.extend(named(&found.alike_data, Line::Data));
        Self {
            reads: reads.to_vec(),
            wanted: wanted.into(),
            verdict: match wiring.is_straight() {
                true => WiringAnswer::Straight,
                false => WiringAnswer::Rewired,
            },
            address: wiring.address().to_vec(),
            data: wiring.data().to_vec(),
            inverted: wiring.inverted().map(|line| line.to_string()).collect(),
            alike,
            other_inversions: found.other_inversions,
            undo,
            why_not: None,
            bytes: bytes as u64,
        }
    }

    /// The picture of none.
    pub fn none(reads: &[String], wanted: &str, bytes: usize, why_not: String) -> Self {
        Self {
            reads: reads.to_vec(),
            wanted: wanted.into(),
            verdict: WiringAnswer::None,
            address: Vec::new(),
            data: Vec::new(),
            inverted: Vec::new(),
            alike: Vec::new(),
            other_inversions: false,
            undo: None,
            why_not: Some(why_not),
            bytes: bytes as u64,
        }
    }

    fn moved(&self) -> Vec<String> {
        let of = |list: &[u8], line: fn(u8) -> Line| -> Vec<String> {
            let moved = (0u8..).zip(list).filter_map(|(n, &to)| {
                let name = line(n).to_string();
                let inverted = self.inverted.contains(&name);
                let turned = if inverted { ", inverted" } else { "" };
                (n != to || inverted).then(|| format!("{name} to {}{turned}", line(to)))
            });
            moved.collect()
        };
        let mut out = of(&self.address, Line::Address);
        out.extend(of(&self.data, Line::Data));
        out
    }
}

impl Report for WiringReport {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let reads: Vec<String> = self.reads.iter().map(|read| style.strong(read)).collect();
        let mut out = format!("{} against {}: its wiring\n", reads.join(", "), self.wanted);
        let (mut because, mut next) = (Vec::<Paragraph>::new(), Vec::<Paragraph>::new());
        let finding = match (&self.why_not, &self.undo) {
            (Some(why), _) => vec![sentence(why).into()],
            (None, None) => vec!["All lines are straight.".into()],
            (None, Some(_)) => {
                next.push("Undo it with this step:".into());
                let mut lines = vec![
                    "The chip's lines are wired to the image's so, all others straight:".into(),
                ];
                lines.extend(self.moved().into_iter().map(Paragraph::Item));
                lines
            }
        };
        if self.why_not.is_none() {
            let all = plural(self.bytes, "byte");
            because.push(format!("That turns the image into the read in all {all}.").into());
        }
        for group in &self.alike {
            because.push(
                format!(
                    "This image can't tell {} apart: exchanging them makes no difference in it.",
                    group.join(", ")
                )
                .into(),
            );
        }
        if self.other_inversions {
            because.push("Other inversions of these lines would make the same read.".into());
        }
        if !self.alike.is_empty() || self.other_inversions {
            because.push(
                "To tell them apart, burn the pattern `random` and read that through the same wires."
                    .into(),
            );
        }
        out += &verdict(style, finding, because, next);
        // A command stands on one line, to be copied.
        if let Some(undo) = &self.undo {
            out += &format!("    {undo}\n");
        }
        out
    }
}
