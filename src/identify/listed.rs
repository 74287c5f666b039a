//! Chips of which only a sum is known: the read is turned and cut instead, until it has a listed sum.

use super::form::{Cut, InRead, Lane, ReadForm, Rest, TURNS, constant, once};
use super::identity::{LIKELY, Match, SURE};
use crate::sums::Algo;

/// Banks that a read is cut into.
const BANKS: [usize; 4] = [2, 4, 8, 16];
/// Lanes that a read is taken apart into.
const LANES: [usize; 2] = [2, 4];
/// The cost of a form other than the plain one, of which about this many are tried.
const FORMS: f64 = 8.0;
/// Bytes that may be summed for reads in pairs.
const MOST_IN_PAIRS: usize = 256 << 20;
/// Shorter parts are not looked up.
const LEAST: usize = 16;

/// The listed sums of one kind.
struct OneKind {
    algo: Algo,
    /// In hex of lower case, with the number of the known chip.
    sums: Vec<(Box<str>, usize)>,
    sorted: bool,
}

/// All listed sums.
#[derive(Default)]
pub(super) struct Listed {
    kinds: Vec<OneKind>,
}

/// A known chip with the sum that some bytes have, and how many bits that is better than chance.
struct Hit {
    known: usize,
    bits: f64,
}

impl Listed {
    pub fn add(&mut self, algo: Algo, digits: &str, known: usize) {
        let digits = digits.to_ascii_lowercase().into_boxed_str();
        let kind = match self.kinds.iter().position(|kind| kind.algo == algo) {
            Some(n) => &mut self.kinds[n],
            None => {
                self.kinds.push(OneKind {
                    algo,
                    sums: Vec::new(),
                    sorted: true,
                });
                let last = self.kinds.len() - 1;
                &mut self.kinds[last]
            }
        };
        kind.sums.push((digits, known));
        kind.sorted = false;
    }

    pub fn sort(&mut self) {
        for kind in self.kinds.iter_mut().filter(|kind| !kind.sorted) {
            kind.sums.sort_unstable();
            kind.sorted = true;
        }
    }

    /// The known chips whose whole content is these bytes.
    fn whole(&self, bytes: &[u8]) -> Vec<Hit> {
        let mut hits = Vec::new();
        for kind in &self.kinds {
            let Some(sum) = sum_text(kind.algo, bytes) else {
                continue;
            };
            let first = kind.sums.partition_point(|(digits, _)| **digits < *sum);
            let same = kind.sums[first..]
                .iter()
                .take_while(|(digits, _)| **digits == *sum);
            let bits = 4.0 * sum.len() as f64 - (kind.sums.len() as f64).log2();
            hits.extend(same.map(|&(_, known)| Hit { known, bits }));
        }
        hits
    }

    /// The known chips in a read, in the plainest form of any.
    pub fn matches(&self, read: &[u8]) -> Vec<Match> {
        if self.kinds.is_empty() {
            return Vec::new();
        }
        let plain = self.at(read, &ReadForm::WHOLE, 0.0);
        if !plain.is_empty() {
            return plain;
        }
        let (part, times) = once(read);
        for turn in TURNS.iter().filter(|turn| turn.lane.is_none()) {
            for (bytes, times) in [(read, 1), (part, times)] {
                let Some(turned) = turn.of_bytes(bytes) else {
                    continue;
                };
                let form = turn.form(None, Cut::Whole, InRead::Whole, times);
                let found = self.at(&turned, &form, FORMS);
                if !found.is_empty() {
                    return found;
                }
            }
        }
        for (place, inside) in places(part) {
            for turn in TURNS.iter().filter(|turn| turn.lane.is_none()) {
                let Some(turned) = turn.of_bytes(&inside) else {
                    continue;
                };
                let form = turn.form(None, Cut::Whole, place, times);
                let found = self.at(&turned, &form, FORMS);
                if !found.is_empty() {
                    return found;
                }
            }
        }
        Vec::new()
    }

    fn at(&self, bytes: &[u8], form: &ReadForm, tried: f64) -> Vec<Match> {
        let hits = self.whole(bytes).into_iter();
        let told = hits.filter(|hit| hit.bits - tried >= LIKELY);
        told.map(|hit| Match {
            known: hit.known,
            form: form.clone(),
            beside: None,
            difference: None,
            sure: hit.bits - tried >= SURE,
            bits: form.bits(),
        })
        .collect()
    }

    /// Reads that are a known chip together, two by two, as its lanes or its halves. As many of them are tried as can be
    /// summed in reasonable time, the first ones first.
    pub fn in_pairs(&self, reads: &[&[u8]], open: &[usize]) -> Vec<(usize, Match)> {
        let mut found = Vec::new();
        let mut left = MOST_IN_PAIRS;
        if self.kinds.is_empty() {
            return found;
        }
        let tried = FORMS + (open.len().max(1) as f64).log2() * 2.0;
        for &a in open {
            for &b in open {
                if a == b || reads[a].len() != reads[b].len() {
                    continue;
                }
                let Some(rest) = left.checked_sub(4 * reads[a].len()) else {
                    return found;
                };
                left = rest;
                let woven = reads[a].iter().zip(reads[b]).flat_map(|(a, b)| [*a, *b]);
                let woven: Vec<u8> = woven.collect();
                let follows = [reads[a], reads[b]].concat();
                for (lanes, whole) in [(true, woven), (false, follows)] {
                    for hit in self.at(&whole, &ReadForm::WHOLE, tried) {
                        for (read, n, other) in [(a, 0, b), (b, 1, a)] {
                            let mut part = hit.clone();
                            part.beside = Some(other);
                            match lanes {
                                true => part.form.lane = Some(Lane { n, of: 2 }),
                                false => part.form.cut = Cut::Bank { n, of: 2 },
                            }
                            found.push((read, part));
                        }
                    }
                }
            }
        }
        found
    }
}

pub(super) fn sum_text(algo: Algo, bytes: &[u8]) -> Option<String> {
    let sum = algo.sum(bytes).ok()?;
    Some(sum.to_string().to_ascii_lowercase())
}

/// The stretches and lanes of a read that a known chip may be: without filler at its end, or what a header or a block's end
/// leaves of a power of two, then banks and lanes.
fn places(read: &[u8]) -> Vec<(InRead, Vec<u8>)> {
    let mut found: Vec<(InRead, Vec<u8>)> = Vec::new();
    let mut stretch = |first: usize, len: usize| {
        let inside = &read[first..first + len];
        if len < LEAST || constant(inside).is_some() {
            return;
        }
        let outside = [&read[..first], &read[first + len..]];
        let filler = outside.iter().filter_map(|side| constant(side));
        let filler: Vec<u8> = filler.collect();
        let sides = outside.iter().filter(|side| !side.is_empty()).count();
        let rest = match filler[..] {
            [one] if sides == 1 => Rest::Filler(one),
            [one, other] if one == other => Rest::Filler(one),
            _ => Rest::Other,
        };
        found.push((InRead::At { first, len, rest }, inside.to_vec()));
    };
    let len = read.len();
    if let Some(last) = read.last() {
        let filler = read.iter().rev().take_while(|byte| *byte == last).count();
        if filler > 1 && filler < len {
            stretch(0, len - filler);
        }
    }
    if len > 0 && !len.is_power_of_two() {
        let chip = 1usize << len.ilog2();
        stretch(0, chip);
        stretch(len - chip, chip);
    }
    for of in BANKS.into_iter().filter(|of| len % of == 0) {
        (0..of).for_each(|n| stretch(n * (len / of), len / of));
    }
    for of in LANES
        .into_iter()
        .filter(|of| len % of == 0 && len / of >= LEAST)
    {
        for n in 0..of {
            let lane = Lane { n, of };
            let bytes = lane.of_bytes(read);
            if constant(&bytes).is_none() {
                found.push((InRead::Lane(lane), bytes));
            }
        }
    }
    found
}
