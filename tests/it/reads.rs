//! Several reads of one chip, judged by an injector: chips whose cells, lines or contacts are unstable, one read that went
//! wrong, and reads of different chips.
//!
//! A plain `cargo test` tries a share of the cases; `ROMLOOM_THOROUGH=1 cargo test --profile thorough --test it reads:: --
//! --nocapture` tries all of them and prints the table of counts.

use crate::support::broken::Chance;
use crate::support::contents::{Content, Kind};
use crate::support::{share, thorough};
use romloom::faults::Verdict;
use romloom::faults::reads::{Reads, ReadsStory, Vote};

/// What is wrong with the chip, the socket or the reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unstable {
    FewCells,
    Cells,
    Noise,
    NoiseInBlank,
    DataOften,
    DataSeldom,
    DataAndNoise,
    AddressOften,
    AddressSeldom,
    AddressAndNoise,
    OddBytes,
    OddBits,
    OneStranger,
    Strangers,
}

const ALL: [Unstable; 14] = [
    Unstable::FewCells,
    Unstable::Cells,
    Unstable::Noise,
    Unstable::NoiseInBlank,
    Unstable::DataOften,
    Unstable::DataSeldom,
    Unstable::DataAndNoise,
    Unstable::AddressOften,
    Unstable::AddressSeldom,
    Unstable::AddressAndNoise,
    Unstable::OddBytes,
    Unstable::OddBits,
    Unstable::OneStranger,
    Unstable::Strangers,
];

/// What a chip of so many address lines contains.
fn content(chance: &mut Chance, lines: u32) -> Vec<u8> {
    Content {
        kind: chance.pick(&Kind::REAL),
        lines,
        seed: chance.next(),
    }
    .bytes()
}

/// A case: what the chip contains, and what was read of it.
struct Injected {
    image: Vec<u8>,
    reads: Vec<Vec<u8>>,
    line: usize,
    address: usize,
    odd: usize,
}

fn injected(unstable: Unstable, chance: &mut Chance) -> Injected {
    let lines = chance.pick(&[11, 12, 13, 15]);
    let size = 1 << lines;
    let mut image = content(chance, lines);
    if unstable == Unstable::NoiseInBlank {
        image[size / 4..].fill(0xFF);
    }
    let count = 3 + chance.below(7);
    let cells = match unstable {
        Unstable::FewCells => 1 + chance.below(3),
        _ => 1 + chance.below(120),
    };
    let cells: Vec<usize> = (0..cells).map(|_| chance.below(8 * size)).collect();
    let (line, odd) = (chance.below(8), chance.below(count));
    // A line that makes next to no difference can't show that it floats.
    let shows = |line: &usize| {
        let differ = (0..size).filter(|&a| image[a] != image[a ^ 1 << line]);
        differ.count() > size / 32
    };
    let shown: Vec<usize> = (0..lines as usize).filter(shows).collect();
    let address = match &shown[..] {
        [] => 0,
        some => chance.pick(some),
    };
    let flip = |read: &mut Vec<u8>, bit: usize| read[bit / 8] ^= 1 << (bit % 8);
    let reads = (0..count).map(|n| {
        let mut read = image.clone();
        match unstable {
            Unstable::FewCells | Unstable::Cells => {
                for &cell in cells.iter().filter(|_| chance.below(10) < 4) {
                    flip(&mut read, cell);
                }
            }
            Unstable::Noise => {
                for _ in 0..chance.below(12) {
                    flip(&mut read, chance.below(8 * size));
                }
            }
            Unstable::NoiseInBlank => {
                for _ in 0..5 {
                    flip(&mut read, 2 * size + chance.below(6 * size));
                }
            }
            Unstable::DataOften => {
                let one_in = 2 + 4 * (count % 2) * 4;
                read.iter_mut()
                    .filter(|_| chance.once_in(one_in))
                    .for_each(|b| *b ^= 1 << line);
            }
            Unstable::DataSeldom | Unstable::DataAndNoise => {
                let times = match unstable {
                    Unstable::DataSeldom => chance.below(8),
                    _ => 40,
                };
                for _ in 0..times {
                    read[chance.below(size)] ^= 1 << line;
                }
            }
            Unstable::AddressOften => {
                let tenths = 2 + count % 3;
                for a in 0..size {
                    if chance.below(10) < tenths {
                        read[a] = image[a ^ 1 << address];
                    }
                }
            }
            Unstable::AddressSeldom | Unstable::AddressAndNoise => {
                let times = match unstable {
                    Unstable::AddressSeldom => chance.below(12),
                    _ => 40,
                };
                for _ in 0..times {
                    let a = chance.below(size);
                    read[a] = image[a ^ 1 << address];
                }
            }
            Unstable::OddBytes if n == odd => {
                for _ in 0..60 {
                    read[chance.below(size)] ^= 1 + chance.below(255) as u8;
                }
            }
            Unstable::OddBits if n == odd => {
                for _ in 0..12 {
                    flip(&mut read, chance.below(8 * size));
                }
            }
            Unstable::OneStranger if n == odd => read = content(chance, lines),
            Unstable::Strangers => read = content(chance, lines),
            _ => {}
        }
        if matches!(unstable, Unstable::DataAndNoise | Unstable::AddressAndNoise) {
            for _ in 0..3 {
                flip(&mut read, chance.below(8 * size));
            }
        }
        read
    });
    let reads = reads.collect();
    Injected {
        image,
        reads,
        line,
        address,
        odd,
    }
}

impl Injected {
    fn vote(&self, wanted: bool) -> Vote {
        let reads = Reads::new(self.reads.iter().map(Vec::as_slice).collect()).unwrap();
        match wanted {
            true => reads.wanted(&self.image).vote(),
            false => reads.vote(),
        }
    }

    /// The read that alone differs from what the chip contains.
    fn only_one_differs(&self) -> Option<usize> {
        let mut differ = (0..self.reads.len()).filter(|&n| self.reads[n] != self.image);
        let first = differ.next();
        first.filter(|_| differ.next().is_none())
    }

    fn is_right(&self, unstable: Unstable, story: &ReadsStory) -> bool {
        use Unstable as U;
        match (unstable, story) {
            (U::OneStranger, ReadsStory::DifferentContents(groups)) => {
                groups.contains(&vec![self.odd])
            }
            (U::Strangers, ReadsStory::DifferentContents(groups)) => groups.len() > 1,
            (U::OneStranger | U::Strangers, _) => false,
            (_, ReadsStory::OddRead { read, .. }) => self.only_one_differs() == Some(*read),
            (
                U::FewCells | U::Cells | U::Noise | U::NoiseInBlank,
                ReadsStory::WeakCells | ReadsStory::Noise,
            ) => true,
            (U::DataOften | U::DataSeldom | U::DataAndNoise, ReadsStory::DataLine(line)) => {
                usize::from(*line) == self.line
            }
            (
                U::AddressOften | U::AddressSeldom | U::AddressAndNoise,
                ReadsStory::AddressLine(line),
            ) => usize::from(*line) == self.address,
            _ => false,
        }
    }
}

/// What came of the cases of one kind.
#[derive(Default)]
struct Counts {
    cases: usize,
    certain: usize,
    likely: usize,
    open: usize,
    first: usize,
    in_answer: usize,
    refused: usize,
    likely_wrong: usize,
    certain_wrong: Vec<String>,
}

fn counted(unstable: Unstable, wanted: bool, seed: u64, cases: usize) -> Counts {
    let mut counts = Counts::default();
    for n in 0..cases {
        let mut chance = Chance(seed * 1_000_003 + n as u64 * 7919 + unstable as u64);
        let case = injected(unstable, &mut chance);
        // What left no trace is no case.
        if case.reads.windows(2).all(|two| two[0] == two[1]) {
            continue;
        }
        let vote = case.vote(wanted);
        let right = case.is_right(unstable, vote.story());
        counts.cases += 1;
        counts.first += usize::from(right);
        let mut answer = vote.answer().iter();
        counts.in_answer += usize::from(answer.any(|told| case.is_right(unstable, &told.story)));
        counts.refused += usize::from(vote.different_contents().is_some());
        match vote.verdict {
            Verdict::Certain => counts.certain += 1,
            Verdict::Likely => counts.likely += 1,
            _ => counts.open += 1,
        }
        counts.likely_wrong += usize::from(!right && vote.verdict == Verdict::Likely);
        if !right && vote.verdict == Verdict::Certain {
            counts.certain_wrong.push(format!(
                "{unstable:?} {n}, {} reads of {}, D{} A{} read {}: {:?}",
                case.reads.len(),
                case.image.len(),
                case.line,
                case.address,
                case.odd,
                vote.story()
            ));
        }
    }
    counts
}

#[test]
fn unstable_cells_lines_and_reads_are_told_apart() {
    let mut wrong = Vec::new();
    for wanted in [false, true] {
        for unstable in ALL {
            let counts = counted(unstable, wanted, 20, share(100, 10));
            if thorough() {
                println!(
                    "| {unstable:?}{} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
                    if wanted { ", wanted known" } else { "" },
                    counts.cases,
                    counts.certain,
                    counts.likely,
                    counts.open,
                    counts.first,
                    counts.in_answer,
                    counts.refused,
                    counts.likely_wrong,
                    counts.certain_wrong.len()
                );
            }
            let strangers = matches!(unstable, Unstable::OneStranger | Unstable::Strangers);
            let refused = if strangers { counts.cases } else { 0 };
            if counts.refused != refused {
                wrong.push(format!("{unstable:?}: {} refused", counts.refused));
            }
            let odd = matches!(unstable, Unstable::OddBytes | Unstable::OddBits);
            if (odd || strangers) && counts.first != counts.cases {
                wrong.push(format!(
                    "{unstable:?}: {} of {} named",
                    counts.first, counts.cases
                ));
            }
            wrong.extend(counts.certain_wrong);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
