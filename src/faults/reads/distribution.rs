//! What else the wavering cells have in common, where it is more than chance.

use std::ops::RangeInclusive;

use super::observed::Observed;
use super::story::ReadsStory;
use crate::faults::cost::{LIKELY, choose, integer, log2, place};

/// Something that wavering cells have in common, apart from their story.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Distribution {
    /// They are only where this address line has this level.
    Half {
        /// The address line.
        line: u8,
        /// The level it has there.
        high: bool,
    },
    /// They are in this part of at most a sixteenth of the chip; indices of bytes.
    Region(RangeInclusive<usize>),
    /// There are more of them at higher addresses: in every quarter at least half as many again.
    Growing,
}

/// That there is something to say, before what it is.
const A_DISTRIBUTION: f64 = 3.0;
/// A region is at most one in so many of the chip.
const SMALL: usize = 16;

/// What saves at least as many bits as a likely story does, told of which cells waver. Where the story itself says
/// which cells can waver, nothing is said.
pub(super) fn distributions(seen: &Observed, story: &ReadsStory) -> Vec<Distribution> {
    let any_cell = matches!(
        story,
        ReadsStory::WeakCells | ReadsStory::Noise | ReadsStory::DataLine(_)
    );
    let (Some(first), Some(last), true) = (seen.cells.first(), seen.cells.last(), any_cell) else {
        return Vec::new();
    };
    let (first, last) = (first.at, last.at);
    let (size, waver) = (seen.size(), seen.cells.len());
    let anywhere = choose(size, waver);
    let worth = |bits: f64| anywhere - bits >= LIKELY;
    let mut found = Vec::new();

    let reach = last - first + 1;
    let ends = place(first, size) + place(last + 1, size);
    if reach <= size / SMALL && worth(A_DISTRIBUTION + ends + choose(reach, waver)) {
        let bytes = seen.width.bytes();
        found.push(Distribution::Region(
            first * bytes..=last * bytes + bytes - 1,
        ));
    } else {
        for line in 0..seen.address_lines() {
            let high = seen.cells.iter().filter(|cell| cell.at >> line & 1 == 1);
            let high = high.count();
            let which = log2(seen.address_lines().into()) + 1.0;
            if (high == 0 || high == waver)
                && worth(A_DISTRIBUTION + which + choose(size / 2, waver))
            {
                let high = high != 0;
                found.push(Distribution::Half { line, high });
            }
        }
    }
    let mut quarters = [0; 4];
    for cell in &seen.cells {
        quarters[(cell.at * 4 / size).min(3)] += 1;
    }
    let grow = quarters.windows(2).all(|two| two[1] * 2 >= two[0] * 3) && quarters[2] > 0;
    let counts: f64 = quarters.iter().map(|&n| integer(n + 1)).sum();
    let inside: f64 = quarters.iter().map(|&n| choose(size.div_ceil(4), n)).sum();
    if grow && found.is_empty() && worth(A_DISTRIBUTION + counts + inside) {
        found.push(Distribution::Growing);
    }
    found
}
