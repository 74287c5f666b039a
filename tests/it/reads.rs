//! Several reads of one chip, judged by an injector: chips whose cells, lines or contacts are unstable, one read that went
//! wrong, and reads of different chips.
//!
//! A plain `cargo test` tries a share of the cases; `ROMLOOM_THOROUGH=1 cargo test --profile thorough --test it reads:: --
//! --nocapture` tries all of them and prints the table of counts.

use crate::support::broken::Chance;
use crate::support::contents::{Content, Kind};
use crate::support::{bench::Folder, share, thorough};
use insta::assert_snapshot;
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
            let counts = counted(unstable, wanted, 20, share(100, 34));
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

/// A program in a chip of 4K, and reads of it by name.
fn program() -> Vec<u8> {
    let content = Content {
        kind: Kind::Z80,
        lines: 12,
        seed: 7,
    };
    content.bytes()
}

/// Puts a read for each byte string into a folder; the command line that loads all of them.
fn loaded(folder: &Folder, reads: &[(&str, &[u8])]) -> String {
    let mut line = "load".to_owned();
    for (name, bytes) in reads {
        folder.put(&format!("{name}.bin"), bytes);
        line += &format!(" {name}.bin");
    }
    line + " --apart"
}

#[test]
fn a_vote_names_the_odd_read_out_and_says_what_to_do() {
    let (folder, image) = (Folder::new(), program());
    let mut odd = image.clone();
    for n in 0..30 {
        odd[n * 131 + 5] ^= 0x5A;
    }
    let load = loaded(
        &folder,
        &[("a", &image), ("b", &image), ("c", &odd), ("d", &image)],
    );
    let ran = folder.ok(&format!("{load} + vote --name chip --limit 1"));
    assert_snapshot!(ran.out, @r"
    chip: 4 reads of 4,096 bytes; 30 bytes waver, in 120 bits
      c is the odd read out: the other 3 reads are the same; this is certain
      The majority is that of the other 3. Read once more: if c is still alone, go on without it.
      by data line: D1 30 bits, D3 30 bits, D4 30 bits, D6 30 bits
      changed bits by read: a 0, b 0, c 120, d 0
      0005  D1 D3 D4 D6
      and 29 more bytes
    ");
    let said = folder.run(&format!("{load} + vote --json"));
    let found: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(found["story"], "odd-read");
    assert_eq!(found["verdict"], "certain");
    assert_eq!(found["odd_read"], "c");
    assert_eq!(found["changed_bits"], serde_json::json!([0, 0, 120, 0]));
    // For scripts all bytes are listed, unless somebody says how many.
    assert_eq!(found["bytes"].as_array().unwrap().len(), 30);
    let said = folder.run(&format!("{load} + vote --json --limit 2"));
    let found: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(found["bytes"].as_array().unwrap().len(), 2);
    assert_eq!(found["bytes_left_out"], 28);
}

#[test]
fn reads_of_different_chips_are_refused() {
    let (folder, image) = (Folder::new(), program());
    let other = Content {
        kind: Kind::Text,
        lines: 12,
        seed: 8,
    };
    let load = loaded(
        &folder,
        &[("a", &image), ("b", &other.bytes()), ("c", &image)],
    );
    let ran = folder.run(&format!("{load} + vote --name chip + write chip.bin"));
    assert_eq!(ran.code, 2);
    let fact = "the reads are not of one chip: a and c belong together; b is like no other";
    assert!(ran.err.contains(fact), "{}", ran.err);
    assert!(!folder.has("chip.bin"));
    let ran = folder.ok(&format!(
        "{load} + vote --anyway --name chip + write chip.bin"
    ));
    assert!(ran.err.contains(fact), "{}", ran.err);
    assert_eq!(folder.get("chip.bin"), image);
    folder.put("want.bin", &image);
    for line in ["diagnose", "diagnose --wanted want.bin"] {
        let ran = folder.run(&format!("{load} + {line}"));
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.err.contains(fact), "{line}: {}", ran.err);
    }
    folder.ok(&format!("{load} + vote --on a --on c"));
}

/// A line that floats so often that most reads have it wrong in many places: the reads that are there say it all.
#[test]
fn reads_that_were_given_are_used() {
    let (folder, image) = (Folder::new(), program());
    let mut chance = Chance(4);
    let mut read = || -> Vec<u8> {
        let floats = image
            .iter()
            .map(|byte| byte & !0x10 | (chance.below(2) as u8) << 4);
        floats.collect()
    };
    let (one, two, three) = (read(), read(), read());
    folder.put("want.bin", &image);
    let load = loaded(&folder, &[("a", &one), ("b", &two), ("c", &three)]);
    let ran = folder.run(&format!("{load} + diagnose --wanted want.bin --part 2732"));
    assert_eq!(ran.code, 1);
    let verdict = ran.out.split_once("Finding").map(|(_, verdict)| verdict);
    assert_snapshot!(verdict.unwrap_or(&ran.out), @r"
      D4 (pin 14) wavers, and no other line does.
      This is certain.
    Because
      3,121 bytes of 4,096 waver, in 3,121 bits.
    Look next
      Check pin 14 and its socket contact: a line without contact floats.
      Clean that pin and its contact, then read it a few times more. When one line
      wavers, suspect the contact first, then a weak chip.
    ");
    assert!(!ran.out.contains("twice more"), "{}", ran.out);
}

#[test]
fn a_read_that_is_as_wanted_is_named_and_makes_the_other_one_odd() {
    let (folder, image) = (Folder::new(), program());
    let mut odd = image.clone();
    odd.iter_mut().step_by(97).for_each(|byte| *byte ^= 0x41);
    folder.put("want.bin", &image);
    let load = loaded(&folder, &[("a", &odd), ("b", &image)]);
    let ran = folder.run(&format!("{load} + diagnose --wanted want.bin"));
    let verdict = ran.out.split_once("Finding").map(|(_, verdict)| verdict);
    assert_snapshot!(verdict.unwrap_or(&ran.out), @r"
      a is the odd read out: the other one is as wanted.
      This is certain.
    Because
      43 bytes of 4,096 waver, in 86 bits; 86 of a, 0 of all others.
      Read 2 of 2, b, is exactly as wanted.
    Look next
      Read once more. One right read shows that the chip was burned right: the
      contact, the supply or the reading changes.
    ");
}

/// D1 is stuck in all reads, and some cells are weak besides.
#[test]
fn a_fault_of_all_reads_and_what_wavers_are_both_told() {
    let (folder, image) = (Folder::new(), program());
    let mut chance = Chance(5);
    let mut read = || -> Vec<u8> {
        let mut read: Vec<u8> = image.iter().map(|byte| byte | 2).collect();
        for cell in 0..8 {
            read[cell * 401 + 9] ^= (chance.below(2) as u8) << cell;
        }
        read
    };
    let reads: Vec<Vec<u8>> = (0..7).map(|_| read()).collect();
    folder.put("want.bin", &image);
    let names = ["a", "b", "c", "d", "e", "f", "g"];
    let named: Vec<(&str, &[u8])> = names
        .iter()
        .copied()
        .zip(reads.iter().map(Vec::as_slice))
        .collect();
    let load = loaded(&folder, &named);
    let ran = folder.run(&format!("{load} + diagnose --wanted want.bin --json"));
    let found: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(
        found["candidates"][0]["equals"][0]["faults"][0]["kind"],
        "data-stuck-high"
    );
    assert_eq!(found["wavering"]["story"], "weak-cells");
    let ran = folder.run(&format!("{load} + diagnose --wanted want.bin"));
    assert!(
        ran.out.contains("The reads also differ among themselves."),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("like weak cells"), "{}", ran.out);
}
