//! What a diagnosis comes to.

use super::compare::Differences;
use super::models::{Model, Story};
use super::search::Candidate;
use super::vote::Vote;

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

/// The outcome of [`Case::diagnose`](super::Case::diagnose).
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Diagnosis {
    /// What it comes to.
    pub verdict: Verdict,
    /// How the wanted image (first) and the read (second) differ, in bytes.
    pub differences: Differences,
    /// Explanations, the best first.
    pub candidates: Vec<Candidate>,
    /// Beside a [`Certain`](Verdict::Certain) verdict: models that leave open which cells they hit,
    /// and would permit the same read by a coincidence.
    pub not_excluded: Vec<Model>,
    /// The vote, when there were several reads; the majority is what was explained.
    pub vote: Option<Vote>,
    /// Why models of lines and cells were not tried, only transfer damage.
    pub only_transfers: Option<NotAChip>,
}

/// Why a pair of images can't be cells of one chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum NotAChip {
    /// The read is shorter or longer than the wanted image.
    Lengths,
    /// The length is no power of two, so no chip has it.
    NoPowerOfTwo,
}

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
                let allowed: Vec<Story> = second
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
