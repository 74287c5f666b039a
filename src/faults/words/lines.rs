//! Bad lines in words.

use super::{LookNext, Names, Sentences};
use crate::faults::models::{Cells, LineFault, When};
use crate::wiring::Line;

/// Where a finding stands.
#[derive(Clone, Copy)]
pub(super) enum Opening {
    /// As a sentence of its own.
    Sentence,
    /// After another one and the word "and". Names of lines keep their capitals.
    AfterAnd,
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
        When::Reading => match opening {
            Opening::Sentence => format!("The chip sees {seen}"),
            Opening::AfterAnd => format!("the chip sees {seen}"),
        },
        When::Burning(cells) => format!("While burning the chip saw {seen}, {}", kind(cells)),
        When::Both(cells) => {
            format!(
                "While burning and reading the chip saw {seen}, {}",
                kind(cells)
            )
        }
    };
    let (one, other) = fault.lines();
    let places = places(name(one), other.map(name), names);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "at {places}; read again, and if the bytes change from read to read the pin \
             floats."
        ),
        LineFault::Inverted(_) | LineFault::Swapped(..) => format!(
            "at the wiring of {places}. Inside one programmer this cancels when burnt \
             and read there: read in another one to see which side has it."
        ),
        _ => format!("for a bridge between {places}, with the power off and a meter."),
    };
    let next = LookNext::Place(next);
    let next = match when {
        When::Reading => next,
        When::Burning(_) => next.and("The chip itself holds the wrong bytes: burn it again."),
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
    let places = places(name(one), other.map(name), names);
    let next = match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => format!(
            "at {places}; read in another socket to see whether the chip holds it so or \
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

fn places(one: Line, other: Option<Line>, names: &Names) -> String {
    match other {
        Some(other) => format!("{} and {}", names.pin_of(one), names.pin_of(other)),
        None => format!("{} and its socket contact", names.pin_of(one)),
    }
}
