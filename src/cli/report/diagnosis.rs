//! Verdicts on a chip: Finding, Because, Look next.

use serde::Serialize;

use super::style::thousands;
use super::verdict::{sentence, verdict};
use super::{Directions, InCommon, Report, Style, Wavering, address_width, plural, size};
use crate::faults::alone::{Alone, Joined};
use crate::faults::compare::Differences;
use crate::faults::{
    self, Explanation, Line, LineFault, Model, NotAChip, Score, Verdict, When, Width,
};
use crate::parts::Part;

/// Explanations and wavering bytes shown to people; scripts get all.
const MOST: usize = 8;

/// A verdict on one chip.
#[derive(Serialize)]
pub struct Diagnosis {
    /// Labels of the reads.
    pub reads: Vec<String>,
    /// What should have been read.
    pub wanted: Option<String>,
    /// The part, when known.
    pub part: Option<String>,
    /// `same`, `wavers`, `certain`, `possible`, `likely` or `cannot-tell`; without a wanted image
    /// `sound`, `suspect` or `wavers`.
    pub verdict: &'static str,
    /// Bytes of the read, or of the majority of the reads.
    pub bytes: u64,
    /// How it differs from what is wanted.
    pub differences: Option<Counts>,
    /// Where the reads differ among themselves, when there are several.
    pub wavering: Option<Wavering>,
    /// What explains the read, the best first; without a wanted image, what is suspicious in it.
    pub candidates: Vec<Candidate>,
    /// Findings that the read doesn't rule out, for they leave open which cells they hit.
    pub not_ruled_out: Vec<String>,
    /// What the read shows besides, as sentences.
    pub remarks: Vec<String>,
    /// What would settle what is left open, as sentences.
    pub to_settle: Option<String>,
}

/// Differences in figures.
#[derive(Serialize)]
pub struct Counts {
    /// Bytes compared.
    pub compared: u64,
    /// Bytes that differ among them.
    pub bytes: u64,
    /// Bits that differ, from the wanted image to the read.
    pub bits: Directions,
    /// Bytes by which the read is too short.
    pub missing: u64,
    /// Bytes by which it is too long.
    pub surplus: u64,
}

/// Findings that predict the same read.
#[derive(Serialize)]
pub struct Candidate {
    /// All that can't be told apart by this read.
    pub equals: Vec<Finding>,
    /// The evidence, as a sentence.
    pub because: String,
    /// The evidence in figures; none without a wanted image.
    pub score: Option<Figures>,
}

/// How many cells (bytes, or words of a chip with 16 data lines) a finding says rightly.
#[derive(Serialize)]
pub struct Figures {
    /// Cells that differ from the wanted image.
    pub differing: u64,
    /// Those of them that it explains.
    pub explained: u64,
    /// Cells that are as wanted.
    pub equal: u64,
    /// Those of them that it contradicts.
    pub contradicted: u64,
}

/// Something that may be wrong with a chip, its socket or a transfer.
#[derive(Serialize)]
pub struct Finding {
    /// What the read shows, as a sentence without a full stop.
    pub finding: String,
    /// Where to look, as sentences.
    pub look_next: String,
    /// The faults, one or two.
    pub faults: Vec<Fault>,
}

/// A fault in words for scripts.
#[derive(Serialize)]
pub struct Fault {
    /// Which, as `address-stuck-low`.
    pub kind: String,
    /// `reading`, `burning` or `both`, where it makes a difference.
    pub when: Option<&'static str>,
    /// The lines that have it, as `A7`.
    pub lines: Vec<String>,
    /// Their pins on the part, where known, in the same order.
    pub pins: Vec<Option<u8>>,
}

/// What is known about a chip beside its bytes.
#[derive(Clone, Copy, Default)]
pub struct Known<'a> {
    /// The part.
    pub part: Option<&'a Part>,
    /// The names of the case's other images, in their order.
    pub others: &'a [String],
}

impl Known<'_> {
    fn pin(&self, line: Line) -> Option<u8> {
        let part = self.part?;
        match line {
            Line::Address(line) => part.pin_of_address(line),
            Line::Data(line) => part.pin_of_data(line),
        }
    }

    /// `A7`, or `A7 (pin 3)`.
    fn named(&self, line: Line) -> String {
        match self.pin(line) {
            Some(pin) => format!("{line} (pin {pin})"),
            None => line.to_string(),
        }
    }

    fn fault(&self, kind: String, lines: &[Line]) -> Fault {
        Fault {
            kind,
            when: None,
            lines: lines.iter().map(Line::to_string).collect(),
            pins: lines.iter().map(|line| self.pin(*line)).collect(),
        }
    }

    fn is_wide(&self) -> bool {
        self.part.is_some_and(|part| part.width == 16)
    }
}

impl Diagnosis {
    /// The picture of a diagnosis against a wanted image; `first` is the address of the read's
    /// first byte.
    pub fn new(
        reads: &[String],
        wanted: &str,
        found: &faults::Diagnosis,
        bytes: usize,
        first: u64,
        known: Known<'_>,
    ) -> Self {
        let cells = if known.is_wide() { "words" } else { "bytes" };
        let wavering = found.vote.as_ref();
        let wavering = wavering.map(|vote| Wavering::new(vote, first, known.is_wide()));
        let explained = found.candidates.iter().map(|candidate| Candidate {
            equals: candidate
                .equals
                .iter()
                .map(|e| finding(*e, known))
                .collect(),
            because: candidate.score.because(cells),
            score: Some(candidate.score.into()),
        });
        let candidates = match (&wavering, found.verdict) {
            (Some(wavering), Verdict::Wavers) => floating(wavering, known),
            _ => explained.collect(),
        };
        let not_ruled_out = found.not_excluded.iter();
        let mut remarks = Vec::new();
        match found.only_transfers {
            Some(NotAChip::Lengths) => remarks.push(
                "The two are not equally long, so only damage by a transfer was looked for; cut or \
                 pad one to the size of the chip to look for bad lines."
                    .into(),
            ),
            Some(NotAChip::NoPowerOfTwo) => remarks.push(
                "No chip has this size, so only damage by a transfer was looked for; pad both to \
                 the size of the chip to look for bad lines."
                    .into(),
            ),
            None => {}
        }
        let ranges = &found.differences.ranges;
        if found.verdict != Verdict::Certain && (1..=MOST).contains(&ranges.len()) {
            let w = address_width(first + bytes as u64);
            let ranges = ranges.iter().map(|range| {
                let (start, end) = (first + *range.start() as u64, first + *range.end() as u64);
                format!("{start:0w$X}-{end:0w$X}")
            });
            let ranges: Vec<String> = ranges.collect();
            remarks.push(format!("What differs stands at {}.", ranges.join(", ")));
        }
        Self {
            reads: reads.to_vec(),
            wanted: Some(wanted.into()),
            part: known.part.map(|part| part.name.clone()),
            verdict: match found.verdict {
                Verdict::Same => "same",
                Verdict::Wavers => "wavers",
                Verdict::Certain => "certain",
                Verdict::Possible => "possible",
                Verdict::Likely => "likely",
                Verdict::CannotTell => "cannot-tell",
            },
            bytes: bytes as u64,
            differences: Some((&found.differences).into()),
            wavering,
            candidates,
            not_ruled_out: not_ruled_out
                .map(|model| finding((*model).into(), known).finding)
                .collect(),
            remarks,
            to_settle: found.to_settle(bytes),
        }
    }

    /// Adds that an exchange of lines explains what no fault does.
    pub fn add_wiring(&mut self) {
        self.remarks.push(
            "An exchange or inversion of lines turns the wanted image into this read, byte for \
             byte: --recover-wiring lists it."
                .into(),
        );
    }

    /// The picture of what a read tells by itself. `suspect` says whether it looks wrong.
    pub fn alone(
        reads: &[String],
        found: &Alone,
        wavering: Option<Wavering>,
        suspect: bool,
        bytes: usize,
        width: Width,
        known: Known<'_>,
    ) -> Self {
        let wavers = wavering.as_ref().is_some_and(|found| !found.is_none());
        let signs = signs(found, bytes, width, known);
        let lines = signs.iter().any(|sign| {
            let mut faults = sign.equals.iter().flat_map(|finding| &finding.faults);
            faults.any(|fault| !fault.lines.is_empty())
        });
        Self {
            reads: reads.to_vec(),
            wanted: None,
            part: known.part.map(|part| part.name.clone()),
            verdict: match (wavers, suspect) {
                (true, _) => "wavers",
                (_, true) => "suspect",
                _ => "sound",
            },
            bytes: bytes as u64,
            differences: None,
            candidates: match (wavers, &wavering) {
                (true, Some(wavering)) => {
                    let floating = floating(wavering, known).into_iter();
                    floating.chain(signs).collect()
                }
                _ => signs,
            },
            wavering,
            not_ruled_out: Vec::new(),
            remarks: remarks(found, bytes),
            to_settle: lines.then(|| {
                "Small, repeated and regular content looks the same as bad lines: give the wanted \
                 image with --wanted, or burn the pattern `telltale` into a chip of the same kind \
                 and read it in the same socket."
                    .into()
            }),
        }
    }
}

impl From<&Differences> for Counts {
    fn from(found: &Differences) -> Self {
        Self {
            compared: found.compared as u64,
            bytes: found.bytes as u64,
            bits: found.bits().into(),
            missing: found.only_first as u64,
            surplus: found.only_second as u64,
        }
    }
}

impl From<Score> for Figures {
    fn from(score: Score) -> Self {
        Self {
            differing: score.differing as u64,
            explained: score.explained as u64,
            equal: score.equal as u64,
            contradicted: score.broken as u64,
        }
    }
}

/// The lines that the wavering bits of several reads have in common.
fn floating(wavering: &Wavering, known: Known<'_>) -> Vec<Candidate> {
    let mut found = Vec::new();
    for common in &wavering.in_common {
        let line = match common {
            InCommon::DataLine { line } => Line::Data(*line),
            InCommon::AddressLine { line } => Line::Address(*line),
            _ => continue,
        };
        let finding = match line {
            Line::Data(_) => format!("{} wavers and no other line does", known.named(line)),
            Line::Address(_) => format!(
                "{} reaches the chip as 0 at one time and as 1 at another",
                known.named(line)
            ),
        };
        found.push(Candidate {
            equals: vec![Finding {
                finding,
                look_next: format!(
                    "Look next at {} and its socket contact: a line without contact floats.",
                    at(line, known)
                ),
                faults: vec![known.fault("floating".into(), &[line])],
            }],
            because: wavering.count(),
            score: None,
        });
    }
    found
}

/// An explanation in words, with the names of other images.
fn finding(explanation: Explanation, known: Known<'_>) -> Finding {
    let words = explanation.words(&|line| known.pin(line));
    let mut finding = words.finding;
    let other = |model: Model| match model {
        Model::OtherImage(n) | Model::OtherOnBus(n) => Some(usize::from(n)),
        _ => None,
    };
    for n in explanation.models().filter_map(other) {
        if let Some(name) = known.others.get(n) {
            let number = format!("other image number {}", n + 1);
            finding = finding.replace(&format!("the {number}"), name);
            finding = finding.replace(&number, name);
        }
    }
    Finding {
        finding,
        look_next: words.look_next,
        faults: explanation.models().map(|m| fault(m, known)).collect(),
    }
}

/// A model in words for scripts.
fn fault(model: Model, known: Known<'_>) -> Fault {
    let on_lines = |space: &str, fault: LineFault, line: fn(u8) -> Line| {
        let kind = match fault {
            LineFault::StuckLow(_) => "stuck-low",
            LineFault::StuckHigh(_) => "stuck-high",
            LineFault::Inverted(_) => "inverted",
            LineFault::Swapped(..) => "swapped",
            LineFault::ShortedLow(..) => "shorted-low",
            LineFault::ShortedHigh(..) => "shorted-high",
            LineFault::Overdriven { .. } => "overdriven",
        };
        let (one, other) = fault.lines();
        let lines: Vec<Line> = std::iter::once(one).chain(other).map(line).collect();
        known.fault(format!("{space}-{kind}"), &lines)
    };
    let kind = match model {
        Model::Address { fault, when } => {
            let when = match when {
                When::Reading => "reading",
                When::Burning(_) => "burning",
                When::Both(_) => "both",
            };
            return Fault {
                when: Some(when),
                ..on_lines("address", fault, Line::Address)
            };
        }
        Model::Data(fault) => return on_lines("data", fault, Line::Data),
        Model::Floating(line) => return known.fault("floating".into(), &[line]),
        Model::Transfer(_) => "transfer-damage",
        Model::OtherImage(_) => "other-image",
        Model::Blank => "blank",
        Model::AllZeros => "all-zeros",
        Model::Stopped { .. } => "stopped",
        Model::Smaller { .. } => "smaller",
        Model::LanesExchanged { .. } => "lanes-exchanged",
        Model::BanksExchanged { .. } => "banks-exchanged",
        Model::BitsReversed => "bits-reversed",
        Model::AllInverted => "all-inverted",
        Model::Shifted { .. } => "shifted",
        Model::PageCut { .. } => "page-cut",
        Model::PageWrapped { .. } => "page-wrapped",
        Model::Cousin { .. } => "cousin",
        Model::NotBlank => "not-blank",
        Model::OtherOnBus(_) => "other-on-bus",
        Model::Late => "late",
        Model::PagesLeft { .. } => "pages-left",
        Model::OnlyToZero => "only-to-zero",
        Model::OnlyToOne => "only-to-one",
    };
    known.fault(kind.into(), &[])
}

/// What is suspicious in a read by itself.
fn signs(found: &Alone, bytes: usize, width: Width, known: Known<'_>) -> Vec<Candidate> {
    let cells = match width {
        Width::Eight => bytes,
        Width::Sixteen => bytes / 2,
    } as u64;
    let mut signs = Vec::new();
    let mut sign = |finding: String, because: String, look_next: String, fault: Fault| {
        signs.push(Candidate {
            equals: vec![Finding {
                finding,
                look_next,
                faults: vec![fault],
            }],
            because,
            score: None,
        });
    };
    let cell = match width {
        Width::Eight => "byte",
        Width::Sixteen => "word",
    };
    if let Some(value) = found.constant {
        let erased = match width {
            Width::Eight => value == 0xFF,
            Width::Sixteen => value == 0xFFFF,
        };
        let digits = if cell == "byte" { 2 } else { 4 };
        let (look_next, kind) = match erased {
            true => (
                "The chip is blank, not selected, or not there: check its orientation, the select \
                 and output-enable pins, and the part chosen in the programmer.",
                "blank",
            ),
            false => (
                "Check the supply pins and the part chosen in the programmer, and that nothing \
                 else holds the data lines.",
                "constant",
            ),
        };
        sign(
            format!("Every {cell} reads {value:0digits$X}"),
            format!("all {} are the same", plural(cells, cell)),
            look_next.into(),
            known.fault(kind.into(), &[]),
        );
        return signs;
    }
    for &line in &found.idle_address {
        let name = Line::Address(line);
        let upper = found.halves_equal && cells == 2 << line;
        let also = if upper {
            ": the upper half echoes the lower"
        } else {
            ""
        };
        sign(
            format!("{} makes no difference{also}", known.named(name)),
            format!("blocks of {} come in equal pairs", plural(1 << line, cell)),
            match upper {
                true => format!(
                    "Read the marking: a chip of half the size looks so in this socket. Else look at {} and its socket contact.",
                    at(name, known)
                ),
                false => format!(
                    "Look next at {} and its socket contact; read again, and if the bytes change from read to read the pin floats.",
                    at(name, known)
                ),
            },
            known.fault("address-idle".into(), &[name]),
        );
    }
    for &(one, other, joined) in &found.joined_address {
        let (a, b) = (Line::Address(one), Line::Address(other));
        let (wins, kind) = match joined {
            Joined::Low => (0, "address-shorted-low"),
            Joined::High => (1, "address-shorted-high"),
        };
        sign(
            format!(
                "{} and {} act as one, {wins} winning",
                known.named(a),
                known.named(b)
            ),
            format!("the {cell}s are the same wherever either line is {wins}"),
            format!(
                "Look next for a bridge between {} and {}, with the power off and a meter.",
                at(a, known),
                at(b, known)
            ),
            known.fault(kind.into(), &[a, b]),
        );
    }
    for &(line, level) in &found.constant_data {
        let (name, level) = (Line::Data(line), u8::from(level));
        sign(
            format!(
                "{} never moves, it reads {level} everywhere",
                known.named(name)
            ),
            format!("it reads {level} in all {}", plural(cells, cell)),
            format!(
                "Look next at {} and its socket contact; read in another socket to see whether the chip holds it so. A text of 7 bits has D7 at 0 by nature.",
                at(name, known)
            ),
            known.fault(
                ["data-stuck-low", "data-stuck-high"][usize::from(level)].into(),
                &[name],
            ),
        );
    }
    let pairs = [
        (&found.equal_data, "always read the same", "data-equal"),
        (
            &found.opposite_data,
            "always read opposite",
            "data-opposite",
        ),
    ];
    for (pairs, how, kind) in pairs {
        for &(one, other) in pairs {
            let (a, b) = (Line::Data(one), Line::Data(other));
            sign(
                format!("{} and {} {how}", known.named(a), known.named(b)),
                format!("they do in all {}", plural(cells, cell)),
                format!(
                    "Look next for a bridge between {} and {}, with the power off and a meter.",
                    at(a, known),
                    at(b, known)
                ),
                known.fault(kind.into(), &[a, b]),
            );
        }
    }
    signs
}

fn at(line: Line, known: Known<'_>) -> String {
    match known.pin(line) {
        Some(pin) => format!("pin {pin}"),
        None => format!("the pin of {line}"),
    }
}

/// What a read shows that is no fault.
fn remarks(found: &Alone, bytes: usize) -> Vec<String> {
    let mut remarks = Vec::new();
    if found.constant.is_some() {
        return remarks;
    }
    if let Some(after) = found.repeats_after {
        remarks.push(format!(
            "The smallest chip that holds it all has {} bytes.",
            size(after as u64)
        ));
    }
    if found.content_ends < bytes {
        let content = plural(found.content_ends as u64, "byte");
        remarks.push(format!("Behind the first {content} there is only FF."));
    }
    let mut blank: Vec<String> = found
        .blank
        .iter()
        .take(MOST)
        .map(|(run, value)| format!("{:04X}-{:04X} is all {value:02X}", run.start(), run.end()))
        .collect();
    if found.blank.len() > MOST {
        blank.push(format!("and {} more", found.blank.len() - MOST));
    }
    if !blank.is_empty() {
        remarks.push(format!("{}.", blank.join(", ")));
    }
    remarks
}

impl Report for Diagnosis {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let mut out = self.header(style);
        if let Some(wavering) = self.wavering.as_ref().filter(|found| !found.is_none()) {
            out += &format!(
                "  the reads differ among themselves: {}\n",
                wavering.count()
            );
            for row in wavering.rows(MOST) {
                out += &format!("    {row}\n");
            }
        }
        out += &verdict(style, self.findings(), self.reasons(), self.places());
        out
    }
}

impl Diagnosis {
    fn header(&self, style: Style) -> String {
        let mut out = match &self.reads[..] {
            [one] => style.strong(one),
            [first, .., last] => format!(
                "the majority of {} reads, {} to {},",
                self.reads.len(),
                style.strong(first),
                style.strong(last)
            ),
            [] => String::new(),
        };
        if let Some(wanted) = &self.wanted {
            out += &format!(" against {wanted}");
        }
        match &self.differences {
            None => {
                out += &format!(
                    ": {}, nothing to hold them against",
                    plural(self.bytes, "byte")
                )
            }
            Some(d) if d.bytes == 0 => {
                out += &format!(": {} compared, all the same", plural(d.compared, "byte"));
            }
            Some(d) => {
                let bits = d.bits.to_one + d.bits.to_zero;
                out += &format!(
                    ": {} of {} differ, in {}",
                    thousands(d.bytes),
                    plural(d.compared, "byte"),
                    plural(bits, "bit")
                );
            }
        }
        if let Some(d) = &self.differences {
            for (count, what) in [(d.missing, "short"), (d.surplus, "long")] {
                if count > 0 {
                    out += &format!("; the read is {} too {what}", plural(count, "byte"));
                }
            }
        }
        out.push('\n');
        out
    }

    fn findings(&self) -> Vec<String> {
        let said = |candidate: &Candidate| -> Vec<String> {
            let all = candidate.equals.iter();
            all.map(|equal| equal.finding.clone()).collect()
        };
        let full = |sentence: &String| format!("{sentence}.");
        let listed = |intro: &str, items: &[String]| -> Vec<String> {
            let mut out = vec![intro.to_owned()];
            out.extend(items.iter().take(MOST).map(|item| format!("- {item}")));
            if items.len() > MOST {
                out.push(format!("- and {} more", items.len() - MOST));
            }
            out
        };
        let all: Vec<String> = self.candidates.iter().flat_map(said).collect();
        let first = self.candidates.first().map(said).unwrap_or_default();
        match (self.verdict, &first[..]) {
            ("same", _) => vec!["The read is the wanted image.".into()],
            ("wavers", []) => vec!["The chip does not read the same every time.".into()],
            ("sound", _) => vec!["Nothing in this read looks like a fault.".into()],
            ("suspect" | "wavers", _) => all.iter().map(full).collect(),
            ("certain", [one]) => vec![full(one)],
            ("certain", some) => listed("These can't be told apart by this read:", some),
            ("likely", [one]) => vec![full(one), "That leaves something over.".into()],
            ("likely", some) => listed("One of these, and something besides:", some),
            ("possible", _) if all.len() == 1 => {
                vec![full(&all[0]), "The read doesn't prove it.".into()]
            }
            ("possible", _) => listed("The read fits these, and proves none of them:", &all),
            (_, []) => vec!["No fault with a name explains this read.".into()],
            _ => listed(
                "No fault with a name explains this read; the nearest are:",
                &all,
            ),
        }
    }

    fn reasons(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        match self.verdict {
            "same" => {
                let d = self.differences.as_ref();
                let compared = d.map_or(0, |d| d.compared);
                out.push(format!("All {} are as wanted.", plural(compared, "byte")));
            }
            "cannot-tell" | "possible" if self.candidates.len() > 1 => {
                for candidate in self.candidates.iter().take(MOST) {
                    if let Some(equal) = candidate.equals.first() {
                        out.push(format!("{}: {}.", equal.finding, candidate.because));
                    }
                }
                out.dedup();
            }
            _ => {
                let reasons = self.candidates.iter().take(match self.wanted {
                    Some(_) => 1,
                    None => usize::MAX,
                });
                out.extend(reasons.map(|c| sentence(&c.because)));
                out.dedup();
            }
        }
        if !self.not_ruled_out.is_empty() {
            let rest: Vec<&str> = self.not_ruled_out.iter().map(String::as_str).collect();
            out.push(format!("Not ruled out, by chance: {}.", rest.join("; ")));
        }
        out.extend(self.remarks.iter().cloned());
        out
    }

    fn places(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        let shown = match self.verdict {
            "cannot-tell" => 0,
            "possible" | "suspect" | "wavers" => usize::MAX,
            _ => 1,
        };
        let candidates = self.candidates.iter().take(shown);
        for equal in candidates.flat_map(|c| &c.equals).take(MOST) {
            // The heading says it already.
            let place = equal.look_next.strip_prefix("Look next ");
            let place = sentence(place.unwrap_or(&equal.look_next));
            if !out.contains(&place) {
                out.push(place);
            }
        }
        if self.verdict == "same" {
            out.push(
                "Nothing is wrong in this read. A swap or inversion inside the programmer cancels \
                 when burnt and read there: a read on the board, or in another programmer, clears \
                 the one that burnt it."
                    .into(),
            );
        }
        if self.verdict == "wavers" && self.to_settle.is_none() {
            out.push(
                "Clean the pins and the socket, check the supply, and read it five times more, \
                 slower. What wavers on one line is a contact first, a weak chip second."
                    .into(),
            );
        }
        out.extend(self.to_settle.clone());
        out
    }
}
