//! What a read says about its address and data lines.

use super::found::{Alone, Joined};
use crate::wiring::Width;

/// Which cells say something about a line: those outside runs of one value.
pub(super) fn telling(cells: &[u16]) -> Vec<bool> {
    let runs = cells.chunk_by(|a, b| a == b);
    let telling = runs.flat_map(|run| std::iter::repeat_n(run.len() < Alone::RUN, run.len()));
    telling.collect()
}

pub(super) fn look_at_data_lines(cells: &[u16], width: Width, found: &mut Alone) {
    let lines = width.lines();
    let (ones, zeros) = cells.iter().fold((0u16, 0u16), |(ones, zeros), cell| {
        (ones | cell, zeros | !cell)
    });
    let moves = ones & zeros;
    let moving = |line: &u8| moves >> line & 1 == 1;
    let still = (0..lines).filter(|line| !moving(line));
    found.constant_data = still.map(|line| (line, ones >> line & 1 == 1)).collect();
    let moving: Vec<u8> = (0..lines).filter(moving).collect();
    for (n, &a) in moving.iter().enumerate() {
        for &b in &moving[n + 1..] {
            let differ = |cell: &u16| (cell >> a ^ cell >> b) & 1 == 1;
            // Whether they differ at the first address decides which of the two to look for.
            let expected = differ(&cells[0]);
            if cells.iter().all(|cell| differ(cell) == expected) {
                let pairs = if expected {
                    &mut found.opposite_data
                } else {
                    &mut found.equal_data
                };
                pairs.push((a, b));
            }
        }
    }
}

/// A line is named only when enough of what would have to differ is outside blank areas.
pub(super) fn look_at_address_lines(cells: &[u16], telling: &[bool], found: &mut Alone) {
    let lines = cells.len().trailing_zeros() as u8;
    let idle = |line: &u8| {
        let half = 1 << line;
        let same = cells
            .chunks_exact(2 * half)
            .all(|block| block[..half] == block[half..]);
        let shown = || {
            let pairs = (0..cells.len()).filter(|at| at & half == 0);
            pairs.filter(|at| telling[*at] || telling[at | half])
        };
        same && shown().take(Alone::EVIDENCE).count() == Alone::EVIDENCE
    };
    found.idle_address = (0..lines).filter(idle).collect();
    let busy: Vec<u8> = (0..lines)
        .filter(|line| !found.idle_address.contains(line))
        .collect();
    for (n, &a) in busy.iter().enumerate() {
        for &b in &busy[n + 1..] {
            let (low, high) = (1 << a, 1 << b);
            let mut bases = (0..cells.len()).filter(|base| base & (low | high) == 0);
            let (mut joined_low, mut joined_high) = (true, true);
            let alike = bases.all(|base| {
                let (one, other) = (cells[base | low], cells[base | high]);
                joined_low &= cells[base] == one;
                joined_high &= cells[base | low | high] == one;
                one == other && (joined_low || joined_high)
            });
            // The three cells that are the same, where not all of them are in blank areas.
            let shared = |base: &usize| {
                let third = if joined_low { 0 } else { low | high };
                let shared = [base | low, base | high, base | third];
                shared.into_iter().any(|at| telling[at])
            };
            let bases = (0..cells.len()).filter(|base| base & (low | high) == 0);
            let shown = || bases.filter(shared).take(Alone::EVIDENCE).count();
            if alike && shown() == Alone::EVIDENCE {
                let joined = if joined_low {
                    Joined::Low
                } else {
                    Joined::High
                };
                found.joined_address.push((a, b, joined));
            }
        }
    }
}
