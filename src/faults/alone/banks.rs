//! Banks: their likeliest size, and which of them are blank, equal, or have something in common.

use std::collections::HashMap;
use std::ops::RangeInclusive;

use super::parse::Text;
use crate::faults::code_length::choice;

/// Bits by which banks must make the read shorter to say.
const CLEAR: f64 = 20.0;
/// Bits within which another size would do as well.
const NEAR: f64 = 10.0;
/// The smallest bank, in bytes.
const SMALLEST: usize = 256;
/// The most banks that are tried.
const MOST: usize = 512;
/// The shortest block that banks can have in common, in bytes.
const SHORTEST: usize = 4;

/// A read cut into banks.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Banks {
    /// Bytes of a bank.
    pub size: usize,
    /// How many there are.
    pub count: usize,
    /// Bits by which these banks make the read shorter to say; `None` when the size was given.
    pub gain: Option<f64>,
    /// Other sizes that would do as well, in bytes.
    pub or: Vec<usize>,
    /// Banks of one byte throughout, with that byte.
    pub blank: Vec<(usize, u8)>,
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

impl Banks {
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

/// The likeliest banks of a read, or `None` when the read shows none. Sizes are powers of two from 256 bytes to half the
/// read.
///
/// By the principle of minimum description length: banks are believed when blank ends, equal banks and common blocks make
/// the read at least 20 bits shorter to say with them than without.
pub fn banks(read: &[u8]) -> Option<Banks> {
    let all = read.len();
    let sizes = (SMALLEST.trailing_zeros()..usize::BITS - 1).map(|line| 1usize << line);
    let sizes: Vec<usize> = sizes
        .take_while(|size| 2 * size <= all)
        .filter(|size| all % size == 0 && all / size <= MOST)
        .collect();
    if sizes.is_empty() || u32::try_from(all).is_err() {
        return None;
    }
    let text = Text::new(read);
    let whole = text.cost(all);
    let named = (sizes.len() as f64).log2() + 1.0;
    let costs: Vec<(usize, f64)> = sizes
        .iter()
        .map(|size| (*size, text.cost(*size) + named))
        .collect();
    let (size, cost) = costs.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
    if whole - cost < CLEAR {
        return None;
    }
    let or = costs
        .iter()
        .filter(|(other, bits)| *other != size && bits - cost < NEAR);
    Some(Banks {
        gain: Some(whole - cost),
        or: or.map(|(size, _)| *size).collect(),
        ..banks_of(read, size)?
    })
}

/// A read in banks of a size that is known. `None` when it is 0, or not a whole number of them is in the read.
pub fn banks_of(read: &[u8], size: usize) -> Option<Banks> {
    if size == 0 || read.is_empty() || read.len() % size != 0 {
        return None;
    }
    let banks: Vec<&[u8]> = read.chunks_exact(size).collect();
    let is_blank = |bank: &[u8]| bank.iter().all(|byte| *byte == bank[0]);
    let blank = banks.iter().enumerate().filter(|(_, bank)| is_blank(bank));
    let blank: Vec<(usize, u8)> = blank.map(|(n, bank)| (n, bank[0])).collect();
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
    Some(Banks {
        size,
        count: banks.len(),
        gain: None,
        or: Vec::new(),
        blank,
        equal,
        common: common(&banks, &firsts, Text::new(read).literal()),
    })
}

/// Blocks that some of these banks have in common; a byte that is new takes so many bits.
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
            let chance = (size as f64).log2() + choice(firsts.len(), banks.len());
            let bits = (length * (banks.len() - 1)) as f64 * literal;
            if bits - chance >= 2.0 * CLEAR {
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

/// Without what only goes on from outside: the edge of a blank area.
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
