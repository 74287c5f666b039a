//! Which models read exactly like the chip, and which come near.
//!
//! There are thousands of single models and millions of pairs, and all but a few are refuted by
//! a handful of cells. So each is asked for a few *probes* first: cells that differ, and
//! cells that agree and are not the commonest value. A model that passes them is checked against every
//! cell, and the cell that refutes it then becomes a probe for all that follow.

use super::predict::Images;
use crate::faults::shape::Shape;
use crate::faults::story::{Model, ShiftedIn};

/// Cells of each kind that near misses are judged by first.
const SAMPLE: usize = 512;
/// Most shifts that are named when still more read alike.
const MOST_SHIFTS: usize = 8;

/// The chip's cells, and those of them that are asked first.
pub(super) struct Search<'a> {
    pub(super) images: Images<'a>,
    pub(super) read: &'a [u16],
    /// Cells to ask first; the front ones refuted a model most recently.
    probes: Vec<usize>,
    /// Differing and equal cells, alternating while both last.
    pub(super) sample: Vec<usize>,
    /// How often each value is in the wanted image.
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
        let common = (0..=images.shape.ones()).max_by_key(|&cell| counts[usize::from(cell)]);
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

    /// Whether the prediction is right for every cell.
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

    /// Everything higher or lower by the same distance, where that is true of every cell.
    pub fn exact_shifts(&mut self) -> Vec<Model> {
        let size = self.shape().size() as isize;
        let (wanted, read, erased) = (self.images.wanted, self.read, self.shape().erased());
        // A cell that is not erased came from somewhere, so the rarest of them leaves the fewest
        // shifts to try. (If there is none, the chip is blank, which is not a shift worth a name.)
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

    /// Wrong cells as estimated from the first so many of the sample.
    pub(super) fn sampled(&self, predicted: impl Fn(usize) -> u16, most: usize) -> usize {
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
    pub(super) fn glimpsed(&self, predicted: impl Fn(usize) -> u16) -> usize {
        let mut failed = 0;
        for &a in self.sample.iter().take(32) {
            failed += usize::from(predicted(a) != self.read[a]);
            if failed > 4 {
                return usize::MAX;
            }
        }
        self.sampled(predicted, 2 * SAMPLE)
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

/// How often each value is in an image.
fn counts(cells: &[u16], shape: Shape) -> Vec<u32> {
    let mut counts = vec![0; usize::from(shape.ones()) + 1];
    for &cell in cells {
        counts[usize::from(cell)] += 1;
    }
    counts
}
