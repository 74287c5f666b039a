//! Which reads belong together: one that another explains in its place is of the same chip.

use super::seen::Seen;
use crate::faults::cost::{Literals, Tally, leftover_bits};

/// A read of one chip costs less than this share of what it costs alone when another is known.
pub(super) const ONE_CHIP: f64 = 0.5;
/// Groups that each further read is held against; more would cost the square of the reads.
const COMPARED: usize = 8;
/// A run of so many equal bytes is written out as one.
const RUN: usize = 16;
/// What a run costs to write out: its byte and its length.
const A_RUN: f64 = 20.0;
/// Cells that are looked at first, evenly spread; when hardly any of them are equal, nothing more has to be.
const LOOKED_AT_FIRST: usize = 1024;

/// Reads that belong together, and what a read of each group costs to write out.
pub(super) struct Group {
    pub reads: Vec<usize>,
    pub alone: f64,
}

/// Sorts reads into groups. A read of one byte throughout proves nothing and is in none.
pub(super) fn groups(seen: &Seen) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (n, read) in seen.reads.iter().enumerate() {
        if read.iter().all(|byte| Some(byte) == read.first()) {
            continue;
        }
        let fits = |group: &&mut Group| together(seen, group.reads[0], n);
        match groups.iter_mut().take(COMPARED).find(fits) {
            Some(group) => group.reads.push(n),
            None => groups.push(Group {
                reads: vec![n],
                alone: alone(read, &Literals::of(read)),
            }),
        }
    }
    groups
}

/// Whether a read costs little when another one is known.
fn together(seen: &Seen, head: usize, read: usize) -> bool {
    let bytes = seen.reads[read];
    if seen.reads[head] == bytes {
        return true;
    }
    let cells = seen.image.len();
    let step = (cells / LOOKED_AT_FIRST).max(1);
    let mut looked_at = (0..cells).step_by(step);
    if step > 1 && looked_at.all(|at| seen.value(head, at) != seen.value(read, at)) {
        return false;
    }
    let literals = Literals::of(bytes);
    let mut tally = Tally::new(&literals, seen.width);
    tally.take(
        &seen.width.cells(seen.reads[head]),
        &seen.width.cells(bytes),
    );
    let differs = leftover_bits(&tally).map_or(0.0, |(_, bits)| bits);
    differs < ONE_CHIP * alone(bytes, &literals)
}

/// What it costs to write a read out: runs as runs, and other bytes by how often they occur.
fn alone(read: &[u8], literals: &Literals) -> f64 {
    let runs = read.chunk_by(|a, b| a == b);
    let bits = |run: &[u8]| match run.len() {
        RUN.. => A_RUN.min(literals.prices(run)),
        _ => literals.prices(run),
    };
    runs.map(bits).sum()
}
