//! What is said, and the names that it is said with.

use std::fmt;

use crate::wiring::Line;

/// What is said about a fault or a sign of one.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Sentences {
    /// What the read shows, one sentence without its full stop.
    pub finding: String,
    /// Where to look next, and what to do there.
    pub look_next: LookNext,
}

/// Where to look next, in sentences. Displays as a whole, with the words "Look next" where they belong to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LookNext {
    /// A place, as it stands after the words "Look next": `at pin 3 and its socket contact.`
    Place(String),
    /// Something else to do first, in full sentences.
    Advice(String),
}

impl LookNext {
    /// The same with more sentences after it.
    pub(super) fn and(self, more: &str) -> Self {
        match self {
            LookNext::Place(text) => LookNext::Place(format!("{text} {more}")),
            LookNext::Advice(text) => LookNext::Advice(format!("{text} {more}")),
        }
    }

    /// The sentences without the words "Look next", for where a heading says them.
    pub fn under_heading(&self) -> &str {
        match self {
            LookNext::Place(text) | LookNext::Advice(text) => text,
        }
    }
}

impl fmt::Display for LookNext {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LookNext::Place(text) => write!(f, "Look next {text}"),
            LookNext::Advice(text) => f.write_str(text),
        }
    }
}

/// What lines and images are called: the pins of the part in question, and the other images of the case.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    pin: &'a dyn Fn(Line) -> Option<u8>,
    others: &'a [String],
}

impl<'a> Names<'a> {
    /// No pins are known, and other images have numbers.
    pub const NONE: Names<'static> = Names {
        pin: &|_| None,
        others: &[],
    };

    /// The pin of a line on the part, where it is known, and the names of the case's other images in their order.
    pub fn new(pin: &'a dyn Fn(Line) -> Option<u8>, others: &'a [String]) -> Self {
        Self { pin, others }
    }

    /// The name of another image of the case, by its place; `None` where it has only a number.
    pub(super) fn other(&self, n: u8) -> Option<&'a str> {
        self.others.get(usize::from(n)).map(String::as_str)
    }

    /// `A7`, or `A7 (pin 3)`.
    pub(super) fn named(&self, line: Line) -> String {
        match (self.pin)(line) {
            Some(pin) => format!("{line} (pin {pin})"),
            None => line.to_string(),
        }
    }

    /// `pin 3`, or `the pin of A7` where no pin is known.
    pub(super) fn pin_of(&self, line: Line) -> String {
        match (self.pin)(line) {
            Some(pin) => format!("pin {pin}"),
            None => format!("the pin of {line}"),
        }
    }
}
