//! Banks: their most likely size, and which of them are blank, equal, or have something in common.

use std::collections::HashMap;
use std::ops::RangeInclusive;

use super::parse::Described;
use crate::faults::cost::choose;

/// Banks must make the description of the read shorter by this many bits.
const CLEAR: f64 = 20.0;
/// Another size is as good if it costs at most this many bits more.
const NEAR: f64 = 10.0;
/// The smallest bank that is looked for, in bytes: tables and pages of code are often cut at 256.
const SMALLEST: usize = 1024;
/// This many bytes decide which banks a read has; what banks share is looked for in all of it.
const LOOKED_AT: usize = 1 << 20;
/// The most banks that are tried.
const MOST: usize = 512;
/// A block must save this many bytes: programs often have shorter stretches in common.
const REPEATED: usize = 16;
/// A bank whose last bytes are this many FF or 00 ends blank.
const BLANK_END: usize = 16;
/// The shortest block that banks can have in common, in bytes.
const SHORTEST: usize = 4;

/// A read divided into banks.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BankStructure {
    /// Bytes of a bank.
    pub size: usize,
    /// How many there are.
    pub count: usize,
    /// How many bits shorter these banks make the description of the read; `None` when the size was given.
    pub gain: Option<f64>,
    /// Other sizes that are as good, in bytes.
    pub or: Vec<usize>,
    /// Banks of one byte throughout, with that byte.
    pub blank: Vec<(usize, u8)>,
    /// Banks that are not blank and end in at least 16 bytes of FF or of 00.
    pub blank_ends: Vec<usize>,
    /// Groups of banks that are the same, blank ones left out.
    pub equal: Vec<Vec<usize>>,
    /// Blocks that several banks have at the same place, the largest first. Of equal banks only the first is named, and no
    /// blank one.
    pub common: Vec<Common>,
}

/// The same bytes at the same place in several banks.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Common {
    /// Their place in each bank, from its first byte.
    pub place: RangeInclusive<usize>,
    /// The banks.
    pub banks: Vec<usize>,
}

impl BankStructure {
    fn shows_something(&self) -> bool {
        let blank = self.blank.len() + self.blank_ends.len();
        !self.equal.is_empty() || !self.common.is_empty() || 2 * blank >= self.count
    }

    /// The banks that are not blank, the first of each group of equal ones.
    pub fn distinct(&self) -> Vec<usize> {
        let blank = |bank: &usize| self.blank.iter().any(|(blank, _)| blank == bank);
        let repeated = |bank: &usize| self.equal.iter().any(|group| group[1..].contains(bank));
        let banks = 0..self.count;
        banks
            .filter(|bank| !blank(bank) && !repeated(bank))
            .collect()
    }
}

/// The most likely banks of a read, or `None` when the read shows none. Sizes are powers of two from 1,024 bytes to half the
/// read.
///
/// Of a read above 1 MiB the first 1 MiB decides, so that banks above 512 KiB are not seen.
///
/// By the principle of minimum description length: banks are believed when blank ends, equal banks and common blocks make
/// the description of the read at least 20 bits shorter than without banks.
pub fn banks(read: &[u8]) -> Option<BankStructure> {
    // The sizes are tried one after another, which takes time.
    let looked_at = &read[..read.len().min(LOOKED_AT)];
    let all = looked_at.len();
    let sizes = (SMALLEST.trailing_zeros()..usize::BITS - 1).map(|line| 1usize << line);
    let sizes: Vec<usize> = sizes
        .take_while(|size| 2 * size <= all)
        .filter(|size| read.len() % size == 0 && all % size == 0 && all / size <= MOST)
        .collect();
    if sizes.is_empty() {
        return None;
    }
    let text = Described::new(looked_at);
    let named = (sizes.len() as f64).log2() + 1.0;
    let costs: Vec<(usize, f64)> = sizes
        .iter()
        .map(|size| (*size, text.cost(*size) + named))
        .collect();
    let (size, cost) = costs.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let gain = text.cost_uncut(size) - cost;
    if gain < CLEAR {
        return None;
    }
    let or = costs
        .iter()
        .filter(|(other, bits)| *other != size && bits - cost < NEAR);
    let found = BankStructure {
        gain: Some(gain),
        or: or.map(|(size, _)| *size).collect(),
        ..banks_of(read, size)?
    };
    // Content may be divided regularly in other ways; without a sign of banks there are none.
    found.shows_something().then_some(found)
}

/// A read in banks of a known size. `None` when the size is 0, or when the read is not a whole number of them.
pub fn banks_of(read: &[u8], size: usize) -> Option<BankStructure> {
    if size == 0 || read.is_empty() || read.len() % size != 0 {
        return None;
    }
    let banks: Vec<&[u8]> = read.chunks_exact(size).collect();
    let is_blank = |bank: &[u8]| bank.iter().all(|byte| *byte == bank[0]);
    let blank = banks.iter().enumerate().filter(|(_, bank)| is_blank(bank));
    let blank: Vec<(usize, u8)> = blank.map(|(n, bank)| (n, bank[0])).collect();
    let ends_blank = |bank: &[u8]| {
        let last = bank[bank.len() - 1];
        let run = bank.iter().rev().take_while(|byte| **byte == last).count();
        matches!(last, 0x00 | 0xFF) && run >= BLANK_END && run < bank.len()
    };
    let blank_ends = banks
        .iter()
        .enumerate()
        .filter(|(_, bank)| ends_blank(bank));
    let blank_ends = blank_ends.map(|(n, _)| n).collect();
    let mut groups: HashMap<&[u8], Vec<usize>> = HashMap::new();
    for (n, bank) in banks.iter().enumerate() {
        if !blank.iter().any(|(blank, _)| *blank == n) {
            groups.entry(bank).or_default().push(n);
        }
    }
    let mut firsts: Vec<usize> = groups.values().map(|group| group[0]).collect();
    firsts.sort_unstable();
    let mut equal: Vec<Vec<usize>> = groups.into_values().filter(|g| g.len() > 1).collect();
    equal.sort_unstable();
    Some(BankStructure {
        size,
        count: banks.len(),
        gain: None,
        or: Vec::new(),
        blank,
        blank_ends,
        equal,
        common: common(&banks, &firsts, Described::new(read).literal()),
    })
}

/// Blocks that some of these banks have in common; a new byte takes this many bits.
fn common(all: &[&[u8]], firsts: &[usize], literal: f64) -> Vec<Common> {
    let size = all.first().map_or(0, |bank| bank.len());
    let mut found: Vec<Common> = Vec::new();
    // The banks that agree at the place before, and where they began to.
    let mut open: Option<(usize, Vec<usize>)> = None;
    for at in 0..=size.saturating_sub(SHORTEST) + 1 {
        let now = agreeing(all, firsts, at);
        let goes_on = open.as_ref().is_some_and(|(_, banks)| *banks == now);
        if goes_on {
            continue;
        }
        if let Some((start, banks)) = open.take() {
            let place = trimmed(start, at + SHORTEST - 2, all[banks[0]]);
            let length = place.clone().count();
            let chance = (size as f64).log2() + choose(firsts.len(), banks.len());
            let bits = (length * (banks.len() - 1)) as f64 * literal;
            if bits - chance >= 2.0 * CLEAR && length * (banks.len() - 1) >= REPEATED {
                found.push(Common { place, banks });
            }
        }
        if now.len() > 1 {
            open = Some((at, now));
        }
    }
    let weight = |common: &Common| common.place.clone().count() * common.banks.len();
    found.sort_by_key(|common| (std::cmp::Reverse(weight(common)), *common.place.start()));
    found
}

/// Without what only continues from outside: the edge of a blank area.
fn trimmed(mut first: usize, mut last: usize, bank: &[u8]) -> RangeInclusive<usize> {
    while first < last && first > 0 && bank[first] == bank[first - 1] {
        first += 1;
    }
    while last > first && bank.get(last + 1) == Some(&bank[last]) {
        last -= 1;
    }
    first..=last
}

/// The most banks that have the same bytes from this place on, blank ones not counted.
fn agreeing(banks: &[&[u8]], firsts: &[usize], at: usize) -> Vec<usize> {
    let gram = |bank: &usize| -> Option<[u8; SHORTEST]> {
        let gram = *banks[*bank].get(at..)?.first_chunk()?;
        let blank = [0x00, 0xFF].map(|byte| [byte; SHORTEST]);
        (!blank.contains(&gram)).then_some(gram)
    };
    let grams = firsts.iter().filter_map(|bank| Some((gram(bank)?, *bank)));
    let mut grams: Vec<([u8; SHORTEST], usize)> = grams.collect();
    grams.sort_unstable();
    let groups = grams.chunk_by(|a, b| a.0 == b.0);
    // Of several groups of one size the first stays.
    let most = groups.reduce(|best, next| if next.len() > best.len() { next } else { best });
    most.map_or(Vec::new(), |group| {
        group.iter().map(|(_, bank)| *bank).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    const SIZE: usize = 4096;

    /// Eight banks of noise with blank ends, one of them blank, two the same, and a block that the others share.
    fn game() -> Vec<u8> {
        let noise = Pattern::Random { seed: 9 }.image(10 * SIZE).unwrap();
        let bank = |n: usize| -> Vec<u8> {
            let mut bank = vec![0xFF; SIZE];
            let content = 1500 + 211 * n;
            bank[..content].copy_from_slice(&noise[n * SIZE..][..content]);
            bank[0xF80..0xFA0].copy_from_slice(&noise[9 * SIZE..][..0x20]);
            bank[0xFFA..].copy_from_slice(&[0x00, 0xE0, 0x40, 0xE1, 0x80, 0xE2]);
            bank
        };
        let mut all: Vec<Vec<u8>> = (0..8).map(bank).collect();
        all[3] = vec![0xFF; SIZE];
        all[6] = all[1].clone();
        all.concat()
    }

    #[test]
    fn banks_are_found_with_what_they_share() {
        let found = banks(&game()).unwrap();
        assert_eq!((found.size, found.count, &found.or[..]), (SIZE, 8, &[][..]));
        assert!(found.gain.unwrap() >= CLEAR);
        assert_eq!(found.blank, [(3, 0xFF)]);
        assert_eq!(found.equal, [[1, 6]]);
        let shared = vec![0, 1, 2, 4, 5, 7];
        let common = |place| Common {
            place,
            banks: shared.clone(),
        };
        assert_eq!(found.common, [common(0xF80..=0xF9F), common(0xFFA..=0xFFF)]);
        assert_eq!(found.distinct(), [0, 1, 2, 4, 5, 7]);
    }

    #[test]
    fn blank_ends_show_banks() {
        let mut read = Pattern::Random { seed: 2 }.image(16 * SIZE).unwrap();
        for (n, bank) in read.chunks_exact_mut(SIZE).enumerate() {
            bank[2000 + 97 * n..].fill(0xFF);
        }
        let found = banks(&read).unwrap();
        assert_eq!((found.size, found.count), (SIZE, 16));
        assert_eq!(found.blank_ends, (0..16).collect::<Vec<_>>());
        assert!(found.blank.is_empty() && found.equal.is_empty() && found.common.is_empty());
    }

    #[test]
    fn a_size_that_is_known_is_taken() {
        let found = banks_of(&game(), 2 * SIZE).unwrap();
        assert_eq!((found.size, found.count, found.gain), (2 * SIZE, 4, None));
        assert_eq!(banks_of(&game(), 5), None);
        assert_eq!(banks_of(&game(), 0), None);
        assert_eq!(banks_of(&[], 256), None);
    }

    #[test]
    fn what_has_no_banks_shows_none() {
        let noise = Pattern::Random { seed: 5 }.image(1 << 16).unwrap();
        assert_eq!(banks(&noise), None);
        let mut one = vec![0xFF; 1 << 16];
        one[100..5000].copy_from_slice(&noise[..4900]);
        assert_eq!(banks(&one), None, "one program and a blank rest");
        // A smaller chip in a larger socket repeats, which is no bank structure.
        assert_eq!(banks(&noise[..1 << 12].repeat(8)), None);
        for few in [0, 1, 255, 512] {
            assert_eq!(banks(&vec![0xFF; few]), None);
        }
        for name in ["telltale", "address", "walk", "checker"] {
            let pattern = name.parse::<Pattern>().unwrap().image(1 << 15).unwrap();
            assert_eq!(banks(&pattern), None, "{name}");
        }
    }

    /// Four banks of 256 bytes of which the first `banks` have a block of `length` bytes at 40 hex; a new byte takes `literal`
    /// bits.
    fn shared(banks: usize, length: usize, literal: f64) -> Vec<Common> {
        let noise = Pattern::Random { seed: 77 }.image(4096).unwrap();
        let mut all: Vec<Vec<u8>> = (0..4)
            .map(|n| noise[1024 + n * 256..][..256].to_vec())
            .collect();
        for bank in &mut all[..banks] {
            bank[0x40..0x40 + length].copy_from_slice(&noise[..length]);
        }
        let banks: Vec<&[u8]> = all.iter().map(Vec::as_slice).collect();
        common(&banks, &[0, 1, 2, 3], literal)
    }

    /// A block has to save 16 bytes, and 40 bits more than it costs to say where and in which banks.
    #[test]
    fn a_block_in_common_is_more_than_chance() {
        let places = |banks, length, literal| -> Vec<_> {
            let found = shared(banks, length, literal).into_iter();
            found.map(|common| (common.place, common.banks)).collect()
        };
        assert_eq!(places(4, 6, 8.0), [(0x40..=0x45, vec![0, 1, 2, 3])]);
        assert_eq!(places(4, 5, 8.0), []);
        assert_eq!(places(2, 16, 8.0), [(0x40..=0x4F, vec![0, 1])]);
        assert_eq!(places(2, 15, 8.0), []);
        // 3 x 16 bits are 40 more than 8 for the place.
        assert_eq!(places(4, 16, 1.0).len(), 1);
        assert_eq!(places(4, 15, 1.0), []);
    }

    #[test]
    fn the_edge_of_a_blank_area_is_no_part_of_a_block() {
        let bank = [7, 7, 7, 1, 2, 9, 9, 9];
        assert_eq!(trimmed(1, 6, &bank), 3..=4);
        assert_eq!(trimmed(0, 7, &bank), 0..=7);
        assert_eq!(trimmed(2, 4, &bank), 3..=4);
        assert_eq!(trimmed(3, 5, &bank), 3..=4);
        assert_eq!(trimmed(1, 2, &bank), 2..=2);
        let banks: [&[u8]; 4] = [
            &[1, 2, 3, 4, 5],
            &[9, 2, 3, 4, 5],
            &[9, 2, 3, 4, 0],
            &[0xFF; 5],
        ];
        assert_eq!(agreeing(&banks, &[0, 1, 2, 3], 1), [0, 1]);
        assert_eq!(agreeing(&banks, &[0, 2, 3], 1).len(), 1);
        assert_eq!(agreeing(&banks, &[3], 0), [0; 0]);
        assert_eq!(
            agreeing(&banks, &[0, 1], 2),
            [0; 0],
            "fewer than four bytes are left"
        );
    }

    #[test]
    fn a_blank_end_is_sixteen_bytes() {
        let ends = |bytes: usize, byte: u8| {
            let mut bank: Vec<u8> = (1..=64).collect();
            bank[64 - bytes..].fill(byte);
            let found = banks_of(&bank, 64).unwrap();
            (found.blank_ends.len(), found.blank.len())
        };
        assert_eq!(
            [15, 16, 63, 64].map(|n| ends(n, 0xFF)),
            [(0, 0), (1, 0), (1, 0), (0, 1)]
        );
        assert_eq!((ends(16, 0x00), ends(16, 0xAA)), ((1, 0), (0, 0)));
        // Half of the banks have to show it, when nothing else does.
        let shows = |blank: usize| {
            let structure = BankStructure {
                size: 64,
                count: 5,
                gain: None,
                or: Vec::new(),
                blank: (0..blank).map(|n| (n, 0xFF)).collect(),
                blank_ends: vec![4],
                equal: Vec::new(),
                common: Vec::new(),
            };
            structure.shows_something()
        };
        assert!(!shows(1) && shows(2));
    }

    /// A bank has 1,024 bytes at least, and there are two or more.
    #[test]
    fn the_smallest_banks() {
        let with = |bank: usize, count: usize| {
            let mut read = Pattern::Random { seed: 6 }.image(bank * count).unwrap();
            for (n, bank) in read.chunks_exact_mut(bank).enumerate() {
                let start = bank.len() / 3 + 7 * n;
                bank[start..].fill(0xFF);
            }
            banks(&read).map(|found| (found.size, found.count))
        };
        assert_eq!(with(1024, 16), Some((1024, 16)));
        assert_ne!(with(512, 16), Some((512, 16)));
        assert_eq!(
            with(2048, 3),
            None,
            "three banks are no power of two of bytes"
        );
    }
}
