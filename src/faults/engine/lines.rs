//! Bad lines and everything else that says what each cell reads: thousands of models on the wanted image, or on what
//! something else has made of it.

use super::edits::{Edited, tell_edits};
use super::ledger::{Ledger, Told};
use super::predict::Images;
use super::search::Search;
use crate::faults::cost::{MANY_STRETCHES, Size, model_bits, story_bits};
use crate::faults::moves::{Index, parse};
use crate::faults::story::{Model, Story};

/// Cells that all models are asked first, how many models are asked more, those cells, and how many of them are compared
/// with every cell.
const SHORT_LOOK: usize = 96;
const AFTER_SHORT_LOOK: usize = 160;
const LONG_LOOK: usize = 1024;
const HELD: usize = 64;
/// About what a cell costs that a model says wrongly, for choosing among models.
const A_CELL: f64 = 8.0;
/// A model that looks this much more expensive than the cheapest story until now is not compared.
const DEARER: f64 = 4.0;
const DEARER_BY: f64 = 400.0;
/// A model that leaves more than three fifths over leaves more than half, if the sample is any good, when this many cells differ.
const PASSENGER: (usize, usize) = (5, 3);
const ENOUGH_TO_TELL: usize = 256;
/// Lines on which a moved block is looked for.
const WITH_BLOCKS: usize = 3;
/// A cheaper story than this needs no block beside a line.
const NEEDS_BLOCKS: f64 = 40.0;
/// A cheaper story than this is cheaper than every two lines.
const NEEDS_PAIRS: f64 = 14.0;
/// Probes, of the first that pairs are asked, that a pair may fail.
const MISSES: usize = 1;
/// Pairs that are kept while searching, and compared with every cell.
const KEPT_PAIRS: usize = 64;
const HELD_PAIRS: usize = 48;

/// What the models are tried on.
pub(super) struct LineSearch<'a> {
    pub images: Images<'a>,
    /// The read in bytes.
    pub read: &'a [u8],
    pub size: Size,
    pub pairs: bool,
    /// What made this image of the wanted one, and its cost.
    pub base: Option<(Model, f64)>,
}

impl LineSearch<'_> {
    fn story(&self, model: Model) -> Story {
        match &self.base {
            None => model.into(),
            Some((base, _)) => Story::two(base.clone(), model),
        }
    }

    fn bits(&self, model: &Model) -> f64 {
        match &self.base {
            None => model_bits(model, self.size),
            Some((base, extra)) => {
                story_bits(&Story::two(base.clone(), model.clone()), self.size) + extra
            }
        }
    }
}

/// Tries them all.
pub(super) fn tell_lines(ledger: &mut Ledger, on: &LineSearch) {
    let read = ledger.read;
    let mut search = Search::new(on.images, read);
    let looked = |search: &Search, model: Model, cells: usize| {
        let predicted = on.images.predicted(&model, None)?;
        let wrong = search.sampled(predicted, cells) as f64;
        Some((on.bits(&model) + A_CELL * wrong, model))
    };
    let cheapest_first = |all: &mut Vec<(f64, Model)>, most: usize| {
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.truncate(most);
    };
    // What explains everything is never dropped for how it looks: most of the others fall at the first few cells.
    let mut open = Vec::new();
    for model in search.single_models() {
        let Some(predicted) = on.images.predicted(&model, None) else {
            continue;
        };
        match search.holds(&predicted) {
            true => {
                ledger.hold(on.bits(&model), &predicted, || on.story(model.clone()));
            }
            false => open.push(model),
        }
    }
    let all = open.into_iter();
    let mut all: Vec<(f64, Model)> = all.filter_map(|m| looked(&search, m, SHORT_LOOK)).collect();
    cheapest_first(&mut all, AFTER_SHORT_LOOK);
    let longer = all
        .into_iter()
        .filter_map(|(_, m)| looked(&search, m, LONG_LOOK));
    let mut all: Vec<(f64, Model)> = longer.collect();
    cheapest_first(&mut all, HELD);

    let plain = search.differing().len();
    let mut with_blocks: Vec<Vec<u8>> = Vec::new();
    for (estimate, model) in all {
        let Some(predicted) = on.images.predicted(&model, None) else {
            continue;
        };
        let far = estimate > ledger.bound * DEARER + DEARER_BY;
        let sampled = search.sampled(&predicted, LONG_LOOK);
        if is_passenger(sampled, plain) {
            continue;
        }
        let explains_half = || 2 * sampled <= plain;
        let blocks = on.base.is_none() && model.is_line() && with_blocks.len() < WITH_BLOCKS;
        if far && !(blocks && explains_half()) {
            continue;
        }
        // What the line leaves over may itself have moved: a line and a block are two facts, not a hundred moves. So
        // it is looked for before the line is dropped for what it leaves over.
        if blocks && ledger.bound > NEEDS_BLOCKS {
            let made = in_bytes(on, &predicted, read.len());
            let wrong = (0..read.len()).filter(|&a| predicted(a) != read[a]).count();
            if wrong >= 8 && 2 * wrong < plain && !with_blocks.contains(&made) {
                line_and_blocks(ledger, on, &model, &made);
                with_blocks.push(made);
            }
        }
        ledger.hold(on.bits(&model), &predicted, || on.story(model.clone()));
    }
    if on.base.is_none() {
        for model in search.exact_shifts().into_iter().take(4) {
            if let Some(predicted) = on.images.predicted(&model, None) {
                ledger.hold(on.bits(&model), &predicted, || model.clone().into());
            }
        }
    }
    if on.pairs && ledger.bound > NEEDS_PAIRS && plain >= 3 {
        tell_pairs(ledger, on, &mut search);
    }
}

/// Whether a model leaves so much over, as far as the sample shows, that it can't be the answer: the list of what differs does
/// without it.
fn is_passenger(sampled: usize, plain: usize) -> bool {
    plain >= ENOUGH_TO_TELL && PASSENGER.0 * sampled > PASSENGER.1 * plain
}

fn in_bytes(on: &LineSearch, predicted: &dyn Fn(usize) -> u16, cells: usize) -> Vec<u8> {
    match on.size.data_lines {
        8 => (0..cells).map(|a| predicted(a) as u8).collect(),
        _ => (0..cells)
            .flat_map(|a| predicted(a).to_le_bytes())
            .collect(),
    }
}

/// A line, and blocks of what it makes that are elsewhere.
fn line_and_blocks(ledger: &mut Ledger, on: &LineSearch, line: &Model, made: &[u8]) {
    let index = Index::of(made);
    let parse = parse(made, &index, on.read, ledger.literals);
    let moves = parse.moves();
    let story = Story::two(line.clone(), Model::Moves(moves));
    let bits = story_bits(&story, on.size) + parse.bits;
    if !ledger.hopeless(bits) {
        ledger.add(Told {
            story,
            bits,
            wrong: moves.new,
            left: None,
            print: None,
            list: parse.tokens.len() > MANY_STRETCHES,
            passenger: false,
        });
    }
    let line_bits = story_bits(&Story::two(line.clone(), Model::Edits(Vec::new())), on.size);
    let edited = Edited {
        wanted: made,
        read: on.read,
        index: &index,
        parse: &parse,
        erased: on.images.shape.erased,
        bits: line_bits,
    };
    tell_edits(ledger, &edited, |edits| Story::two(line.clone(), edits));
}

/// Two lines at once: a million pairs, nearly all of which a few probes refute.
fn tell_pairs(ledger: &mut Ledger, on: &LineSearch, search: &mut Search) {
    let mut best: Vec<(f64, Model, Model)> = Vec::new();
    let mut worst = f64::INFINITY;
    let plain = search.differing().len();
    let cheapest_first = |best: &mut Vec<(f64, Model, Model)>, most: usize| {
        best.sort_by(|a, b| a.0.total_cmp(&b.0));
        best.truncate(most);
    };
    search.each_pair(MISSES, |search, pair| {
        let wrong = search.glimpsed(pair.predicted());
        if wrong == usize::MAX || is_passenger(wrong, plain) {
            return;
        }
        let story = Story::two(pair.first.clone(), pair.second.clone());
        let bits = story_bits(&story, on.size) + A_CELL * wrong as f64;
        if bits < worst {
            best.push((bits, pair.first.clone(), pair.second.clone()));
            if best.len() > 8 * KEPT_PAIRS {
                cheapest_first(&mut best, KEPT_PAIRS);
                worst = best.last().map_or(f64::INFINITY, |last| last.0);
            }
        }
    });
    cheapest_first(&mut best, HELD_PAIRS);
    for (estimate, first, second) in best {
        if estimate > ledger.bound * DEARER + DEARER_BY {
            continue;
        }
        if let Some(predicted) = on.images.predicted(&first, Some(&second)) {
            let story = Story::two(first, second);
            ledger.hold(story_bits(&story, on.size), &predicted, || story.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::faults::cost::Literals;
    use crate::faults::line_fault::LineFault;
    use crate::faults::shape::Shape;
    use crate::faults::story::Edit;
    use crate::wiring::Width;

    const CELLS: usize = 2048;
    const SIZE: Size = Size {
        cells: CELLS,
        bytes: CELLS,
        data_lines: 8,
        others: 0,
        cousins: 0,
    };

    fn noise() -> Vec<u8> {
        Pattern::Random { seed: 9 }.image(CELLS).unwrap()
    }

    /// The cheapest of what is told when `bound` is the cost of the cheapest story until then.
    fn told(read: &[u8], bound: f64, pairs: bool, base: Option<(Model, f64)>) -> Option<Told> {
        let literals = Literals::of(&[]);
        let wanted = Width::Eight.cells(&noise());
        let cells = Width::Eight.cells(read);
        let mut ledger = Ledger::new(&cells, Width::Eight, &literals);
        ledger.list(Model::NothingInCommon.into(), bound);
        let images = Images {
            shape: Shape {
                address_lines: 11,
                data_lines: 8,
                cells: None,
                erased: 0xFF,
            },
            wanted: &wanted,
            old: None,
            others: &[],
            cousins: &[],
        };
        let size = SIZE;
        tell_lines(
            &mut ledger,
            &LineSearch {
                images,
                read,
                size,
                pairs,
                base,
            },
        );
        ledger.sort();
        ledger.told.into_iter().find(|told| told.bits != bound)
    }

    fn through(fault: LineFault) -> Vec<u8> {
        let image = noise();
        (0..CELLS).map(|a| image[fault.apply(a)]).collect()
    }

    #[test]
    fn a_line_costs_what_it_costs_with_what_made_the_image() {
        let low = Model::reading(LineFault::StuckLow(4));
        let line = 3.0 + 2.0 + 11f64.log2() + 1.0;
        let read = through(LineFault::StuckLow(4));
        let alone = told(&read, 1e6, false, None).unwrap();
        assert_eq!((alone.story, alone.wrong), (low.clone().into(), 0));
        assert!((alone.bits - line).abs() < 1e-9);
        // On what something else made of the image, which cost 7, and 5 for its length.
        let base = Model::AllInverted;
        let second = told(&read, 1e6, false, Some((base.clone(), 5.0))).unwrap();
        assert_eq!(second.story, Story::two(base, low));
        assert!((second.bits - (7.0 + 4.0 + line + 5.0)).abs() < 1e-9);
    }

    /// A line and a block are two facts: the block is looked for in what the line makes.
    #[test]
    fn a_line_and_a_block() {
        let low = Model::reading(LineFault::StuckLow(4));
        let made = through(LineFault::StuckLow(4));
        let mut read = made.clone();
        read[0x300..0x340].copy_from_slice(&made[0x500..0x540]);
        let found = told(&read, 1e6, true, None).unwrap();
        let (from, to, len) = (0x500, 0x300, 0x40);
        let edits = Model::Edits(vec![Edit::Repeated { from, len, to }]);
        assert_eq!((found.story, found.wrong), (Story::two(low, edits), 0));
        // Both, and 3 for the block; 500 hex is 4 and 11 less 8, 300 as much, its length 40 hex 4 and 11 less 6.
        let bits = (6.0 + 11f64.log2()) + 4.0 + 4.0 + 3.0 + 7.0 + 7.0 + 9.0;
        assert!((found.bits - bits).abs() < 1e-9, "{} {bits}", found.bits);
    }

    /// Three quarters of the differences would not be left over by the answer.
    #[test]
    fn passengers_are_told_from_enough_cells() {
        assert!(is_passenger(154, 256) && !is_passenger(153, 256));
        assert!(!is_passenger(255, 255));
        assert!(is_passenger(601, 1000) && !is_passenger(600, 1000));
    }

    #[test]
    fn two_lines_are_tried_where_no_cheap_story_is_known() {
        let image = noise();
        let read: Vec<u8> = (0..CELLS).map(|a| image[a & !4 | 0x100]).collect();
        let found = told(&read, 1e6, true, None).unwrap();
        let models: Vec<Model> = found.story.models().cloned().collect();
        let line = |fault| Model::reading(fault);
        let both = [LineFault::StuckLow(2), LineFault::StuckHigh(8)].map(line);
        assert_eq!((&models[..], found.wrong), (&both[..], 0));
        let one = 11f64.log2();
        assert!((found.bits - (6.0 + one + 4.0 + 1.0 + 2.0 + one)).abs() < 1e-9);
        // Neither when they are not asked for, nor when a cheaper story is known.
        let second = |told: Option<Told>| {
            told.is_some_and(|told| told.story.second.is_some_and(|second| second.is_line()))
        };
        assert!(!second(told(&read, 1e6, false, None)));
        assert!(!second(told(&read, 14.0, true, None)));
        assert!(second(told(&read, 14.1, true, None)));
        // A data line, too, beside an address line and beside another one.
        let read: Vec<u8> = (0..CELLS).map(|a| image[a & !4] | 0x20).collect();
        let found = told(&read, 1e6, true, None).unwrap();
        let second = Model::Data(LineFault::StuckHigh(5));
        assert_eq!(
            found.story,
            Story::two(line(LineFault::StuckLow(2)), second)
        );
        let read: Vec<u8> = image.iter().map(|byte| byte & 0x7F | 0x20).collect();
        let found = told(&read, 1e6, true, None).unwrap();
        assert!(
            found.wrong == 0
                && found
                    .story
                    .models()
                    .all(|model| matches!(model, Model::Data(_)))
        );
    }

    /// Some wrong cells beside two lines, and what is shifted as a whole.
    #[test]
    fn what_is_nearly_right_is_held_too() {
        let image = noise();
        let mut read: Vec<u8> = (0..CELLS).map(|a| image[a & !4 | 0x100]).collect();
        for at in [7, 300, 1111] {
            read[at] ^= 0x42;
        }
        let found = told(&read, 1e6, true, None).unwrap();
        assert_eq!((found.wrong, found.story.models().count()), (3, 2));
        let mut read = through(LineFault::Swapped(2, 9));
        read[70] ^= 0x42;
        let found = told(&read, 1e6, false, None).unwrap();
        let swapped = Model::reading(LineFault::Swapped(2, 9));
        assert_eq!((found.story, found.wrong), (swapped.into(), 1));
        let read: Vec<u8> = (0..CELLS).map(|a| image[(a + 5) % CELLS]).collect();
        let found = told(&read, 1e6, false, None).unwrap();
        assert!(matches!(found.story.first, Model::Shifted { by: -5, .. }));
        let base = Some((Model::AllInverted, 0.0));
        let on_base = told(&read, 1e6, false, base);
        assert!(
            !on_base.is_some_and(|told| matches!(told.story.second, Some(Model::Shifted { .. })))
        );
    }
}
