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
