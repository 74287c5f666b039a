//! Lines that a board has scrambled, and the step that undoes it.

use serde::Serialize;

use super::verdict::{sentence, verdict};
use super::{Report, Style, plural};
use crate::faults::Line;
use crate::faults::wiring::Recovered;

/// Lines that a board has scrambled, found again.
#[derive(Serialize)]
pub struct Rewired {
    /// Labels of the reads.
    pub reads: Vec<String>,
    /// The image that was rewired.
    pub wanted: String,
    /// `straight`, `rewired` or `none`.
    pub verdict: &'static str,
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

impl Rewired {
    /// The picture of a recovered wiring.
    pub fn new(reads: &[String], wanted: &str, bytes: usize, found: &Recovered) -> Self {
        let wiring = &found.wiring;
        let straight = |list: &[u8]| {
            list.iter()
                .enumerate()
                .all(|(i, line)| i == usize::from(*line))
        };
        let bits = |mask: u32, line: fn(u8) -> Line| {
            let set = (0..32u8).filter(move |n| mask >> n & 1 == 1);
            set.map(move |n| line(n).to_string())
        };
        let inverted = bits(wiring.address_inverted, Line::Address)
            .chain(bits(wiring.data_inverted.into(), Line::Data));
        let inverted: Vec<String> = inverted.collect();
        let list = |lines: &[u8]| {
            let lines: Vec<String> = lines.iter().map(u8::to_string).collect();
            lines.join(",")
        };
        let words = wiring.data.len() > 8;
        let mut undo = String::from("rewire --inverse");
        if words {
            undo += " --words";
        }
        for (option, lines) in [("address", &wiring.address), ("data", &wiring.data)] {
            if !straight(lines) {
                undo += &format!(" --{option} {}", list(lines));
            }
        }
        if !inverted.is_empty() {
            undo += &format!(" --inverted {}", inverted.join(","));
        }
        let is_straight =
            straight(&wiring.address) && straight(&wiring.data) && inverted.is_empty();
        let named = |groups: &[Vec<u8>], line: fn(u8) -> Line| -> Vec<Vec<String>> {
            let name = |group: &Vec<u8>| group.iter().map(|n| line(*n).to_string()).collect();
            groups.iter().map(name).collect()
        };
        let mut alike = named(&found.alike_address, Line::Address);
        alike.extend(named(&found.alike_data, Line::Data));
        Self {
            reads: reads.to_vec(),
            wanted: wanted.into(),
            verdict: if is_straight { "straight" } else { "rewired" },
            address: wiring.address.clone(),
            data: wiring.data.clone(),
            inverted,
            alike,
            other_inversions: found.other_inversions,
            undo: (!is_straight).then_some(undo),
            why_not: None,
            bytes: bytes as u64,
        }
    }

    /// The picture of none.
    pub fn none(reads: &[String], wanted: &str, bytes: usize, why_not: String) -> Self {
        Self {
            reads: reads.to_vec(),
            wanted: wanted.into(),
            verdict: "none",
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

impl Report for Rewired {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let reads: Vec<String> = self.reads.iter().map(|read| style.strong(read)).collect();
        let mut out = format!("{} against {}: its wiring\n", reads.join(", "), self.wanted);
        let (mut because, mut next) = (Vec::new(), Vec::new());
        let finding = match (&self.why_not, &self.undo) {
            (Some(why), _) => vec![sentence(why)],
            (None, None) => vec!["All lines are straight.".into()],
            (None, Some(_)) => {
                next.push("Undo it with this step:".into());
                let mut lines = vec![
                    "The chip's lines are wired to the image's so, all others straight:".into(),
                ];
                lines.extend(self.moved().into_iter().map(|line| format!("- {line}")));
                lines
            }
        };
        if self.why_not.is_none() {
            let all = plural(self.bytes, "byte");
            because.push(format!("That turns the image into the read in all {all}."));
        }
        for group in &self.alike {
            because.push(format!(
                "This image can't tell {} apart: exchanging them makes no difference in it.",
                group.join(", ")
            ));
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
