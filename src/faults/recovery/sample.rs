//! A guessed wiring held against some cells of both images, and mended where others would fit better.

use super::assignment::assigned;
use crate::wiring::{Lookup, Width, Wiring};

/// Cells that show something, and others, in a sample.
const TELLING: usize = 2048;
const OTHERS: usize = 512;

/// How a chip's lines may be wired.
#[derive(Clone, PartialEq)]
pub(super) struct Guess {
    /// For each address line of the chip the image's.
    pub address: Vec<usize>,
    /// The chip's address lines that are inverted; bit i is line i.
    pub turned: usize,
    /// For each data line of the chip the image's.
    pub data: Vec<usize>,
    /// The chip's data lines that are inverted.
    pub data_turned: u16,
}

impl Guess {
    pub fn of_addresses(address: Vec<usize>, turned: usize, width: Width) -> Self {
        Guess {
            address,
            turned,
            data: (0..usize::from(width.lines())).collect(),
            data_turned: 0,
        }
    }

    pub fn wiring(&self, width: Width) -> Option<Wiring> {
        let lines = |list: &[usize]| list.iter().map(|line| *line as u8).collect();
        let wiring = Wiring::new(width, lines(&self.address), lines(&self.data)).ok()?;
        wiring.inverting(self.turned as u32, self.data_turned).ok()
    }

    /// With the wires of two address lines swapped, and those lines of the chip turned besides.
    fn swapped(&self, one: usize, other: usize, turn: usize) -> Self {
        let mut guess = self.clone();
        guess.address.swap(one, other);
        guess.turned ^= (turn & 1) << one | (turn >> 1) << other;
        guess
    }
}

/// Some cells of a chip.
pub(super) struct Sample<'a> {
    from: &'a [u16],
    width: Width,
    /// Data lines of the chip that can be held against the image's; bit i is line i.
    live: u16,
    /// Addresses in the chip, with what the cells hold.
    cells: Vec<(usize, u16)>,
    /// For each data line of the chip its levels in the cells, packed.
    planes: Vec<Vec<u64>>,
}

impl<'a> Sample<'a> {
    pub fn new(from: &'a [u16], to: &[u16], width: Width, live: u16) -> Self {
        let usual = usual(to);
        let telling: Vec<usize> = (0..to.len()).filter(|at| to[*at] != usual).collect();
        let spread = |from: usize, count: usize| {
            let count = from.min(count);
            (0..count).map(move |n| n * from / count)
        };
        let mut at: Vec<usize> = spread(telling.len(), TELLING).map(|n| telling[n]).collect();
        at.extend(spread(to.len(), OTHERS));
        let cells: Vec<(usize, u16)> = at.into_iter().map(|at| (at, to[at])).collect();
        let planes = packed(cells.iter().map(|(_, cell)| *cell), width);
        Sample {
            from,
            width,
            live,
            cells,
            planes,
        }
    }

    /// Bits that can agree.
    pub fn bits(&self) -> u32 {
        self.cells.len() as u32 * self.live.count_ones()
    }

    /// Gives the chip's data lines, as the addresses are guessed, the image's that they agree with most; says in how many
    /// bits.
    pub fn fit_data(&self, guess: &mut Guess) -> u32 {
        let image = self.cells.iter().map(|(at, _)| self.from[original(guess, *at)]);
        let image = packed(image, self.width);
        let agreeing = |chip: &[u64], image: &[u64]| -> u32 {
            let words = chip.iter().zip(image);
            let differ: u32 = words.map(|(a, b)| (a ^ b).count_ones()).sum();
            self.cells.len() as u32 - differ
        };
        let agree: Vec<Vec<u32>> = self
            .planes
            .iter()
            .map(|chip| image.iter().map(|image| agreeing(chip, image)).collect())
            .collect();
        let best = |agree: u32| agree.max(self.cells.len() as u32 - agree);
        // Lines that can't be held against the image's take what the others leave.
        let weight = |line: usize| if self.live >> line & 1 == 1 { 64.0 } else { 1.0 };
        let costs: Vec<Vec<f32>> = agree
            .iter()
            .enumerate()
            .map(|(line, row)| row.iter().map(|a| -(best(*a) as f32) * weight(line)).collect())
            .collect();
        guess.data = assigned(&costs);
        guess.data_turned = 0;
        let mut sum = 0;
        for (line, own) in guess.data.iter().enumerate() {
            let agree = agree[line][*own];
            if agree < best(agree) {
                guess.data_turned |= 1 << line;
            }
            if self.live >> line & 1 == 1 {
                sum += best(agree);
            }
        }
        sum
    }

    /// The bits that agree, when the data lines are as guessed.
    fn agreeing(&self, guess: &Guess, table: &Lookup) -> u32 {
        let cells = self.cells.iter();
        let differ = cells.map(|&(at, cell)| {
            let wired = table.value(self.from[original(guess, at)]);
            ((wired ^ cell) & self.live).count_ones()
        });
        self.bits() - differ.sum::<u32>()
    }

    /// Swaps and inverts address lines for as long as more bits agree; says how many do.
    pub fn climb(&self, guess: &mut Guess) -> u32 {
        let mut best = self.fit_data(guess);
        for _ in 0..2 * guess.address.len() {
            let Some((next, bits)) = self.better(guess, best) else {
                break;
            };
            *guess = next;
            best = self.fit_data(guess).max(bits);
        }
        self.fit_data(guess)
    }

    fn better(&self, guess: &Guess, bits: u32) -> Option<(Guess, u32)> {
        let table = Lookup::new(&guess.wiring(self.width)?);
        let lines = guess.address.len();
        let turned = (0..lines).map(|line| Guess {
            turned: guess.turned ^ 1 << line,
            ..guess.clone()
        });
        let swapped = (0..lines).flat_map(|one| {
            let pairs = (0..one).flat_map(move |other| (0..4).map(move |turn| (one, other, turn)));
            pairs.map(|(one, other, turn)| guess.swapped(one, other, turn))
        });
        let all = turned.chain(swapped).map(|guess| {
            let bits = self.agreeing(&guess, &table);
            (guess, bits)
        });
        all.reduce(|best, next| if next.1 > best.1 { next } else { best })
            .filter(|best| best.1 > bits)
    }

    /// Guesses with two lines swapped that fit these cells about as well.
    pub fn rivals(&self, guess: &Guess) -> Vec<Guess> {
        let Some(wiring) = guess.wiring(self.width) else {
            return Vec::new();
        };
        let table = Lookup::new(&wiring);
        let near = self.agreeing(guess, &table).saturating_sub(4);
        let lines = guess.address.len();
        let addresses = (0..lines).flat_map(|one| {
            let pairs = (0..one).flat_map(move |other| (0..4).map(move |turn| (one, other, turn)));
            pairs.map(|(one, other, turn)| guess.swapped(one, other, turn))
        });
        let mut rivals: Vec<Guess> = addresses
            .filter(|guess| self.agreeing(guess, &table) >= near)
            .collect();
        for one in 0..guess.data.len() {
            for other in 0..one {
                let mut next = guess.clone();
                next.data.swap(one, other);
                let fits = |guess: &Guess| {
                    let wiring = guess.wiring(self.width)?;
                    Some(self.agreeing(guess, &Lookup::new(&wiring)))
                };
                if fits(&next).is_some_and(|bits| bits >= near) {
                    rivals.push(next);
                }
            }
        }
        rivals
    }
}

/// The address in the image of a chip's cell.
fn original(guess: &Guess, at: usize) -> usize {
    let at = at ^ guess.turned;
    let lines = guess.address.iter().enumerate();
    lines.fold(0, |a, (i, line)| a | (at >> i & 1) << line)
}

/// The cell that occurs most.
fn usual(cells: &[u16]) -> u16 {
    let mut counts = vec![0u32; 1 << 16];
    cells.iter().for_each(|cell| counts[usize::from(*cell)] += 1);
    let most = (0..=u16::MAX).max_by_key(|cell| counts[usize::from(*cell)]);
    most.unwrap_or_default()
}

/// The levels of each data line, 64 cells in a word.
fn packed(cells: impl Iterator<Item = u16>, width: Width) -> Vec<Vec<u64>> {
    let mut planes = vec![Vec::new(); usize::from(width.lines())];
    for (n, cell) in cells.enumerate() {
        for (line, plane) in planes.iter_mut().enumerate() {
            if n % 64 == 0 {
                plane.push(0);
            }
            if let Some(word) = plane.last_mut() {
                *word |= u64::from(cell >> line & 1) << (n % 64);
            }
        }
    }
    planes
}
