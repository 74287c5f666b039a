//! What a read is.

use super::ReadForm;
use crate::faults::{CellKind, Story};

/// An answer is sure when it is this many bits better than chance, and than any other: a million to one.
pub(super) const SURE: f64 = 20.0;
/// An answer is likely from this many bits on: a thousand to one.
pub(super) const LIKELY: f64 = 10.0;

/// What is said of a read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Recognised {
    /// It is the known chip, in the form of the first match. Byte for byte, or with a story that explains every byte and
    /// that no other known chip comes near to.
    Is,
    /// It is probably that: the story leaves something over, or the evidence is small.
    IsLikely,
    /// It is none of the known chips; this one is the nearest, and what differs is listed.
    Nearest,
    /// Every byte is the same.
    Constant(u8),
    /// It has nothing in common with any of them.
    Unknown,
}

/// What a read is, and of which known chips.
#[derive(Clone, Debug, PartialEq)]
pub struct Identity {
    /// What is said.
    pub answer: Recognised,
    /// The known chips of which it is said, the plainest form first.
    pub matches: Vec<Match>,
    /// Matches that are not listed.
    pub left_out: usize,
}

/// A known chip that a read is, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// The chip, by its number.
    pub known: usize,
    /// In what form.
    pub form: ReadForm,
    /// The other read, by its place, when the two of them together are the known chip.
    pub beside: Option<usize>,
    /// What differs, unless nothing does.
    pub difference: Option<Difference>,
    /// Whether other content would have it only by a chance of less than one in a million.
    pub(super) sure: bool,
    pub(super) bits: f64,
}

/// How a read differs from the form of a known chip that it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// Bytes that differ.
    pub bytes: usize,
    /// Bytes compared.
    pub compared: usize,
    /// What happened, apart from what the form says.
    pub story: Option<Story>,
    /// What kind of bytes the story leaves over.
    pub left: Option<CellKind>,
}

impl Identity {
    pub(super) fn of(answer: Recognised) -> Self {
        Identity {
            answer,
            matches: Vec::new(),
            left_out: 0,
        }
    }
}

impl Match {
    pub(super) fn exact(known: usize, form: ReadForm, worth: f64, pick: f64) -> Self {
        let bits = pick + form.bits();
        Match {
            known,
            form,
            beside: None,
            difference: None,
            sure: worth - bits >= SURE,
            bits,
        }
    }
}
