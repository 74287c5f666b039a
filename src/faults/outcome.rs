//! The result of a diagnosis.

use super::compare::Differences;
use super::reads::Vote;
use super::story::{CellKind, Story};
use super::verdict::Verdict;

/// How well a story explains a read. Cells are bytes, or words in a chip of 16 data lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Score {
    /// Cells that differ from the wanted image; where the read is longer or shorter, those that it has too many or
    /// too few, too.
    pub differing: usize,
    /// Those of them that the story predicts rightly.
    pub explained: usize,
    /// Cells that are as wanted.
    pub equal: usize,
    /// Those of them that the story predicts wrongly.
    pub broken: usize,
}

impl Score {
    /// All cells that the story predicts wrongly.
    pub fn wrong(self) -> usize {
        self.differing - self.explained + self.broken
    }

    /// Whether the story predicts every cell rightly.
    pub fn is_exact(self) -> bool {
        self.wrong() == 0
    }
}

/// Stories that predict the same read, with what they cost and leave over.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// All that can't be told apart by this read, the usual cause first.
    pub equals: Vec<Story>,
    /// How well they explain the read.
    pub score: Score,
    /// What the first of them and what it leaves over cost, in bits.
    pub bits: f64,
    /// What the cells that it leaves over have in common.
    pub left: Option<CellKind>,
}

/// The outcome of [`Case::diagnose`](super::Case::diagnose).
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Diagnosis {
    /// How sure the first candidate is.
    pub verdict: Verdict,
    /// How the wanted image (first) and the read (second) differ, in bytes.
    pub differences: Differences,
    /// The answer, then the stories that would read otherwise, the best first.
    pub candidates: Vec<Candidate>,
    /// What the read alone costs, in bits: a story must cost less to say anything.
    pub alone_bits: f64,
    /// Bytes that differ where the wanted image has data, when it was said where it has none.
    pub in_data: Option<usize>,
    /// The vote, when there were several reads; the majority is what was explained.
    pub vote: Option<Vote>,
    /// Whether what wavers explains everything that is wrong in the majority, so that no other fault is needed.
    pub wavering_explains: bool,
    /// Of several reads those that are exactly as wanted, counted from 0.
    pub as_wanted: Vec<usize>,
}

impl Diagnosis {
    /// The story that is told first, when the read differs.
    pub fn story(&self) -> Option<&Story> {
        self.candidates
            .first()
            .and_then(|first| first.equals.first())
    }

    /// Bits from the answer to the first story that would read differently; `None` when there is no other.
    pub fn lead(&self) -> Option<f64> {
        match &self.candidates[..] {
            [first, next, ..] => Some(next.bits - first.bits),
            _ => None,
        }
    }

    /// What the answer costs, in bits; 0 for a read that is as wanted.
    pub fn bits(&self) -> f64 {
        self.candidates.first().map_or(0.0, |first| first.bits)
    }

    /// Also uses the read of a second pattern, through the same fault: a story that doesn't
    /// explain both is no longer a candidate.
    ///
    /// This is what the two passes of `telltale` above 17 address lines are for. Only stories
    /// that explain their read wholly count; when none is left, the verdict is
    /// [`Open`](Verdict::Open). A read that is as wanted leaves the other as it is.
    pub fn and(mut self, second: &Diagnosis) -> Diagnosis {
        let exact = |candidate: &&Candidate| candidate.score.is_exact();
        match (self.verdict, second.verdict) {
            (_, Verdict::Same) => self,
            (Verdict::Same, _) => second.clone(),
            _ => {
                let allowed: Vec<&Story> = second
                    .candidates
                    .iter()
                    .filter(exact)
                    .flat_map(|candidate| &candidate.equals)
                    .collect();
                self.candidates
                    .retain(|candidate| candidate.score.is_exact());
                for candidate in &mut self.candidates {
                    candidate.equals.retain(|story| allowed.contains(&story));
                }
                self.candidates
                    .retain(|candidate| !candidate.equals.is_empty());
                self.verdict = match self.candidates.is_empty() {
                    true => Verdict::Open,
                    false => self.verdict.min(second.verdict),
                };
                self
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::compare::compare;
    use crate::faults::line_fault::LineFault;
    use crate::faults::story::Model;

    fn candidate(lines: &[u8], bits: f64, explained: usize) -> Candidate {
        let story = |line: &u8| Model::reading(LineFault::StuckLow(*line)).into();
        Candidate {
            equals: lines.iter().map(story).collect(),
            score: Score {
                differing: 10,
                explained,
                equal: 6,
                broken: 0,
            },
            bits,
            left: None,
        }
    }

    fn diagnosis(verdict: Verdict, candidates: Vec<Candidate>) -> Diagnosis {
        Diagnosis {
            verdict,
            differences: compare(&[], &[]),
            candidates,
            alone_bits: 0.0,
            in_data: None,
            vote: None,
            wavering_explains: false,
            as_wanted: Vec::new(),
        }
    }

    #[test]
    fn wrong_cells_are_those_left_over_and_those_broken() {
        let score = |explained, broken| Score {
            differing: 10,
            explained,
            equal: 6,
            broken,
        };
        assert_eq!((score(10, 0).wrong(), score(7, 2).wrong()), (0, 5));
        assert!(score(10, 0).is_exact());
        assert!(!score(9, 0).is_exact() && !score(10, 1).is_exact());
    }

    #[test]
    fn the_lead_is_that_over_the_next_answer() {
        let two = diagnosis(
            Verdict::Likely,
            vec![candidate(&[3], 12.0, 10), candidate(&[4], 40.0, 9)],
        );
        assert_eq!((two.bits(), two.lead()), (12.0, Some(28.0)));
        assert_eq!(two.story(), Some(&two.candidates[0].equals[0]));
        let one = diagnosis(Verdict::Certain, vec![candidate(&[3], 12.0, 10)]);
        assert_eq!((one.bits(), one.lead()), (12.0, None));
        let none = diagnosis(Verdict::Same, Vec::new());
        assert_eq!((none.bits(), none.lead(), none.story()), (0.0, None, None));
    }

    /// Only what explains both passes wholly remains, as sure as the surer of the two.
    #[test]
    fn two_passes_together() {
        let first = || {
            let all = [candidate(&[1, 18], 12.0, 10), candidate(&[2, 5], 30.0, 10)];
            diagnosis(Verdict::Likely, all.to_vec())
        };
        let second = |lines: &[u8], explained| {
            diagnosis(Verdict::Certain, vec![candidate(lines, 12.0, explained)])
        };
        let both = first().and(&second(&[18, 5], 10));
        assert_eq!(both.verdict, Verdict::Certain);
        let left: Vec<_> = both.candidates.iter().map(|c| c.equals.clone()).collect();
        let of = |line: u8| candidate(&[line], 0.0, 0).equals;
        assert_eq!(left, [of(18), of(5)]);
        assert_eq!(first().and(&second(&[18], 10)).candidates.len(), 1);
        let none = first().and(&second(&[7], 10));
        assert_eq!((none.verdict, none.candidates.len()), (Verdict::Open, 0));
        assert_eq!(first().and(&second(&[18], 9)).verdict, Verdict::Open);
        let mut half = first();
        half.candidates[0].score.explained = 9;
        assert_eq!(half.and(&second(&[18], 10)).verdict, Verdict::Open);
        // A read that is as wanted leaves the other as it is.
        let same = diagnosis(Verdict::Same, Vec::new());
        assert_eq!(first().and(&same), first());
        assert_eq!(same.and(&first()), first());
    }
}
