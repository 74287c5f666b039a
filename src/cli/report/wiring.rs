//! Lines that a board has scrambled, and the step that undoes it.

use serde::Serialize;

use super::address::address_width;
use super::diagnosis::Known;
use super::document::Report;
use super::style::Style;
use super::verdict::{Paragraph, sentence, verdict};
use crate::faults::recovery::{Ambiguity, Joint, Recovered};
use crate::faults::{Sentences, Sign};
use crate::prose::{plural, thousands};
use crate::wiring::{Line, Width, Wiring};

/// Whether a wiring turns the wanted image into the read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WiringAnswer {
    /// No line is scrambled.
    Straight,
    /// This one does.
    Rewired,
    /// None was found.
    None,
}

/// Lines that a board has scrambled, found again.
#[derive(Serialize)]
pub struct WiringReport {
    /// Names of the reads.
    pub reads: Vec<String>,
    /// The image that was rewired.
    pub wanted: String,
    /// What was found.
    pub verdict: WiringAnswer,
    /// Whether the images prove it: nothing is left over, and it can't be chance.
    pub certain: bool,
    /// For each address line of the chip, from A0 up, the image's line it is wired to.
    pub address: Vec<u8>,
    /// For each data line of the chip, from D0 up, the image's line it is wired to.
    pub data: Vec<u8>,
    /// Lines of the chip that are inverted too, such as `A3`.
    pub inverted: Vec<String>,
    /// Data lines of the chip that never move.
    pub dead: Vec<DeadView>,
    /// Bytes that the wiring does not explain.
    pub left_over: u64,
    /// Addresses of the first of them.
    pub left_over_at: Vec<u64>,
    /// Bits by which the wiring is cheaper to say than a list of all bytes that differ.
    pub gain_bits: u64,
    /// Groups of the image's lines, any two of which can be swapped and leave it the same.
    pub alike: Vec<Vec<String>>,
    /// Lines of the image that make no difference, so that it can't be seen whether they are inverted.
    pub idle: Vec<String>,
    /// Lines of the image that can be swapped or inverted only together with others.
    pub joint: Vec<JointView>,
    /// Whether it is proved that nothing else is left open.
    pub complete: bool,
    /// The step that undoes it.
    pub undo: Option<String>,
    /// Why nothing was found.
    pub why_not: Option<String>,
    /// Bytes of the image.
    pub bytes: u64,
    /// The word for a cell.
    #[serde(skip)]
    width: Width,
}

/// A data line that never moves.
#[derive(Serialize)]
pub struct DeadView {
    /// The chip's line, such as `D3`.
    pub line: String,
    /// Its pin on the part, where known.
    pub pin: Option<u8>,
    /// The level it stays at.
    pub level: u8,
    /// What is said about it.
    #[serde(skip)]
    said: Sentences,
}

/// Lines that can be swapped or inverted together with others.
#[derive(Serialize)]
pub struct JointView {
    /// The lines.
    pub lines: Vec<String>,
    /// `swapped`: any two of them; or `inverted`: each of them.
    pub change: &'static str,
    /// One example that leaves the image the same, in words.
    pub example: String,
}

impl WiringReport {
    /// The picture of a recovered wiring, which the step `undo` undoes; `first` is the address of the read's first byte.
    pub fn new(
        reads: &[String],
        wanted: &str,
        (bytes, first): (usize, u64),
        found: &Recovered,
        undo: Option<String>,
        known: Known<'_>,
    ) -> Self {
        let wiring = &found.wiring;
        let open: &Ambiguity = &found.open;
        let cell = wiring.width().bytes() as u64;
        let named = |groups: &[Vec<u8>], line: fn(u8) -> Line| -> Vec<Vec<String>> {
            let name = |group: &Vec<u8>| group.iter().map(|n| line(*n).to_string()).collect();
            groups.iter().map(name).collect()
        };
        let mut alike = named(&open.alike_address, Line::Address);
        alike.extend(named(&open.alike_data, Line::Data));
        let dead = found.dead.iter().map(|&(line, high)| DeadView {
            line: Line::Data(line).to_string(),
            pin: known.pin(Line::Data(line)),
            level: high.into(),
            said: known
                .said(|names| Sign::ConstantData { line, high }.sentences(wiring.width(), names)),
        });
        let left_over_at = found.left_over_at.iter();
        Self {
            reads: reads.to_vec(),
            wanted: wanted.into(),
            verdict: match wiring.is_straight() {
                true => WiringAnswer::Straight,
                false => WiringAnswer::Rewired,
            },
            certain: found.is_certain(),
            address: wiring.address().to_vec(),
            data: wiring.data().to_vec(),
            inverted: wiring.inverted().map(|line| line.to_string()).collect(),
            dead: dead.collect(),
            left_over: found.left_over as u64 * cell,
            left_over_at: left_over_at.map(|at| first + *at as u64 * cell).collect(),
            gain_bits: found.gain.max(0.0) as u64,
            alike,
            idle: open
                .idle
                .iter()
                .map(|n| Line::Address(*n).to_string())
                .collect(),
            joint: open.joint.iter().map(JointView::from).collect(),
            complete: open.complete,
            undo,
            why_not: None,
            bytes: bytes as u64,
            width: wiring.width(),
        }
    }

    /// The picture of none.
    pub fn none(reads: &[String], wanted: &str, bytes: usize, why_not: String) -> Self {
        Self {
            reads: reads.to_vec(),
            wanted: wanted.into(),
            verdict: WiringAnswer::None,
            certain: false,
            address: Vec::new(),
            data: Vec::new(),
            inverted: Vec::new(),
            dead: Vec::new(),
            left_over: 0,
            left_over_at: Vec::new(),
            gain_bits: 0,
            alike: Vec::new(),
            idle: Vec::new(),
            joint: Vec::new(),
            complete: false,
            undo: None,
            why_not: Some(why_not),
            bytes: bytes as u64,
            width: Width::Eight,
        }
    }

    /// What is not explained by it, for a message; `None` when all is.
    pub fn not_explained(&self) -> Option<String> {
        let mut parts: Vec<String> = self
            .dead
            .iter()
            .map(|dead| dead.said.finding.clone())
            .collect();
        if self.left_over > 0 {
            let left_over = plural(self.left_over, "byte");
            let verb = if self.left_over == 1 { "is" } else { "are" };
            parts.push(format!("{left_over} {verb} left over"));
        }
        (!parts.is_empty()).then(|| parts.join(", and "))
    }

    fn moved(&self) -> Vec<String> {
        let of = |list: &[u8], line: fn(u8) -> Line| -> Vec<String> {
            let moved = (0u8..).zip(list).filter_map(|(n, &to)| {
                let name = line(n).to_string();
                let inverted = self.inverted.contains(&name);
                let turned = if inverted { ", inverted" } else { "" };
                let moved = n != to || inverted;
                match self.dead.iter().find(|dead| dead.line == name) {
                    Some(_) => moved.then(|| format!("{name} to {}, the only one left", line(to))),
                    None => moved.then(|| format!("{name} to {}{turned}", line(to))),
                }
            });
            moved.collect()
        };
        let mut out = of(&self.address, Line::Address);
        out.extend(of(&self.data, Line::Data));
        out
    }

    fn findings(&self) -> Vec<Paragraph> {
        let mut out = Vec::new();
        match (&self.why_not, self.verdict) {
            (Some(why), _) => return vec![sentence(why).into()],
            (None, WiringAnswer::Straight) => out.push("All lines are straight.".into()),
            (None, _) => {
                out.push(
                    "The chip's lines are wired to the image's lines like this, all others straight:".into(),
                );
                out.extend(self.moved().into_iter().map(Paragraph::Item));
            }
        }
        out.extend(
            self.dead
                .iter()
                .map(|dead| sentence(&dead.said.finding).into()),
        );
        if self.left_over > 0 {
            let what = match self.verdict {
                WiringAnswer::Straight if self.left_over == 1 => "differs",
                WiringAnswer::Straight => "differ",
                _ if self.left_over == 1 => "is also wrong",
                _ => "are also wrong",
            };
            out.push(
                format!(
                    "{} of {} {what}.",
                    thousands(self.left_over),
                    plural(self.bytes, "byte")
                )
                .into(),
            );
        }
        if self.verdict == WiringAnswer::Rewired && !self.certain {
            let sure = match self.left_over == 0 && self.dead.is_empty() {
                true => "The read does not prove it: so few bytes may simply be wrong.",
                false => "This wiring is likely, but not certain.",
            };
            out.push(sure.into());
        }
        out
    }

    fn reasons(&self) -> Vec<Paragraph> {
        let mut out: Vec<Paragraph> = Vec::new();
        if self.why_not.is_some() {
            return out;
        }
        let all = plural(self.bytes, "byte");
        let lines = match self.dead.is_empty() {
            true => String::new(),
            false => ", in the lines that move".to_owned(),
        };
        let turns = match self.verdict {
            WiringAnswer::Straight => "Image and read are the same",
            _ => "That turns the image into the read",
        };
        match self.left_over {
            0 => out.push(format!("{turns} in all {all}{lines}.").into()),
            _ => {
                let explained = thousands(self.bytes - self.left_over);
                out.push(format!("{turns} in {explained} of {all}{lines}.").into());
                let w = address_width(self.left_over_at.last().copied().unwrap_or(0));
                let places: Vec<String> = self
                    .left_over_at
                    .iter()
                    .map(|at| format!("{at:0w$X}"))
                    .collect();
                let cells = self.left_over / self.width.bytes() as u64;
                let more = cells.saturating_sub(places.len() as u64);
                let more = match more {
                    0 => String::new(),
                    more => format!(" and {} more", thousands(more)),
                };
                out.push(format!("What is left over is at {}{more}.", places.join(", ")).into());
            }
        }
        if self.verdict == WiringAnswer::Rewired && (!self.certain || self.left_over > 0) {
            let gain = thousands(self.gain_bits);
            out.push(
                format!("It takes {gain} bits less to say than a list of all bytes that differ.")
                    .into(),
            );
        }
        let same = match self.dead.is_empty() {
            true => "changes no byte of it",
            false => "changes nothing in the lines that move",
        };
        for group in &self.alike {
            let two = if group.len() > 2 {
                "any two of them"
            } else {
                "them"
            };
            out.push(
                format!(
                    "This image can't tell {} apart: swapping {two} {same}.",
                    listed(group)
                )
                .into(),
            );
        }
        if !self.idle.is_empty() {
            let verb = if self.idle.len() == 1 {
                "makes"
            } else {
                "make"
            };
            out.push(
                format!(
                    "{} {verb} no difference in this image: an inversion there can't be seen.",
                    listed(&self.idle)
                )
                .into(),
            );
        }
        for joint in &self.joint {
            let what = match (joint.change, joint.lines.len()) {
                ("swapped", 2) => "can be swapped",
                ("swapped", _) => "can be swapped, any two of them,",
                (_, 1) => "can be inverted",
                _ => "can be inverted, each of them,",
            };
            out.push(
                format!(
                    "{} {what} only together with other lines: for example, {} {same}.",
                    listed(&joint.lines),
                    joint.example
                )
                .into(),
            );
        }
        let doubts = !self.alike.is_empty() || !self.idle.is_empty() || !self.joint.is_empty();
        // That straight lines are the only ones is not claimed, so only what was left undone is said.
        if self.certain && (self.verdict == WiringAnswer::Rewired || !self.complete) {
            out.push(
                match (self.complete, doubts) {
                    (true, false) => "No other wiring does this.",
                    (true, true) => "Everything else is certain: no other wiring does this.",
                    (false, _) => "There may be another wiring that does this.",
                }
                .into(),
            );
        }
        if doubts {
            out.push(
                "To tell them apart, burn the pattern `random` and read that through the same wires."
                    .into(),
            );
        }
        out
    }

    fn places(&self) -> Vec<Paragraph> {
        let mut next: Vec<Paragraph> = Vec::new();
        for dead in &self.dead {
            next.push(dead.said.look_next.clone().into());
        }
        let left = self.left_over > 0 || !self.dead.is_empty();
        match (&self.undo, left) {
            (None, true) if self.why_not.is_none() => {
                next.push("`diagnose` without --recover-wiring says what may be wrong.".into());
            }
            (Some(_), true) => next.push(
                "Read the chip again. Then undo the wiring with this step, and `diagnose` what is left:"
                    .into(),
            ),
            (Some(_), false) => next.push("Undo it with this step:".into()),
            (None, _) => {}
        }
        next
    }
}

impl From<&Joint> for JointView {
    fn from(joint: &Joint) -> Self {
        JointView {
            lines: joint.lines.iter().map(Line::to_string).collect(),
            change: match joint.inverted {
                true => "inverted",
                false => "swapped",
            },
            example: changes(&joint.example),
        }
    }
}

/// What a wiring of an image with itself changes: `swapping A0 with A1 and D0 with D1 and inverting D3`.
fn changes(wiring: &Wiring) -> String {
    let mut moved = Vec::new();
    for (list, line) in [
        (wiring.address(), Line::Address as fn(u8) -> Line),
        (wiring.data(), Line::Data as fn(u8) -> Line),
    ] {
        let mut seen = vec![false; list.len()];
        for start in 0..list.len() {
            let mut cycle = Vec::new();
            let mut at = start;
            while !seen[at] {
                seen[at] = true;
                cycle.push(line(at as u8).to_string());
                at = list[at].into();
            }
            match cycle.len() {
                0 | 1 => {}
                2 => moved.push(format!("{} with {}", cycle[0], cycle[1])),
                _ => moved.push(format!("{} in turn", cycle.join(" with "))),
            }
        }
    }
    let inverted: Vec<String> = wiring.inverted().map(|line| line.to_string()).collect();
    let mut out = Vec::new();
    if !moved.is_empty() {
        out.push(format!("swapping {}", moved.join(" and ")));
    }
    if !inverted.is_empty() {
        out.push(format!("inverting {}", inverted.join(" and ")));
    }
    out.join(" and ")
}

/// `A0, A3, A8 to A12`.
fn listed(lines: &[String]) -> String {
    let number = |line: &String| line.get(1..).and_then(|n| n.parse::<u32>().ok());
    let runs = lines.chunk_by(|a, b| number(a).map(|n| n + 1) == number(b));
    let parts = runs.flat_map(|run| match run {
        [first, _, .., last] => vec![format!("{first} to {last}")],
        few => few.to_vec(),
    });
    let parts: Vec<String> = parts.collect();
    match &parts[..] {
        [one, other] => format!("{one} and {other}"),
        _ => parts.join(", "),
    }
}

impl Report for WiringReport {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let reads: Vec<String> = self.reads.iter().map(|read| style.strong(read)).collect();
        let mut out = format!("{} against {}: its wiring\n", reads.join(", "), self.wanted);
        out += &verdict(style, self.findings(), self.reasons(), self.places());
        // A command is on one line, to be copied.
        if let Some(undo) = &self.undo {
            out += &format!("    {undo}\n");
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_in_a_row_are_a_range() {
        let said = |lines: &[&str]| {
            let lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
            listed(&lines)
        };
        assert_eq!(said(&["A1"]), "A1");
        assert_eq!(said(&["A1", "A2"]), "A1 and A2");
        assert_eq!(said(&["A0", "A3", "A8", "A9", "A10"]), "A0, A3, A8 to A10");
    }

    #[test]
    fn an_example_is_said_by_what_it_moves() {
        let wiring = Wiring::new(Width::Eight, vec![1, 0, 2], vec![2, 0, 1, 3, 4, 5, 6, 7]);
        let wiring = wiring.and_then(|wiring| wiring.inverting(0, 8)).unwrap();
        assert_eq!(
            changes(&wiring),
            "swapping A0 with A1 and D0 with D2 with D1 in turn and inverting D3"
        );
    }
}
