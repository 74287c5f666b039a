//! What is said, and the names that are used for it.

use crate::wiring::{Line, Width};

/// What is said about a fault or a sign of one.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Sentences {
    /// What the read shows, one sentence without its full stop.
    pub finding: String,
    /// What to look at or to do next, in full sentences.
    pub look_next: String,
}

/// The names of lines, images and addresses: the pins of the part in question, the other images of the case, and where
/// the read begins.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    pin: &'a dyn Fn(Line) -> Option<u8>,
    others: &'a [String],
    cousins: &'a [String],
    first: u64,
    width: Width,
}

impl<'a> Names<'a> {
    /// No pins are known, other images have numbers, and the read begins at 0.
    pub const NONE: Names<'static> = Names {
        pin: &|_| None,
        others: &[],
        cousins: &[],
        first: 0,
        width: Width::Eight,
    };

    /// The pin of a line on the part, where it is known.
    pub fn new(pin: &'a dyn Fn(Line) -> Option<u8>) -> Self {
        Names { pin, ..Self::NONE }
    }

    /// The names of the case's other images in their order.
    pub fn others(self, others: &'a [String]) -> Self {
        Names { others, ..self }
    }

    /// The names of the parts that the case has as cousins, in their order.
    pub fn cousins(self, cousins: &'a [String]) -> Self {
        Names { cousins, ..self }
    }

    /// Where the read begins, and how wide its cells are.
    pub fn at(self, first: u64, width: Width) -> Self {
        Names {
            first,
            width,
            ..self
        }
    }

    /// The width of the cells.
    pub(super) fn width(&self) -> Width {
        self.width
    }

    /// The name of another image of the case, by its place.
    pub(super) fn other(&self, n: u8) -> String {
        match self.others.get(usize::from(n)) {
            Some(name) => name.clone(),
            None => format!("the other image number {}", n + 1),
        }
    }

    /// The name of another part of the case, by its place.
    pub(super) fn cousin(&self, n: u8) -> String {
        match self.cousins.get(usize::from(n)) {
            Some(name) => name.clone(),
            None => format!("part number {} of those given", n + 1),
        }
    }

    /// The address of a byte of the read: `0x8000`.
    pub(super) fn byte(&self, at: usize) -> String {
        format!("0x{:04X}", self.first.saturating_add(at as u64))
    }

    /// The address of a cell of the read, in bytes.
    pub(super) fn cell(&self, at: usize) -> String {
        self.byte(at * self.width.bytes())
    }

    /// Bytes of the read, as first and last address; one address alone is not a range.
    pub(super) fn range(&self, at: usize, len: usize) -> String {
        match len {
            0 | 1 => self.byte(at),
            _ => format!("{}-{}", self.byte(at), self.byte(at + len - 1)),
        }
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
