//! A read and all that is known about it.

use super::case_error::{CaseError, CaseImage, LARGEST};
use super::compare::compare;
use super::models::Cells;
use super::outcome::{Diagnosis, Verdict};
use super::vote::vote;
use crate::wiring::Width;

/// A read that is to be explained, and all that is known about it.
///
/// ```
/// use romloom::faults::{Case, LineFault, Model, Pattern, Verdict, When};
///
/// let wanted = "telltale".parse::<Pattern>()?.image(32768)?;
/// let read: Vec<u8> = (0..32768).map(|a| wanted[a & !(1 << 7)]).collect();
/// let diagnosis = Case::new(&wanted, &read).diagnose()?;
/// assert_eq!(diagnosis.verdict, Verdict::Certain);
/// assert_eq!(
///     diagnosis.candidates[0].equals[0].first,
///     Model::Address { fault: LineFault::StuckLow(7), when: When::Reading },
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Case<'a> {
    pub(super) wanted: &'a [u8],
    pub(super) read: &'a [u8],
    pub(super) width: Width,
    pub(super) cells: Option<Cells>,
    pub(super) old: Option<&'a [u8]>,
    pub(super) others: Vec<&'a [u8]>,
    pub(super) more_reads: Vec<&'a [u8]>,
    pub(super) pairs: bool,
}

impl<'a> Case<'a> {
    /// The largest image, in bytes: 24 address lines.
    pub const LARGEST: usize = LARGEST;

    /// The image that was meant and what was read, for a chip of 8 data lines about which
    /// nothing else is known.
    pub fn new(wanted: &'a [u8], read: &'a [u8]) -> Self {
        Case {
            wanted,
            read,
            width: Width::Eight,
            cells: None,
            old: None,
            others: Vec::new(),
            more_reads: Vec::new(),
            pairs: true,
        }
    }

    /// The chip's data lines.
    pub fn width(mut self, width: Width) -> Self {
        self.width = width;
        self
    }

    /// What the chip's cells do when written again; both are tried when it isn't known.
    pub fn cells(mut self, cells: Cells) -> Self {
        self.cells = Some(cells);
        self
    }

    /// What the chip held before.
    pub fn old(mut self, old: &'a [u8]) -> Self {
        self.old = Some(old);
        self
    }

    /// Another image of the set: its chip may have been taken for this one, or answer with it.
    pub fn other(mut self, other: &'a [u8]) -> Self {
        self.others.push(other);
        self
    }

    /// A further read of the same chip. The majority is explained.
    pub fn another_read(mut self, read: &'a [u8]) -> Self {
        self.more_reads.push(read);
        self
    }

    /// Tries single models only.
    pub fn singles_only(mut self) -> Self {
        self.pairs = false;
        self
    }

    fn check(&self) -> Result<(), CaseError> {
        for (which, bytes) in [
            (CaseImage::Wanted, self.wanted),
            (CaseImage::Read, self.read),
        ] {
            let length = bytes.len();
            if length == 0 {
                return Err(CaseError::Empty { which });
            }
            if length > Self::LARGEST {
                return Err(CaseError::TooLarge { which, length });
            }
            if length % self.width.bytes() != 0 {
                return Err(CaseError::PartWord { which, length });
            }
        }
        let old = self.old.iter().map(|&old| (CaseImage::Old, old));
        let others = self.others.iter().map(|&other| (CaseImage::Other, other));
        for (which, bytes) in old.chain(others) {
            if bytes.len() != self.wanted.len() {
                return Err(CaseError::OtherLength {
                    which,
                    length: bytes.len(),
                    wanted: self.wanted.len(),
                });
            }
        }
        if self.others.len() > 64 {
            return Err(CaseError::TooManyOthers {
                count: self.others.len(),
            });
        }
        Ok(())
    }

    /// Explains the read.
    ///
    /// # Errors
    /// [`CaseError`] when the images can't belong to one chip in any way.
    pub fn diagnose(&self) -> Result<Diagnosis, CaseError> {
        self.check()?;
        let vote = if self.more_reads.is_empty() {
            None
        } else {
            let mut reads = vec![self.read];
            reads.extend(&self.more_reads);
            Some(vote(&reads)?)
        };
        let read = vote.as_ref().map_or(self.read, |vote| &vote.image);
        let wavers = vote.as_ref().is_some_and(|vote| !vote.unanimous());
        let mut diagnosis = Diagnosis {
            verdict: if wavers {
                Verdict::Wavers
            } else {
                Verdict::Same
            },
            differences: compare(self.wanted, read),
            candidates: Vec::new(),
            not_excluded: Vec::new(),
            vote: None,
            only_transfers: None,
        };
        if !diagnosis.differences.none() {
            self.explain(read, &mut diagnosis);
        }
        diagnosis.vote = vote;
        Ok(diagnosis)
    }
}
