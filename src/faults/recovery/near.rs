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
