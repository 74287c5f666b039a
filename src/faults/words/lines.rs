//! Bad lines in words.

use super::{Names, Sentences};
use crate::faults::line_fault::{Cells, LineFault, When};
use crate::faults::story::LineOf;
use crate::wiring::Line;

/// Where a finding is said.
#[derive(Clone, Copy)]
pub(super) enum Opening {
    /// As a sentence of its own.
    Sentence,
    /// After another one and the word "and". Names of lines keep their capitals.
    AfterAnd,
}

impl Opening {
    /// The finding as it is said here.
    pub(super) fn begin(self, finding: &str) -> String {
        match (self, finding.split_at_checked(1)) {
            (Opening::AfterAnd, Some((first, rest))) => {
                let name = rest.starts_with(|c: char| c.is_ascii_digit() || c.is_ascii_uppercase());
                match name {
                    true => finding.to_owned(),
                    false => first.to_ascii_lowercase() + rest,
                }
            }
            _ => finding.to_owned(),
        }
    }
}

/// What is said about a bad address line.
pub(super) fn address_sentences(
    fault: LineFault,
    when: When,
    names: &Names,
    opening: Opening,
) -> Sentences {
    let name = Line::Address;
    let seen = match fault {
        LineFault::StuckLow(i) => format!("{} as 0 everywhere", name(i)),
        LineFault::StuckHigh(i) => format!("{} as 1 everywhere", name(i)),
        LineFault::Inverted(i) => format!("{} inverted", name(i)),
        LineFault::Swapped(i, j) => format!("{} and {} swapped", name(i), name(j)),
        LineFault::ShortedLow(i, j) => {
            format!("{} and {} joined, and 0 wins", name(i), name(j))
        }
        LineFault::ShortedHigh(i, j) => {
            format!("{} and {} joined, and 1 wins", name(i), name(j))
        }
        LineFault::Overdriven { winner, loser } => {
            format!("{} in place of {}", name(winner), name(loser))
        }
    };
    let kind = |cells| match cells {
        Cells::Overwrite => "and later writes won",
        Cells::OnlyClear => "and cells written twice contain the AND of both",
    };
    let finding = match when {
        When::Reading => match opening {
            Opening::Sentence => format!("The chip sees {seen}"),
            Opening::AfterAnd => format!("the chip sees {seen}"),
        },
        When::Burning(cells) => opening.begin(&format!(
            "While burning the chip saw {seen}, {}",
            kind(cells)
        )),
        When::Both(cells) => opening.begin(&format!(
            "While burning and reading the chip saw {seen}, {}",
            kind(cells)
        )),
    };
    let (one, other) = fault.lines();
    let places = places(name(one), other.map(name), names);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "Check {places}. Read again: if the bytes change between reads, the pin has no contact."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => format!(
            "Check the wiring of {places}. Burning and reading in one programmer hides this fault: read in another \
             one to see whether the programmer or the chip has it."
        ),
        _ => format!("Look for a bridge between {places}, with the power off and a meter."),
    };
    let next = match when {
        When::Reading => next,
        When::Burning(_) => {
            format!("{next} The chip itself contains the wrong bytes: burn it again.")
        }
        When::Both(_) => format!(
            "{next} The same contact was bad both times, which points to the programmer's socket: burn again in \
             another one."
        ),
    };
    Sentences {
        finding,
        look_next: next,
    }
}

/// What is said about a bad data line.
pub(super) fn data_sentences(fault: LineFault, names: &Names) -> Sentences {
    let name = Line::Data;
    let finding = match fault {
        LineFault::StuckLow(i) => format!("{} never moves, it reads 0 everywhere", name(i)),
        LineFault::StuckHigh(i) => format!("{} never moves, it reads 1 everywhere", name(i)),
        LineFault::Inverted(i) => format!("{} reads inverted", name(i)),
        LineFault::Swapped(i, j) => format!("{} and {} are swapped", name(i), name(j)),
        LineFault::ShortedLow(i, j) => {
            format!("{} and {} read the same, and 0 wins", name(i), name(j))
        }
        LineFault::ShortedHigh(i, j) => {
            format!("{} and {} read the same, and 1 wins", name(i), name(j))
        }
        LineFault::Overdriven { winner, loser } => {
            format!("{} reads what {} should read", name(loser), name(winner))
        }
    };
    let (one, other) = fault.lines();
    let places = places(name(one), other.map(name), names);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "Check {places}. Read in another socket to see whether the fault is in the chip or only in the read."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => {
            format!("Check the wiring of {places}.")
        }
        _ => format!("Look for a bridge between {places}, with the power off and a meter."),
    };
    Sentences {
        finding,
        look_next: next,
    }
}

/// What is said when it is the wanted image that has the fault.
pub(super) fn wanted_is_faulty_sentences(line: LineOf, names: &Names) -> Sentences {
    let said = match line {
        LineOf::Address(fault) => address_sentences(fault, When::Reading, names, Opening::AfterAnd),
        LineOf::Data(fault) => data_sentences(fault, names),
    };
    Sentences {
        finding: format!(
            "The wanted image looks faulty: it is what this chip gives with the fault \"{}\"",
            said.finding
        ),
        look_next: "The wanted image may itself be a bad read: find an older copy of it, or its printed checksum, before you burn anything from it."
                .to_owned(),
    }
}

fn places(one: Line, other: Option<Line>, names: &Names) -> String {
    match other {
        Some(other) => format!("{} and {}", names.pin_of(one), names.pin_of(other)),
        None => format!("{} and its socket contact", names.pin_of(one)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What each fault of two lines is called, and where to look.
    #[test]
    fn lines_are_said_with_their_pins() {
        let pin = |line| match line {
            Line::Address(line) => Some(10 - line),
            Line::Data(_) => None,
        };
        let names = Names::new(&pin);
        let driven = LineFault::Overdriven {
            winner: 1,
            loser: 4,
        };
        for (fault, address, data) in [
            (
                LineFault::StuckHigh(1),
                "A1 as 1 everywhere",
                "D1 never moves, it reads 1 everywhere",
            ),
            (LineFault::Inverted(1), "A1 inverted", "D1 reads inverted"),
            (
                LineFault::Swapped(1, 4),
                "A1 and A4 swapped",
                "D1 and D4 are swapped",
            ),
            (
                LineFault::ShortedLow(1, 4),
                "A1 and A4 joined, and 0 wins",
                "D1 and D4 read the same, and 0 wins",
            ),
            (
                LineFault::ShortedHigh(1, 4),
                "A1 and A4 joined, and 1 wins",
                "D1 and D4 read the same, and 1 wins",
            ),
            (driven, "A1 in place of A4", "D4 reads what D1 should read"),
        ] {
            let seen = |when| address_sentences(fault, when, &names, Opening::Sentence);
            let reading = seen(When::Reading);
            assert_eq!(reading.finding, format!("The chip sees {address}"));
            let pins = match fault.lines().1 {
                None => "pin 9 and its socket contact",
                Some(_) => "pin 9 and pin 6",
            };
            assert!(reading.look_next.contains(pins), "{}", reading.look_next);
            let burning = seen(When::Burning(Cells::Overwrite));
            let both = seen(When::Both(Cells::OnlyClear));
            let later = "and later writes won";
            let and = "and cells written twice contain the AND of both";
            assert_eq!(
                burning.finding,
                format!("While burning the chip saw {address}, {later}")
            );
            assert_eq!(
                both.finding,
                format!("While burning and reading the chip saw {address}, {and}")
            );
            let starts = |all: &Sentences| all.look_next.starts_with(&reading.look_next);
            assert!(starts(&burning) && starts(&both));
            assert!(burning.look_next.ends_with("burn it again."));
            let said = data_sentences(fault, &names);
            assert_eq!(said.finding, data);
            let pins = match fault.lines().1 {
                None => "the pin of D1 and its socket contact",
                Some(_) => "the pin of D1 and the pin of D4",
            };
            assert!(said.look_next.contains(pins), "{}", said.look_next);
        }
    }
}
