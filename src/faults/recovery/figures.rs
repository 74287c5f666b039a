//! What of an image's lines survives any rewiring: how often bits turn and lean, counted.

use crate::wiring::{Width, Wiring};

/// The figures of an image that survive rewiring.
pub(super) struct Figures {
    pub width: Width,
    /// Address lines.
    pub lines: usize,
    /// Cells.
    pub size: i64,
    /// Ones of each data line.
    pub ones: Vec<i64>,
    /// How often each data bit changes when one address bit changes, by address line.
    pub changes: Vec<Vec<i64>>,
    /// Ones of each data line where the address line is 1, less those where it is 0.
    pub leans: Vec<Vec<i64>>,
    /// How often two data lines differ.
    pub differ: Vec<Vec<i64>>,
}

impl Figures {
    pub fn of(image: &[u16], width: Width) -> Self {
        let lines = image.len().trailing_zeros() as usize;
        let data = usize::from(width.lines());
        let mut whole = Counts::new(width);
        image.iter().for_each(|cell| whole.count(*cell));
        let ones = whole.per_line();
        let mut changes = Vec::new();
        let mut leans = Vec::new();
        for line in 0..lines {
            let half = 1 << line;
            // Two tables each, used in turn: runs of one value don't wait for each other.
            let mut turned = [Counts::new(width), Counts::new(width)];
            let mut upper = [Counts::new(width), Counts::new(width)];
            for block in image.chunks_exact(2 * half) {
                let (low, high) = block.split_at(half);
                for (n, (low, high)) in low.iter().zip(high).enumerate() {
                    turned[n & 1].count(low ^ high);
                    upper[n & 1].count(*high);
                }
            }
            let both = |[mut even, odd]: [Counts; 2]| {
                even.add(&odd);
                even.per_line()
            };
            changes.push(both(turned));
            let in_upper = both(upper);
            leans.push((0..data).map(|d| 2 * in_upper[d] - ones[d]).collect());
        }
        Figures {
            width,
            lines,
            size: image.len() as i64,
            ones,
            changes,
            leans,
            differ: whole.differing(),
        }
    }

    /// Data lines.
    pub fn data(&self) -> usize {
        self.ones.len()
    }

    /// All lines.
    pub fn all(&self) -> usize {
        self.lines + self.data()
    }

    /// The wiring that changes nothing, with all lines in its lists.
    pub fn straight(&self) -> Option<Wiring> {
        let (address, data) = (0..self.lines as u8, 0..self.width.lines());
        Wiring::new(self.width, address.collect(), data.collect()).ok()
    }

    /// Each line's colour before it is compared with others: address lines first, then data
    /// lines.
    pub fn start(&self) -> Vec<u64> {
        let mut colours = vec![1; self.lines];
        colours.extend(self.ones.iter().map(|ones| mixed(2, self.folded(*ones))));
        colours
    }

    /// A count that an inversion may have turned into the rest of all.
    fn folded(&self, count: i64) -> u64 {
        count.min(self.size - count) as u64
    }

    /// Tells lines apart by the lines they meet, until no more come apart.
    pub fn refine(&self, colours: &mut Vec<u64>) {
        let mut kinds = distinct(colours);
        loop {
            let next: Vec<u64> = (0..colours.len())
                .map(|line| self.seen(line, colours))
                .collect();
            *colours = next;
            let now = distinct(colours);
            if now == kinds {
                return;
            }
            kinds = now;
        }
    }

    fn seen(&self, line: usize, colours: &[u64]) -> u64 {
        let meet = |address: usize, data: usize| {
            let lean = self.leans[address][data].unsigned_abs();
            mixed(self.changes[address][data] as u64, lean)
        };
        let mut meets: Vec<u64> = match line.checked_sub(self.lines) {
            None => (0..self.data())
                .map(|data| mixed(meet(line, data), colours[self.lines + data]))
                .collect(),
            Some(data) => {
                let address = (0..self.lines).map(|a| mixed(meet(a, data), colours[a]));
                let others = (0..self.data())
                    .filter(|&other| other != data)
                    .map(|other| {
                        let differ = self.folded(self.differ[data][other]);
                        mixed(mixed(3, differ), colours[self.lines + other])
                    });
                address.chain(others).collect()
            }
        };
        meets.sort_unstable();
        meets.into_iter().fold(colours[line], mixed)
    }
}

/// How often each value of a cell occurs.
struct Counts(Vec<u32>);

impl Counts {
    fn new(width: Width) -> Self {
        Counts(vec![0; 1 << width.lines()])
    }

    #[inline]
    fn count(&mut self, cell: u16) {
        self.0[usize::from(cell)] += 1;
    }

    fn add(&mut self, other: &Counts) {
        let both = self.0.iter_mut().zip(&other.0);
        both.for_each(|(own, more)| *own += more);
    }

    fn lines(&self) -> usize {
        self.0.len().trailing_zeros() as usize
    }

    /// The values that occur.
    fn cells(&self) -> impl Iterator<Item = (usize, i64)> {
        let counts = self.0.iter().enumerate();
        let there = counts.filter(|(_, count)| **count > 0);
        there.map(|(cell, count)| (cell, i64::from(*count)))
    }

    /// Ones of each data line.
    fn per_line(&self) -> Vec<i64> {
        let mut ones = vec![0; self.lines()];
        for (cell, count) in self.cells() {
            for (line, ones) in ones.iter_mut().enumerate() {
                *ones += count * (cell >> line & 1) as i64;
            }
        }
        ones
    }

    /// How often each data line differs from each.
    fn differing(&self) -> Vec<Vec<i64>> {
        let mut differ = vec![vec![0; self.lines()]; self.lines()];
        for (cell, count) in self.cells() {
            for (a, differ) in differ.iter_mut().enumerate() {
                for (b, differ) in differ.iter_mut().enumerate() {
                    *differ += count * ((cell >> a ^ cell >> b) & 1) as i64;
                }
            }
        }
        differ
    }
}

/// Two numbers as one that both decide.
pub(super) fn mixed(a: u64, b: u64) -> u64 {
    let mixed = (a ^ b.rotate_left(32)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed ^ mixed >> 29)
        .wrapping_add(b)
        .wrapping_mul(0xBF58_476D_1CE4_E5B9)
}

fn distinct(colours: &[u64]) -> usize {
    let mut sorted = colours.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    sorted.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn image(lines: u32, mask: u16) -> Vec<u16> {
        (0..1u32 << lines)
            .map(|a| (a * a * 37 + a * 11 + (a >> 2) * 5) as u16 & mask)
            .collect()
    }

    /// Each figure counted again, cell by cell.
    #[test]
    fn figures_are_counted_as_they_are_defined() {
        for (width, mask) in [(Width::Eight, 0xFF), (Width::Sixteen, 0xFFFF)] {
            let image = image(5, mask);
            let found = Figures::of(&image, width);
            let data = usize::from(width.lines());
            assert_eq!((found.lines, found.size), (5, 32));
            assert_eq!((found.data(), found.all()), (data, 5 + data));
            let level = |a: usize, line: usize| i64::from(image[a] >> line & 1);
            let all = || 0..32usize;
            for d in 0..data {
                assert_eq!(found.ones[d], all().map(|a| level(a, d)).sum::<i64>());
                for line in 0..5 {
                    let changes = all().filter(|a| a >> line & 1 == 0);
                    let changes = changes.filter(|&a| level(a, d) != level(a | 1 << line, d));
                    assert_eq!(found.changes[line][d], changes.count() as i64);
                    let lean = |a: usize| level(a, d) * (2 * (a >> line & 1) as i64 - 1);
                    assert_eq!(found.leans[line][d], all().map(lean).sum::<i64>());
                }
                for e in 0..data {
                    let differ = all().filter(|&a| level(a, d) != level(a, e)).count();
                    assert_eq!(found.differ[d][e], differ as i64);
                }
            }
        }
    }

    /// What a wiring moves keeps its colour, and what differs in anything that no wiring changes has another one.
    #[test]
    fn colours_survive_any_wiring() {
        let image = image(6, 0xFF);
        let (address, data) = (vec![3, 0, 5, 1, 4, 2], vec![7, 2, 0, 5, 6, 1, 3, 4]);
        let wiring = Wiring::new(Width::Eight, address.clone(), data.clone()).unwrap();
        let wiring = wiring.inverting(0b01_0110, 0x35).unwrap();
        let lookup = crate::wiring::Lookup::new(&wiring);
        let wired: Vec<u16> = (0..64).map(|at| lookup.cell(&image, at)).collect();
        let colours = |image: &[u16]| {
            let figures = Figures::of(image, Width::Eight);
            let mut colours = figures.start();
            figures.refine(&mut colours);
            colours
        };
        let (from, to) = (colours(&image), colours(&wired));
        for (to_line, from_line) in address.iter().enumerate() {
            assert_eq!(to[to_line], from[usize::from(*from_line)], "A{to_line}");
        }
        for (to_line, from_line) in data.iter().enumerate() {
            assert_eq!(
                to[6 + to_line],
                from[6 + usize::from(*from_line)],
                "D{to_line}"
            );
        }
        assert_eq!(
            distinct(&from),
            14,
            "all lines of this image are told apart"
        );
        // Lines of which every figure is the same stay together.
        let same: Vec<u16> = (0..64u16)
            .map(|a| (a & 1 ^ a >> 1 & 1) * 3 + (a >> 2) * 4)
            .collect();
        let alike = colours(&same);
        assert_eq!((alike[0], alike[6]), (alike[1], alike[7]));
        assert_ne!(alike[0], alike[2]);
    }
}
