//! When an explanation is more than chance: what it saves, in bits, against what it costs to name it.
//!
//! A bit is a coin toss: what saves n bits more than it costs would fit a read that it has nothing to do with once in 2^n.

use super::models::{Model, Story};
use super::outcome::Verdict;
use super::search::Score;

/// What an explanation has to save before it counts as certain: chance then gives one wrong answer in 65,536 reads.
const ENOUGH: f64 = 16.0;

/// What evidence for a model has to come to that leaves open which cells it hits.
///
/// 12 bits more than [`ENOUGH`], for such evidence is counted before the choice of the model is paid for: 6 kinds, on at
/// most 40 lines or with 6 page sizes, are fewer than 2^6. And it takes each bit for a coin toss, which neighbouring
/// cells of a program are not; as much again is allowed for that.
const ENOUGH_OPEN: f64 = ENOUGH + 12.0;

/// The least that is known by knowing which bit of a cell turned: a byte has 2^3, a word more.
const BIT_OF_A_CELL: f64 = 3.0;

/// Naming one model without a measure: a chip of 32 KiB whose cells' kind is known has about 2^11 of them, nearly all of
/// them faults of one or two lines. A test counts them.
const A_MODEL: f64 = 11.0;

/// Beside how far everything has moved: up or down, and whether what left came in again at the other end.
const BESIDE_A_SHIFT: f64 = 2.0;

/// Beside the address at which burning stopped: which of some 2^4 kinds of model it is. A shift looks like no other kind,
/// an erased end like several.
const BESIDE_A_STOP: f64 = 4.0;

/// Six page sizes (2.6 bits), and how much of a page of up to 512 cells was written (9 bits).
const A_CUT_PAGE: f64 = 12.0;

/// By how much a regular model has to be cheaper than naming which pages were left out, one bit each: 256 times as likely.
const OVER_LEFT_PAGES: f64 = 8.0;

/// No smaller part has pages (common practice).
const LEAST_WITH_PAGES: f64 = 2048.0;

/// Fewer differing cells can't tell one pair of models from the others: there are 2^20 pairs and more, and each cell that
/// is explained saves 3 bits, so 7 cells only pay for the choice.
pub(super) const FEW_FOR_PAIRS: usize = 8;

/// Fewer differing cells could be anything, and no near miss is looked for: at most one cell could be left over.
pub(super) const FEW: usize = 64;

/// A model that is wrong in no more than one of so many differing cells explains nearly everything.
const NEARLY: usize = 50;

/// Whether a model leaves next to nothing over.
pub(super) fn nearly(score: Score) -> bool {
    score.wrong() * NEARLY <= score.differing
}

/// Whether a model that is wrong somewhere is worth naming: it explains more than it gets wrong.
pub(super) fn helps(score: Score) -> bool {
    2 * score.wrong() < score.differing
}

/// Whether so many bits of evidence speak for a model that leaves open which cells it hits.
pub(super) fn convinces(evidence: f64) -> bool {
    evidence >= ENOUGH_OPEN
}

/// Whether an exact explanation is more than chance.
///
/// Each cell explained would have cost a random fault its address and the bit it turned; the models cost the choice among
/// their kind, and their measures. `pages` are those in which something had to be written, when the read would also fit
/// pages that were left out.
pub(super) fn weigh(equals: &[Story], score: Score, pages: Option<usize>) -> Verdict {
    let size = (score.differing + score.equal) as f64;
    let address_bits = size.log2();
    let gain = score.explained as f64 * (address_bits + BIT_OF_A_CELL);
    let cost = |explanation: &Story| -> f64 {
        let models = explanation.models();
        models.map(|model| cost(model, address_bits)).sum()
    };
    let cheapest = equals.iter().map(cost).fold(f64::INFINITY, f64::min);
    // Where pages are merely missing, which of them are looks like chance or it doesn't.
    let by_chance =
        |pages: usize| size >= LEAST_WITH_PAGES && (pages as f64) < cheapest + OVER_LEFT_PAGES;
    if gain - cheapest >= ENOUGH && !pages.is_some_and(by_chance) {
        Verdict::Certain
    } else {
        Verdict::Possible
    }
}

fn cost(model: Model, address_bits: f64) -> f64 {
    match model {
        Model::Shifted { .. } => address_bits + BESIDE_A_SHIFT,
        Model::Stopped { .. } => address_bits + BESIDE_A_STOP,
        Model::PageCut { .. } => A_CUT_PAGE,
        _ => A_MODEL,
    }
}

/// Pages in which something had to be written. A page is a 256th of the part, but 64 to 512 cells: large parts have large
/// pages, and where the size isn't known, the larger one is the safer (common practice).
pub(super) fn pages_with_content(wanted: &[u16], erased: u16) -> usize {
    let page = (wanted.len() / 256).clamp(64, 512);
    let pages = wanted.chunks(page);
    pages
        .filter(|page| page.iter().any(|&cell| cell != erased))
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::models::{Cells, LineFault, Shape};

    #[test]
    fn a_model_costs_what_it_takes_to_name_it() {
        let shape = Shape {
            address_lines: 15,
            data_lines: 8,
            cells: Some(Cells::OnlyClear),
        };
        let address = LineFault::all(15);
        let address: usize = address
            .iter()
            .map(|fault| shape.times(*fault).count())
            .sum();
        let models = address + LineFault::all(8).len() + shape.fixed().len();
        let bits = (models as f64).log2();
        assert!((bits - A_MODEL).abs() < 0.5, "{models} models");
    }

    #[test]
    fn a_few_cells_prove_nothing() {
        let score = |differing| Score {
            differing,
            explained: differing,
            equal: 32768 - differing,
            broken: 0,
        };
        let inverted = [Model::AllInverted.into()];
        // 18 bits a cell against 11 and 16.
        assert_eq!(weigh(&inverted, score(1), None), Verdict::Possible);
        assert_eq!(weigh(&inverted, score(2), None), Verdict::Certain);
        assert_eq!(weigh(&inverted, score(2), Some(3)), Verdict::Possible);
        assert_eq!(weigh(&inverted, score(2), Some(20)), Verdict::Certain);
    }
}
