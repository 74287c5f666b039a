//! From two images to a verdict.

use std::fmt;

use super::compare::{Differences, compare};
use super::loose;
use super::models::{Cells, Damage, Explanation, Model, Shape};
use super::predict::Images;
use super::search::{Candidate, Score, Search};
use super::vote::{Vote, VoteError, vote};
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
    wanted: &'a [u8],
    read: &'a [u8],
    width: Width,
    cells: Option<Cells>,
    old: Option<&'a [u8]>,
    others: Vec<&'a [u8]>,
    more_reads: Vec<&'a [u8]>,
    pairs: bool,
}

/// What a diagnosis comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The read is the wanted image. (A swap or inversion inside a programmer cancels when
    /// burnt and read there.)
    Same,
    /// The majority of the reads is the wanted image, but they differ among themselves.
    Wavers,
    /// The first candidate explains every difference and contradicts no equal cell. Its
    /// equals can't be told apart by this read.
    Certain,
    /// The candidates explain everything, but so much is left open in them, or so little is
    /// different, that the read doesn't prove them.
    Possible,
    /// The first candidate explains nearly everything; some cells are left over.
    Likely,
    /// No model explains the read. The candidates, if any, are only the nearest.
    CannotTell,
}

/// The outcome of [`Case::diagnose`].
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Diagnosis {
    /// What it comes to.
    pub verdict: Verdict,
    /// How the wanted image (first) and the read (second) differ, in bytes.
    pub differences: Differences,
    /// Explanations, the best first.
    pub candidates: Vec<Candidate>,
    /// Beside a [`Certain`](Verdict::Certain) verdict: loose models that would permit the same
    /// read by a coincidence of what they leave open.
    pub not_excluded: Vec<Model>,
    /// The vote, when there were several reads; the majority is what was explained.
    pub vote: Option<Vote>,
    /// Why models of lines and cells were not tried, only transfer damage.
    pub only_transfers: Option<NotAChip>,
}

/// Why a pair of images can't be cells of one chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotAChip {
    /// The read is shorter or longer than the wanted image.
    Lengths,
    /// The length is no power of two, so no chip has it.
    NoPowerOfTwo,
}

/// An image of a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum CaseImage {
    /// What should have been read.
    Wanted,
    /// What was read.
    Read,
    /// What the chip held before.
    Old,
    /// Another image of the set.
    Other,
}

impl fmt::Display for CaseImage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            CaseImage::Wanted => "wanted image",
            CaseImage::Read => "read",
            CaseImage::Old => "old image",
            CaseImage::Other => "other image",
        })
    }
}

/// Why there can be no diagnosis.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CaseError {
    /// An image has no bytes.
    #[error("there is nothing to diagnose: the {which} has no bytes")]
    Empty {
        /// The wanted image or the read.
        which: CaseImage,
    },
    /// An image is larger than any chip this is made for.
    #[error("the {which} has {length} bytes; a diagnosis takes at most {largest}", largest = Case::LARGEST)]
    TooLarge {
        /// The wanted image or the read.
        which: CaseImage,
        /// Its bytes.
        length: usize,
    },
    /// Half a word is left over.
    #[error("the {which} has {length} bytes, no whole number of 16-bit words")]
    PartWord {
        /// The wanted image or the read.
        which: CaseImage,
        /// Its bytes.
        length: usize,
    },
    /// An old or other image is of another size.
    #[error("the {which} has {length} bytes and the wanted image {wanted}")]
    OtherLength {
        /// The old image or another one of the set.
        which: CaseImage,
        /// Its bytes.
        length: usize,
        /// The wanted image's bytes.
        wanted: usize,
    },
    /// More other images than can be numbered.
    #[error("a case takes at most 64 other images, and {count} were given")]
    TooManyOthers {
        /// Images given.
        count: usize,
    },
    /// The reads can't be put together.
    #[error(transparent)]
    Vote(#[from] VoteError),
}

impl fmt::Debug for CaseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Fewer bits of evidence than this, and chance could have made the differences.
const ENOUGH: f64 = 16.0;
/// As [`ENOUGH`] for loose models, which fit more easily.
const ENOUGH_LOOSE: f64 = 28.0;
/// Fewer differing cells could be anything, and no near miss is looked for.
const FEW: usize = 64;
/// There are a million pairs and more: fewer differing cells can't tell one of them from chance.
const FEW_FOR_PAIRS: usize = 8;
/// Candidates reported when none is exact.
const MOST_NEAR: usize = 6;

impl Diagnosis {
    /// Takes the reading of a second pattern, through the same fault, into account: what doesn't
    /// explain both is no candidate any more.
    ///
    /// This is what the two passes of `telltale` above 17 address lines are for. Only candidates
    /// that explain their read wholly count; when none is left, the verdict is
    /// [`CannotTell`](Verdict::CannotTell). A read that is as wanted leaves the other as it is.
    pub fn and(mut self, second: &Diagnosis) -> Diagnosis {
        let whole = |candidate: &&Candidate| candidate.score.is_exact();
        match (self.verdict, second.verdict) {
            (_, Verdict::Same) => self,
            (Verdict::Same, _) => second.clone(),
            _ => {
                let allowed: Vec<Explanation> = second
                    .candidates
                    .iter()
                    .filter(whole)
                    .flat_map(|candidate| candidate.equals.iter().copied())
                    .collect();
                self.candidates
                    .retain(|candidate| candidate.score.is_exact());
                for candidate in &mut self.candidates {
                    candidate.equals.retain(|e| allowed.contains(e));
                }
                self.candidates
                    .retain(|candidate| !candidate.equals.is_empty());
                self.not_excluded
                    .retain(|m| second.not_excluded.contains(m));
                if self.candidates.is_empty() {
                    self.verdict = Verdict::CannotTell;
                } else if second.verdict == Verdict::Certain {
                    self.verdict = Verdict::Certain;
                }
                self
            }
        }
    }
}

impl<'a> Case<'a> {
    /// The largest image, in bytes: 24 address lines.
    pub const LARGEST: usize = 1 << 24;

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

    fn explain(&self, read: &[u8], diagnosis: &mut Diagnosis) {
        let transfers = self.transfers(read);
        let size = self.wanted.len() / self.width.bytes();
        let not_a_chip = if read.len() != self.wanted.len() {
            Some(NotAChip::Lengths)
        } else if !size.is_power_of_two() || size < 2 {
            Some(NotAChip::NoPowerOfTwo)
        } else {
            None
        };
        diagnosis.only_transfers = not_a_chip;
        if not_a_chip.is_some() {
            if !transfers.is_empty() {
                let all = &diagnosis.differences;
                let differing = all.bytes + all.only_first.max(all.only_second);
                let score = Score {
                    differing,
                    explained: differing,
                    equal: all.compared - all.bytes,
                    broken: 0,
                };
                diagnosis.verdict = self.weigh(&transfers, score, None);
                diagnosis.candidates.push(Candidate {
                    equals: transfers,
                    score,
                });
            } else {
                diagnosis.verdict = Verdict::CannotTell;
            }
            return;
        }
        self.explain_chip(read, transfers, diagnosis);
    }

    /// What transfer damage alone makes exactly this read, filled up or cut off at its length.
    fn transfers(&self, read: &[u8]) -> Vec<Explanation> {
        let explains = |damage: &Damage| damage.explains(self.wanted, read, 0xFF);
        let found = Damage::ALL.into_iter().filter(explains);
        found.map(|damage| Model::Transfer(damage).into()).collect()
    }

    fn explain_chip(&self, read: &[u8], transfers: Vec<Explanation>, diagnosis: &mut Diagnosis) {
        let wanted = self.width.cells(self.wanted);
        let read = self.width.cells(read);
        let old = self.old.map(|old| self.width.cells(old));
        let others: Vec<Vec<u16>> = self.others.iter().map(|o| self.width.cells(o)).collect();
        let images = || Images {
            shape: Shape {
                address_lines: wanted.len().trailing_zeros() as u8,
                data_lines: 8 * self.width.bytes() as u8,
                cells: self.cells,
            },
            wanted: &wanted,
            old: old.as_deref(),
            others: &others,
        };
        let mut search = Search::new(images(), &read);
        let whole = Score {
            differing: search.differing().len(),
            explained: search.differing().len(),
            equal: read.len() - search.differing().len(),
            broken: 0,
        };
        let loose = loose::consistent(&images(), &read, search.differing());

        let mut equals = transfers;
        equals.extend(search.exact_singles());
        if equals.is_empty() && self.pairs && whole.differing >= FEW_FOR_PAIRS {
            equals = search.exact_pairs();
            if equals.is_empty() {
                equals = self.layered(&read, &images);
            }
        }
        if !equals.is_empty() {
            equals.sort_unstable();
            equals.dedup();
            let missing =
                |found: &loose::Consistent| matches!(found.model, Model::PagesLeft { .. });
            let pages_left = loose
                .iter()
                .any(missing)
                .then(|| pages_with_content(&wanted, images().shape.erased()));
            diagnosis.verdict = self.weigh(&equals, whole, pages_left);
            diagnosis.candidates.push(Candidate {
                equals,
                score: whole,
            });
            diagnosis.not_excluded = loose.iter().map(|found| found.model).collect();
            return;
        }

        let convincing = loose.iter().filter(|found| found.evidence >= ENOUGH_LOOSE);
        let convincing: Vec<Candidate> = convincing
            .map(|found| Candidate {
                equals: vec![found.model.into()],
                score: whole,
            })
            .collect();
        if !convincing.is_empty() {
            diagnosis.verdict = Verdict::Possible;
            diagnosis.candidates = convincing;
            return;
        }

        let nearly = |score: Score| {
            let left_over = score.wrong();
            left_over * 50 <= score.differing
        };
        let mut near = Vec::new();
        if whole.differing >= FEW {
            near = search.near_misses(self.pairs, nearly);
        }
        near.truncate(MOST_NEAR);
        diagnosis.verdict = match near.first_mut() {
            Some(first) if nearly(first.score) => {
                let best = first.equals[0];
                if let Some(predicted) = images().predicted(best.first, best.second) {
                    let cells: Vec<u16> = (0..read.len()).map(predicted).collect();
                    first.equals = exact(&images, &cells, best.second.is_some());
                }
                Verdict::Likely
            }
            _ => Verdict::CannotTell,
        };
        if diagnosis.verdict == Verdict::CannotTell {
            // What explains less than half and breaks more is no candidate.
            near.retain(|candidate| 2 * candidate.score.wrong() < candidate.score.differing);
        }
        diagnosis.candidates = near;
    }

    /// A line fault on top of something that hit the whole image, exactly.
    fn layered<'i>(&self, read: &[u16], images: &impl Fn() -> Images<'i>) -> Vec<Explanation> {
        let wanted = images().wanted;
        let mut layers: Vec<(Model, Vec<u16>)> = Vec::new();
        for damage in Damage::ALL {
            let mut got = damage.arrives(self.wanted, 0xFF);
            got.resize(self.wanted.len(), 0xFF);
            layers.push((Model::Transfer(damage), self.width.cells(&got)));
        }
        let mut whole = vec![
            Model::BitsReversed,
            Model::AllInverted,
            Model::LanesExchanged { lanes: 2 },
            Model::LanesExchanged { lanes: 4 },
            Model::NotBlank,
        ];
        whole.extend((0..self.others.len() as u8).map(Model::OtherImage));
        whole.retain(|model| match model {
            Model::LanesExchanged { lanes } => self.wanted.len() >= usize::from(*lanes),
            _ => true,
        });
        for model in whole {
            if let Some(predicted) = images().predicted(model, None) {
                layers.push((model, (0..wanted.len()).map(predicted).collect()));
            }
        }
        let mut found = Vec::new();
        for (first, cells) in layers.iter().filter(|(_, cells)| cells != wanted) {
            let on_top = Images {
                wanted: cells,
                ..images()
            };
            let lines = Search::new(on_top, read).exact_lines();
            found.extend(lines.into_iter().map(|second| Explanation {
                first: *first,
                second: Some(second),
            }));
        }
        found
    }

    /// Whether an exact explanation is more than chance.
    ///
    /// Each cell explained would have cost a random fault its address and the bit it turned; the
    /// models cost the choice among their kind, and their measures.
    fn weigh(&self, equals: &[Explanation], score: Score, pages_left: Option<usize>) -> Verdict {
        let size = (score.differing + score.equal) as f64;
        let address_bits = size.log2();
        let gain = score.explained as f64 * (address_bits + 3.0);
        let cost = |explanation: &Explanation| -> f64 {
            explanation
                .models()
                .map(|model| match model {
                    Model::Shifted { .. } => address_bits + 2.0,
                    Model::Stopped { .. } => address_bits + 4.0,
                    Model::PageCut { .. } => 12.0,
                    _ => 11.0,
                })
                .sum()
        };
        let cheapest = equals.iter().map(cost).fold(f64::INFINITY, f64::min);
        // Where pages are merely missing, which of them are looks like chance or it doesn't: a
        // regular model has to save more than it costs. (No part below 2 KiB has pages: common
        // practice.)
        let by_chance = |pages: usize| size >= 2048.0 && (pages as f64) < cheapest + 8.0;
        let few_pages = pages_left.is_some_and(by_chance);
        if gain - cheapest >= ENOUGH && !few_pages {
            Verdict::Certain
        } else {
            Verdict::Possible
        }
    }
}

/// Pages in which something had to be written. Large parts have large pages; where the size isn't
/// known, the larger one is the safer.
fn pages_with_content(wanted: &[u16], erased: u16) -> usize {
    let page = (wanted.len() / 256).clamp(64, 512);
    let pages = wanted.chunks(page);
    pages
        .filter(|page| page.iter().any(|&cell| cell != erased))
        .count()
}

/// All single models that predict exactly this read, or all pairs.
fn exact<'i>(images: &impl Fn() -> Images<'i>, read: &[u16], pairs: bool) -> Vec<Explanation> {
    let mut search = Search::new(images(), read);
    let mut equals = search.exact_singles();
    if equals.is_empty() && pairs {
        equals = search.exact_pairs();
    }
    equals.sort_unstable();
    equals
}

/// How many different reads these explanations make of an image of 8 data lines, a power of two
/// in size. Transfer damage and what is not known here count as one.
pub(super) fn distinct_reads(image: &[u8], explanations: &[Explanation]) -> usize {
    let wanted = Width::Eight.cells(image);
    let images = Images {
        shape: Shape {
            address_lines: wanted.len().trailing_zeros() as u8,
            data_lines: 8,
            cells: None,
        },
        wanted: &wanted,
        old: None,
        others: &[],
    };
    // An odd step meets every level of every line.
    let step = wanted.len() >> 16 | 1;
    let reads = explanations.iter().take(16).map(|explanation| {
        let predicted = images.predicted(explanation.first, explanation.second)?;
        let cells = (0..wanted.len()).step_by(step).map(predicted);
        Some(cells.collect::<Vec<u16>>())
    });
    reads.collect::<std::collections::HashSet<_>>().len()
}
