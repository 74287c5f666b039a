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
