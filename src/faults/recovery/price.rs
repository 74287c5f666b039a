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
