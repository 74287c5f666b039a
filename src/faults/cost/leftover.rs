//! What a story leaves over: cells that it predicts wrongly, and the cheapest way of listing them.

use super::code::{Literals, choose, integer};
use crate::faults::story::CellKind;
use crate::wiring::Width;

/// Cells that differ with at most so many equal ones between them are one stretch: a new stretch costs its place and
/// its length, about as much as this many bytes.
const BRIDGED: usize = 6;

/// Counts of the cells that a prediction gets wrong, taken in one pass from the lowest address up.
pub(in crate::faults) struct Tally<'l> {
    literals: &'l Literals,
    width: Width,
    /// Cells looked at.
    pub cells: usize,
    /// Cells that are wrong.
    pub wrong: usize,
    /// Bits that are 1 and should be 0, and the other way round.
    pub up: usize,
    pub down: usize,
    /// Data lines that are wrong somewhere.
    pub lines: u16,
    /// Bits of the prediction that are 1: those that could have been lost.
    ones: usize,
    /// Stretches of wrong cells, and what their lengths and bytes cost.
    pub stretches: usize,
    stretch_bits: f64,
    stretch_start: usize,
    last: Option<usize>,
    /// Equal cells since the last wrong one that a stretch would have to write out, priced.
    bridge: f64,
    /// A fingerprint of what is predicted.
    pub print: u64,
}

impl<'l> Tally<'l> {
    pub fn new(literals: &'l Literals, width: Width) -> Self {
        Tally {
            literals,
            width,
            cells: 0,
            wrong: 0,
            up: 0,
            down: 0,
            lines: 0,
            ones: 0,
            stretches: 0,
            stretch_bits: 0.0,
            stretch_start: 0,
            last: None,
            bridge: 0.0,
            print: 7,
        }
    }

    /// Takes the next cells, four at a time, because there are millions of them and most are right.
    pub fn take(&mut self, predicted: &[u16], read: &[u16]) {
        let fours = predicted.chunks(4).zip(read.chunks(4));
        for (should, is) in fours {
            let mut packed = 0u64;
            for &cell in should {
                packed = packed << 16 | u64::from(cell);
            }
            self.print = (self.print.rotate_left(5) ^ packed).wrapping_mul(0x517C_C1B7_2722_0A95);
            self.ones += packed.count_ones() as usize;
            if should == is && !self.bridges() {
                self.cells += is.len();
                continue;
            }
            for (&should, &is) in should.iter().zip(is) {
                if should != is {
                    self.wrong_cell(should, is);
                } else if self.bridges() {
                    self.bridge += self.literals.cell(is, self.width);
                }
                self.cells += 1;
            }
        }
    }

    /// Takes the next cells from bytes, a few at a time: as cells they would take twice the memory.
    pub fn take_bytes(&mut self, predicted: &[u8], read: &[u8]) {
        const PART: usize = 4096;
        for (should, is) in predicted.chunks(PART).zip(read.chunks(PART)) {
            self.take(&self.width.cells(should), &self.width.cells(is));
        }
    }

    /// Whether the next wrong cell would belong to the last stretch.
    fn bridges(&self) -> bool {
        self.last.is_some_and(|last| self.cells - last <= BRIDGED)
    }

    fn wrong_cell(&mut self, should: u16, is: u16) {
        let changed = should ^ is;
        self.wrong += 1;
        self.lines |= changed;
        self.up += (changed & is).count_ones() as usize;
        self.down += (changed & should).count_ones() as usize;
        let price = self.literals.cell(is, self.width);
        match self.last {
            Some(last) if self.cells - last <= BRIDGED => self.stretch_bits += self.bridge + price,
            last => {
                if let Some(last) = last {
                    self.stretch_bits += integer(last + 1 - self.stretch_start);
                }
                self.stretches += 1;
                self.stretch_start = self.cells;
                self.stretch_bits += price;
            }
        }
        self.last = Some(self.cells);
        self.bridge = 0.0;
    }

    /// Every way of listing the wrong cells, with its bits; none when nothing is wrong.
    ///
    /// The prices say which cells, among those that could have gone wrong in this way: bits that have leaked are
    /// among the zeros of the image, lost ones among its ones. So differences that could only have gone in one
    /// direction (whatever is written into a blank area) are not evidence for a direction.
    pub fn lists(&self) -> Vec<(CellKind, f64)> {
        if self.wrong == 0 {
            return Vec::new();
        }
        let lines = usize::from(self.width.lines());
        let bits = self.up + self.down;
        let all = lines * self.cells;
        let mut lists = vec![(CellKind::Scattered, integer(bits) + choose(all, bits))];
        if self.down == 0 {
            lists.push((
                CellKind::ReadAsOne,
                integer(bits) + choose(all - self.ones, bits),
            ));
        }
        if self.up == 0 {
            lists.push((
                CellKind::ReadAsZero,
                integer(bits) + choose(self.ones, bits),
            ));
        }
        if self.lines.is_power_of_two() {
            let line = self.lines.trailing_zeros() as u8;
            let list =
                f64::from(self.width.lines()).log2() + integer(bits) + choose(self.cells, bits);
            lists.push((CellKind::OneLine(line), list));
        }
        let byte = 8.0 * self.width.bytes() as f64;
        lists.push((
            CellKind::Changed,
            integer(self.wrong) + choose(self.cells, self.wrong) + byte * self.wrong as f64,
        ));
        let last = self
            .last
            .map_or(0.0, |last| integer(last + 1 - self.stretch_start));
        lists.push((
            CellKind::Rewritten,
            integer(self.stretches) + choose(self.cells, self.stretches) + self.stretch_bits + last,
        ));
        lists
    }
}

/// The cheapest list of what is left over, with its bits; nothing costs nothing.
pub(in crate::faults) fn leftover_bits(tally: &Tally) -> Option<(CellKind, f64)> {
    let lists = tally.lists().into_iter();
    lists.min_by(|a, b| a.1.total_cmp(&b.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each list for its own: which bits, of those that could have gone wrong so; which line; which cells; which stretches.
    #[test]
    fn every_list_costs_the_choice_that_it_is() {
        // All bytes are equally frequent, so each costs 8 bits.
        let literals = Literals::of([].iter());
        let lists = |predicted: &[u16], read: &[u16]| {
            let mut tally = Tally::new(&literals, Width::Eight);
            tally.take(predicted, read);
            tally.lists()
        };
        let close = |lists: Vec<(CellKind, f64)>, wanted: &[(CellKind, f64)]| {
            let same = lists.len() == wanted.len()
                && lists
                    .iter()
                    .zip(wanted)
                    .all(|(a, b)| a.0 == b.0 && (a.1 - b.1).abs() < 1e-9);
            assert!(same, "{lists:?}\n{wanted:?}");
        };
        assert_eq!(lists(&[1, 2, 3], &[1, 2, 3]), []);

        // 32 cells with two ones each: 64 ones, 192 zeros. Bit 7 of two cells reads 1, far from each other.
        let predicted = [0x03; 32];
        let mut read = predicted;
        (read[4], read[20]) = (0x83, 0x83);
        let two_cells = 496f64.log2();
        let wanted = [
            (CellKind::Scattered, 3.0 + 32640f64.log2()),
            (CellKind::ReadAsOne, 3.0 + 18336f64.log2()),
            (CellKind::OneLine(7), 3.0 + 3.0 + two_cells),
            (CellKind::Changed, 3.0 + two_cells + 16.0),
            (
                CellKind::Rewritten,
                3.0 + two_cells + (1.0 + 8.0) + (1.0 + 8.0),
            ),
        ];
        close(lists(&predicted, &read), &wanted);

        // The other way round, on two lines of one cell each; close together they are one stretch, with the cell between them.
        let mut read = predicted;
        (read[4], read[6]) = (0x01, 0x02);
        let wanted = [
            (CellKind::Scattered, 3.0 + 32640f64.log2()),
            (CellKind::ReadAsZero, 3.0 + 2016f64.log2()),
            (CellKind::Changed, 3.0 + two_cells + 16.0),
            (
                CellKind::Rewritten,
                1.0 + 5.0 + (1.0 + 2.0 * 3f64.log2()) + 24.0,
            ),
        ];
        close(lists(&predicted, &read), &wanted);
    }

    /// Up to six equal cells between two wrong ones are written out with them, wherever they are.
    #[test]
    fn stretches_are_joined_over_six_cells() {
        let literals = Literals::of([].iter());
        let rewritten = |wrong: &[usize]| {
            let mut tally = Tally::new(&literals, Width::Eight);
            let predicted = [0x03; 64];
            let mut read = predicted;
            wrong.iter().for_each(|&at| read[at] = 0x42);
            // In two parts, as a long read comes.
            tally.take(&predicted[..20], &read[..20]);
            tally.take(&predicted[20..], &read[20..]);
            let lists = tally.lists();
            assert_eq!((tally.cells, tally.wrong), (64, wrong.len()));
            let bits = lists.iter().find(|(kind, _)| *kind == CellKind::Rewritten);
            (tally.stretches, bits.unwrap().1)
        };
        let same = |(stretches, bits): (usize, f64), count: usize, lengths: &[usize]| {
            assert_eq!(stretches, count);
            let each = lengths
                .iter()
                .map(|&length| integer(length) + 8.0 * length as f64);
            let wanted = integer(count) + choose(64, count) + each.sum::<f64>();
            assert!((bits - wanted).abs() < 1e-9, "{bits} {wanted}");
        };
        for at in [1, 2, 3, 4, 15, 18] {
            same(rewritten(&[at]), 1, &[1]);
            same(rewritten(&[at, at + 5]), 1, &[6]);
            same(rewritten(&[at, at + 6]), 1, &[7]);
            same(rewritten(&[at, at + 7]), 2, &[1, 1]);
            same(rewritten(&[at, at + 6, at + 13, at + 14]), 2, &[7, 2]);
        }
        same(rewritten(&[0, 63]), 2, &[1, 1]);
    }

    /// In words a cell has 16 bits, and what is wrong goes either way on several lines.
    #[test]
    fn words_are_listed_as_words() {
        let literals = Literals::of([].iter());
        let mut tally = Tally::new(&literals, Width::Sixteen);
        let predicted: Vec<u8> = vec![0x00; 64];
        let mut read = predicted.clone();
        (read[4], read[41]) = (0x01, 0x80);
        tally.take_bytes(&predicted, &read);
        assert_eq!((tally.cells, tally.wrong, tally.stretches), (32, 2, 2));
        assert_eq!((tally.up, tally.down, tally.lines), (2, 0, 0x8001));
        let lists = tally.lists();
        let kinds: Vec<CellKind> = lists.iter().map(|(kind, _)| *kind).collect();
        let up = [CellKind::Scattered, CellKind::ReadAsOne];
        assert_eq!(
            kinds,
            [&up[..], &[CellKind::Changed, CellKind::Rewritten]].concat()
        );
        let close =
            |bits: f64, wanted: f64| assert!((bits - wanted).abs() < 1e-9, "{bits} {wanted}");
        close(lists[0].1, integer(2) + choose(512, 2));
        close(lists[1].1, integer(2) + choose(512, 2));
        close(lists[2].1, integer(2) + choose(32, 2) + 32.0);
        // A byte that is not in the read costs 8 bits: two of a cell 16.
        close(lists[3].1, integer(2) + choose(32, 2) + 2.0 * (1.0 + 16.0));
        assert_eq!(
            leftover_bits(&tally).map(|(kind, _)| kind),
            Some(CellKind::Scattered)
        );
        // Both ways there is no direction; and a prediction has its fingerprint.
        let print = tally.print;
        let mut other = Tally::new(&literals, Width::Sixteen);
        let mut down = predicted.clone();
        down[4] = 0x03;
        other.take_bytes(&down, &read);
        assert_eq!((other.up, other.down), (1, 1));
        assert_ne!(other.print, print);
        let kinds: Vec<CellKind> = other.lists().iter().map(|(kind, _)| *kind).collect();
        assert_eq!(
            kinds,
            [CellKind::Scattered, CellKind::Changed, CellKind::Rewritten]
        );
    }

    /// Long reads are compared in parts, and no cell is lost between them.
    #[test]
    fn parts_of_bytes_follow_one_another() {
        let literals = Literals::of([].iter());
        let predicted = vec![0x11u8; 10000];
        let mut read = predicted.clone();
        for at in [0, 4095, 4096, 9999] {
            read[at] = 0x10;
        }
        let mut tally = Tally::new(&literals, Width::Eight);
        tally.take_bytes(&predicted, &read);
        assert_eq!((tally.cells, tally.wrong, tally.stretches), (10000, 4, 3));
        let zeros = tally
            .lists()
            .into_iter()
            .find(|(kind, _)| *kind == CellKind::ReadAsZero);
        assert!((zeros.unwrap().1 - (integer(4) + choose(20000, 4))).abs() < 1e-9);
    }
}
