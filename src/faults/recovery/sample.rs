//! A guessed wiring compared with some cells of both images, and improved where another fits better.

use super::assignment::assigned;
use super::budget::Budget;
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

    /// With one move made.
    fn with(&self, step: Move) -> Self {
        let mut guess = self.clone();
        match step {
            Move::Turn(line) => guess.turned ^= 1 << line,
            Move::Swap(one, other, turn) => {
                guess.address.swap(one, other);
                guess.turned ^= (turn & 1) << one | (turn >> 1) << other;
            }
        }
        guess
    }
}

/// A guess made a little different.
#[derive(Clone, Copy)]
enum Move {
    /// An address line of the chip is inverted, or no longer.
    Turn(usize),
    /// The wires of two address lines of the chip are swapped, and the lines whose bit is set are inverted too.
    Swap(usize, usize, usize),
}

impl Move {
    /// Every swap of two of this many lines.
    fn swaps(lines: usize) -> impl Iterator<Item = Move> {
        let pairs = (0..lines).flat_map(|one| (0..one).map(move |other| (one, other)));
        pairs.flat_map(|(one, other)| (0..4).map(move |turn| Move::Swap(one, other, turn)))
    }

    /// Where the chip's cell is in the image after the move, when it was at `original` before.
    fn original(self, guess: &Guess, at: usize, original: usize) -> usize {
        match self {
            Move::Turn(line) => original ^ 1 << guess.address[line],
            Move::Swap(one, other, turn) => {
                let at = at ^ guess.turned;
                let (of_one, of_other) = ((at >> one ^ turn) & 1, (at >> other ^ turn >> 1) & 1);
                let (first, second) = (guess.address[one], guess.address[other]);
                original & !(1 << first | 1 << second) | of_one << second | of_other << first
            }
        }
    }
}

/// Some cells of a chip.
pub(super) struct Sample<'a> {
    from: &'a [u16],
    width: Width,
    /// Data lines of the chip that can be compared with the image's; bit i is line i.
    live: u16,
    /// Addresses in the chip, with the content of the cells.
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
        let originals = self.originals(guess).into_iter();
        let image = packed(originals.map(|at| self.from[at]), self.width);
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
        // Lines that can't be compared with the image's take what the others leave.
        let weight = |line: usize| {
            if self.live >> line & 1 == 1 {
                64.0
            } else {
                1.0
            }
        };
        let costs: Vec<Vec<f32>> = agree
            .iter()
            .enumerate()
            .map(|(line, row)| {
                row.iter()
                    .map(|a| -(best(*a) as f32) * weight(line))
                    .collect()
            })
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

    /// Where the sample's cells are in the image.
    fn originals(&self, guess: &Guess) -> Vec<usize> {
        let cells = self.cells.iter();
        cells.map(|(at, _)| original(guess, *at)).collect()
    }

    /// The bits that agree after each of these moves, with data lines as they are.
    fn tried(
        &self,
        guess: &Guess,
        moves: impl Iterator<Item = Move>,
        budget: &mut Budget,
    ) -> Vec<(Move, u32)> {
        let Some(wiring) = guess.wiring(self.width) else {
            return Vec::new();
        };
        let table = Lookup::new(&wiring);
        let originals = self.originals(guess);
        let mut tried = Vec::new();
        for step in moves {
            if !budget.spend(self.cells.len()) {
                return Vec::new();
            }
            let cells = self.cells.iter().zip(&originals);
            let differ = cells.map(|(&(at, cell), &original)| {
                let wired = table.value(self.from[step.original(guess, at, original)]);
                ((wired ^ cell) & self.live).count_ones()
            });
            tried.push((step, self.bits() - differ.sum::<u32>()));
        }
        tried
    }

    /// Swaps and inverts address lines for as long as more bits agree.
    pub fn climb(&self, guess: &mut Guess, budget: &mut Budget) {
        let mut best = self.fit_data(guess);
        let lines = guess.address.len();
        // Each round settles a line at least, when there is something to find.
        for _ in 0..lines {
            let moves = (0..lines).map(Move::Turn).chain(Move::swaps(lines));
            let tried = self.tried(guess, moves, budget);
            let next = tried.into_iter().max_by_key(|(_, bits)| *bits);
            let Some((step, _)) = next.filter(|(_, bits)| *bits > best) else {
                break;
            };
            *guess = guess.with(step);
            best = self.fit_data(guess);
        }
    }

    /// Guesses with two lines swapped that fit these cells about as well.
    pub fn rivals(&self, guess: &Guess, budget: &mut Budget) -> Vec<Guess> {
        /// Bits that a rival may have less.
        const SLACK: u32 = 4;
        let agree = |guess: &Guess, budget: &mut Budget| {
            // A line inverted twice is as before.
            let same = Guess {
                turned: guess.turned ^ 1,
                ..guess.clone()
            };
            let tried = self.tried(&same, [Move::Turn(0)].into_iter(), budget);
            tried.first().map_or(0, |(_, bits)| *bits)
        };
        let least = agree(guess, budget).saturating_sub(SLACK);
        let tried = self.tried(guess, Move::swaps(guess.address.len()), budget);
        let near = tried.into_iter().filter(|(_, bits)| *bits >= least);
        let mut rivals: Vec<Guess> = near.map(|(step, _)| guess.with(step)).collect();
        for one in 0..guess.data.len() {
            for other in 0..one {
                let mut next = guess.clone();
                next.data.swap(one, other);
                if agree(&next, budget) >= least {
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
    cells
        .iter()
        .for_each(|cell| counts[usize::from(*cell)] += 1);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    const LINES: usize = 8;

    fn image() -> Vec<u16> {
        let image = Pattern::Random { seed: 21 }.image(1 << LINES).unwrap();
        image.into_iter().map(u16::from).collect()
    }

    fn guess() -> Guess {
        Guess {
            address: vec![3, 0, 7, 1, 4, 2, 6, 5],
            turned: 0x4A,
            data: vec![1, 0, 2, 7, 4, 5, 6, 3],
            data_turned: 0x21,
        }
    }

    fn wired(guess: &Guess, image: &[u16]) -> Vec<u16> {
        let wiring = guess.wiring(Width::Eight).unwrap();
        let lookup = Lookup::new(&wiring);
        (0..image.len()).map(|at| lookup.cell(image, at)).collect()
    }

    /// Where a cell comes from after a move is where the moved guess has it.
    #[test]
    fn moves_are_what_the_moved_guess_says() {
        let guess = guess();
        let moves = (0..LINES).map(Move::Turn).chain(Move::swaps(LINES));
        let mut count = 0;
        for step in moves {
            let moved = guess.with(step);
            for at in 0..1 << LINES {
                let now = step.original(&guess, at, original(&guess, at));
                assert_eq!(now, original(&moved, at));
            }
            count += 1;
        }
        // Each line, and each pair with every inversion.
        assert_eq!(count, LINES + 4 * LINES * (LINES - 1) / 2);
    }

    /// A guess reads what the wiring of its lists reads.
    #[test]
    fn a_guess_is_a_wiring() {
        let (image, guess) = (image(), guess());
        let table = Lookup::new(&guess.wiring(Width::Eight).unwrap());
        let read = wired(&guess, &image);
        for (at, cell) in read.iter().enumerate() {
            assert_eq!(table.value(image[original(&guess, at)]), *cell);
        }
    }

    #[test]
    fn data_lines_follow_from_the_addresses() {
        let (image, right) = (image(), guess());
        let read = wired(&right, &image);
        let sample = Sample::new(&image, &read, Width::Eight, 0xFF);
        let mut found = Guess::of_addresses(right.address.clone(), right.turned, Width::Eight);
        assert_eq!(sample.fit_data(&mut found), sample.bits());
        assert!(found == right);
        // The sample has all cells but the usual one, and as many again.
        assert!(sample.bits() >= 8 * (256 + 250) && sample.bits() <= 8 * 512);
        // D3 is dead, and counts for nothing; the others are as before.
        let dead: Vec<u16> = read.iter().map(|cell| cell & !8).collect();
        let sample = Sample::new(&image, &dead, Width::Eight, 0xF7);
        let mut found = Guess::of_addresses(right.address.clone(), right.turned, Width::Eight);
        assert_eq!(sample.fit_data(&mut found), sample.bits());
        assert_eq!(sample.bits() % 7, 0);
        assert_eq!(found.data, right.data);
    }

    /// Each data line is 1 where enough address lines are, each of which has a weight: so one wrong line changes few cells.
    fn weighted() -> Vec<u16> {
        let weight = |data: usize, line: usize| ((data * LINES + line) * 37 + 11) % 17 + 1;
        let level = |data: usize, at: usize| {
            let lines = (0..LINES).filter(|line| at >> line & 1 == 1);
            let sum: usize = lines.map(|line| weight(data, line)).sum();
            2 * sum > (0..LINES).map(|line| weight(data, line)).sum()
        };
        let cell = |at| (0..8).fold(0, |cell, data| cell | u16::from(level(data, at)) << data);
        (0..1 << LINES).map(cell).collect()
    }

    #[test]
    fn climbing_finds_swapped_and_inverted_lines() {
        let (image, right) = (weighted(), guess());
        let read = wired(&right, &image);
        let sample = Sample::new(&image, &read, Width::Eight, 0xFF);
        let climbed = |steps: &[Move]| {
            let start = steps
                .iter()
                .fold(right.clone(), |guess, step| guess.with(*step));
            let mut guess = Guess::of_addresses(start.address, start.turned, Width::Eight);
            sample.climb(&mut guess, &mut Budget::new(1 << LINES));
            guess == right
        };
        assert!(climbed(&[]));
        assert!(climbed(&[Move::Turn(3)]));
        assert!(climbed(&[Move::Swap(5, 2, 0)]));
        assert!(climbed(&[Move::Swap(7, 0, 3)]));
        assert!(climbed(&[Move::Swap(4, 1, 2)]));
        // Nothing is tried without a budget.
        let mut budget = Budget::new(0);
        budget.spend(1 << 24);
        let mut guess = right.with(Move::Turn(3));
        let before = guess.clone();
        sample.climb(&mut guess, &mut budget);
        assert!(guess.address == before.address && guess.turned == before.turned);
    }

    /// What is tried agrees in as many bits as the cells of the sample do.
    #[test]
    fn bits_that_agree_are_counted() {
        let (image, right) = (image(), guess());
        let read = wired(&right, &image);
        let sample = Sample::new(&image, &read, Width::Eight, 0xF7);
        let moves = || [Move::Turn(2), Move::Swap(4, 1, 1)].into_iter();
        let tried = sample.tried(&right, moves(), &mut Budget::new(256));
        for ((step, bits), wanted) in tried.iter().zip(moves()) {
            let moved = right.with(wanted);
            assert!(right.with(*step) == moved);
            let other = wired(&moved, &image);
            let agree = sample.cells.iter().map(|(at, cell)| {
                assert_eq!(read[*at], *cell);
                (!(other[*at] ^ cell) & 0xF7).count_ones()
            });
            assert_eq!(*bits, agree.sum::<u32>());
        }
        assert_eq!(tried.len(), 2);
    }

    /// In an image in which two lines hardly differ both orders of them are worth a trial.
    #[test]
    fn rivals_are_guesses_that_fit_about_as_well() {
        let image = image();
        let straight = || Guess::of_addresses((0..LINES).collect(), 0, Width::Eight);
        let rivals = |image: &[u16]| {
            let sample = Sample::new(image, image, Width::Eight, 0xFF);
            sample.rivals(&straight(), &mut Budget::new(1 << LINES))
        };
        assert!(rivals(&image).is_empty());
        let swapped = straight().with(Move::Swap(5, 2, 0));
        let alike: Vec<u16> = (0..1 << LINES)
            .map(|a: usize| image[a.min(original(&swapped, a))])
            .collect();
        assert!(rivals(&alike) == [swapped]);
        let mut swapped = straight();
        swapped.data.swap(6, 1);
        let same_data: Vec<u16> = image
            .iter()
            .map(|cell| cell & 0xBF | (cell & 2) << 5)
            .collect();
        assert!(rivals(&same_data) == [swapped]);
    }

    #[test]
    fn cells_are_packed_line_by_line() {
        let cells: Vec<u16> = (0..130).collect();
        let planes = packed(cells.into_iter(), Width::Eight);
        assert_eq!(planes.len(), 8);
        assert_eq!(planes[0], [0xAAAA_AAAA_AAAA_AAAA, 0xAAAA_AAAA_AAAA_AAAA, 2]);
        assert_eq!(planes[6], [0, u64::MAX, 0]);
        assert_eq!(planes[7], [0, 0, 3]);
        assert_eq!(
            (usual(&[7, 9, 9, 7, 9]), usual(&[0xFFFF, 0xFFFF, 1])),
            (9, 0xFFFF)
        );
    }
}
