//! Bad lines in words.

use super::{LookNext, Names, Sentences};
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
        Cells::OnlyClear => "cells written twice containing the AND of both",
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
            "at {places}; read again, and if the bytes change from read to read the pin \
             floats."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => format!(
            "at the wiring of {places}. Inside one programmer this cancels when burned \
             and read there: read in another one to see which side has it."
        ),
        _ => format!("for a bridge between {places}, with the power off and a meter."),
    };
    let next = LookNext::Place(next);
    let next = match when {
        When::Reading => next,
        When::Burning(_) => next.and("The chip itself contains the wrong bytes: burn it again."),
        When::Both(_) => next.and(
            "The same contact was bad both times, so suspect the programmer's socket, and \
             burn again in another.",
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
    let places = places(name(one), other.map(name), names);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "at {places}; read in another socket to see whether the chip has it so or \
             only the read shows it."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => {
            format!("at the wiring of {places}.")
        }
        _ => format!("for a bridge between {places}, with the power off and a meter."),
    };
    Sentences {
        finding,
        look_next: LookNext::Place(next),
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
            "It is the wanted image that looks faulty: read so, this chip gives it ({})",
            said.finding
        ),
        look_next: LookNext::Advice(
            "The wanted image may itself be a bad read: find an older copy of it, or its printed checksum, before you              burn anything from it."
                .to_owned(),
        ),
    }
}

fn places(one: Line, other: Option<Line>, names: &Names) -> String {
    match other {
        Some(other) => format!("{} and {}", names.pin_of(one), names.pin_of(other)),
        None => format!("{} and its socket contact", names.pin_of(one)),
    }
}
