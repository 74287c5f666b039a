//! A vote over several reads of one chip.

use super::distribution::{Distribution, distributions};
use super::majority::{WaveringByte, majority};
use super::observed::Observed;
use super::story::{ReadsStory, ToldOfReads};
use super::weigh::weigh;
use crate::faults::verdict::Verdict;
use crate::prose::{debug_as_display, plural, thousands};
use crate::wiring::Width;

/// Several reads of one chip, and what is known about it.
///
/// ```
/// use romloom::faults::reads::{Reads, ReadsStory};
/// use romloom::faults::{Pattern, Verdict};
///
/// // D3 of the socket has no good contact: what it reads changes.
/// let image = "telltale".parse::<Pattern>()?.image(4096)?;
/// let floats = |read: usize, a: usize| u8::from((a * 37 + read * 11) % 16 == 0) << 3;
/// let read = |n: usize| -> Vec<u8> { (0..4096).map(|a| image[a] ^ floats(n, a)).collect() };
/// let reads = [read(0), read(1), read(2)];
///
/// let vote = Reads::new(reads.iter().map(Vec::as_slice).collect())?.vote();
/// assert_eq!(vote.image, image);
/// assert_eq!(vote.story(), &ReadsStory::DataLine(3));
/// assert_eq!(vote.verdict, Verdict::Certain);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Reads<'a> {
    reads: Vec<&'a [u8]>,
    width: Width,
    wanted: Option<&'a [u8]>,
}

/// The outcome of a vote.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Vote {
    /// The majority of each bit; a tied bit is as wanted, or 1, and named in [`wavering`](Self::wavering).
    pub image: Vec<u8>,
    /// The bytes that wavered, in ascending order.
    pub wavering: Vec<WaveringByte>,
    /// How many reads voted.
    pub reads: usize,
    /// The chip's data lines.
    pub width: Width,
    /// Bits of each read that are not the majority's.
    pub changed: Vec<usize>,
    /// How sure the first story is; [`Same`](Verdict::Same) when nothing wavers.
    pub verdict: Verdict,
    /// What may make the reads differ, the likeliest first; one story at least.
    pub told: Vec<ToldOfReads>,
    /// How the wavering cells are distributed, where it is more than chance.
    pub distributions: Vec<Distribution>,
    answer: usize,
}

impl<'a> Reads<'a> {
    /// The largest number of reads.
    pub const MOST: usize = 99;

    /// Reads of a chip of 8 data lines about which nothing else is known.
    ///
    /// # Errors
    /// [`VoteError`] when there are fewer than 2 reads or more than 99, or their lengths differ.
    pub fn new(reads: Vec<&'a [u8]>) -> Result<Self, VoteError> {
        let count = reads.len();
        if !(2..=Self::MOST).contains(&count) {
            return Err(VoteError::Count { reads: count });
        }
        let first = reads[0].len();
        if let Some(n) = reads.iter().position(|read| read.len() != first) {
            return Err(VoteError::Length {
                number: n + 1,
                length: reads[n].len(),
                first,
            });
        }
        Ok(Reads {
            reads,
            width: Width::Eight,
            wanted: None,
        })
    }

    /// The chip's data lines.
    ///
    /// # Errors
    /// [`VoteError::PartWord`] when the reads are not a whole number of its words.
    pub fn width(self, width: Width) -> Result<Self, VoteError> {
        let length = self.reads[0].len();
        match length % width.bytes() {
            0 => Ok(Reads { width, ..self }),
            _ => Err(VoteError::PartWord { length }),
        }
    }

    /// What should have been read: it decides between values of which none is the more frequent. Of another length, it
    /// says nothing.
    pub fn wanted(self, wanted: &'a [u8]) -> Self {
        let same_length = wanted.len() == self.reads[0].len();
        Reads {
            wanted: same_length.then_some(wanted),
            ..self
        }
    }

    /// Takes the majority of each bit, and says what makes the reads differ. Time and memory grow with the bytes of all
    /// reads.
    pub fn vote(&self) -> Vote {
        let found = majority(&self.reads, self.wanted);
        let seen = Observed::new(&self.reads, self.width, self.wanted, &found);
        let weighed = weigh(&seen);
        let distributions = distributions(&seen, &weighed.told[0].story);
        Vote {
            reads: self.reads.len(),
            width: self.width,
            changed: seen.by_read,
            verdict: weighed.verdict,
            told: weighed.told,
            answer: weighed.answer,
            distributions,
            image: found.image,
            wavering: found.wavering,
        }
    }
}

impl Vote {
    /// Whether all reads are the same.
    pub fn unanimous(&self) -> bool {
        self.wavering.is_empty()
    }

    /// The bytes in which a bit is tied.
    pub fn ties(&self) -> impl Iterator<Item = WaveringByte> + '_ {
        self.wavering.iter().copied().filter(|byte| byte.tied != 0)
    }

    /// The likeliest story.
    pub fn story(&self) -> &ReadsStory {
        match &self.told[..] {
            [first, ..] => &first.story,
            [] => &ReadsStory::Stable,
        }
    }

    /// The answer: the likeliest story, and when the verdict is open those that are about as likely.
    pub fn answer(&self) -> &[ToldOfReads] {
        &self.told[..self.answer]
    }

    /// The groups of reads with different contents: then the majority is not the content of any chip.
    pub fn different_contents(&self) -> Option<&[Vec<usize>]> {
        match self.story() {
            ReadsStory::DifferentContents(groups) => Some(groups),
            _ => None,
        }
    }

    /// The read that differs from all others, counted from 0, when that is the story.
    pub fn odd_read(&self) -> Option<usize> {
        match self.story() {
            ReadsStory::OddRead { read, .. } => Some(*read),
            _ => None,
        }
    }

    /// Wavering bits on each data line of the chip, from D0 up.
    pub fn lines(&self) -> Vec<usize> {
        let mut lines = vec![0; self.width.lines().into()];
        for byte in &self.wavering {
            let upper = byte.address % self.width.bytes() * 8;
            for line in (0..8).filter(|line| byte.bits >> line & 1 == 1) {
                lines[upper + line] += 1;
            }
        }
        lines
    }

    /// Whether all that the majority has wrong is explained by what wavers: the bit read right in some of the reads, or
    /// it is on the line that floats.
    pub fn explains(&self, wanted: &[u8]) -> bool {
        if self.unanimous() || wanted.len() != self.image.len() {
            return false;
        }
        let bytes = self.width.bytes();
        let mut wavering = self.wavering.iter().peekable();
        (0..wanted.len()).all(|at| {
            let wrong = wanted[at] ^ self.image[at];
            while wavering.peek().is_some_and(|byte| byte.address < at) {
                wavering.next();
            }
            let wavers = wavering.peek().filter(|byte| byte.address == at);
            let unstable = wavers.map_or(0, |byte| byte.bits);
            wrong & !unstable == 0
                || match *self.story() {
                    _ if self.verdict == Verdict::Open => false,
                    ReadsStory::DataLine(line) => {
                        usize::from(line) / 8 == at % bytes && wrong == 1 << (line % 8)
                    }
                    ReadsStory::AddressLine(line) => {
                        let partner = at ^ bytes << line;
                        wanted.get(partner) == Some(&self.image[at])
                    }
                    _ => false,
                }
        })
    }
}

/// Why reads can't vote.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum VoteError {
    /// Too few or too many.
    #[error("a vote takes 2 to 99 reads of one chip, but there are {reads}")]
    Count {
        /// Reads given.
        reads: usize,
    },
    /// Two reads of different sizes can't be of one chip read in one way.
    #[error("read {number} has {}, but the first has {}", plural(*.length as u64, "byte"), thousands(*.first as u64))]
    Length {
        /// Which read, counted from 1.
        number: usize,
        /// Its bytes.
        length: usize,
        /// The bytes of the first read.
        first: usize,
    },
    /// Half a word is left over.
    #[error("the reads have {}, which is not a whole number of 16-bit words", plural(*.length as u64, "byte"))]
    PartWord {
        /// The bytes of each.
        length: usize,
    },
}

debug_as_display!(VoteError);

#[cfg(test)]
mod tests;
