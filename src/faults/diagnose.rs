//! From two images to a verdict.

use super::case::Case;
use super::loose;
use super::models::{Damage, Model, Shape, Story};
use super::outcome::{Diagnosis, NotAChip, Verdict};
use super::predict::Images;
use super::search::{Candidate, Score, Search};
use super::weigh;
use crate::wiring::Width;

/// Candidates reported when none is exact.
const MOST_NEAR: usize = 6;

impl Case<'_> {
    /// Explains a read that differs.
    pub(super) fn explain(&self, read: &[u8], diagnosis: &mut Diagnosis) {
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
                diagnosis.verdict = weigh::weigh(&transfers, score, None);
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
    fn transfers(&self, read: &[u8]) -> Vec<Story> {
        let explains = |damage: &Damage| damage.explains(self.wanted, read, 0xFF);
        let found = Damage::ALL.into_iter().filter(explains);
        found.map(|damage| Model::Transfer(damage).into()).collect()
    }

    fn explain_chip(&self, read: &[u8], transfers: Vec<Story>, diagnosis: &mut Diagnosis) {
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
        if equals.is_empty() && self.pairs && whole.differing >= weigh::FEW_FOR_PAIRS {
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
                .then(|| weigh::pages_with_content(&wanted, images().shape.erased()));
            diagnosis.verdict = weigh::weigh(&equals, whole, pages_left);
            diagnosis.candidates.push(Candidate {
                equals,
                score: whole,
            });
            diagnosis.not_excluded = loose.iter().map(|found| found.model).collect();
            return;
        }

        let convincing = loose
            .iter()
            .filter(|found| weigh::convinces(found.evidence));
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

        let mut near = Vec::new();
        if whole.differing >= weigh::FEW {
            near = search.near_misses(self.pairs, weigh::nearly);
        }
        near.truncate(MOST_NEAR);
        diagnosis.verdict = match near.first_mut() {
            Some(first) if weigh::nearly(first.score) => {
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
            near.retain(|candidate| weigh::helps(candidate.score));
        }
        diagnosis.candidates = near;
    }

    /// A line fault on top of something that hit the whole image, exactly.
    fn layered<'i>(&self, read: &[u16], images: &impl Fn() -> Images<'i>) -> Vec<Story> {
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
            found.extend(lines.into_iter().map(|second| Story {
                first: *first,
                second: Some(second),
            }));
        }
        found
    }
}

/// All single models that predict exactly this read, or all pairs.
fn exact<'i>(images: &impl Fn() -> Images<'i>, read: &[u16], pairs: bool) -> Vec<Story> {
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
pub(super) fn distinct_reads(image: &[u8], explanations: &[Story]) -> usize {
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
