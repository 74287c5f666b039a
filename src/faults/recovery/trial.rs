//! A wiring compared with every cell of both images.

use super::budget::Budget;
use super::exact::Side;
use super::sample::Guess;
use crate::wiring::{Lookup, Wiring};

/// Cells that may be wrong in a chip of so many: one in fifty.
pub(super) fn most_wrong(cells: usize) -> usize {
    cells / 50
}

/// A wiring, and what it leaves over.
#[derive(Clone)]
pub(super) struct Trial {
    pub wiring: Wiring,
    /// Data lines of the chip that stay at one level, and at which; true is 1.
    pub dead: Vec<(u8, bool)>,
    /// Cells that are not what the wiring, with dead lines at their level, makes of the image.
    pub wrong: usize,
}

impl Trial {
    /// Tries a guess; data lines that are not among the `live` ones may turn out as dead. `None` when the budget is used
    /// up.
    pub fn of(
        guess: &Guess,
        from: Side<'_>,
        to: Side<'_>,
        live: u16,
        budget: &mut Budget,
    ) -> Option<Self> {
        let wiring = guess.wiring(from.figures.width)?;
        let lookup = Lookup::new(&wiring);
        if !budget.spend(to.image.len()) {
            return None;
        }
        let still: Vec<usize> = (0..to.figures.data())
            .filter(|line| live >> line & 1 == 0)
            .collect();
        let mut dead = Vec::new();
        if !still.is_empty() {
            if !budget.spend(to.image.len()) {
                return None;
            }
            let mut wrong = vec![0; still.len()];
            for (at, cell) in to.image.iter().enumerate() {
                let differ = lookup.cell(from.image, at) ^ cell;
                for (line, wrong) in still.iter().zip(&mut wrong) {
                    *wrong += i64::from(differ >> line & 1);
                }
            }
            for (line, wrong) in still.into_iter().zip(wrong) {
                let ones = to.figures.ones[line];
                let zeros = to.figures.size - ones;
                if wrong > ones.min(zeros) {
                    dead.push((line as u8, ones > zeros));
                }
            }
        }
        // Whether a dead line is inverted can't be seen.
        let still = dead.iter().fold(0, |mask, (line, _)| mask | 1u16 << line);
        let (address, data) = (wiring.address_inverted(), wiring.data_inverted());
        let mut trial = Trial {
            wiring: wiring.inverting(address, data & !still).ok()?,
            dead,
            wrong: 0,
        };
        trial.wrong = trial.left_over(from.image, to.image).count();
        Some(trial)
    }

    /// Data lines that are not dead; bit i is line i of the chip.
    pub fn live(&self) -> u16 {
        self.dead
            .iter()
            .fold(!0, |live, (line, _)| live & !(1 << line))
    }

    /// The cells that are left over.
    pub fn left_over<'a>(
        &self,
        from: &'a [u16],
        to: &'a [u16],
    ) -> impl Iterator<Item = usize> + use<'a> {
        let lookup = Lookup::new(&self.wiring);
        let live = self.live();
        let levels = self.dead.iter().filter(|(_, high)| *high);
        let levels = levels.fold(0u16, |levels, (line, _)| levels | 1 << line);
        (0..to.len()).filter(move |at| lookup.cell(from, *at) & live | levels != to[*at])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::faults::recovery::figures::Figures;
    use crate::wiring::Width;

    fn image() -> Vec<u16> {
        let image = Pattern::Random { seed: 31 }.image(1024).unwrap();
        image.into_iter().map(u16::from).collect()
    }

    fn tried(image: &[u16], read: &[u16], turned: u16, live: u16) -> Trial {
        let figures = [image, read].map(|image| Figures::of(image, Width::Eight));
        let [from, to] = [(image, &figures[0]), (read, &figures[1])]
            .map(|(image, figures)| Side { image, figures });
        let mut guess = Guess::of_addresses((0..10).collect(), 0, Width::Eight);
        guess.data_turned = turned;
        Trial::of(&guess, from, to, live, &mut Budget::new(1024)).unwrap()
    }

    #[test]
    fn one_byte_in_fifty_may_be_wrong() {
        assert_eq!([49, 50, 99, 100, 1024].map(most_wrong), [0, 1, 1, 2, 20]);
    }

    /// Three bytes are wrong; what is dead is told by its level, and is not wrong anywhere.
    #[test]
    fn what_is_left_over_is_counted() {
        let image = image();
        let mut read = image.clone();
        for at in [0, 500, 1023] {
            read[at] ^= 0x81;
        }
        let trial = tried(&image, &read, 0, 0xFF);
        assert_eq!(
            (trial.wrong, trial.dead.len(), trial.live()),
            (3, 0, 0xFFFF)
        );
        let left: Vec<usize> = trial.left_over(&image, &read).collect();
        assert_eq!(left, [0, 500, 1023]);
        for (high, level) in [(true, 0x20), (false, 0x00)] {
            let stuck: Vec<u16> = read.iter().map(|cell| cell & 0xDF | level).collect();
            let trial = tried(&image, &stuck, 0, 0xDF);
            assert_eq!((&trial.dead[..], trial.wrong), (&[(5, high)][..], 3));
            assert_eq!(trial.live(), 0xFFDF);
            // That it is inverted can't be seen, and is not said.
            let trial = tried(&image, &stuck, 0x20, 0xDF);
            assert!(trial.wiring.is_straight() && trial.dead == [(5, high)]);
            // A line that is taken for live is wrong in half of the cells.
            let trial = tried(&image, &stuck, 0, 0xFF);
            assert!(trial.dead.is_empty() && trial.wrong > 400);
        }
        // One that may be dead, and reads as the image has it, is not.
        let trial = tried(&image, &read, 0, 0xDF);
        assert!(trial.dead.is_empty() && trial.wrong == 3);
        // A wrong level in a few cells of a dead line is left over.
        let mut stuck: Vec<u16> = image.iter().map(|cell| cell | 0x20).collect();
        stuck[77] ^= 0x20;
        let trial = tried(&image, &stuck, 0, 0xDF);
        assert_eq!((&trial.dead[..], trial.wrong), (&[(5, true)][..], 1));
    }
}
