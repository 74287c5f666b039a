//! What was seen in several reads: the cells that waver, and how often each bit of them changed.

use super::majority::{Majority, WaveringByte};
use crate::wiring::Width;

/// What was seen. Bits are counted against the majority.
pub(super) struct Observed<'a> {
    pub reads: &'a [&'a [u8]],
    pub width: Width,
    /// The majority.
    pub image: &'a [u8],
    /// What is wanted.
    pub wanted: Option<&'a [u8]>,
    /// Cells that waver, ascending.
    pub cells: Vec<WaveringCell>,
    /// A bit for each cell of the chip: whether it wavers.
    wavering: Vec<u64>,
    /// Bits that waver.
    pub places: usize,
    /// Bits that changed in each read, and in all.
    pub by_read: Vec<usize>,
    pub changes: usize,
    /// Times that a cell was read as another one.
    pub changed_cells: usize,
    /// Changes on each data line, and the cells where there are any.
    pub changes_on: [usize; 16],
    pub places_on: [usize; 16],
}

/// A cell that did not read the same every time.
pub(super) struct WaveringCell {
    pub at: usize,
    pub values: CellValues,
}

/// Cells that don't waver, and whose partner does not: all, and those that differ from it.
#[derive(Clone, Copy, Default)]
pub(super) struct Steady {
    pub all: usize,
    pub differ: usize,
}

/// The values that a cell showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CellValues {
    /// Always this one.
    One(u16),
    /// Most often the first; the second in so many reads.
    Two(u16, u16, usize),
    /// More than two.
    More,
}

impl<'a> Observed<'a> {
    pub fn new(
        reads: &'a [&'a [u8]],
        width: Width,
        wanted: Option<&'a [u8]>,
        majority: &'a Majority,
    ) -> Self {
        let mut seen = Observed {
            reads,
            width,
            wanted,
            cells: Vec::new(),
            wavering: vec![0; (majority.image.len() / width.bytes()).div_ceil(64)],
            image: &majority.image,
            places: 0,
            by_read: vec![0; reads.len()],
            changes: 0,
            changed_cells: 0,
            changes_on: [0; 16],
            places_on: [0; 16],
        };
        let cell_of = |byte: &WaveringByte| byte.address / width.bytes();
        for bytes in majority.wavering.chunk_by(|a, b| cell_of(a) == cell_of(b)) {
            seen.count(cell_of(&bytes[0]));
        }
        seen
    }

    fn count(&mut self, at: usize) {
        let majority = self.majority(at);
        let mut any = 0;
        for read in 0..self.reads.len() {
            let mut changed = self.value(read, at) ^ majority;
            any |= changed;
            self.changed_cells += usize::from(changed != 0);
            self.by_read[read] += changed.count_ones() as usize;
            self.changes += changed.count_ones() as usize;
            while changed != 0 {
                self.changes_on[changed.trailing_zeros() as usize] += 1;
                changed &= changed - 1;
            }
        }
        self.places += any.count_ones() as usize;
        while any != 0 {
            self.places_on[any.trailing_zeros() as usize] += 1;
            any &= any - 1;
        }
        self.wavering[at / 64] |= 1 << (at % 64);
        let values = self.values_shown(at);
        self.cells.push(WaveringCell { at, values });
    }

    fn values_shown(&self, at: usize) -> CellValues {
        let first = self.value(0, at);
        let (mut other, mut others) = (first, 0);
        for read in 1..self.reads.len() {
            let value = self.value(read, at);
            if value == first {
                continue;
            }
            if others > 0 && value != other {
                return CellValues::More;
            }
            (other, others) = (value, others + 1);
        }
        let firsts = self.reads.len() - others;
        // Of two values that are as frequent, the wanted one.
        let turn = match firsts.cmp(&others) {
            std::cmp::Ordering::Less => true,
            std::cmp::Ordering::Equal => self.wanted(at) == Some(other),
            std::cmp::Ordering::Greater => false,
        };
        match turn {
            true => CellValues::Two(other, first, firsts),
            false => CellValues::Two(first, other, others),
        }
    }

    /// What a read shows in a cell.
    pub fn value(&self, read: usize, at: usize) -> u16 {
        self.width.cell(self.reads[read], at)
    }

    /// How many cells the chip has.
    pub fn size(&self) -> usize {
        self.image.len() / self.width.bytes()
    }

    /// What most reads show in a cell.
    pub fn majority(&self, at: usize) -> u16 {
        self.width.cell(self.image, at)
    }

    /// What is wanted in a cell.
    pub fn wanted(&self, at: usize) -> Option<u16> {
        self.wanted.map(|wanted| self.width.cell(wanted, at))
    }

    /// The values that a cell showed.
    pub fn values(&self, at: usize) -> CellValues {
        let number = match self.wavers(at) {
            // They are in the order of their places.
            true => self.cells.binary_search_by_key(&at, |cell| cell.at).ok(),
            false => None,
        };
        number.map_or(CellValues::One(self.majority(at)), |n| self.cells[n].values)
    }

    /// Whether a cell wavers.
    pub fn wavers(&self, at: usize) -> bool {
        self.wavering[at / 64] >> (at % 64) & 1 == 1
    }

    /// What a cell contains: what is wanted if a read shows it, otherwise what most reads show.
    pub fn truth(&self, at: usize) -> u16 {
        let shown = |value: &u16| (0..self.reads.len()).any(|read| self.value(read, at) == *value);
        match self.wanted(at).filter(|_| self.wavers(at)).filter(shown) {
            Some(wanted) => wanted,
            None => self.majority(at),
        }
    }

    /// Whether the wanted image says that the two cells differ, and the reads show what it says.
    pub fn known_to_differ(&self, one: usize, other: usize) -> bool {
        let shown = |at: usize, wanted: u16| {
            (0..self.reads.len()).any(|read| self.value(read, at) == wanted)
        };
        match (self.wanted(one), self.wanted(other)) {
            (Some(a), Some(b)) => a != b && shown(one, a) && shown(other, b),
            _ => false,
        }
    }

    /// What it costs to say of two cells that waver that they differ, by how often the cells `partner` leads to differ
    /// where nothing wavers.
    pub fn to_differ(&self, partner: impl Fn(usize) -> usize) -> (f64, Steady) {
        let mut steady = Steady::default();
        for at in 0..self.size() {
            let other = partner(at);
            if !self.wavers(at) && !self.wavers(other) {
                steady.all += 1;
                steady.differ += usize::from(self.majority(at) != self.majority(other));
            }
        }
        let share = (steady.differ as f64 + 0.5) / (steady.all as f64 + 1.0);
        (-share.log2(), steady)
    }

    /// How many reads there are.
    pub fn count_of_reads(&self) -> usize {
        self.reads.len()
    }

    /// The address lines of a chip of this size; none where no chip has it.
    pub fn address_lines(&self) -> u8 {
        let cells = self.size();
        match cells.is_power_of_two() {
            true => cells.trailing_zeros() as u8,
            false => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::reads::majority::majority;

    fn ask<R>(
        reads: &[&[u8]],
        width: Width,
        wanted: Option<&[u8]>,
        ask: impl Fn(&Observed) -> R,
    ) -> R {
        let found = majority(reads, wanted);
        ask(&Observed::new(reads, width, wanted, &found))
    }

    /// Counted by hand, in bytes and in words.
    #[test]
    fn changes_are_counted_by_read_by_line_and_by_cell() {
        let reads: [&[u8]; 3] = [&[1, 2, 3, 4], &[1, 2, 7, 0x14], &[0x81, 2, 3, 0x14]];
        ask(&reads, Width::Eight, None, |seen| {
            assert_eq!(seen.image, [1, 2, 3, 0x14]);
            assert_eq!(
                (seen.size(), seen.address_lines(), seen.count_of_reads()),
                (4, 2, 3)
            );
            assert_eq!((seen.changes, seen.changed_cells, seen.places), (3, 3, 3));
            assert_eq!(seen.by_read, [1, 1, 1]);
            assert_eq!(seen.changes_on[..8], [0, 0, 1, 0, 1, 0, 0, 1]);
            assert_eq!(seen.places_on, seen.changes_on);
            assert_eq!(
                [0, 1, 2, 3].map(|at| seen.wavers(at)),
                [true, false, true, true]
            );
            assert_eq!(seen.values(0), CellValues::Two(1, 0x81, 1));
            assert_eq!(seen.values(1), CellValues::One(2));
            assert_eq!(seen.values(3), CellValues::Two(0x14, 4, 1));
        });
        ask(&reads, Width::Sixteen, None, |seen| {
            assert_eq!((seen.size(), seen.address_lines()), (2, 1));
            assert_eq!((seen.changes, seen.changed_cells, seen.places), (3, 3, 3));
            assert_eq!(seen.values(1), CellValues::More);
            assert_eq!((seen.changes_on[12], seen.changes_on[2]), (1, 1));
        });
        // Twice at one place is one place.
        let twice: [&[u8]; 5] = [&[1], &[1], &[1], &[3], &[7]];
        ask(&twice, Width::Eight, None, |seen| {
            assert_eq!((seen.changes, seen.places, seen.changed_cells), (3, 2, 2));
            assert_eq!((seen.changes_on[1], seen.places_on[1]), (2, 1));
        });
        ask(&[&[1; 3], &[2; 3]], Width::Eight, None, |seen| {
            assert_eq!(seen.address_lines(), 0, "no chip has three cells");
        });
    }

    /// More cells than are in one word of the list of those that waver.
    #[test]
    fn each_cell_that_wavers_is_known() {
        let image = vec![0u8; 200];
        let mut other = image.clone();
        for at in [0, 63, 64, 127, 199] {
            other[at] = 1;
        }
        ask(&[&image, &image, &other], Width::Eight, None, |seen| {
            let waver: Vec<usize> = (0..200).filter(|&at| seen.wavers(at)).collect();
            assert_eq!(waver, [0, 63, 64, 127, 199]);
            let cells: Vec<usize> = seen.cells.iter().map(|cell| cell.at).collect();
            assert_eq!(cells, waver);
        });
    }

    /// A wanted byte that some read shows is what the cell contains, whatever most reads show.
    #[test]
    fn what_a_cell_contains() {
        let reads: [&[u8]; 3] = [&[5, 9, 6, 6], &[5, 9, 6, 6], &[4, 9, 8, 6]];
        let wanted = [4, 9, 7, 8];
        ask(&reads, Width::Eight, Some(&wanted), |seen| {
            assert_eq!([0, 1, 2, 3].map(|at| seen.truth(at)), [4, 9, 6, 6]);
            assert!(seen.known_to_differ(0, 1));
            assert!(!seen.known_to_differ(0, 2) && !seen.known_to_differ(2, 0));
            assert!(!seen.known_to_differ(1, 1));
            // 1 and 3 do not waver, and 6 is not 9.
            let (bits, steady) = seen.to_differ(|at| at ^ 2);
            assert_eq!((steady.all, steady.differ), (2, 2));
            assert!((bits + (2.5f64 / 3.0).log2()).abs() < 1e-9);
            let (bits, steady) = seen.to_differ(|at| at);
            assert_eq!((steady.all, steady.differ), (2, 0));
            assert!((bits + (0.5f64 / 3.0).log2()).abs() < 1e-9);
        });
        ask(&reads, Width::Eight, None, |seen| {
            assert_eq!(seen.truth(0), 5);
            assert!(!seen.known_to_differ(0, 1));
        });
        // Of two values that are as frequent the wanted one is the first.
        let even: [&[u8]; 2] = [&[5], &[4]];
        let values = |wanted| ask(&even, Width::Eight, Some(wanted), |seen| seen.values(0));
        assert_eq!(values(&[4]), CellValues::Two(4, 5, 1));
        assert_eq!(values(&[5]), CellValues::Two(5, 4, 1));
        assert_eq!(values(&[0]), CellValues::Two(5, 4, 1));
    }
}
