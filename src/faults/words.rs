//! Verdicts in plain sentences, as careful as the evidence.
//!
//! "The chip sees A7 as 0" is what a read shows; that a contact is bad takes a meter or a second
//! read to say, so that is where the reader is sent next.

use super::diagnose::{Diagnosis, Verdict};
use super::models::{Cells, Damage, Explanation, Fill, Holds, Lands, LineFault, Model, When};
use super::patterns::{Pass, Pattern};
use super::search::Score;
use crate::wiring::Line;

/// What is said about a model.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    /// What the read shows, one sentence without its full stop.
    pub finding: String,
    /// Where to look next, sentences.
    pub look_next: String,
}

/// The pin of a line on the part in question, where it is known.
pub type Pins<'a> = &'a dyn Fn(Line) -> Option<u16>;

/// No pins are known.
pub fn no_pins(_: Line) -> Option<u16> {
    None
}

impl Score {
    /// The evidence in figures: `that explains all 8,192 differences and contradicts none of the
    /// 24,576 equal bytes`. `cells` is `bytes` or `words`.
    pub fn because(self, cells: &str) -> String {
        let differing = counted(self.differing);
        let explains = match self.explained {
            _ if self.differing == 1 && self.explained == 1 => "the one difference".to_owned(),
            all if all == self.differing => format!("all {differing} differences"),
            some => format!("{} of the {differing} differences", counted(some)),
        };
        let broken = match self.broken {
            0 => "none".to_owned(),
            some => counted(some),
        };
        format!(
            "that explains {explains} and contradicts {broken} of the {} equal {cells}",
            counted(self.equal)
        )
    }
}

/// A count with its thousands apart.
fn counted(n: usize) -> String {
    let digits = n.to_string();
    let mut parts: Vec<&str> = digits
        .as_bytes()
        .rchunks(3)
        .filter_map(|part| std::str::from_utf8(part).ok())
        .collect();
    parts.reverse();
    parts.join(",")
}

impl Explanation {
    /// What is said about the one or two models.
    pub fn words(self, pins: Pins) -> Words {
        let mut words = self.first.words(pins);
        if let Some(second) = self.second {
            let more = second.words(pins);
            words.finding = format!("{}, and {}", words.finding, lower_first(&more.finding));
            words.look_next = format!("{} {}", words.look_next, more.look_next);
        }
        words
    }
}

/// A sentence to stand behind "and": the names of lines keep their capitals.
fn lower_first(sentence: &str) -> String {
    match sentence.strip_prefix("The ") {
        Some(rest) => format!("the {rest}"),
        None => sentence.to_owned(),
    }
}

impl Model {
    /// What is said about the model.
    pub fn words(self, pins: Pins) -> Words {
        let (finding, look_next) = match self {
            Model::Transfer(damage) => return damage.words(),
            Model::Address { fault, when } => return address_words(fault, when, pins),
            Model::Data(fault) => return data_words(fault, pins),
            Model::OtherImage(n) => (
                format!("This read is the other image number {}", n + 1),
                "Compare the labels: two chips may have changed places.".to_owned(),
            ),
            Model::Blank => (
                "Every bit reads 1".to_owned(),
                "The chip is blank, not selected, or not there: check its orientation, the \
                 select and output-enable pins, and the part chosen in the programmer."
                    .to_owned(),
            ),
            Model::AllZeros => (
                "Every bit reads 0".to_owned(),
                "Check the supply pins and that nothing else pulls the data lines down; \
                 a chip overwritten with 00 looks the same."
                    .to_owned(),
            ),
            Model::Stopped { at } => (
                format!("Nothing is written from {at:#06X} up"),
                "Burn again and watch for the address at which it stops; check the \
                 programming voltage under load and the length of the file."
                    .to_owned(),
            ),
            Model::Smaller { lines, holds } => (
                format!(
                    "The chip repeats after {:#X}, as one of {lines} address lines does, and holds {}",
                    1usize << lines,
                    match holds {
                        Holds::First => "the first part of the image",
                        Holds::Last => "the last part of the image",
                        Holds::All => "all parts of the image burnt over each other",
                    }
                ),
                "Read the marking on the chip: it may be smaller than its socket. The upper \
                 address lines not reaching a larger chip look the same."
                    .to_owned(),
            ),
            Model::LanesExchanged { lanes } => (
                format!("The {lanes} bytes of each word stand in reverse order"),
                "Check the byte order chosen when the image was split or burnt.".to_owned(),
            ),
            Model::BanksExchanged {
                size,
                first,
                second,
            } => (
                format!("Banks {first} and {second} of {size:#X} stand in each other's place"),
                "Check the order in which the banks were joined, and the switch lines.".to_owned(),
            ),
            Model::BitsReversed => (
                "The data lines are reversed, the lowest for the highest".to_owned(),
                "Check the numbering of the data lines on the adapter or board.".to_owned(),
            ),
            Model::AllInverted => (
                "Every bit is inverted".to_owned(),
                "Look for an inverting buffer on the data lines, or a file saved inverted."
                    .to_owned(),
            ),
            Model::Shifted { by, fill } => (
                format!(
                    "Everything stands {:#X} {} than wanted{}",
                    by.unsigned_abs(),
                    if by > 0 { "higher" } else { "lower" },
                    match fill {
                        Fill::Wrapped => ", and wraps around",
                        Fill::Erased => "",
                    }
                ),
                match by {
                    -1 | 1 => {
                        "Check the start address in the programmer, and read again slower: \
                               a read that is always one access late looks the same."
                    }
                    _ => {
                        "Check the start address and the file offset in the programmer, and \
                          whether a header stands before the image."
                    }
                }
                .to_owned(),
            ),
            Model::PageCut { page, kept } => (
                format!("Only the first {kept} of every {page} bytes are written"),
                "Choose the part's own page size in the programmer.".to_owned(),
            ),
            Model::PageWrapped { page, burst, lands } => (
                format!(
                    "Bursts of {burst} bytes wrapped in a page of {page}, and the {} page took them",
                    match lands {
                        Lands::First => "first",
                        Lands::Last => "last",
                    }
                ),
                "Choose the part's own page size in the programmer, and burn again.".to_owned(),
            ),
            Model::Cousin { selects, a11 } => (
                format!(
                    "The chip answers only while A11 is {}, and sees its own A11 as {}",
                    u8::from(selects),
                    u8::from(a11)
                ),
                "A11 and a select are exchanged, as between 24-pin parts of different families: \
                 read it as its cousin, or through an adapter."
                    .to_owned(),
            ),
            Model::NotBlank => (
                "Every byte is the wanted one AND the old one".to_owned(),
                "The chip was not blank before: erase it (a UV-C lamp harms eyes and skin, keep \
                 it shielded), check that it is blank, and burn again."
                    .to_owned(),
            ),
            Model::OtherOnBus(n) => (
                format!(
                    "Every byte is the wanted one AND that of other image number {}",
                    n + 1
                ),
                "Two chips answer at once: check the select lines of both.".to_owned(),
            ),
            Model::Floating(line) => (
                match line {
                    Line::Address(_) => {
                        format!("Each byte is that of its address with {line} at 0 or at 1")
                    }
                    Line::Data(_) => format!("Only {line} differs"),
                },
                format!(
                    "Read again: if the bytes change from read to read, {line} floats. Look at {} \
                     and its socket contact.",
                    at_pin(line, pins)
                ),
            ),
            Model::Late => (
                "What differs is left over from the byte before".to_owned(),
                "The access time may be too short: read again slower, or choose a faster part."
                    .to_owned(),
            ),
            Model::PagesLeft { page } => (
                format!("Whole pages of {page} bytes hold what was there before"),
                "Check the chip's write protection, then burn again with more time between \
                 pages."
                    .to_owned(),
            ),
            Model::OnlyToZero => (
                "All differences are bits that read 0 and should read 1".to_owned(),
                "The chip may not have been blank, or another chip answers with it: take it out \
                 of the board and read it alone."
                    .to_owned(),
            ),
            Model::OnlyToOne => (
                "All differences are bits that read 1 and should read 0".to_owned(),
                "Bits may have leaked away or were not programmed well: read again at the lowest \
                 and the highest supply voltage the data sheet allows; weak bits change with it."
                    .to_owned(),
            ),
        };
        Words { finding, look_next }
    }
}

impl Damage {
    fn words(self) -> Words {
        let (finding, look_next) = match self {
            Damage::Bit7Stripped => (
                "Bit 7 of every byte reads 0",
                "If the file came over a serial line, send it with 8 data bits and no parity. \
                 D7 stuck at 0 looks the same: compare the file itself before the chip.",
            ),
            Damage::LfToCrLf => (
                "Every 0A has become 0D 0A",
                "The file was sent as text: send it again as binary.",
            ),
            Damage::CrLfToLf => (
                "Every 0D 0A has become 0A",
                "The file was sent as text: send it again as binary.",
            ),
            Damage::FlowControlSwallowed => (
                "Every 11 and 13 is missing",
                "They were taken as flow control: send the file with hardware flow control, or \
                 as hex records.",
            ),
            Damage::NotAsciiReplaced | Damage::NotUtf8Replaced => (
                "Bytes that are no text have become EF BF BD",
                "A program opened the file as text and saved it: take the original again.",
            ),
            Damage::Tail1A => (
                "Behind the content stands 1A up to a multiple of 128",
                "The transfer padded its last block: cut the tail off.",
            ),
            Damage::EndedAt1A => (
                "Nothing follows where the first 1A should stand",
                "1A was taken as the end of a text: send the file as binary.",
            ),
        };
        Words {
            finding: finding.to_owned(),
            look_next: look_next.to_owned(),
        }
    }
}

/// `pin 3`, or the line's name where no pin is known.
fn at_pin(line: Line, pins: Pins) -> String {
    match pins(line) {
        Some(pin) => format!("pin {pin}"),
        None => format!("the pin of {line}"),
    }
}

fn address_words(fault: LineFault, when: When, pins: Pins) -> Words {
    let name = Line::Address;
    let seen = match fault {
        LineFault::StuckLow(i) => format!("{} as 0 everywhere", name(i)),
        LineFault::StuckHigh(i) => format!("{} as 1 everywhere", name(i)),
        LineFault::Inverted(i) => format!("{} inverted", name(i)),
        LineFault::Swapped(i, j) => format!("{} and {} exchanged", name(i), name(j)),
        LineFault::ShortedLow(i, j) => {
            format!("{} and {} joined, 0 winning", name(i), name(j))
        }
        LineFault::ShortedHigh(i, j) => {
            format!("{} and {} joined, 1 winning", name(i), name(j))
        }
        LineFault::Overdriven { winner, loser } => {
            format!("{} in place of {}", name(winner), name(loser))
        }
    };
    let kind = |cells| match cells {
        Cells::Overwrite => "later writes having won",
        Cells::OnlyClear => "cells written twice holding the AND of both",
    };
    let finding = match when {
        When::Reading => format!("The chip sees {seen}"),
        When::Burning(cells) => format!("While burning the chip saw {seen}, {}", kind(cells)),
        When::Both(cells) => {
            format!(
                "While burning and reading the chip saw {seen}, {}",
                kind(cells)
            )
        }
    };
    let (one, other) = fault.lines();
    let places = places(name(one), other.map(name), pins);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "Look next at {places}; read again, and if the bytes change from read to read the pin \
             floats."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => format!(
            "Look next at the wiring of {places}. Inside one programmer this cancels when burnt \
             and read there: read in another one to see which side has it."
        ),
        _ => format!("Look next for a bridge between {places}, with the power off and a meter."),
    };
    let next = match when {
        When::Reading => next,
        When::Burning(_) => format!("{next} The chip itself holds the wrong bytes: burn it again."),
        When::Both(_) => format!(
            "{next} The same contact was bad both times, so suspect the programmer's socket, and \
             burn again in another."
        ),
    };
    Words {
        finding,
        look_next: next,
    }
}

fn data_words(fault: LineFault, pins: Pins) -> Words {
    let name = Line::Data;
    let finding = match fault {
        LineFault::StuckLow(i) => format!("{} never moves, it reads 0 everywhere", name(i)),
        LineFault::StuckHigh(i) => format!("{} never moves, it reads 1 everywhere", name(i)),
        LineFault::Inverted(i) => format!("{} reads inverted", name(i)),
        LineFault::Swapped(i, j) => format!("{} and {} are exchanged", name(i), name(j)),
        LineFault::ShortedLow(i, j) => {
            format!("{} and {} read the same, 0 winning", name(i), name(j))
        }
        LineFault::ShortedHigh(i, j) => {
            format!("{} and {} read the same, 1 winning", name(i), name(j))
        }
        LineFault::Overdriven { winner, loser } => {
            format!("{} reads what {} should read", name(loser), name(winner))
        }
    };
    let (one, other) = fault.lines();
    let places = places(name(one), other.map(name), pins);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "Look next at {places}; read in another socket to see whether the chip holds it so or \
             only the read shows it."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => {
            format!("Look next at the wiring of {places}.")
        }
        _ => format!("Look next for a bridge between {places}, with the power off and a meter."),
    };
    Words {
        finding,
        look_next: next,
    }
}

fn places(one: Line, other: Option<Line>, pins: Pins) -> String {
    match other {
        Some(other) => format!("{} and {}", at_pin(one, pins), at_pin(other, pins)),
        None => format!("{} and its socket contact", at_pin(one, pins)),
    }
}

impl Diagnosis {
    /// What would settle what the read leaves open; `None` when nothing is open. `bytes` is the
    /// chip's size.
    pub fn to_settle(&self, bytes: usize) -> Option<String> {
        let equals = self
            .candidates
            .first()
            .map_or(&[][..], |first| &first.equals);
        match self.verdict {
            Verdict::Same => None,
            Verdict::Certain if equals.len() == 1 => None,
            Verdict::Wavers => Some(
                "The chip can't be trusted as it is: clean its pins, read it five times more, \
                 slower, and compare where it wavers."
                    .to_owned(),
            ),
            Verdict::Certain => Some(match telling_pattern(equals, bytes) {
                Some(pattern) => format!(
                    "These can't be told apart by this image: burn the pattern `{pattern}` into a \
                     chip of the same kind, and read it in the same socket."
                ),
                None => "These can't be told apart by any image read so: read the chip once more \
                         in another socket or programmer."
                    .to_owned(),
            }),
            Verdict::Possible | Verdict::Likely | Verdict::CannotTell => {
                let pattern = Pattern::Telltale(Pass::First);
                Some(format!(
                    "Read the chip twice more and compare the reads with each other; if they are \
                     the same, burn the pattern `{pattern}` into a chip of the same kind and read \
                     that in the same socket."
                ))
            }
        }
    }
}

/// The pattern that tells most of these explanations apart, if one tells any.
fn telling_pattern(equals: &[Explanation], bytes: usize) -> Option<Pattern> {
    if !bytes.is_power_of_two() {
        return None;
    }
    let patterns = [Pattern::Telltale(Pass::First), Pattern::Random { seed: 1 }];
    let told = |pattern: &Pattern| {
        let image = pattern.image(bytes).ok()?;
        let kinds = super::diagnose::distinct_reads(&image, equals);
        (kinds > 1).then_some((kinds, *pattern))
    };
    let best = patterns
        .iter()
        .filter_map(told)
        .rev()
        .max_by_key(|(kinds, _)| *kinds);
    best.map(|(_, pattern)| pattern)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Case;

    #[test]
    fn the_sentence_of_a_dead_address_line() {
        let wanted = Pattern::Telltale(Pass::First).image(32768).unwrap();
        let mut read = wanted.clone();
        // Half of the bytes have A7 set; this image turns each of them into another.
        for (a, byte) in read.iter_mut().enumerate() {
            *byte = wanted[a & !(1 << 7)];
        }
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        let found = &diagnosis.candidates[0];
        let words = found.equals[0].words(&|line| (line == Line::Address(7)).then_some(3));
        assert_eq!(words.finding, "The chip sees A7 as 0 everywhere");
        assert_eq!(
            found.score.because("bytes"),
            "that explains all 16,384 differences and contradicts none of the 16,384 equal bytes"
        );
        assert_eq!(
            words.look_next,
            "Look next at pin 3 and its socket contact; read again, and if the bytes change from \
             read to read the pin floats."
        );
        assert_eq!(diagnosis.to_settle(32768), None);
    }

    #[test]
    fn what_can_be_settled_says_how() {
        // In a checkered image half of the lines do nothing.
        let wanted = Pattern::Checker.image(4096).unwrap();
        let read: Vec<u8> = wanted.iter().map(|byte| !byte).collect();
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        assert_eq!(diagnosis.verdict, Verdict::Certain);
        assert!(diagnosis.candidates[0].equals.len() > 1);
        let advice = diagnosis.to_settle(4096).unwrap();
        assert!(advice.contains("burn the pattern `telltale`"), "{advice}");
    }

    #[test]
    fn figures() {
        let score = Score {
            differing: 1200,
            explained: 7,
            equal: 1_048_576,
            broken: 31,
        };
        assert_eq!(
            score.because("words"),
            "that explains 7 of the 1,200 differences and contradicts 31 of the 1,048,576 equal words"
        );
    }
}
