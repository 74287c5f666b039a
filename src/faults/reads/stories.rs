//! What each story of several reads costs, in bits.
//!
//! A story costs its kind (one that is the cause in one of 2^n wavering chips costs n bits), the choice among all of that kind,
//! and which cells changed in which reads as far as it leaves that open. What it does not explain is noise.

use super::groups::{literals_of, written_out};
use super::observed::Observed;
use super::story::{Oddity, ReadsStory, ToldOfReads};
use crate::faults::cost::{Tally, choose, integer, leftover_bits, log2};

/// Weak cells and noise are the commonest; one of the lines is twice as rare.
const CELLS: f64 = 3.0;
const A_DATA_LINE: f64 = 4.0;
const TOO_EARLY: f64 = 8.0;
/// That of all reads one alone differs would seldom happen by chance, and has to be worth it.
const ODD: f64 = 8.0;
/// In which share of the reads weak cells change.
const A_SHARE: f64 = 4.0;
/// An odd read costs less than this share of what it costs alone when the others are known; otherwise it is of another chip.
const STILL_ONE_CHIP: f64 = 0.75;
/// A read of one byte throughout: which.
const ONE_BYTE: f64 = 9.0;

impl Observed<'_> {
    fn reads_and_cells(&self) -> usize {
        self.count_of_reads() * self.size()
    }

    fn lines(&self) -> usize {
        self.width.lines().into()
    }

    /// Bits that changed anywhere in any read.
    pub(super) fn noise(&self, bits: usize) -> f64 {
        integer(bits + 1) + choose(self.lines() * self.reads_and_cells(), bits)
    }

    /// The same places in all reads, `changes` times in all.
    fn same_places(&self, places: usize, changes: usize, of: usize) -> f64 {
        let times = (places * self.count_of_reads()) as f64;
        let share = changes as f64 / times;
        let each = match share > 0.0 && share < 1.0 {
            true => -share * share.log2() - (1.0 - share) * (1.0 - share).log2(),
            false => 0.0,
        };
        integer(places) + choose(of, places) + A_SHARE + times * each
    }
}

pub(super) fn weak_cells(seen: &Observed) -> ToldOfReads {
    let cells = seen.lines() * seen.size();
    ToldOfReads {
        story: ReadsStory::WeakCells,
        bits: CELLS + seen.same_places(seen.places, seen.changes, cells),
        left: 0,
        proved: false,
        explains_all: false,
    }
}

/// Bits that are wrong anywhere, or whole cells.
pub(super) fn noise(seen: &Observed) -> ToldOfReads {
    let cells = seen.changed_cells;
    let written_out = (seen.lines() * cells) as f64;
    let by_cells = 1.0 + integer(cells) + choose(seen.reads_and_cells(), cells) + written_out;
    ToldOfReads {
        story: ReadsStory::Noise,
        bits: CELLS + seen.noise(seen.changes).min(by_cells),
        left: 0,
        proved: false,
        explains_all: false,
    }
}

/// The data lines on which anything changed. What changes on one may be any cell each time, or the same cells.
pub(super) fn floating_data_lines(seen: &Observed) -> Vec<ToldOfReads> {
    let told = |line: u8| {
        let (changes, places) = (
            seen.changes_on[usize::from(line)],
            seen.places_on[usize::from(line)],
        );
        let any = integer(changes) + choose(seen.reads_and_cells(), changes);
        let same = seen.same_places(places, changes, seen.size());
        let left = seen.changes - changes;
        ToldOfReads {
            story: ReadsStory::DataLine(line),
            bits: A_DATA_LINE + log2(seen.lines()) + any.min(same) + 1.0 + seen.noise(left),
            left,
            proved: left == 0 && places >= 2,
            explains_all: left == 0 && places >= 2,
        }
    };
    let lines = 0..seen.width.lines();
    let changed = lines.filter(|&line| seen.changes_on[usize::from(line)] > 0);
    changed.map(told).collect()
}

/// Bits that changed show the cell before.
pub(super) fn read_too_early(seen: &Observed) -> Option<ToldOfReads> {
    let cells = seen.size();
    let before = |at: usize| (at + cells - 1) % cells;
    let (mut times, mut bits, mut left, mut whole) = (0, 0, 0, true);
    let mut assumed = 0u32;
    for cell in &seen.cells {
        let (own, earlier) = (seen.truth(cell.at), seen.truth(before(cell.at)));
        let times_before = times;
        for read in 0..seen.count_of_reads() {
            let value = seen.value(read, cell.at);
            let changed = value ^ own;
            if changed == 0 {
                continue;
            }
            let shown = changed & (own ^ earlier);
            bits += shown.count_ones() as usize;
            left += (changed ^ shown).count_ones() as usize;
            times += usize::from(shown != 0);
            whole &= shown == 0 || value == earlier;
        }
        let known = seen.known_to_differ(cell.at, before(cell.at));
        assumed += u32::from(times > times_before && !known);
    }
    if times == 0 {
        return None;
    }
    let differ = |at: usize| seen.majority(at) ^ seen.majority(before(at));
    let could = (0..cells)
        .map(|at| differ(at).count_ones() as usize)
        .sum::<usize>();
    let could_cells = (0..cells).filter(|&at| differ(at) != 0).count();
    let (to_differ, _) = seen.to_differ(before);
    let reads = seen.count_of_reads();
    let among = |could: usize, n: usize| integer(n) + choose((could * reads).max(n), n);
    let by_bits = among(could, bits);
    let code = match whole {
        true => by_bits.min(among(could_cells, times)),
        false => by_bits,
    };
    Some(ToldOfReads {
        story: ReadsStory::ReadTooEarly,
        bits: TOO_EARLY + 1.0 + code + f64::from(assumed) * to_differ + 1.0 + seen.noise(left),
        left,
        proved: false,
        explains_all: false,
    })
}

/// The read that differs most from the majority, when there are others that can agree. Of two, the one that is not as
/// wanted where the other is.
pub(super) fn odd_read(seen: &Observed) -> Option<ToldOfReads> {
    let most = seen.by_read.iter().copied().max()?;
    let mut with_most = (0..seen.count_of_reads()).filter(|&read| seen.by_read[read] == most);
    let read = with_most.next()?;
    let others_agree = match seen.count_of_reads() {
        2 => seen.wanted.is_some() && seen.changes == most,
        reads => reads > 2,
    };
    if !others_agree || with_most.next().is_some() {
        return None;
    }
    let bytes = seen.reads[read];
    let only = bytes
        .first()
        .filter(|&first| bytes.iter().all(|byte| byte == first));
    let literals = literals_of(bytes);
    let mut tally = Tally::new(&literals, seen.width);
    tally.take_bytes(seen.image, bytes);
    let (_, listed) = leftover_bits(&tally)?;
    if only.is_none() && listed > STILL_ONE_CHIP * written_out(bytes, &literals) {
        return None;
    }
    let shows = match only {
        Some(&byte) => Oddity::Only(byte),
        None if tally.lines.is_power_of_two() && tally.wrong > 1 => {
            Oddity::DataLine(tally.lines.trailing_zeros() as u8)
        }
        None => Oddity::Bits,
    };
    let own = match only {
        Some(_) => listed.min(ONE_BYTE),
        None => listed,
    };
    // When all others are one byte throughout, they are what is odd.
    let first = seen.majority(0);
    let others_say_nothing = (0..seen.size()).all(|at| seen.majority(at) == first);
    Some(told_odd(
        seen,
        read,
        shows,
        own,
        !others_say_nothing && tally.wrong > 1,
    ))
}

/// The story that a read is the odd one out, whose own content costs so much.
pub(super) fn told_odd(
    seen: &Observed,
    read: usize,
    shows: Oddity,
    own: f64,
    evident: bool,
) -> ToldOfReads {
    let left = seen.changes - seen.by_read[read];
    ToldOfReads {
        story: ReadsStory::OddRead { read, shows },
        bits: ODD + log2(seen.count_of_reads()) + own + 1.0 + seen.noise(left),
        left,
        proved: left == 0 && evident,
        explains_all: false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::reads::majority::majority;
    use crate::faults::reads::observed::CellValues;
    use crate::wiring::Width;

    /// Places that changed are dearer than the places where they could, and cheaper where less could.
    #[test]
    fn evidence_has_its_price() {
        let image: Vec<u8> = (0..=255).collect();
        let mut other = image.clone();
        other[7] ^= 0x10;
        other[9] ^= 0x10;
        let reads: [&[u8]; 3] = [&image, &other, &image];
        let found = majority(&reads, None);
        let seen = Observed::new(&reads, Width::Eight, None, &found);
        assert_eq!((seen.changes, seen.places), (2, 2));
        assert_eq!(seen.by_read, [0, 2, 0]);
        assert_eq!(seen.values(7), CellValues::Two(7, 0x17, 1));
        let lines = floating_data_lines(&seen);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].story, ReadsStory::DataLine(4));
        assert!(lines[0].bits < noise(&seen).bits + 10.0);
        // One in 2 of 768 on D4: by hand 4 + 3 + 3 + log2(768 x 767 / 2) + 2.
        let by_hand = 12.0 + (768.0f64 * 767.0 / 2.0).log2();
        assert!(lines[0].bits <= by_hand + 1e-9);
        let odd = odd_read(&seen).map(|told| told.story);
        let shows = Oddity::DataLine(4);
        assert_eq!(odd, Some(ReadsStory::OddRead { read: 1, shows }));
    }
}
