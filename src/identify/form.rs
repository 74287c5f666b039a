//! The forms in which people and machines store a content.

use crate::faults::Length;

/// One of `of` lanes: every `of`th byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Lane {
    /// Which, counted from 0.
    pub n: usize,
    /// Of how many, 2 at least.
    pub of: usize,
}

/// Which part of a known chip, or of one of its lanes.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Cut {
    /// All of it.
    Whole,
    /// One of `of` equal blocks.
    Bank {
        /// Which, counted from 0.
        n: usize,
        /// Of how many, 2 at least.
        of: usize,
    },
    /// A stretch that is not a bank.
    Stretch {
        /// Its first byte.
        first: usize,
        /// Its bytes.
        len: usize,
        /// Bytes of the whole.
        of: usize,
    },
    /// Several banks, one after another: what a switched window and a fixed one show.
    Banks {
        /// Which, in the read's order, counted from 0.
        banks: Vec<usize>,
        /// Of how many.
        of: usize,
    },
}

/// What is in the read apart from the known chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Rest {
    /// This byte throughout.
    Filler(u8),
    /// Other bytes.
    Other,
    /// What an open bus reads.
    OpenBus,
}

/// Where in the read the known chip is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum InRead {
    /// It is the whole read.
    Whole,
    /// In one of its lanes.
    Lane(Lane),
    /// In a stretch of it.
    At {
        /// The first byte.
        first: usize,
        /// Bytes.
        len: usize,
        /// What all other bytes are.
        rest: Rest,
    },
    /// Each byte of the known chip is there twice.
    EachTwice,
}

/// In what form a known chip is in a read: which lane, which part of it, how it is turned, how often it is repeated, and where.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ReadForm {
    /// The lane of the known chip; `None` for all of it.
    pub lane: Option<Lane>,
    /// Which part of that.
    pub cut: Cut,
    /// Every bit inverted.
    pub inverted: bool,
    /// The two bytes of each word swapped.
    pub swapped: bool,
    /// How often, one after another.
    pub times: usize,
    /// Where in the read.
    pub place: InRead,
}

impl ReadForm {
    /// The known chip, unchanged.
    pub const WHOLE: ReadForm = ReadForm {
        lane: None,
        cut: Cut::Whole,
        inverted: false,
        swapped: false,
        times: 1,
        place: InRead::Whole,
    };

    /// What the form costs, in bits: the plain and usual ones little.
    pub(super) fn bits(&self) -> f64 {
        let log2 = |n: usize| (n.max(1) as f64).log2();
        let lane = self.lane.map_or(0.0, |lane| 4.0 + log2(lane.of));
        let cut = match &self.cut {
            Cut::Whole => 0.0,
            Cut::Bank { of, .. } => 3.0 + log2(*of),
            Cut::Stretch { first: 0, .. } => 6.0,
            Cut::Stretch { of, .. } => 6.0 + log2(*of),
            Cut::Banks { banks, of } => 5.0 + banks.len() as f64 * log2(*of),
        };
        let inverted = if self.inverted { 6.0 } else { 0.0 };
        let swapped = if self.swapped { 5.0 } else { 0.0 };
        let times = if self.times > 1 { 2.0 } else { 0.0 };
        let place = match self.place {
            InRead::Whole => 0.0,
            InRead::Lane(lane) => 5.0 + log2(lane.of),
            InRead::EachTwice => 6.0,
            InRead::At {
                rest: Rest::Filler(_),
                ..
            } => 4.0,
            InRead::At { first, .. } => 7.0 + log2(first.max(1)),
        };
        lane + cut + inverted + swapped + times + place
    }

    /// Adds what a diagnosis found out about the length of a read of `read` bytes, compared with `wanted` bytes.
    pub(super) fn take_up(&mut self, length: Length, wanted: usize, read: usize) -> bool {
        let stretch = |first: usize| Cut::Stretch {
            first,
            len: read,
            of: wanted,
        };
        let at = |first: usize, rest: Rest| InRead::At {
            first,
            len: wanted,
            rest,
        };
        let more = read.saturating_sub(wanted);
        match length {
            Length::CutShort => self.cut = stretch(0),
            Length::StartMissing => self.cut = stretch(wanted.saturating_sub(read)),
            Length::Window { from } => self.cut = stretch(from),
            Length::Part { n, of } => self.cut = Cut::Bank { n, of },
            Length::Lane { n, of } if self.lane.is_none() => self.lane = Some(Lane { n, of }),
            Length::Repeats if wanted > 0 && read % wanted == 0 => self.times *= read / wanted,
            Length::Padded(byte) => self.place = at(0, Rest::Filler(byte)),
            Length::FilledInFront(byte) => self.place = at(more, Rest::Filler(byte)),
            Length::More => self.place = at(0, Rest::Other),
            Length::InFront => self.place = at(more, Rest::Other),
            Length::OpenBus(_) => self.place = at(0, Rest::OpenBus),
            Length::OneLaneOf2 { n, .. } => self.place = InRead::Lane(Lane { n, of: 2 }),
            Length::EachTwice => self.place = InRead::EachTwice,
            _ => return false,
        }
        true
    }
}

impl Lane {
    /// The bytes of this lane.
    pub(super) fn of_bytes(self, bytes: &[u8]) -> Vec<u8> {
        bytes
            .iter()
            .skip(self.n)
            .step_by(self.of)
            .copied()
            .collect()
    }

    /// How many bytes this lane of that many has.
    pub(super) fn len_of(self, bytes: usize) -> usize {
        bytes.saturating_sub(self.n).div_ceil(self.of)
    }
}

/// How a read is turned before it is looked up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Turn {
    pub inverted: bool,
    pub swapped: bool,
    /// The lane of the read that is taken.
    pub lane: Option<Lane>,
}

const fn turned(inverted: bool, swapped: bool) -> Turn {
    Turn {
        inverted,
        swapped,
        lane: None,
    }
}

const fn lane(n: usize, of: usize) -> Turn {
    Turn {
        inverted: false,
        swapped: false,
        lane: Some(Lane { n, of }),
    }
}

/// All turns that are looked up, the plainest first.
pub(super) const TURNS: [Turn; 10] = [
    turned(false, false),
    turned(false, true),
    turned(true, false),
    turned(true, true),
    lane(0, 2),
    lane(1, 2),
    lane(0, 4),
    lane(1, 4),
    lane(2, 4),
    lane(3, 4),
];

impl Turn {
    /// The read, turned like this; `None` when it is not a whole number of words.
    pub fn of_bytes(self, bytes: &[u8]) -> Option<Vec<u8>> {
        if self.swapped && bytes.len() % 2 != 0 {
            return None;
        }
        let mut turned = match self.lane {
            Some(lane) if bytes.len() % lane.of != 0 => return None,
            Some(lane) => lane.of_bytes(bytes),
            None => bytes.to_vec(),
        };
        if self.inverted {
            turned.iter_mut().for_each(|byte| *byte = !*byte);
        }
        if self.swapped {
            turned.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
        }
        Some(turned)
    }

    /// The form of a known chip, or of its lane, whose bytes were found in this turn of a read that repeats it `times` times.
    pub fn form(self, lane: Option<Lane>, cut: Cut, place: InRead, times: usize) -> ReadForm {
        ReadForm {
            lane,
            cut,
            inverted: self.inverted,
            swapped: self.swapped,
            times,
            place: match (self.lane, place) {
                (Some(lane), _) => InRead::Lane(lane),
                (None, place) => place,
            },
        }
    }
}

/// The byte, when all are the same.
pub(super) fn constant(bytes: &[u8]) -> Option<u8> {
    let (&first, rest) = bytes.split_first()?;
    rest.iter().all(|&byte| byte == first).then_some(first)
}

/// The shortest content whose repetition makes the bytes, by halving, and how often it is there.
pub(super) fn once(bytes: &[u8]) -> (&[u8], usize) {
    let (mut part, mut times) = (bytes, 1);
    while part.len() >= 2 && part.len() % 2 == 0 {
        let (lower, upper) = part.split_at(part.len() / 2);
        if lower != upper {
            break;
        }
        (part, times) = (lower, 2 * times);
    }
    (part, times)
}

/// About how many bits it takes to list these bytes, from how often each value is among them. It is worth that much to find
/// them elsewhere. Blank areas are worth nothing.
pub(super) fn worth(bytes: &[u8]) -> f64 {
    let mut counts = [0usize; 256];
    for &byte in bytes {
        counts[usize::from(byte)] += 1;
    }
    let all = bytes.len() as f64;
    let bits = |&count: &usize| match count {
        0 => 0.0,
        _ => count as f64 * (all / count as f64).log2(),
    };
    counts.iter().map(bits).sum()
}
