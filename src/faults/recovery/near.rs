//! The search for a wiring when some bytes are wrong or data lines are dead: lines are matched by sums that a few wrong
//! bytes hardly move, and the best matches are compared with the cells.

use super::assignment::assigned;
use super::budget::Budget;
use super::exact::Side;
use super::sample::{Guess, Sample};
use super::spectrum::Spectrum;
use super::trial::{Trial, most_wrong};
use super::turns::address_inversions;

/// Pairs of data lines that the matching starts from, at most.
const STARTS: usize = 24;
/// How many guesses are improved, and compared with every cell.
const MENDED: usize = 4;
/// Of a hundred bits in a sample, this many agree when a guess is right except for a few wrong bytes.
const GOOD: u32 = 92;

/// What the lines of both images sum up to.
struct Matching {
    from: Spectrum,
    to: Spectrum,
    /// Data lines of the chip that move.
    live: Vec<usize>,
}

/// A wiring that leaves as few cells over as any that was found, and no more than one in fifty.
pub(super) fn search(from: Side<'_>, to: Side<'_>, budget: &mut Budget) -> Option<Trial> {
    let width = from.figures.width;
    let mask = live(from, to);
    if mask == 0 || !budget.spend(8 * from.image.len()) {
        return None;
    }
    let live = (0..from.figures.data()).filter(|line| mask >> line & 1 == 1);
    let live = live.collect();
    let sample = Sample::new(from.image, to.image, width, mask);
    let matching = Matching {
        from: Spectrum::of(from.image, from.figures),
        to: Spectrum::of(to.image, to.figures),
        live,
    };
    let mut guesses: Vec<(u32, Guess)> = Vec::new();
    let mut settled = Vec::new();
    for start in matching.starts() {
        let (address, planes) = matching.settled(start);
        if settled.contains(&address) {
            continue;
        }
        settled.push(address.clone());
        let turns = address_inversions(&matching.from, &matching.to, &address, &planes);
        for turned in turns {
            let mut guess = Guess::of_addresses(address.clone(), turned, width);
            let bits = sample.fit_data(&mut guess);
            guesses.push((bits, guess));
        }
        if guesses
            .iter()
            .any(|(bits, _)| *bits >= sample.bits() / 100 * GOOD)
        {
            break;
        }
    }
    guesses.sort_by_key(|(bits, _)| std::cmp::Reverse(*bits));
    guesses.dedup();
    let mut best: Option<Trial> = None;
    for (_, mut guess) in guesses.into_iter().take(MENDED) {
        sample.climb(&mut guess, budget);
        let Some(trial) = Trial::of(&guess, from, to, mask, budget) else {
            break;
        };
        if best.as_ref().is_none_or(|best| trial.wrong < best.wrong) {
            best = Some(mended(trial, guess, &sample, from, to, mask, budget));
        }
        if best
            .as_ref()
            .is_some_and(|best| best.wrong <= most_wrong(to.image.len()))
        {
            break;
        }
    }
    best.filter(|best| best.wrong <= most_wrong(to.image.len()))
}

/// The trial, or one that differs by two lines that the sample hardly tells apart and all cells do.
fn mended(
    mut trial: Trial,
    mut guess: Guess,
    sample: &Sample<'_>,
    from: Side<'_>,
    to: Side<'_>,
    live: u16,
    budget: &mut Budget,
) -> Trial {
    // Each pass settles at least one line.
    for _ in 0..guess.address.len() {
        let mut better = None;
        for rival in sample.rivals(&guess, budget) {
            let Some(next) = Trial::of(&rival, from, to, live, budget) else {
                return trial;
            };
            if next.wrong < trial.wrong {
                trial = next;
                better = Some(rival);
            }
        }
        match better {
            Some(rival) => guess = rival,
            None => break,
        }
    }
    trial
}

/// The chip's data lines that can be compared with the image's: all, unless more of them hardly ever move than of the
/// image's. Bit i is line i.
pub(super) fn live(from: Side<'_>, to: Side<'_>) -> u16 {
    let size = to.figures.size;
    let still = |side: Side<'_>, most: i64| -> Vec<usize> {
        let ones = &side.figures.ones;
        let lines = 0..ones.len();
        lines
            .filter(|line| ones[*line].min(size - ones[*line]) <= most)
            .collect()
    };
    let most = most_wrong(to.image.len()) as i64;
    let dead = [0, most].into_iter().find_map(|most| {
        let dead = still(to, most);
        (dead.len() > still(from, most).len()).then_some(dead)
    });
    let dead = dead.unwrap_or_default();
    let live = (0..to.figures.data()).filter(|line| !dead.contains(line));
    live.fold(0, |live, line| live | 1 << line)
}

impl Matching {
    /// Address lines matched by one data line of either image, the likeliest first.
    fn starts(&self) -> Vec<Vec<usize>> {
        let mut starts: Vec<(f32, Vec<usize>)> = Vec::new();
        for &chip in &self.live {
            for own in 0..self.from.data {
                let planes = [(chip, own)];
                let mut costs = self.address_costs(None, &planes);
                let mut address = assigned(&costs);
                for _ in 0..3 {
                    costs = self.address_costs(Some(&address), &planes);
                    address = assigned(&costs);
                }
                // Against what any order would cost, so that a line without much of its own is not the likeliest.
                let lines = address.len();
                let cost: f32 = address.iter().zip(&costs).map(|(a, row)| row[*a]).sum();
                let any: f32 = costs.iter().flatten().sum::<f32>() / lines as f32;
                let share = if any > 0.0 { cost / any } else { 1.0 };
                starts.push((share, address));
            }
        }
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        starts.dedup_by(|a, b| a.1 == b.1);
        starts.truncate(STARTS);
        starts.into_iter().map(|(_, address)| address).collect()
    }

    /// Address lines and data lines matched by each other in turn, until neither changes: for each address line of the
    /// chip the image's, and the same of each live data line.
    fn settled(&self, mut address: Vec<usize>) -> (Vec<usize>, Vec<(usize, usize)>) {
        let mut planes = self.planes(&address);
        for _ in 0..6 {
            let next = assigned(&self.address_costs(Some(&address), &planes));
            if next == address {
                break;
            }
            address = next;
            planes = self.planes(&address);
        }
        (address, planes)
    }

    fn planes(&self, address: &[usize]) -> Vec<(usize, usize)> {
        let own = assigned(&self.data_costs(address));
        self.live.iter().copied().zip(own).collect()
    }

    /// How much less the chip's sums are than the image's, as wrong bytes make them.
    fn shrunk(&self, chip: usize, own: usize) -> f32 {
        let sum = |side: &Spectrum, plane| -> f32 {
            (0..side.lines).map(|a| side.turn(a, plane).abs()).sum()
        };
        let (now, was) = (sum(&self.to, chip), sum(&self.from, own));
        if was > 0.0 {
            (now / was).clamp(0.9, 1.0)
        } else {
            1.0
        }
    }

    /// What it costs to take each of the image's address lines for each of the chip's, in these data lines: by pairs with
    /// the other lines as they are matched, or by all their pairs in order.
    fn address_costs(&self, matched: Option<&[usize]>, planes: &[(usize, usize)]) -> Vec<Vec<f32>> {
        let lines = self.to.lines;
        let mut costs = vec![vec![0.0; lines]; lines];
        for &(chip, own) in planes {
            let turns = self.shrunk(chip, own);
            let others = turns.sqrt();
            let sorted = |side: &Spectrum, line: usize, plane: usize, scale: f32| -> Vec<f32> {
                let pairs = (0..lines).filter(|other| *other != line);
                let mut pairs: Vec<f32> = pairs
                    .map(|other| side.pair(line, other, plane).abs() * scale)
                    .collect();
                pairs.sort_by(f32::total_cmp);
                pairs
            };
            let in_order = matched.is_none().then(|| {
                let to: Vec<_> = (0..lines).map(|a| sorted(&self.to, a, chip, 1.0)).collect();
                let from = (0..lines).map(|a| sorted(&self.from, a, own, others));
                (to, from.collect::<Vec<_>>())
            });
            for (a, row) in costs.iter_mut().enumerate() {
                for (image, cost) in row.iter_mut().enumerate() {
                    *cost += (self.from.turn(image, own) * turns - self.to.turn(a, chip)).abs();
                    let lean = self.from.lean(image, own).abs() * others;
                    *cost += (lean - self.to.lean(a, chip).abs()).abs();
                    if let Some((to, from)) = &in_order {
                        let pairs = to[a].iter().zip(&from[image]);
                        *cost += pairs.map(|(to, from)| (to - from).abs()).sum::<f32>();
                    }
                    for (b, &other) in matched.iter().flat_map(|m| m.iter().enumerate()) {
                        // The line that is matched with this one now would swap with it.
                        let other = match (matched, other == image) {
                            (Some(matched), true) => matched[a],
                            _ => other,
                        };
                        if b != a && other != image {
                            let pair = self.from.pair(image, other, own).abs() * others;
                            *cost += (pair - self.to.pair(a, b, chip).abs()).abs();
                        }
                    }
                }
            }
        }
        costs
    }

    /// What it costs to take each of the image's data lines for each live one of the chip.
    fn data_costs(&self, address: &[usize]) -> Vec<Vec<f32>> {
        let cost = |chip: usize, own: usize| {
            let turns = self.shrunk(chip, own);
            let others = turns.sqrt();
            let apart = |image: f32, chip: f32| (image.abs() * others - chip.abs()).abs();
            let mut cost = apart(self.from.one(own), self.to.one(chip));
            for (a, &image) in address.iter().enumerate() {
                cost += (self.from.turn(image, own) * turns - self.to.turn(a, chip)).abs();
                cost += apart(self.from.lean(image, own), self.to.lean(a, chip));
                for (b, &other) in address.iter().enumerate().skip(a + 1) {
                    cost += apart(self.from.pair(image, other, own), self.to.pair(a, b, chip));
                }
            }
            cost
        };
        let row = |chip: &usize| (0..self.from.data).map(|own| cost(*chip, own)).collect();
        self.live.iter().map(row).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::recovery::figures::Figures;
    use crate::faults::recovery::testing::program;
    use crate::wiring::{Lookup, Width, Wiring};

    const ADDRESS: [u8; 11] = [3, 10, 0, 7, 1, 9, 4, 2, 6, 5, 8];
    const DATA: [u8; 8] = [1, 0, 2, 7, 4, 5, 6, 3];

    fn wiring() -> Wiring {
        let wiring = Wiring::new(Width::Eight, ADDRESS.to_vec(), DATA.to_vec()).unwrap();
        wiring.inverting(0x4A5, 0x3C).unwrap()
    }

    fn wired(image: &[u16]) -> Vec<u16> {
        let lookup = Lookup::new(&wiring());
        (0..image.len()).map(|at| lookup.cell(image, at)).collect()
    }

    fn matching(from: &[u16], to: &[u16]) -> Matching {
        let spectrum = |image: &[u16]| Spectrum::of(image, &Figures::of(image, Width::Eight));
        Matching {
            from: spectrum(from),
            to: spectrum(to),
            live: (0..8).collect(),
        }
    }

    /// Taking each line for what it is costs nothing, and taking it for another one does: without any matched line, and with
    /// all of them.
    #[test]
    fn the_right_lines_cost_nothing() {
        let image = program();
        let found = matching(&image, &wired(&image));
        let planes: Vec<(usize, usize)> = DATA.map(usize::from).into_iter().enumerate().collect();
        let right = ADDRESS.map(usize::from);
        for matched in [None, Some(&right[..])] {
            let costs = found.address_costs(matched, &planes);
            for (a, row) in costs.iter().enumerate() {
                for (image, cost) in row.iter().enumerate() {
                    let is_right = image == right[a];
                    assert_eq!(*cost < 0.01, is_right, "A{a} as A{image}: {cost}");
                }
            }
        }
        let costs = found.data_costs(&right);
        for (d, row) in costs.iter().enumerate() {
            for (image, cost) in row.iter().enumerate() {
                assert_eq!(*cost < 0.01, image == usize::from(DATA[d]), "D{d}: {cost}");
            }
        }
        assert_eq!(found.starts()[0], right);
        assert_eq!(found.settled(right.to_vec()), (right.to_vec(), planes));
        // From two swapped lines too.
        let mut swapped = right.to_vec();
        swapped.swap(2, 9);
        assert_eq!(found.settled(swapped).0, right);
    }

    fn found(read: &[u16]) -> Option<Trial> {
        let image = program();
        let figures = [&image[..], read].map(|image| Figures::of(image, Width::Eight));
        let [from, to] = [(&image[..], &figures[0]), (read, &figures[1])]
            .map(|(image, figures)| Side { image, figures });
        search(from, to, &mut Budget::new(image.len()))
    }

    /// One byte in fifty of 2,048 are 40; a dead line counts for none of them.
    #[test]
    fn a_wiring_is_found_though_bytes_are_wrong() {
        let right = wired(&program());
        let wrong = |count: usize, mask: u16| {
            let mut read: Vec<u16> = right.iter().map(|cell| cell & mask).collect();
            for n in 0..count {
                read[n * 51 + 7] ^= 0x11;
            }
            read
        };
        for (count, mask) in [(0, 0xFF), (40, 0xFF), (30, 0xBF)] {
            let found = found(&wrong(count, mask)).unwrap();
            let dead: &[(u8, bool)] = if mask == 0xFF { &[] } else { &[(6, false)] };
            assert_eq!((found.wrong, &found.dead[..]), (count, dead));
            assert_eq!(found.wiring.address(), ADDRESS);
            assert_eq!(found.wiring.address_inverted(), 0x4A5);
            assert_eq!(found.wiring.data(), DATA);
        }
        assert!(found(&wrong(40, 0xFF)).is_some() && found(&wrong(41, 0xFF)).is_none());
        assert!(found(&[0xFF; 2048]).is_none(), "all lines are dead");
    }

    /// A line that never moves, or in so few cells that these may be wrong, can't be compared; unless the image's does not
    /// move either.
    #[test]
    fn live_lines() {
        let image = program();
        let live_in = |image: &[u16], read: &[u16]| {
            let figures = [image, read].map(|image| Figures::of(image, Width::Eight));
            let [from, to] = [(image, &figures[0]), (read, &figures[1])]
                .map(|(image, figures)| Side { image, figures });
            live(from, to)
        };
        assert_eq!(live_in(&image, &image), 0xFF);
        let stuck: Vec<u16> = image.iter().map(|cell| cell | 0x40).collect();
        assert_eq!(live_in(&image, &stuck), 0xBF);
        assert_eq!(live_in(&stuck, &stuck), 0xFF);
        let with_wrong = |count: usize| {
            let mut read = stuck.clone();
            read.iter_mut().take(count).for_each(|cell| *cell &= !0x40);
            live_in(&image, &read)
        };
        assert_eq!((with_wrong(40), with_wrong(41)), (0xBF, 0xFF));
    }
}
