//! Which reads belong together: one that another explains in its place is of the same chip.

use super::observed::Observed;
use crate::faults::cost::{Literals, Tally, leftover_bits};

/// A read of one chip costs less than this share of what it costs alone when another is known.
pub(super) const ONE_CHIP: f64 = 0.5;
/// Groups with which each further read is compared; more would cost the square of the reads.
const COMPARED: usize = 8;
/// A run of so many equal bytes is written out as one.
const RUN: usize = 16;
/// What a run costs to write out: its byte and its length.
const A_RUN: f64 = 20.0;
/// Larger reads are compared by so many blocks of this many bytes, evenly spread: whether reads have anything in common
/// shows in a part of them.
const BLOCKS: usize = 64;
const BLOCK: usize = 1024;

/// Reads that belong together, and what a read of each group costs to write out.
pub(super) struct ReadGroup {
    pub reads: Vec<usize>,
    pub alone: f64,
}

/// A part of a read, or all of it.
struct PartOfRead {
    bytes: Vec<u8>,
    cells: Vec<u16>,
    literals: Literals,
    alone: f64,
}

/// Sorts reads into groups. A read of one byte throughout proves nothing and is in none.
pub(super) fn groups(seen: &Observed) -> Vec<ReadGroup> {
    let mut groups: Vec<(ReadGroup, PartOfRead)> = Vec::new();
    for (n, read) in seen.reads.iter().enumerate() {
        if read.iter().all(|byte| Some(byte) == read.first()) {
            continue;
        }
        let sample = PartOfRead::of(seen, read);
        let fits = |(_, head): &&mut (ReadGroup, PartOfRead)| sample.belongs_to(head, seen);
        match groups.iter_mut().take(COMPARED).find(fits) {
            Some((group, _)) => group.reads.push(n),
            None => {
                let group = ReadGroup {
                    reads: vec![n],
                    alone: sample.alone * read.len() as f64 / sample.bytes.len() as f64,
                };
                groups.push((group, sample));
            }
        }
    }
    groups.into_iter().map(|(group, _)| group).collect()
}

impl PartOfRead {
    fn of(seen: &Observed, read: &[u8]) -> Self {
        let bytes: Vec<u8> = match read.len() / BLOCKS {
            0..=BLOCK => read.to_vec(),
            // Blocks begin at whole words.
            step => (0..BLOCKS)
                .flat_map(|n| &read[n * (step & !1)..][..BLOCK])
                .copied()
                .collect(),
        };
        let literals = literals_of(&bytes);
        PartOfRead {
            cells: seen.width.cells(&bytes),
            alone: written_out(&bytes, &literals),
            bytes,
            literals,
        }
    }

    /// Whether it costs little when the other one is known.
    fn belongs_to(&self, head: &PartOfRead, seen: &Observed) -> bool {
        if self.bytes == head.bytes {
            return true;
        }
        let mut tally = Tally::new(&self.literals, seen.width);
        tally.take(&head.cells, &self.cells);
        let differs = leftover_bits(&tally).map_or(0.0, |(_, bits)| bits);
        differs < ONE_CHIP * self.alone
    }
}

/// What each byte costs, depending on how often it occurs outside long runs: a program costs the same in a blank chip.
pub(super) fn literals_of(read: &[u8]) -> Literals {
    let runs = read.chunk_by(|a, b| a == b).filter(|run| run.len() < RUN);
    Literals::of(runs.flatten())
}

/// What it costs to write a read out: runs as runs, and other bytes by how often they occur.
pub(super) fn written_out(read: &[u8], literals: &Literals) -> f64 {
    let runs = read.chunk_by(|a, b| a == b);
    let bits = |run: &[u8]| match run.len() {
        RUN.. => A_RUN.min(literals.prices(run)),
        _ => literals.prices(run),
    };
    runs.map(bits).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::faults::reads::majority::majority;
    use crate::wiring::Width;

    fn noise(seed: u32, len: usize) -> Vec<u8> {
        Pattern::Random { seed }.image(len).unwrap()
    }

    /// By hand: every count begins at a half, so that 128 are added to all of them.
    #[test]
    fn a_run_costs_at_most_its_byte_and_its_length() {
        let price = |count: f64, all: f64| -((count + 0.5) / (all + 128.0)).log2();
        let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        // A run of 16 is no evidence of how often its byte occurs.
        let long = [vec![0xFF; 16], vec![1, 2]].concat();
        let cost = written_out(&long, &literals_of(&long));
        same(cost, A_RUN + 2.0 * price(1.0, 2.0));
        let short = [vec![0xFF; 15], vec![1, 2]].concat();
        let cost = written_out(&short, &literals_of(&short));
        same(cost, 15.0 * price(15.0, 17.0) + 2.0 * price(1.0, 17.0));
    }

    #[test]
    fn of_large_reads_blocks_are_looked_at_that_are_evenly_spread() {
        // 64 blocks, 2,049 bytes apart, which is a word less one byte: so 2,048.
        let read = noise(1, 64 * 2049);
        let reads = [&read[..], &read[..]];
        let found = majority(&reads, None);
        let seen = Observed::new(&reads, Width::Eight, None, &found);
        let part = PartOfRead::of(&seen, &read);
        assert_eq!(part.bytes.len(), 64 * 1024);
        for (n, block) in part.bytes.chunks(1024).enumerate() {
            assert_eq!(block, &read[n * 2048..][..1024], "{n}");
        }
        // Up to 64 KiB and a little all is looked at.
        let small = PartOfRead::of(&seen, &read[..64 * 1024 + 63]);
        assert_eq!(small.bytes, read[..64 * 1024 + 63]);
    }

    #[test]
    fn reads_of_one_chip_are_one_group_and_say_what_each_costs_alone() {
        for len in [4096, 1 << 18] {
            let (one, other) = (noise(1, len), noise(2, len));
            let mut again = one.clone();
            again[7] ^= 1;
            let blank = vec![0xFF; len];
            let reads = [&one[..], &other[..], &again[..], &blank[..], &other[..]];
            let found = majority(&reads, None);
            let seen = Observed::new(&reads, Width::Eight, None, &found);
            let groups = groups(&seen);
            let numbers: Vec<&[usize]> = groups.iter().map(|g| &g.reads[..]).collect();
            assert_eq!(numbers, [&[0, 2][..], &[1, 4]], "{len}");
            for group in &groups {
                let bits = group.alone / len as f64;
                assert!((7.8..8.3).contains(&bits), "{len}: {bits} bits a byte");
            }
        }
    }
}
