//! Whether an address line floats.
//!
//! A cell that wavers then shows the cell whose address differs in this line. So only cells whose partner is another one
//! can show it, and the other value must be the partner's own: in a blank area, where both are FF, nothing does. Whether
//! the two differ is known only from reads that waver there; so it costs what it costs to say so of two cells of this
//! chip, by how often partners differ where nothing wavers. Where they hardly ever do, two cells that seem to are weak.

use super::observed::{CellValues, Observed};
use super::story::{ReadsStory, ToldOfReads};
use crate::faults::cost::{choose, integer, log2};

/// What one address line in eight bad reads costs, without its number.
const AN_ADDRESS_LINE: f64 = 4.0;
/// A cell that most reads show wrongly: its value has to be written out, and which of two partners it is.
const A_SIDE: f64 = 1.0;
/// Wavering cells, evenly spread, that are asked first; a line that explains less than a quarter of them leaves more than
/// half over.
const ASKED_FIRST: usize = 2048;

/// The evidence about one line.
#[derive(Clone, Copy, Default)]
struct Evidence {
    /// Cells that waver between their own value and their partner's.
    cells: usize,
    /// Times that the partner's was read.
    times: usize,
    /// Pairs that differ by what most reads show, and no wanted image says so.
    assumed: usize,
    /// Pairs of cells in which most reads show one cell wrongly, the partner's value in both: times, and the bits that
    /// waver there.
    turned: usize,
    turned_times: usize,
    turned_bits: usize,
    /// Bits that no float of this line explains.
    left: usize,
}

/// The story of each address line that explains anything.
pub(super) fn floating_address_lines(seen: &Observed) -> Vec<ToldOfReads> {
    let lines = 0..seen.address_lines();
    lines.filter_map(|line| told(seen, line)).collect()
}

fn told(seen: &Observed, line: u8) -> Option<ToldOfReads> {
    let step = (seen.cells.len() / ASKED_FIRST).max(1);
    if step > 1 {
        let explains = |at: usize| {
            let mut one = Evidence::default();
            one.take(seen, line, at);
            one.times + one.turned_times > 0
        };
        let asked = seen.cells.iter().step_by(step);
        let explained = asked.clone().filter(|cell| explains(cell.at)).count();
        if 4 * explained < asked.count() {
            return None;
        }
    }
    let mut evidence = Evidence::default();
    for cell in &seen.cells {
        let partner = cell.at ^ 1 << line;
        // A pair in which both waver counts once.
        if cell.at < partner || !seen.wavers(partner) {
            evidence.take(seen, line, cell.at);
        }
    }
    (evidence.cells > 0).then(|| evidence.told(seen, line))
}

impl Evidence {
    /// Takes the pair of this cell and its partner.
    fn take(&mut self, seen: &Observed, line: u8, at: usize) {
        let partner = at ^ 1 << line;
        match (seen.values(at), seen.values(partner)) {
            (CellValues::More, _) | (_, CellValues::More) => self.take_each(seen, at, partner),
            (one, other) => self.take_two(seen, at, partner, one, other),
        }
    }

    /// A pair in which neither cell showed more than two values.
    fn take_two(
        &mut self,
        seen: &Observed,
        at: usize,
        partner: usize,
        one: CellValues,
        other: CellValues,
    ) {
        let reads = seen.count_of_reads();
        let split = |values: CellValues| match values {
            CellValues::Two(most, other, times) => (most, other, times),
            CellValues::One(most) => (most, most, 0),
            CellValues::More => (0, 0, 0),
        };
        let ((x, x_other, x_times), (y, y_other, y_times)) = (split(one), split(other));
        let between = |value: u16, a: u16, b: u16| value == a || value == b;
        let waver = usize::from(x_times > 0) + usize::from(y_times > 0);
        if x != y {
            match between(x_other, x, y) && between(y_other, x, y) {
                true => {
                    self.cells += waver;
                    self.times += x_times + y_times;
                    self.assumed += usize::from(!seen.known_to_differ(at, partner));
                }
                false => self.take_each(seen, at, partner),
            }
            return;
        }
        // Both show one value most often. A second one may be what either of them contains.
        let second = if x_times > 0 { x_other } else { y_other };
        if !between(x_other, x, second) || !between(y_other, x, second) {
            return self.take_each(seen, at, partner);
        }
        // Of two values that are as frequent either may be the one.
        let even = |times: usize| 2 * times == reads;
        let says = |cell: usize, other: usize| {
            seen.wanted(cell) == Some(second) && seen.wanted(other) == Some(x)
        };
        let first_is_second = match (says(at, partner), says(partner, at)) {
            (true, _) => true,
            (_, true) => false,
            _ => x_times >= y_times,
        };
        let (has_it, has_it_not) = match first_is_second {
            true => (x_times, y_times),
            false => (y_times, x_times),
        };
        let times = reads - has_it + has_it_not;
        let says = says(at, partner) || says(partner, at);
        if says || even(has_it) {
            self.cells += waver;
            self.times += times;
            self.assumed += usize::from(!says);
        } else {
            self.turned += 1;
            self.turned_times += times;
            self.turned_bits += (x_times + y_times) * (x ^ second).count_ones() as usize;
        }
    }

    /// A pair read by read: what shows neither cell is left over.
    fn take_each(&mut self, seen: &Observed, at: usize, partner: usize) {
        let before = self.times;
        for (cell, other) in [(at, partner), (partner, at)] {
            if !seen.wavers(cell) {
                continue;
            }
            let (own, others) = (seen.truth(cell), seen.truth(other));
            let mut times = 0;
            for read in 0..seen.count_of_reads() {
                let value = seen.value(read, cell);
                if value == own {
                    continue;
                }
                match value == others {
                    true => times += 1,
                    false => self.left += (value ^ own).count_ones() as usize,
                }
            }
            self.times += times;
            self.cells += usize::from(times > 0);
        }
        let shown = self.times > before;
        self.assumed += usize::from(shown && !seen.known_to_differ(at, partner));
    }

    fn told(self, seen: &Observed, line: u8) -> ToldOfReads {
        let (size, reads) = (seen.size(), seen.count_of_reads());
        let differs = |&a: &usize| seen.majority(a) != seen.majority(a ^ 1 << line);
        let could = (0..size).filter(differs).count();
        let (to_differ, steady) = seen.to_differ(|at| at ^ 1 << line);
        let equal_pairs = (size - could) / 2;
        let written_out = f64::from(seen.width.lines()) + A_SIDE;
        let assumed = self.assumed;
        let bits = |times: usize, turned: usize, left: usize| {
            let turning = match turned {
                0 => 0.0,
                n => integer(n) + choose(equal_pairs.max(n), n) + n as f64 * written_out,
            };
            let could = ((could + 2 * turned) * reads).max(times);
            AN_ADDRESS_LINE
                + log2(seen.address_lines().into())
                + integer(times)
                + choose(could, times)
                + turning
                + (assumed + turned) as f64 * to_differ
                + 1.0
                + seen.noise(left)
        };
        let with = bits(self.times + self.turned_times, self.turned, self.left);
        let left = self.left + self.turned_bits;
        let without = bits(self.times, 0, left);
        let (bits, turned, left) = match with < without {
            true => (with, self.turned, self.left),
            false => (without, 0, left),
        };
        ToldOfReads {
            story: ReadsStory::AddressLine(line),
            bits,
            left,
            proved: left == 0 && self.cells >= 2 && 2 * turned <= self.cells,
            explains_all: self.left == 0 && self.cells >= 2 && 2 * steady.differ > steady.all,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::reads::testing::{self, ask};

    const A3: u8 = 3;

    /// 16 cells, each with the opposite of its partner's content on A3.
    fn image() -> Vec<u8> {
        (0..8).chain((0..8).map(|a| 0xFF - a)).collect()
    }

    /// Five reads of the image; in those of `shows` a cell shows this byte.
    fn reads(shows: &[(usize, &[usize], u8)]) -> Vec<Vec<u8>> {
        testing::reads_that_show(&image(), 5, shows)
    }

    fn a3(reads: &[Vec<u8>], wanted: Option<&[u8]>) -> Option<ToldOfReads> {
        ask(reads, wanted, |seen| told(seen, A3))
    }

    /// Cells, times, pairs that are assumed to differ; pairs turned, times, bits; bits left.
    fn evidence(reads: &[Vec<u8>], wanted: Option<&[u8]>, at: usize) -> [usize; 7] {
        ask(reads, wanted, |seen| {
            let mut one = Evidence::default();
            one.take(seen, A3, at);
            let turned = [one.turned, one.turned_times, one.turned_bits];
            [
                &[one.cells, one.times, one.assumed][..],
                &turned,
                &[one.left],
            ]
            .concat()
            .try_into()
            .unwrap()
        })
    }

    fn same(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }

    /// EVIDENCE: an address line costs 4 + log2 w + int + C(k x places where the partner's byte differs, hits).
    #[test]
    fn a_line_costs_which_of_the_cells_that_could_show_it_do() {
        let floats = reads(&[(1, &[2], 0xFE), (2, &[0, 4], 0xFD)]);
        let told = a3(&floats, Some(&image())).unwrap();
        // Three times of 5 x 16, and nothing is left over.
        same(
            told.bits,
            4.0 + 2.0 + integer(3) + choose(80, 3) + 1.0 + 1.0,
        );
        assert_eq!(told.story, ReadsStory::AddressLine(A3));
        assert_eq!((told.left, told.proved, told.explains_all), (0, true, true));
        // Without a wanted image that two cells differ is told of either pair: of 12 others 12 do.
        let assumed = a3(&floats, None).unwrap();
        same(assumed.bits - told.bits, -2.0 * (12.5f64 / 13.0).log2());
        // Two cells at least have to show it.
        let one = a3(&reads(&[(2, &[0, 4], 0xFD)]), Some(&image())).unwrap();
        assert!(!one.proved && !one.explains_all);
        assert_eq!(a3(&reads(&[(1, &[2], 0x21)]), Some(&image())), None);
        // A bit that is not the partner's is left over.
        let more = reads(&[(1, &[2], 0xFE), (2, &[0, 4], 0xFD), (5, &[3], 0x15)]);
        let more = a3(&more, Some(&image())).unwrap();
        same(more.bits - told.bits, integer(2) + choose(8 * 80, 1) - 1.0);
        assert_eq!(
            (more.left, more.proved, more.explains_all),
            (1, false, false)
        );
    }

    /// A pair in which both cells waver is one, and each of its cells counts.
    #[test]
    fn a_pair_counts_once() {
        let both = reads(&[(1, &[2], 0xFE), (9, &[3, 4], 1)]);
        assert_eq!(evidence(&both, Some(&image()), 1), [2, 3, 0, 0, 0, 0, 0]);
        let told = a3(&both, Some(&image())).unwrap();
        same(
            told.bits,
            4.0 + 2.0 + integer(3) + choose(80, 3) + 1.0 + 1.0,
        );
        assert_eq!(evidence(&both, None, 9), [2, 3, 1, 0, 0, 0, 0]);
    }

    /// The partner's value in most reads: then the wanted image says which cell has it, or it must be told.
    #[test]
    fn a_cell_that_most_reads_show_wrongly() {
        let mut wanted = image();
        let floats = reads(&[(8, &[0, 1, 2, 4], 0)]);
        assert_eq!(evidence(&floats, Some(&wanted), 8), [1, 4, 0, 0, 0, 0, 0]);
        assert_eq!(evidence(&floats, None, 8), [0, 0, 0, 1, 4, 8, 0]);
        // The wanted image may say that both have the same, or that neither has what was read.
        wanted[8] = 0;
        assert_eq!(evidence(&floats, Some(&wanted), 8), [0, 0, 0, 1, 4, 8, 0]);
        (wanted[0], wanted[8]) = (0xFF, 0xFF);
        assert_eq!(evidence(&floats, Some(&wanted), 8), [0, 0, 0, 1, 4, 8, 0]);
        // Or that it is the other cell that has it: then all five reads of that one and the one of this are wrong.
        wanted[8] = 0;
        assert_eq!(evidence(&floats, Some(&wanted), 8), [1, 6, 0, 0, 0, 0, 0]);
        // In both cells, once and twice: that of the more reads has it.
        let twice = reads(&[(8, &[0, 1, 2], 0), (0, &[4], 0xFF)]);
        assert_eq!(evidence(&twice, None, 8), [0, 0, 0, 1, 4, 24, 0]);
        let even: Vec<Vec<u8>> = reads(&[(8, &[0, 1], 0)])[..4].to_vec();
        assert_eq!(evidence(&even, None, 8)[..3], [1, 2, 1]);
    }

    #[test]
    fn other_values_are_left_over() {
        // Three values: what shows the partner counts, the others are left with the bits that differ.
        let three = reads(&[(1, &[2], 0xFE), (1, &[4], 0x07)]);
        assert_eq!(evidence(&three, Some(&image()), 1), [1, 1, 0, 0, 0, 0, 2]);
        assert_eq!(evidence(&three, None, 1), [1, 1, 1, 0, 0, 0, 2]);
        let other = reads(&[(1, &[2], 0xFE), (9, &[4], 0x07)]);
        assert_eq!(evidence(&other, Some(&image()), 1), [1, 1, 0, 0, 0, 0, 6]);
        let neither = reads(&[(8, &[0, 1, 2], 0), (0, &[4], 0x03)]);
        assert_eq!(evidence(&neither, None, 8), [0, 0, 0, 0, 0, 0, 18]);
        // The same in a cell that most reads show wrongly: the wanted byte is what it contains.
        let wrong = reads(&[(1, &[0, 1, 2], 0xFE), (1, &[4], 0x03)]);
        assert_eq!(evidence(&wrong, Some(&image()), 1), [1, 3, 0, 0, 0, 0, 1]);
    }

    /// By hand: cells 1 and 2 waver once each, and cell 8 shows its partner's byte in four reads of five.
    #[test]
    fn a_turned_pair_is_told_where_that_is_cheaper_than_noise() {
        let turned = reads(&[(1, &[2], 0xFE), (2, &[0], 0xFD), (8, &[0, 1, 2, 4], 0)]);
        let told = a3(&turned, None).unwrap();
        // Six times of 5 x (14 + 2), the one pair of cells that look the same, its byte and its side; that three pairs
        // differ, as 10 of 10 others do.
        let to_differ = -(10.5f64 / 11.0).log2();
        let turning = 1.0 + 0.0 + 9.0;
        let times = integer(6) + choose(80, 6);
        same(
            told.bits,
            4.0 + 2.0 + times + turning + 3.0 * to_differ + 1.0 + 1.0,
        );
        assert_eq!((told.left, told.proved), (0, true));
        // More of them than half of the cells that waver as they should prove nothing.
        let two = [&[(1, &[2][..], 0xFE), (2, &[0], 0xFD)][..]].concat();
        let more: [(usize, &[usize], u8); 2] = [(8, &[0, 1, 2, 4], 0), (11, &[0, 1, 2, 4], 3)];
        let told = a3(&reads(&[&two[..], &more].concat()), None).unwrap();
        assert_eq!(
            (told.left, told.proved, told.explains_all),
            (0, false, true)
        );
        // One bit is cheaper as noise: two times of 5 x 14, and one bit of 5 x 16 x 8.
        let mut bits = turned.clone();
        bits.iter_mut().for_each(|read| read[0] = 0xFE);
        bits.iter_mut().take(3).for_each(|read| read[8] = 0xFE);
        bits[4][8] = 0xFE;
        let told = a3(&bits, None).unwrap();
        let noise = integer(2) + choose(640, 1);
        let times = integer(2) + choose(70, 2);
        same(told.bits, 4.0 + 2.0 + times + 2.0 * to_differ + 1.0 + noise);
        assert_eq!(
            (told.left, told.proved, told.explains_all),
            (1, false, true)
        );
    }

    /// Where thousands of cells waver some are asked first: a line that explains a quarter of these is looked at, and one that
    /// explains less is none.
    #[test]
    fn a_line_has_to_explain_a_quarter_of_many_cells() {
        let image: Vec<u8> = (0..8192usize)
            .map(|a| if a < 4096 { a as u8 } else { !(a as u8) })
            .collect();
        // All of the lower half waver, of which every second one is asked; so many of these show their partner on A12.
        let told = |partners: usize| {
            let mut odd = image.clone();
            for (a, byte) in odd.iter_mut().enumerate().take(4096) {
                let shows = a % 8 == 0 && a / 8 < partners;
                *byte ^= if shows { 0xFF } else { 0x01 };
            }
            let reads = [image.clone(), image.clone(), odd];
            ask(&reads, Some(&image), |seen| super::told(seen, 12)).is_some()
        };
        assert!(told(512) && !told(511));
    }
}
