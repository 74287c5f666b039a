//! Two line faults at once: a million pairs and more, so each is refuted as cheaply as can be.
//!
//! Two address faults without a common line act independently: where the first turns a probe's
//! address by one pattern of bits and the second by another, both turn it by the exclusive-or.
//! So what each fault alone does to a few probes is worked out once, and a pair costs hardly
//! more than a look at the image.

use super::predict::{Forward, Sources, Turns};
use super::search::Search;
use crate::faults::line_fault::{LineFault, When};
use crate::faults::story::Model;

/// Probes that every pair is asked first.
const PROBES: usize = 16;

/// A pair that has passed the first probes, ready to be asked for any cell.
pub(super) struct Pair<'a> {
    pub first: Model,
    pub second: Model,
    wanted: &'a [u16],
    erased: u16,
    address: Option<Sources>,
    data: [Option<LineFault>; 2],
}

impl Pair<'_> {
    /// The cell it predicts, by address.
    pub fn predicted(&self) -> impl Fn(usize) -> u16 + '_ {
        move |a| {
            let cell = match &self.address {
                Some(sources) => sources.read(self.wanted, self.erased, a),
                None => self.wanted[a],
            };
            let faults = self.data.iter().flatten();
            faults.fold(usize::from(cell), |cell, fault| fault.apply(cell)) as u16
        }
    }
}

/// What one address fault does to the probes.
struct Prepared {
    fault: LineFault,
    sources: Vec<(When, Sources)>,
    /// For each probe and each time the fault can have been there, in the order of `sources`.
    turns: Vec<[Turns; PROBES]>,
}

/// The cells that are asked first.
struct Probes {
    addresses: [usize; PROBES],
    read: [u16; PROBES],
    /// How many of them a pair may fail.
    misses: usize,
}

impl Probes {
    #[inline]
    fn pass(&self, mut predicted: impl FnMut(usize) -> u16) -> bool {
        let mut failed = 0;
        let mut n = 0;
        while n < PROBES {
            failed += usize::from(predicted(n) != self.read[n]);
            if failed > self.misses {
                return false;
            }
            n += 1;
        }
        true
    }
}

impl<'a> Search<'a> {
    /// Visits the pairs of line faults that fail at most so many of the first probes. Two that
    /// share a line are a pair in either order.
    pub fn each_pair(&mut self, misses: usize, mut visit: impl FnMut(&mut Self, &Pair<'a>)) {
        if self.sample.is_empty() {
            return;
        }
        let addresses = std::array::from_fn(|n| self.sample[n % self.sample.len()]);
        let probes = Probes {
            addresses,
            read: addresses.map(|a| self.read[a]),
            misses,
        };
        let prepared = self.prepared(&probes);
        self.address_pairs(&probes, &prepared, &mut visit);
        self.mixed_pairs(&probes, &prepared, &mut visit);
        self.data_pairs(&probes, &mut visit);
    }

    fn prepared(&self, probes: &Probes) -> Vec<Prepared> {
        let shape = self.shape();
        let times: Vec<When> = shape.all_times().collect();
        let prepare = |fault| {
            let forward = Forward::new(&[fault]);
            let sources = times.iter().map(|&when| (when, forward.sources(when)));
            let sources: Vec<(When, Sources)> = sources.collect();
            let turns = sources
                .iter()
                .map(|(_, sources)| probes.addresses.map(|a| sources.turns(a)))
                .collect();
            Prepared {
                fault,
                sources,
                turns,
            }
        };
        let faults = LineFault::all(shape.address_lines);
        faults.into_iter().map(prepare).collect()
    }

    fn ready(&self, first: Model, second: Model, address: Option<Sources>) -> Pair<'a> {
        let data = |model: &Model| match model {
            Model::Data(fault) => Some(*fault),
            _ => None,
        };
        let faults = [data(&first), data(&second)];
        Pair {
            first,
            second,
            wanted: self.images.wanted,
            erased: self.shape().erased(),
            address,
            data: faults,
        }
    }

    fn address_pairs(
        &mut self,
        probes: &Probes,
        prepared: &[Prepared],
        visit: &mut impl FnMut(&mut Self, &Pair<'a>),
    ) {
        let (wanted, erased) = (self.images.wanted, self.shape().erased());
        let model = |fault, when| Model::Address { fault, when };
        for (n, one) in prepared.iter().enumerate() {
            for two in &prepared[n + 1..] {
                let (a, b) = (one.fault, two.fault);
                let cancel = a.loses_nothing() && b.loses_nothing();
                let times = if cancel { 1 } else { one.sources.len() };
                if a.meets(b) {
                    for (a, b) in [(a, b), (b, a)] {
                        let forward = Forward::new(&[a, b]);
                        for &(when, _) in &one.sources[..times] {
                            let sources = forward.sources(when);
                            let read = |n: usize| sources.read(wanted, erased, probes.addresses[n]);
                            if probes.pass(read) {
                                let pair =
                                    self.ready(model(a, when), model(b, when), Some(sources));
                                visit(self, &pair);
                            }
                        }
                    }
                    continue;
                }
                for time in 0..times {
                    let (turns, more) = (&one.turns[time], &two.turns[time]);
                    let read = |n: usize| {
                        let mut cell = erased;
                        for turn in turns[n].as_slice() {
                            for again in more[n].as_slice() {
                                cell &= wanted[probes.addresses[n] ^ (turn ^ again) as usize];
                            }
                        }
                        cell
                    };
                    if probes.pass(read) {
                        let when = one.sources[time].0;
                        let sources = Forward::new(&[a, b]).sources(when);
                        let pair = self.ready(model(a, when), model(b, when), Some(sources));
                        visit(self, &pair);
                    }
                }
            }
        }
    }

    fn mixed_pairs(
        &mut self,
        probes: &Probes,
        prepared: &[Prepared],
        visit: &mut impl FnMut(&mut Self, &Pair<'a>),
    ) {
        let (wanted, erased) = (self.images.wanted, self.shape().erased());
        let data = LineFault::all(self.shape().data_lines);
        for one in prepared {
            let times = if one.fault.loses_nothing() {
                1
            } else {
                one.sources.len()
            };
            for &(when, sources) in &one.sources[..times] {
                let cells = probes.addresses.map(|a| sources.read(wanted, erased, a));
                for &fault in &data {
                    if probes.pass(|n| fault.apply(usize::from(cells[n])) as u16) {
                        let address = Model::Address {
                            fault: one.fault,
                            when,
                        };
                        let pair = self.ready(address, Model::Data(fault), Some(sources));
                        visit(self, &pair);
                    }
                }
            }
        }
    }

    fn data_pairs(&mut self, probes: &Probes, visit: &mut impl FnMut(&mut Self, &Pair<'a>)) {
        let cells = probes.addresses.map(|a| usize::from(self.images.wanted[a]));
        let faults = LineFault::all(self.shape().data_lines);
        for (n, &one) in faults.iter().enumerate() {
            for &two in &faults[n + 1..] {
                let orders = [(one, two), (two, one)];
                let orders = if one.meets(two) {
                    &orders[..]
                } else {
                    &orders[..1]
                };
                for &(one, two) in orders {
                    if probes.pass(|n| two.apply(one.apply(cells[n])) as u16) {
                        let pair = self.ready(Model::Data(one), Model::Data(two), None);
                        visit(self, &pair);
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::predict::Images;
    use super::super::testing;
    use super::*;
    use crate::faults::story::Story;

    const LINES: u8 = 4;

    fn images(wanted: &[u16]) -> Images<'_> {
        testing::wanted_alone(testing::shape(LINES, 4), wanted)
    }

    fn visited(images: Images, read: &[u16], misses: usize) -> Vec<Story> {
        let mut found = Vec::new();
        Search::new(images, read).each_pair(misses, |_, pair| {
            let predicted = images.predicted(&pair.first, Some(&pair.second)).unwrap();
            let own = pair.predicted();
            let same = (0..16).all(|a| own(a) == predicted(a));
            assert!(same, "{:?} {:?}", pair.first, pair.second);
            found.push(Story::two(pair.first.clone(), pair.second.clone()));
        });
        found
    }

    /// With all pairs of 4 address and 4 data lines: those that are visited are those that the first probes don't refute, and
    /// each predicts what the two faults do.
    #[test]
    fn a_pair_is_visited_when_the_first_probes_pass() {
        let wanted: Vec<u16> = (0..16).map(|a| (a * 7 + 3) % 16).collect();
        let images = images(&wanted);
        let read: Vec<u16> = (0..16).map(|a: usize| wanted[a & !2 | 8] & 0xB).collect();
        let all = visited(images, &read, PROBES);
        // 42 faults on four lines: in pairs, and again in the other order where they share a line. At five times, or one
        // where neither loses anything.
        let faults = LineFault::all(LINES);
        let mut expected = 0;
        for (n, &one) in faults.iter().enumerate() {
            for &two in &faults[n + 1..] {
                let orders = if one.meets(two) { 2 } else { 1 };
                let cancel = one.loses_nothing() && two.loses_nothing();
                expected += orders * (if cancel { 1 } else { 5 } + 1);
            }
            expected += faults.len() * if one.loses_nothing() { 1 } else { 5 };
        }
        assert_eq!(all.len(), expected);
        let search = Search::new(images, &read);
        for misses in [0, 1, 3] {
            let found = visited(images, &read, misses);
            let passes = |story: &&Story| {
                let second = story.second.as_ref();
                let predicted = images.predicted(&story.first, second).unwrap();
                let probes = (0..PROBES).map(|n| search.sample[n % search.sample.len()]);
                probes.filter(|&a| predicted(a) != read[a]).count() <= misses
            };
            let expected: Vec<&Story> = all.iter().filter(passes).collect();
            assert_eq!(found.iter().collect::<Vec<_>>(), expected, "{misses}");
        }
    }
}
