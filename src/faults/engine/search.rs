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

#[cfg(test)]
mod tests {
    use super::super::testing::{shape, wanted_alone};
    use super::*;

    fn search<'a>(wanted: &'a [u16], read: &'a [u16]) -> Search<'a> {
        let images = wanted_alone(shape(wanted.len().ilog2() as u8, 8), wanted);
        Search::new(images, read)
    }

    fn image(cells: usize) -> Vec<u16> {
        (0..cells).map(|a| (a * 167 + 13) as u16 % 251).collect()
    }

    /// Whatever was asked before, a prediction holds only when every cell is right.
    #[test]
    fn one_wrong_cell_refutes() {
        let wanted = image(2048);
        let mut read = wanted.clone();
        (0..300).for_each(|n| read[n * 5 + 2] ^= 0x21);
        let mut search = search(&wanted, &read);
        assert!(search.holds(|a| read[a]));
        // More than there is room for among the probes.
        for at in 0..2048 {
            assert!(!search.holds(|a| read[a] ^ u16::from(a == at)), "{at}");
            assert!(search.probes.len() <= 256);
        }
        assert!(search.holds(|a| read[a]));
        let blank = vec![0xFF; 16];
        let mut search = self::search(&blank, &blank);
        assert!(search.holds(|_| 0xFF) && !search.holds(|a| a as u16));
    }

    /// Cells that differ and cells that tell something, in turn, from all over the chip.
    #[test]
    fn the_sample_is_of_both_kinds() {
        let mut wanted = image(4096);
        wanted[1024..3072].fill(0xFF);
        let mut read = wanted.clone();
        (0..600).for_each(|n| read[n] ^= 0x40);
        let search = search(&wanted, &read);
        assert_eq!(search.differing(), (0..600).collect::<Vec<_>>());
        assert_eq!(search.sample.len(), 2 * SAMPLE);
        for (n, &at) in search.sample.iter().enumerate() {
            assert_eq!(at < 600, n % 2 == 0);
            assert_ne!(wanted[at], 0xFF, "blank cells tell little");
        }
        let mut sample = search.sample.clone();
        sample.sort_unstable();
        sample.dedup();
        assert_eq!(sample.len(), 2 * SAMPLE, "each once");
        assert!(sample[2 * SAMPLE - 1] > 4000);
        assert_eq!(search.probes, search.sample[..96]);
        // Where all equal cells are blank they are asked all the same.
        let blank = vec![0xFF; 64];
        let mut read = blank.clone();
        read[7] = 0xFE;
        let search = self::search(&blank, &read);
        assert_eq!(search.sample.len(), 64);
        assert_eq!(search.sample[0], 7);
    }

    #[test]
    fn a_sample_says_about_how_many_cells_are_wrong() {
        let wanted = image(4096);
        let mut read = wanted.clone();
        (0..1000).for_each(|n| read[n * 4] ^= 0x40);
        let search = search(&wanted, &read);
        assert_eq!(search.sampled(|a| read[a], 1024), 0);
        assert_eq!(search.sampled(|a| wanted[a], 1024), 1000);
        assert_eq!(search.sampled(|a| wanted[a], 10), 1000);
        assert_eq!(search.sampled(|_| 0xFFF, 1024), 4096);
        // All that differ are right, and half of the others wrong.
        let half = |a: usize| read[a] ^ u16::from(a % 4 != 0 && a % 8 < 4);
        let wrong = search.sampled(half, 1024);
        assert!((1400..1700).contains(&wrong), "{wrong}");
        // A glimpse gives up when five of the first 32 are wrong.
        let fails = |count: usize| {
            let bad = &search.sample[..count];
            search.glimpsed(|a| read[a] ^ u16::from(bad.contains(&a)))
        };
        assert_eq!((fails(0), fails(5)), (0, usize::MAX));
        // Two of 512 of either kind.
        assert_eq!(fails(4), 2 * 1000 / 512 + 2 * 3096 / 512);
    }

    #[test]
    fn shifts_are_found_that_are_true_of_every_cell() {
        let wanted = image(256);
        let shifts = |read: &[u16]| search(&wanted, read).exact_shifts();
        let moved = |by: isize, fill| Model::Shifted { by, fill };
        let wrapped = |by: isize| -> Vec<u16> {
            (0..256)
                .map(|a: isize| wanted[(a - by).rem_euclid(256) as usize])
                .collect()
        };
        for by in [1, -1, 17, -100, 127, 128] {
            assert_eq!(shifts(&wrapped(by)), [moved(by, ShiftedIn::Wrapped)]);
        }
        assert_eq!(shifts(&wrapped(-128)), [moved(128, ShiftedIn::Wrapped)]);
        let erased = |by: isize| -> Vec<u16> {
            let from = |a: isize| usize::try_from(a - by).ok();
            let cell = |a| from(a).and_then(|from| wanted.get(from)).copied();
            (0..256).map(|a| cell(a).unwrap_or(0xFF)).collect()
        };
        for by in [1, -1, 17, -100, 200] {
            assert_eq!(shifts(&erased(by)), [moved(by, ShiftedIn::Erased)]);
        }
        let mut wrong = erased(17);
        wrong[90] ^= 1;
        assert_eq!(shifts(&wrong), []);
        assert_eq!(shifts(&[0xFF; 256]), [], "a blank chip");
        assert_eq!(shifts(&wanted), [], "as wanted");
        // What repeats after eight cells is shifted by 3, 11 and so on: the nearest are named.
        let wanted: Vec<u16> = (0..256).map(|a| a % 8).collect();
        let read: Vec<u16> = (0..256).map(|a| (a + 5) % 8).collect();
        let found = search(&wanted, &read).exact_shifts();
        let by: Vec<isize> = found
            .iter()
            .map(|model| match model {
                Model::Shifted { by, .. } => *by,
                other => panic!("{other:?}"),
            })
            .collect();
        assert_eq!(by.len(), MOST_SHIFTS);
        assert!(
            by.iter().all(|by| by.rem_euclid(8) == 3 && by.abs() < 30),
            "{by:?}"
        );
    }

    /// Each of a few is in it, and of many as many as a sample has, none twice.
    #[test]
    fn samples_are_spread() {
        for count in [1, 2, 3, 10, 511, 512, 513, 2000] {
            let all: Vec<usize> = (0..count).map(|n| 3 * n).collect();
            let mut some = spread(&all);
            assert_eq!(some.len(), count.min(SAMPLE));
            some.sort_unstable();
            some.dedup();
            assert_eq!(some.len(), count.min(SAMPLE));
            assert!(some.iter().all(|n| all.contains(n)));
            assert!(some[some.len() - 1] >= 3 * (count - 1) * 9 / 10);
        }
        assert!(spread(&[]).is_empty());
    }
}
