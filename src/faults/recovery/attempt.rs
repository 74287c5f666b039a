//! The search: lines that still look alike are tried in turn, then their inversions.

use std::collections::HashMap;

use super::figures::{Figures, mixed};
use crate::wiring::{Lookup, Wiring};

/// Wirings tried to the last byte before giving up.
const MOST_TRIED: usize = 512;
/// Binary logarithm of the inversions tried for one wiring.
const MOST_INVERSIONS: u32 = 26;

/// An image and its figures.
#[derive(Clone, Copy)]
pub(super) struct Side<'a> {
    image: &'a [u16],
    figures: &'a Figures,
}

impl<'a> Side<'a> {
    pub fn new(image: &'a [u16], figures: &'a Figures) -> Self {
        Side { image, figures }
    }
}

/// A search for a wiring between two images.
pub(super) struct Attempt<'a> {
    from: Side<'a>,
    to: Side<'a>,
    tried: usize,
    /// Whether lines look so alike that not all was tried.
    pub gave_up: bool,
    /// Whether a wiring without inversions counts.
    pub trivial_allowed: bool,
}

impl<'a> Attempt<'a> {
    pub fn new(from: Side<'a>, to: Side<'a>) -> Self {
        Attempt {
            from,
            to,
            tried: 0,
            gave_up: false,
            trivial_allowed: true,
        }
    }

    pub fn search(&mut self, mut from: Vec<u64>, mut to: Vec<u64>) -> Option<Wiring> {
        self.from.figures.refine(&mut from);
        self.to.figures.refine(&mut to);
        let mut groups: HashMap<u64, (Vec<usize>, Vec<usize>)> = HashMap::new();
        for (line, &colour) in from.iter().enumerate() {
            groups.entry(colour).or_default().0.push(line);
        }
        for (line, &colour) in to.iter().enumerate() {
            groups.entry(colour).or_default().1.push(line);
        }
        if groups.values().any(|(from, to)| from.len() != to.len()) {
            return None;
        }
        let open = groups
            .iter()
            .filter(|(_, (from, _))| from.len() > 1)
            .min_by_key(|(_, (from, _))| (from.len(), from[0]));
        let Some((&colour, (choices, lines))) = open else {
            return self.settled(groups.values().map(|(from, to)| (from[0], to[0])));
        };
        // One line of the chip is given a colour of its own, and so is each that it may be.
        let line = lines[0];
        for &choice in choices {
            if self.tried >= MOST_TRIED {
                self.gave_up = true;
                return None;
            }
            let (mut from, mut to) = (from.clone(), to.clone());
            from[choice] = mixed(colour, 5);
            to[line] = mixed(colour, 5);
            if let Some(found) = self.search(from, to) {
                return Some(found);
            }
        }
        None
    }

    /// All lines are matched; the inversions are left.
    fn settled(&mut self, matched: impl Iterator<Item = (usize, usize)>) -> Option<Wiring> {
        self.tried += 1;
        let lines = self.from.figures.lines;
        let mut address = vec![0; lines];
        let mut data_lines = vec![0; self.from.figures.data()];
        for (from, to) in matched {
            match to.checked_sub(lines) {
                None => address[to] = from as u8,
                Some(data) => data_lines[data] = (from - lines) as u8,
            }
        }
        let wiring = Wiring::new(self.from.figures.width, address, data_lines).ok()?;
        self.inversions(&wiring)
    }

    /// The inversions that make this wiring turn one image into the other.
    pub fn inversions(&mut self, wiring: &Wiring) -> Option<Wiring> {
        let (from, to) = (self.from.figures, self.to.figures);
        let lines = from.lines;
        // For each line of the chip, addresses first: which group of lines it is bound to, and
        // whether it is inverted when the group is not.
        let mut bound: Vec<(usize, bool)> = (0..from.all()).map(|line| (line, false)).collect();
        // A further group whose inversion is known: not inverted.
        let known = from.all();
        bound.push((known, false));
        let mut bind = |a: usize, b: usize, differ: bool| -> bool {
            let ((one, turned), (other, turned_too)) = (bound[a], bound[b]);
            let turn = turned ^ turned_too ^ differ;
            if one == other {
                return !turn;
            }
            for (group, inverted) in &mut bound {
                if *group == other {
                    *group = one;
                    *inverted ^= turn;
                }
            }
            true
        };
        let mut possible = true;
        for data in 0..from.data() {
            let (one, now) = (from.ones[usize::from(wiring.data()[data])], to.ones[data]);
            if 2 * now != to.size {
                possible &= bind(known, lines + data, one != now);
            }
            for address in 0..lines {
                let original = usize::from(wiring.address()[address]);
                let lean = from.leans[original][usize::from(wiring.data()[data])];
                let now = to.leans[address][data];
                if now != 0 {
                    possible &= bind(address, lines + data, lean != now);
                }
            }
            for other in 0..data {
                let original = |data: usize| usize::from(wiring.data()[data]);
                let one = from.differ[original(data)][original(other)];
                let now = to.differ[data][other];
                if 2 * now != to.size {
                    possible &= bind(lines + data, lines + other, one != now);
                }
            }
        }
        if !possible {
            return None;
        }
        let mut free: Vec<usize> = bound.iter().map(|(group, _)| *group).collect();
        free.sort_unstable();
        free.dedup();
        free.retain(|&group| group != bound[known].0);
        if free.len() as u32 > MOST_INVERSIONS {
            self.gave_up = true;
            return None;
        }
        // Which lines turn with each free group, and which are inverted anyway.
        let mask = |turned: &dyn Fn(usize, bool) -> bool| {
            (0..from.all())
                .filter(|&line| turned(bound[line].0, bound[line].1))
                .fold(0u64, |mask, line| mask | 1 << line)
        };
        let (settled, level) = bound[known];
        let base = mask(&|group, inverted| inverted ^ (group == settled && level));
        let groups: Vec<u64> = free
            .iter()
            .map(|&free| mask(&|group, _| group == free))
            .collect();

        let straight = Lookup::new(wiring);
        let address_of = |chip: usize| -> usize {
            wiring
                .address()
                .iter()
                .enumerate()
                .fold(0, |a, (i, line)| a | (chip >> i & 1) << line)
        };
        let probes = [0, 1, 2, 5, 11, 23, 47, 95].map(|probe| {
            let chip = (probe * 0x9E37_79B1usize) & (self.to.image.len() - 1);
            (address_of(chip), self.to.image[chip])
        });
        let mut inverted = base;
        // In Gray order one group turns at a time.
        for n in 0..1u64 << groups.len() {
            if n > 0 {
                inverted ^= groups[n.trailing_zeros() as usize];
            }
            let turn = address_of(inverted as usize & ((1 << lines) - 1));
            let data = (inverted >> lines) as u16;
            let fits = probes.iter().all(|&(address, cell)| {
                straight.value(self.from.image[address ^ turn]) ^ data == cell
            });
            if !fits || inverted == 0 && !self.trivial_allowed {
                continue;
            }
            let address = inverted as u32 & ((1 << lines) - 1);
            let found = wiring.clone().inverting(address, data).ok()?;
            if Lookup::new(&found).turns(self.from.image, self.to.image) {
                return Some(found);
            }
        }
        None
    }
}
