//! What it takes to say how a read came from an image, in bits.

use super::trial::Trial;
use crate::faults::cost::{choose, integer, log2_factorial};

/// A list of this many cells, with their content, of a chip of that many.
pub(super) fn list(wrong: usize, cells: usize, data: usize) -> f64 {
    match wrong {
        0 => 0.0,
        _ => 5.0 + integer(wrong) + choose(cells, wrong) + (wrong * data) as f64,
    }
}

/// A wiring, its dead lines, and what it leaves over.
pub(super) fn wiring(trial: &Trial, cells: usize) -> f64 {
    let (address, data) = (trial.wiring.address(), trial.wiring.data());
    let dead = 7.0 + (data.len() as f64).log2() + 1.0;
    let mut bits = trial.dead.len() as f64 * dead + list(trial.wrong, cells, data.len());
    if !trial.wiring.is_straight() {
        let all = address.len() + data.len();
        let inverted = trial.wiring.inverted().count();
        let inversions = (all as f64).min(((all + 1) as f64).log2() + choose(all, inverted));
        bits += 3.0 + permutation(address) + permutation(data) + inversions;
    }
    bits
}

/// A list of lines: any order of all, or of those that moved.
fn permutation(list: &[u8]) -> f64 {
    let n = list.len();
    let lines = (0u8..).zip(list);
    let moved = lines.filter(|(i, line)| i != *line).count();
    let few = ((n + 1) as f64).log2() + choose(n, moved) + log2_factorial(moved);
    1.0 + log2_factorial(n).min(few)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::{Width, Wiring};

    fn same(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }

    /// A chip of 16 cells with this wiring, dead lines and wrong cells.
    fn bits(address: [u8; 4], inverted: (u32, u16), dead: usize, wrong: usize) -> f64 {
        let wiring = Wiring::new(Width::Eight, address.to_vec(), (0..8).collect()).unwrap();
        let trial = Trial {
            wiring: wiring.inverting(inverted.0, inverted.1).unwrap(),
            dead: (0..dead).map(|line| (line as u8, true)).collect(),
            wrong,
        };
        super::wiring(&trial, 16)
    }

    /// By hand: which cells and what is in them; which line, at which level; any order of all lines, or of those that moved.
    #[test]
    fn a_wiring_costs_what_it_takes_to_say_it() {
        same(list(0, 16, 8), 0.0);
        same(list(2, 16, 8), 5.0 + 3.0 + 120f64.log2() + 16.0);
        let straight = [0, 1, 2, 3];
        same(bits(straight, (0, 0), 0, 0), 0.0);
        same(bits(straight, (0, 0), 1, 0), 7.0 + 3.0 + 1.0);
        same(bits(straight, (0, 0), 2, 0), 2.0 * 11.0);
        same(bits(straight, (0, 0), 1, 2), 11.0 + list(2, 16, 8));
        // Two of four lines: any order of two of these is 1 bit, and which two of four, and that it is two of 0 to 4.
        let none = |lines: f64| 1.0 + (lines + 1.0).log2();
        let two = 1.0 + (5f64.log2() + 6f64.log2() + 1.0).min(24f64.log2());
        let no_inversion = 13f64.log2();
        same(
            bits([1, 0, 2, 3], (0, 0), 0, 0),
            3.0 + two + none(8.0) + no_inversion,
        );
        let all = 1.0 + 24f64.log2();
        same(
            bits([3, 0, 1, 2], (0, 0), 0, 0),
            3.0 + all + none(8.0) + no_inversion,
        );
        // Inverted lines: how many of 12 and which, or a bit for each.
        let one = 13f64.log2() + 12f64.log2();
        same(
            bits(straight, (1, 0), 0, 0),
            3.0 + none(4.0) + none(8.0) + one,
        );
        let half = bits(straight, (0b11, 0x0F), 0, 0);
        same(half, 3.0 + none(4.0) + none(8.0) + 12.0);
    }
}
