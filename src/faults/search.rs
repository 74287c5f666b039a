//! Which models read exactly like the chip, and which come near.
//!
//! There are thousands of single models and millions of pairs, and all but a few are refuted by
//! a handful of cells. So each is asked for a few *probes* first: cells that differ, and
//! cells that agree and are not the commonest value. A model that passes them is checked against every
//! cell, and the cell that refutes it then becomes a probe for all that follow.

use super::models::{LineFault, Model, PAGES, Shape, ShiftedIn, Story};
use super::predict::Images;

/// How a model does against a read. Cells are bytes, or words in a chip of 16 data lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Score {
    /// Cells that differ from the wanted image.
    pub differing: usize,
    /// Those of them that the model says rightly.
    pub explained: usize,
    /// Cells that are as wanted.
    pub equal: usize,
    /// Those of them that the model says wrongly.
    pub broken: usize,
}

impl Score {
    /// Cells that the model says wrongly, of all.
    pub fn wrong(self) -> usize {
        self.differing - self.explained + self.broken
    }

    /// Whether the model says every cell rightly.
    pub fn is_exact(self) -> bool {
        self.wrong() == 0
    }
}

/// Explanations that predict the same read, with how that does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// All that predict this read, in the order of [`Model`].
    pub equals: Vec<Story>,
    /// How it does.
    pub score: Score,
}

/// Cells of each kind that near misses are judged by first.
const SAMPLE: usize = 512;
/// Cells that single near misses are judged by at first, and how many of them are looked at
/// longer.
const SHORT_LOOK: usize = 96;
/// Probes, of the first that pairs are asked, that a near miss may fail.
const MISSES: usize = 1;
/// Most shifts that are named when still more read alike.
const MOST_SHIFTS: usize = 8;
/// Near misses that are scored on all cells.
const SCORED: usize = 8;

pub(super) struct Search<'a> {
    pub(super) images: Images<'a>,
    pub(super) read: &'a [u16],
    /// Cells to ask first; the front ones refuted a model most recently.
    probes: Vec<usize>,
    /// Differing and equal cells, alternating while both last.
    pub(super) sample: Vec<usize>,
    /// How often each value stands in the wanted image.
    counts: Vec<u32>,
    /// The cells that differ from the wanted image, ascending.
    differing: Vec<usize>,
}

impl<'a> Search<'a> {
    /// `images.wanted` and `read` have the shape's size.
    pub fn new(images: Images<'a>, read: &'a [u16]) -> Self {
        let wanted = images.wanted;
        let mut differing = Vec::new();
        for (a, (read, wanted)) in read.iter().zip(wanted).enumerate() {
            if read != wanted {
                differing.push(a);
            }
        }
        let counts = counts(wanted, images.shape);
        let common = (0..=images.shape.erased()).max_by_key(|&cell| counts[usize::from(cell)]);
        let telling = |a: &usize| read[*a] == wanted[*a] && Some(wanted[*a]) != common;
        let mut equal: Vec<usize> = (0..read.len()).filter(telling).collect();
        if equal.is_empty() {
            equal = (0..read.len()).filter(|&a| read[a] == wanted[a]).collect();
        }
        let mut sample = Vec::with_capacity(2 * SAMPLE);
        let (bad, good) = (spread(&differing), spread(&equal));
        for n in 0..SAMPLE {
            sample.extend(bad.get(n));
            sample.extend(good.get(n));
        }
        Search {
            probes: sample.iter().copied().take(96).collect(),
            sample,
            counts,
            differing,
            images,
            read,
        }
    }

    pub fn differing(&self) -> &[usize] {
        &self.differing
    }

    pub(super) fn shape(&self) -> Shape {
        self.images.shape
    }

    /// Whether the prediction holds for every cell.
    #[inline]
    pub(super) fn holds(&mut self, predicted: impl Fn(usize) -> u16) -> bool {
        let refuted = |&a: &usize| predicted(a) != self.read[a];
        if let Some(n) = self.probes.iter().position(refuted) {
            // What refutes one model is likely to refute the next.
            self.probes.swap(n, n / 2);
            return false;
        }
        match (0..self.read.len()).find(|a| refuted(a)) {
            Some(address) => {
                let oldest = self.probes.len().saturating_sub(1);
                if self.probes.len() >= 256 {
                    self.probes[oldest] = address;
                } else {
                    self.probes.push(address);
                }
                let last = self.probes.len() - 1;
                self.probes.swap(0, last);
                false
            }
            None => true,
        }
    }

    fn holds_alone(&mut self, model: Model) -> bool {
        match self.images.predicted(model, None) {
            Some(predicted) => self.holds(predicted),
            None => false,
        }
    }

    /// All single models that hold for every cell.
    pub fn exact_singles(&mut self) -> Vec<Story> {
        let mut models = self.single_models();
        models.extend(self.measured());
        models.retain(|&model| self.holds_alone(model));
        models.extend(self.exact_shifts());
        models.into_iter().map(Story::from).collect()
    }

    /// All faults of one line or two that hold for every cell.
    pub fn exact_lines(&mut self) -> Vec<Model> {
        let mut models = self.line_models();
        models.retain(|&model| self.holds_alone(model));
        models
    }

    /// Every model without a measure that must be found in the read.
    fn single_models(&self) -> Vec<Model> {
        let shape = self.shape();
        let mut models = shape.fixed();
        models.extend(self.line_models());
        models.extend(
            (0..self.images.others.len() as u8)
                .flat_map(|n| [Model::OtherImage(n), Model::OtherOnBus(n)]),
        );
        models.extend(self.images.old.map(|_| Model::NotBlank));
        models
    }

    fn line_models(&self) -> Vec<Model> {
        let shape = self.shape();
        let address = LineFault::all(shape.address_lines);
        let address = address.into_iter().flat_map(|fault| {
            let times = shape.times(fault);
            times.map(move |when| Model::Address { fault, when })
        });
        let data = LineFault::all(shape.data_lines);
        address.chain(data.into_iter().map(Model::Data)).collect()
    }

    /// Models with the only measure that this read leaves them.
    fn measured(&self) -> Vec<Model> {
        let erased = self.shape().erased();
        // Near misses aside, these leave nothing but erased cells where they differ.
        let left_out = self
            .differing
            .iter()
            .take(64)
            .filter(|&&a| self.read[a] == erased);
        if 2 * left_out.count() < self.differing.len().min(64) {
            return Vec::new();
        }
        let mut models = Vec::new();
        if let Some(&at) = self.differing.first() {
            if at > 0 {
                models.push(Model::Stopped { at });
            }
        }
        for page in PAGES {
            if page > self.read.len() {
                break;
            }
            let first = self.differing.iter().map(|a| a % page).min();
            if let Some(kept) = first {
                if kept > 0 {
                    models.push(Model::PageCut { page, kept });
                }
            }
        }
        models
    }

    fn exact_shifts(&mut self) -> Vec<Model> {
        let size = self.shape().size() as isize;
        let (wanted, read, erased) = (self.images.wanted, self.read, self.shape().erased());
        // A cell that is not erased came from somewhere, so the rarest of them leaves the fewest
        // shifts to try. (Where there is none, the chip is blank: that is no shift worth a name.)
        let rarest = (0..read.len())
            .filter(|&a| read[a] != erased)
            .min_by_key(|&a| self.counts[usize::from(read[a])]);
        let Some(pivot) = rarest else {
            return Vec::new();
        };
        let mut shifts: Vec<isize> = (0..wanted.len())
            .filter(|&source| wanted[source] == read[pivot] && source != pivot)
            .map(|source| pivot as isize - source as isize)
            .collect();
        shifts.sort_unstable_by_key(|by| by.unsigned_abs().min(wanted.len() - by.unsigned_abs()));
        let mut found = Vec::new();
        for by in shifts {
            // A periodic image is the same after every period: the nearest say it all.
            if found.len() >= MOST_SHIFTS {
                break;
            }
            let from = move |a: usize| a.wrapping_add_signed(by.wrapping_neg());
            if self.holds(|a| wanted.get(from(a)).copied().unwrap_or(erased)) {
                found.push(Model::Shifted {
                    by,
                    fill: ShiftedIn::Erased,
                });
            }
            if self.holds(|a| wanted[from(a) & (size as usize - 1)]) {
                let half = size / 2;
                let by = (by + half - 1).rem_euclid(size) - (half - 1);
                found.push(Model::Shifted {
                    by,
                    fill: ShiftedIn::Wrapped,
                });
            }
        }
        found
    }

    /// The models that come nearest without holding everywhere, best first, and those that
    /// predict the same read together. Pairs are tried only when no single one comes `near`.
    pub fn near_misses(&mut self, pairs: bool, near: impl Fn(Score) -> bool) -> Vec<Candidate> {
        // A short look at all, a longer one at the best of them.
        let models = self.single_models().into_iter().chain(self.measured());
        let mut looked_at: Vec<(usize, Model)> = models
            .filter_map(|model| {
                let predicted = self.images.predicted(model, None)?;
                Some((self.sampled(predicted, SHORT_LOOK), model))
            })
            .collect();
        looked_at.sort_unstable();
        let mut best = Best::default();
        for (_, model) in looked_at.into_iter().take(SHORT_LOOK) {
            if let Some(predicted) = self.images.predicted(model, None) {
                best.offer(self.sampled(predicted, 2 * SAMPLE), model.into());
            }
        }
        let mut ranked = self.rank(best);
        if pairs && !ranked.first().is_some_and(|first| near(first.score)) {
            let mut best = Best::default();
            self.each_pair(MISSES, |search, pair| {
                best.offer(search.glimpsed(pair.predicted()), pair.explanation);
            });
            ranked.extend(self.rank(best));
            ranked.sort_by_key(|candidate| candidate.score.wrong());
        }
        ranked
    }

    /// Wrong cells as estimated from the first so many of the sample.
    fn sampled(&self, predicted: impl Fn(usize) -> u16, most: usize) -> usize {
        let (mut bad, mut good) = ((0, 0), (0, 0));
        for &a in self.sample.iter().take(most) {
            let differs = self.images.wanted[a] != self.read[a];
            let (asked, failed) = if differs { &mut bad } else { &mut good };
            *asked += 1;
            *failed += usize::from(predicted(a) != self.read[a]);
        }
        let scaled = |(asked, failed): (usize, usize), all: usize| match asked {
            0 => 0,
            _ => failed * all / asked,
        };
        let differing = self.differing.len();
        scaled(bad, differing) + scaled(good, self.read.len() - differing)
    }

    /// As [`sampled`](Self::sampled), but gives up early on what fails at once.
    #[inline]
    fn glimpsed(&self, predicted: impl Fn(usize) -> u16) -> usize {
        let mut failed = 0;
        for &a in self.sample.iter().take(32) {
            failed += usize::from(predicted(a) != self.read[a]);
            if failed > 4 {
                return usize::MAX;
            }
        }
        self.sampled(predicted, 2 * SAMPLE)
    }

    fn rank(&self, best: Best) -> Vec<Candidate> {
        let mut ranked: Vec<(u64, Candidate)> = Vec::new();
        for (_, explanation) in best.0 {
            let predicted = self.images.predicted(explanation.first, explanation.second);
            let Some(predicted) = predicted else { continue };
            let (print, score) = self.scored(predicted);
            match ranked.iter_mut().find(|(other, _)| *other == print) {
                Some((_, same)) => same.equals.push(explanation),
                None => ranked.push((
                    print,
                    Candidate {
                        equals: vec![explanation],
                        score,
                    },
                )),
            }
        }
        let mut ranked: Vec<Candidate> = ranked
            .into_iter()
            .map(|(_, candidate)| candidate)
            .filter(|candidate| candidate.score.wrong() < self.differing.len())
            .collect();
        ranked.sort_by_key(|candidate| candidate.score.wrong());
        ranked
    }

    /// The score over all cells, and a fingerprint of what is predicted.
    fn scored(&self, predicted: impl Fn(usize) -> u16) -> (u64, Score) {
        let mut print = 0u64;
        let mut score = Score {
            differing: self.differing.len(),
            explained: 0,
            equal: self.read.len() - self.differing.len(),
            broken: 0,
        };
        for (a, (&read, &wanted)) in self.read.iter().zip(self.images.wanted).enumerate() {
            let cell = predicted(a);
            print = (print.rotate_left(5) ^ u64::from(cell)).wrapping_mul(0x517C_C1B7_2722_0A95);
            score.explained += usize::from(read != wanted && cell == read);
            score.broken += usize::from(read == wanted && cell != read);
        }
        (print, score)
    }
}

/// The explanations with the fewest wrong cells in the sample.
#[derive(Default)]
struct Best(Vec<(usize, Story)>);

impl Best {
    fn offer(&mut self, wrong: usize, explanation: Story) {
        if wrong == usize::MAX {
            return;
        }
        if self.0.len() == SCORED {
            let worst = self
                .0
                .iter()
                .enumerate()
                .max_by_key(|(_, (wrong, _))| *wrong);
            match worst {
                Some((n, &(most, _))) if wrong < most => {
                    self.0.swap_remove(n);
                }
                _ => return,
            }
        }
        self.0.push((wrong, explanation));
    }
}

/// At most [`SAMPLE`] of these, from all over, in no order that a fault could follow.
fn spread(all: &[usize]) -> Vec<usize> {
    if all.is_empty() {
        return Vec::new();
    }
    let count = all.len().min(SAMPLE);
    // A step near the golden section of the whole, made coprime to it, visits each once.
    let mut step = (all.len() as u64 * 618 / 1000).max(1);
    while gcd(step, all.len() as u64) != 1 {
        step += 1;
    }
    let place = |n: usize| (n as u64 * step % all.len() as u64) as usize;
    (0..count).map(|n| all[place(n)]).collect()
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// How often each value stands in an image.
fn counts(cells: &[u16], shape: Shape) -> Vec<u32> {
    let mut counts = vec![0; usize::from(shape.erased()) + 1];
    for &cell in cells {
        counts[usize::from(cell)] += 1;
    }
    counts
}
