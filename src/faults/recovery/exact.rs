//! The search for a wiring without a wrong byte: lines that still look alike are tried in turn, then their inversions.

use std::collections::HashMap;

use super::budget::Budget;
use super::figures::{Figures, mixed};
use crate::wiring::{Lookup, Wiring};

/// An image and its figures.
#[derive(Clone, Copy)]
pub(super) struct Side<'a> {
    pub image: &'a [u16],
    pub figures: &'a Figures,
}

/// A search for a wiring between two images. When the budget is used up, not all was tried.
pub(super) struct Exact<'a, 'b> {
    pub from: Side<'a>,
    pub to: Side<'a>,
    pub budget: &'b mut Budget,
}

impl Exact<'_, '_> {
    /// The wiring, where there is one; the lines are told apart by these colours.
    pub fn search(&mut self, mut from: Vec<u64>, mut to: Vec<u64>) -> Option<Wiring> {
        let lines = from.len();
        if !self.budget.spend(8 * lines * lines) {
            return None;
        }
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
            let (mut from, mut to) = (from.clone(), to.clone());
            from[choice] = mixed(colour, 5);
            to[line] = mixed(colour, 5);
            let found = self.search(from, to);
            if found.is_some() || self.budget.is_used_up() {
                return found;
            }
        }
        None
    }

    /// All lines are matched; the inversions are left.
    fn settled(&mut self, matched: impl Iterator<Item = (usize, usize)>) -> Option<Wiring> {
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
    fn inversions(&mut self, wiring: &Wiring) -> Option<Wiring> {
        let lines = self.from.figures.lines;
        let bound = Bound::of(self.from.figures, self.to.figures, wiring)?;
        // Inverted address lines decide which cell is read, and a single cell then which data lines are inverted.
        let in_addresses = |turned: u64| turned as usize & ((1 << lines) - 1);
        let base = in_addresses(bound.base);
        let free: Vec<usize> = bound
            .free
            .iter()
            .map(|group| in_addresses(*group))
            .collect();
        let free: Vec<usize> = free.into_iter().filter(|group| *group != 0).collect();

        let straight = Lookup::new(wiring);
        let address_of = |chip: usize| -> usize {
            let lines = wiring.address().iter().enumerate();
            lines.fold(0, |a, (i, line)| a | (chip >> i & 1) << line)
        };
        let probes = [0, 1, 2, 5, 11, 23, 47, 95].map(|probe| {
            let chip = (probe * 0x9E37_79B1usize) & (self.to.image.len() - 1);
            (address_of(chip), self.to.image[chip])
        });
        let mut inverted = base;
        // In Gray order one group turns at a time.
        for n in 0..1u64 << free.len() {
            if !self.budget.spend(1) {
                return None;
            }
            if n > 0 {
                inverted ^= free[n.trailing_zeros() as usize];
            }
            let turn = address_of(inverted);
            let differing = |(address, cell): (usize, u16)| {
                straight.value(self.from.image[address ^ turn]) ^ cell
            };
            let data = differing(probes[0]);
            if probes.iter().any(|&probe| differing(probe) != data) {
                continue;
            }
            let found = wiring.clone().inverting(inverted as u32, data).ok()?;
            let lookup = Lookup::new(&found);
            let (from, to) = (self.from.image, self.to.image);
            let wrong = (0..to.len()).position(|at| lookup.cell(from, at) != to[at]);
            if !self.budget.spend(wrong.unwrap_or(to.len())) {
                return None;
            }
            if wrong.is_none() {
                return Some(found);
            }
        }
        None
    }
}

/// What the figures say about the inversions of a wiring's lines. Bit i of a mask is line i, address lines first.
pub(super) struct Bound {
    /// Lines that are inverted when no free group is turned.
    pub base: u64,
    /// Groups of lines that can only be turned together, and of which the figures don't say whether they are.
    pub free: Vec<u64>,
}

impl Bound {
    /// `None` when no inversions make the figures fit.
    pub fn of(from: &Figures, to: &Figures, wiring: &Wiring) -> Option<Self> {
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
        // Which lines turn with each free group, and which are inverted anyway.
        let mask = |turned: &dyn Fn(usize, bool) -> bool| {
            (0..from.all())
                .filter(|&line| turned(bound[line].0, bound[line].1))
                .fold(0u64, |mask, line| mask | 1 << line)
        };
        let (settled, level) = bound[known];
        Some(Bound {
            base: mask(&|group, inverted| inverted ^ (group == settled && level)),
            free: free
                .iter()
                .map(|&free| mask(&|group, _| group == free))
                .collect(),
        })
    }
}
