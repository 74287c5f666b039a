//! What an image can't show: other wirings that would make the same read. Each is tried before it is named.

use super::budget::Budget;
use super::exact::Bound;
use super::figures::{Figures, mixed};
use crate::wiring::{Line, Lookup, Wiring};

/// What an image leaves open about its wiring.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Ambiguity {
    /// Groups of address lines, any two of which can be swapped and leave the image the same.
    pub alike_address: Vec<Vec<u8>>,
    /// Groups of data lines that carry the same in the whole image.
    pub alike_data: Vec<Vec<u8>>,
    /// Address lines that make no difference, so that it can't be seen whether they are inverted.
    pub idle: Vec<u8>,
    /// Lines that can only be swapped or inverted together with others.
    pub joint: Vec<Joint>,
    /// Whether it is proved that there is nothing else.
    pub complete: bool,
}

/// Lines that can be swapped or inverted, together with others, and leave the image the same.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Joint {
    /// The lines: any two of them can be swapped, or each of them inverted.
    pub lines: Vec<Line>,
    /// Whether they are inverted, and not swapped.
    pub inverted: bool,
    /// One example, which was tried as it is: it turns the image into itself.
    pub example: Wiring,
}

impl Ambiguity {
    /// Whether this is the only wiring.
    pub fn is_none(&self) -> bool {
        self.complete
            && self.alike_address.is_empty()
            && self.alike_data.is_empty()
            && self.idle.is_empty()
            && self.joint.is_empty()
    }

    /// Of an image, of which only these data lines count; bit i is line i.
    pub(super) fn of(image: &[u16], figures: &Figures, counts: u16, budget: &mut Budget) -> Self {
        let mut open = Questioned {
            image,
            figures,
            counts,
            budget,
            // Nothing that is left out is said to be proved.
            complete: true,
        };
        let idle = open.idle();
        let alike_address = open.alike_address();
        let data: Vec<u8> = open.counted().collect();
        let alike_data = grouped(&data, |a, b| {
            figures.differ[usize::from(a)][usize::from(b)] == 0
        });
        let joint = open.joint(&alike_address, &alike_data, &idle);
        Ambiguity {
            alike_address,
            alike_data,
            idle,
            joint,
            complete: open.complete,
        }
    }
}

/// Lines that go with each other, in groups of two or more. The relation is an equivalence.
fn grouped(lines: &[u8], mut alike: impl FnMut(u8, u8) -> bool) -> Vec<Vec<u8>> {
    let mut groups: Vec<Vec<u8>> = Vec::new();
    for &line in lines {
        match groups.iter_mut().find(|group| alike(group[0], line)) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    groups.retain(|group| group.len() > 1);
    groups
}

/// An image that is asked what it leaves open.
struct Questioned<'a, 'b> {
    image: &'a [u16],
    figures: &'a Figures,
    counts: u16,
    budget: &'b mut Budget,
    complete: bool,
}

impl Questioned<'_, '_> {
    /// Data lines that count.
    fn counted(&self) -> impl Iterator<Item = u8> + use<> {
        let counts = self.counts;
        (0..self.figures.data() as u8).filter(move |line| counts >> line & 1 == 1)
    }

    /// Whether the image is the same when each cell moves so; half of those that move are asked for.
    fn same(&mut self, moving: impl Iterator<Item = (usize, usize)>) -> bool {
        let mut looked_at = 0;
        let mut moving = moving.inspect(|_| looked_at += 1);
        let same = moving.all(|(a, b)| (self.image[a] ^ self.image[b]) & self.counts == 0);
        if !self.budget.spend(looked_at) {
            self.complete = false;
            return false;
        }
        same
    }

    fn idle(&mut self) -> Vec<u8> {
        let half = self.image.len() / 2;
        let mut idle = Vec::new();
        for line in 0..self.figures.lines {
            let cells = (0..half).map(|n| with_zero(n, line));
            if self.same(cells.map(|a| (a, a | 1 << line))) {
                idle.push(line as u8);
            }
        }
        idle
    }

    fn alike_address(&mut self) -> Vec<Vec<u8>> {
        let quarter = self.image.len() / 4;
        let lines: Vec<u8> = (0..self.figures.lines as u8).collect();
        grouped(&lines, |one, other| {
            let cells = (0..quarter).map(|n| with_zero(with_zero(n, one.into()), other.into()));
            self.same(cells.map(|a| (a | 1 << one, a | 1 << other)))
        })
    }

    /// What goes only together, and whether that is all there is.
    fn joint(
        &mut self,
        alike_address: &[Vec<u8>],
        alike_data: &[Vec<u8>],
        idle: &[u8],
    ) -> Vec<Joint> {
        let mut colours = self.figures.start();
        self.figures.refine(&mut colours);
        let lines = self.figures.lines;
        let mut joint = Vec::new();

        let representative = |line: &u8| {
            let mut groups = alike_address.iter();
            !groups.any(|group| group[1..].contains(line))
        };
        let addresses: Vec<u8> = (0..lines as u8).filter(representative).collect();
        let mut examples: Vec<(u8, Wiring)> = Vec::new();
        let groups = grouped(&addresses, |one, other| {
            if colours[usize::from(one)] != colours[usize::from(other)] {
                return false;
            }
            self.complete = false;
            let swapped = swap(one, other);
            let example = self.compensated(&swapped, |straight: &mut [u8]| {
                straight.swap(one.into(), other.into());
            });
            let found = example.is_some();
            examples.extend(example.map(|example| (one, example)));
            found
        });
        for group in groups {
            let example = examples.iter().find(|(line, _)| *line == group[0]);
            joint.extend(example.map(|(_, example)| Joint {
                lines: group.into_iter().map(Line::Address).collect(),
                inverted: false,
                example: example.clone(),
            }));
        }

        // Data lines that are always opposite.
        let data: Vec<u8> = self.counted().collect();
        let first_alike = |line: &u8| !alike_data.iter().any(|group| group[1..].contains(line));
        let data: Vec<u8> = data.into_iter().filter(first_alike).collect();
        for (n, &one) in data.iter().enumerate() {
            for &other in &data[n + 1..] {
                let alike =
                    colours[lines + usize::from(one)] == colours[lines + usize::from(other)];
                self.complete &= !alike;
                let differ = self.figures.differ[usize::from(one)][usize::from(other)];
                if differ == self.figures.size {
                    joint.extend(self.opposite(one, other));
                }
            }
        }

        if let Some(inverted) = self.inverted(idle) {
            joint.push(inverted);
        }
        // Colours that more than a group of lines has hide what goes only together.
        for (group, first) in alike_address
            .iter()
            .map(|g| (g, 0))
            .chain(alike_data.iter().map(|g| (g, lines)))
        {
            let colour = colours[first + usize::from(group[0])];
            let kin = colours.iter().filter(|other| **other == colour).count();
            self.complete &= kin == group.len();
        }
        self.complete &= self.counts.count_ones() as usize == self.figures.data();
        joint
    }

    fn opposite(&self, one: u8, other: u8) -> Option<Joint> {
        let straight = self.figures.straight()?;
        let mut data = straight.data().to_vec();
        data.swap(one.into(), other.into());
        let example = Wiring::new(straight.width(), straight.address().to_vec(), data).ok()?;
        Some(Joint {
            lines: vec![Line::Data(one), Line::Data(other)],
            inverted: false,
            example: example.inverting(0, 1 << one | 1 << other).ok()?,
        })
    }

    /// Address lines that can be inverted each, together with data lines.
    fn inverted(&mut self, idle: &[u8]) -> Option<Joint> {
        let straight = self.figures.straight()?;
        let bound = Bound::of(self.figures, self.figures, &straight)?;
        let free = bound.free.iter().fold(0, |free, group| free | group);
        let lines = self.figures.lines as u8;
        let (mut found, mut example) = (Vec::new(), None);
        for line in (0..lines).filter(|line| free >> line & 1 == 1 && !idle.contains(line)) {
            self.complete = false;
            let turned = self.compensated(&|at| at ^ 1 << line, |_| {});
            let turned = turned.and_then(|wiring| {
                let data = wiring.data_inverted();
                wiring.inverting(1 << line, data).ok()
            });
            if let Some(turned) = turned.filter(|turned| self.holds(turned)) {
                found.push(Line::Address(line));
                example.get_or_insert(turned);
            }
        }
        // No data line can be inverted alone: that changes every cell.
        Some(Joint {
            lines: found,
            inverted: true,
            example: example?,
        })
    }

    /// The wiring of the data lines that makes up for moving all cells so, and turns the image into itself together with
    /// these address lines. (A move that is not an order of lines is left to the caller.)
    fn compensated(
        &mut self,
        moved: &dyn Fn(usize) -> usize,
        order: impl Fn(&mut [u8]),
    ) -> Option<Wiring> {
        // Each cell is looked at line by line.
        if !self.budget.spend(self.figures.data() * self.image.len()) {
            return None;
        }
        let straight = self.figures.straight()?;
        let (mut now, mut then) = (vec![0u64; 16], vec![0u64; 16]);
        let mut whole = 0u64;
        for at in 0..self.image.len() {
            let key = mixed(at as u64 + 1, 11);
            whole = whole.wrapping_add(key);
            let (cell, other) = (self.image[at], self.image[moved(at)]);
            for line in 0..self.figures.data() {
                let add = |sum: &mut u64, cell: u16| {
                    *sum = sum.wrapping_add(key & u64::from(cell >> line & 1).wrapping_neg());
                };
                add(&mut now[line], cell);
                add(&mut then[line], other);
            }
        }
        let mut free: Vec<u8> = self.counted().collect();
        let mut data = straight.data().to_vec();
        let mut inverted = 0;
        for line in self.counted() {
            let is = now[usize::from(line)];
            let same = |own: &u8| then[usize::from(*own)] == is;
            let turned = |own: &u8| whole.wrapping_sub(then[usize::from(*own)]) == is;
            let found = free.iter().position(same).map(|n| (n, false));
            let (n, turned) = found.or_else(|| free.iter().position(turned).map(|n| (n, true)))?;
            data[usize::from(line)] = free.remove(n);
            inverted |= u16::from(turned) << line;
        }
        let mut address = straight.address().to_vec();
        order(&mut address);
        let is_order = address != straight.address();
        let wiring = Wiring::new(straight.width(), address, data).ok()?;
        let wiring = wiring.inverting(0, inverted).ok()?;
        (!is_order || self.holds(&wiring)).then_some(wiring)
    }

    /// Whether the wiring turns the image into itself, in the data lines that count.
    fn holds(&mut self, wiring: &Wiring) -> bool {
        let lookup = Lookup::new(wiring);
        let cells = 0..self.image.len();
        let wrong =
            |at: &usize| (lookup.cell(self.image, *at) ^ self.image[*at]) & self.counts != 0;
        let wrong = cells.clone().find(wrong);
        self.budget.spend(wrong.unwrap_or(cells.len())) && wrong.is_none()
    }
}

/// The number with a 0 put in as its bit `line`.
fn with_zero(n: usize, line: usize) -> usize {
    let low = n & ((1 << line) - 1);
    (n ^ low) << 1 | low
}

/// The address with two lines swapped.
fn swap(one: u8, other: u8) -> impl Fn(usize) -> usize {
    move |at| {
        let differ = (at >> one ^ at >> other) & 1;
        at ^ (differ << one | differ << other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::wiring::Width;

    const LINES: u32 = 7;

    /// A byte for each of these numbers, by which nothing can be told from anything else.
    fn noise(n: usize) -> u16 {
        Pattern::Random { seed: 12 }.image(4096).unwrap()[1024 + n].into()
    }

    /// What is open about the image with these cells, in which only some data lines count.
    fn open(cell: impl Fn(usize) -> u16, counts: u16) -> Ambiguity {
        let image: Vec<u16> = (0..1 << LINES).map(cell).collect();
        let figures = Figures::of(&image, Width::Eight);
        let open = Ambiguity::of(&image, &figures, counts, &mut Budget::new(image.len()));
        for joint in &open.joint {
            let lookup = Lookup::new(&joint.example);
            let same = |at: usize| (lookup.cell(&image, at) ^ image[at]) & counts == 0;
            assert!((0..image.len()).all(same), "{joint:?}");
            assert!(!joint.example.is_straight());
        }
        open
    }

    /// The joint lines of an image of which nothing else is open, and whether it is proved that there is no more.
    fn joint(cell: impl Fn(usize) -> u16) -> (Vec<(Vec<Line>, bool)>, bool) {
        let open = open(cell, 0xFF);
        assert!(open.alike_address.is_empty() && open.alike_data.is_empty());
        assert!(open.idle.is_empty());
        let joint = open.joint.into_iter().map(|j| (j.lines, j.inverted));
        (joint.collect(), open.complete)
    }

    fn bit(cell: u16, line: u16) -> u16 {
        cell >> line & 1
    }

    #[test]
    fn noise_leaves_nothing_open() {
        let found = open(noise, 0xFF);
        assert!(found.is_none() && found.complete, "{found:?}");
        // Of lines that don't count nothing is proved.
        let found = open(noise, 0x7F);
        assert!(found.joint.is_empty() && !found.complete);
    }

    #[test]
    fn idle_lines_and_lines_that_are_alike() {
        let idle = open(|a| noise(a & !0x14), 0xFF);
        assert_eq!((&idle.idle[..], idle.is_none()), (&[2, 4][..], false));
        assert_eq!(idle.alike_address, [[2, 4]], "neither makes a difference");
        let one = open(|a| noise(a & !4), 0xFF);
        assert_eq!((&one.idle[..], one.alike_address.len()), (&[2][..], 0));
        assert!(one.complete && !one.is_none());
        // The AND and the OR of A1 and A3, and of A0, A5 and A6 how many are 1.
        let both = |a: usize| (a >> 1 & a >> 3 & 1) << 1 | ((a >> 1 | a >> 3) & 1) << 3;
        let many = |a: usize| (a & 1) + (a >> 5 & 1) + (a >> 6 & 1);
        let alike = open(|a| noise(both(a) | a & 0x14 | many(a) << 5), 0xFF);
        assert_eq!(alike.alike_address, [vec![0, 5, 6], vec![1, 3]]);
        assert!(alike.joint.is_empty() && alike.idle.is_empty(), "{alike:?}");
        let data = open(|a| noise(a) & 0xDF | bit(noise(a), 2) << 5, 0xFF);
        assert_eq!(data.alike_data, [[2, 5]]);
        assert!(data.complete && data.joint.is_empty());
        let not_counted = open(|a| noise(a) & 0xDF | bit(noise(a), 2) << 5, 0xDF);
        assert!(not_counted.alike_data.is_empty());
    }

    /// D5 is always the opposite of D2: they can be swapped when both are inverted.
    #[test]
    fn opposite_data_lines() {
        let opposite = |a: usize| noise(a) & 0xDF | (1 - bit(noise(a), 2)) << 5;
        let lines = vec![Line::Data(2), Line::Data(5)];
        assert_eq!(joint(opposite), (vec![(lines, false)], false));
        let found = open(opposite, 0xFF);
        let wiring = &found.joint[0].example;
        assert_eq!(wiring.data(), [0, 1, 5, 3, 4, 2, 6, 7]);
        assert_eq!(
            (wiring.address_inverted(), wiring.data_inverted()),
            (0, 0x24)
        );
    }

    /// These data lines, where the address line is 1.
    fn goes(at: usize, line: u8, data: u16) -> u16 {
        (at >> line & 1) as u16 * data
    }

    /// Whatever A3 is, D0 and D6 are the opposite with it the other way, and nothing else depends on it.
    #[test]
    fn an_address_line_that_goes_with_data_lines() {
        let cell = |a: usize| noise(a & !8) ^ goes(a, 3, 0x41);
        let lines = vec![Line::Address(3)];
        assert_eq!(joint(cell), (vec![(lines, true)], false));
        let wiring = &open(cell, 0xFF).joint[0].example;
        assert_eq!(
            (wiring.address_inverted(), wiring.data_inverted()),
            (8, 0x41)
        );
        // A1 too, and each by itself.
        let two = |a: usize| noise(a & !0xA) ^ goes(a, 3, 0x41) ^ goes(a, 1, 0x12);
        let (found, complete) = joint(two);
        assert_eq!(found, [(vec![Line::Address(1), Line::Address(3)], true)]);
        assert!(!complete);
    }

    /// With A1 and A4 swapped, D0 is D7 and the other way round; nothing else changes.
    #[test]
    fn address_lines_that_swap_with_data_lines() {
        let turned = |a: usize| swap(1, 4)(a);
        let cell = |a: usize| {
            let (one, other) = (noise(a), noise(turned(a)));
            let rest = noise(a.min(turned(a)) + 256) & 0x7E;
            bit(one, 0) | bit(other, 0) << 7 | rest
        };
        let (found, complete) = joint(cell);
        assert_eq!(found, [(vec![Line::Address(1), Line::Address(4)], false)]);
        assert!(!complete);
        let wiring = &open(cell, 0xFF).joint[0].example;
        assert_eq!(wiring.address(), [0, 4, 2, 3, 1, 5, 6]);
        assert_eq!(wiring.data(), [7, 1, 2, 3, 4, 5, 6, 0]);
    }

    /// Without a budget nothing is found, and nothing is said to be proved.
    #[test]
    fn what_could_not_be_tried_is_not_proved() {
        let image: Vec<u16> = (0..1usize << LINES).map(|a| noise(a & !4)).collect();
        let figures = Figures::of(&image, Width::Eight);
        let mut budget = Budget::new(0);
        budget.spend(1 << 24);
        let open = Ambiguity::of(&image, &figures, 0xFF, &mut budget);
        assert!(open.idle.is_empty() && !open.complete && !open.is_none());
    }

    #[test]
    fn numbers_of_cells_by_hand() {
        assert_eq!([0, 1, 2, 3].map(|n| with_zero(n, 1)), [0, 1, 4, 5]);
        assert_eq!(
            [0b01, 0b10, 0b11, 0b100].map(swap(0, 1)),
            [0b10, 0b01, 0b11, 0b100]
        );
    }
}
