//! Cells that are wrong: what they have in common.

use super::ledger::Ledger;
use super::predict::Images;
use super::singles::PAGES;
use crate::faults::cost::{CERTAIN, Size, Tally, choose, integer, log2, model_bits};
use crate::faults::story::{Before, CellKind, Model};

/// Adds every list of the cells that differ. Something is said of them all, such as that they have leaked, only when
/// the list is so much cheaper than that of scattered bits that chance can't explain it.
pub(super) fn tell_cells(ledger: &mut Ledger, wanted: &[u16], size: Size) {
    let mut tally = Tally::new(ledger.literals, ledger.width);
    tally.take(wanted, ledger.read);
    let lists = tally.lists();
    let scattered = lists
        .iter()
        .find(|(kind, _)| *kind == CellKind::Scattered)
        .map_or(f64::INFINITY, |(_, bits)| {
            bits + kind_bits(CellKind::Scattered, size)
        });
    for (kind, bits) in lists {
        let bits = bits + kind_bits(kind, size);
        let says_nothing = matches!(
            kind,
            CellKind::Scattered | CellKind::Changed | CellKind::Rewritten
        );
        if says_nothing || bits + CERTAIN <= scattered {
            ledger.list(Model::Cells(kind).into(), bits);
        }
    }
}

fn kind_bits(kind: CellKind, size: Size) -> f64 {
    model_bits(&Model::Cells(kind), size)
}

/// Cells that read as another cell should: that of a partner address, where a line floats, or the one before, where the
/// access time is too short. Only cells that could have shown it are counted.
pub(super) fn tell_neighbours(
    ledger: &mut Ledger,
    images: &Images,
    differing: &[usize],
    size: Size,
) {
    let (wanted, read) = (images.wanted, ledger.read);
    if differing.is_empty() {
        return;
    }
    for line in 0..images.shape.address_lines {
        let partner = |a: usize| wanted[a ^ 1 << line];
        if differing.iter().all(|&a| read[a] == partner(a)) {
            let could = (0..wanted.len())
                .filter(|&a| wanted[a] != partner(a))
                .count();
            let list = integer(differing.len())
                + choose(could, differing.len())
                + log2(images.shape.address_lines.into());
            let model = Model::Cells(CellKind::AsPartner(line));
            let bits = list + model_bits(&model, size);
            ledger.list(model.into(), bits);
        }
    }
    let before = |a: usize| wanted[a.wrapping_sub(1) & (wanted.len() - 1)];
    let permitted = |a: usize| (wanted[a] ^ read[a]) & !(before(a) ^ wanted[a]) == 0;
    if differing.iter().all(|&a| permitted(a)) {
        let changed = |a: &usize| (wanted[*a] ^ read[*a]).count_ones() as usize;
        let bits: usize = differing.iter().map(changed).sum();
        let could = (0..wanted.len())
            .map(|a| (before(a) ^ wanted[a]).count_ones() as usize)
            .sum();
        let by_bits = integer(bits) + choose(could, bits);
        let whole = differing.iter().all(|&a| read[a] == before(a));
        let cells = (0..wanted.len())
            .filter(|&a| wanted[a] != before(a))
            .count();
        let by_cells = match whole {
            true => integer(differing.len()) + choose(cells, differing.len()),
            false => f64::INFINITY,
        };
        let model = Model::Cells(CellKind::AsBefore);
        let bits = by_bits.min(by_cells) + 1.0 + model_bits(&model, size);
        ledger.list(model.into(), bits);
    }
}

/// Pages that were left out: the largest page size at which every page that differs contains only what was there before.
pub(super) fn tell_pages_left(
    ledger: &mut Ledger,
    images: &Images,
    differing: &[usize],
    size: Size,
) {
    for before in [Before::Erased, Before::Old] {
        let was = |a: usize| match (before, images.old) {
            (Before::Old, Some(old)) => old[a],
            _ => images.shape.erased(),
        };
        if before == Before::Old && images.old.is_none() {
            continue;
        }
        let read = ledger.read;
        let left = |page: usize| {
            let pages = differing.chunk_by(|a, b| a / page == b / page);
            pages
                .map(|cells| cells[0] / page * page)
                .all(|start| (start..start + page).all(|a| read[a] == was(a)))
        };
        // What is left over in one page size is so in every smaller one.
        let fitting = PAGES
            .into_iter()
            .take_while(|&page| page <= read.len() && left(page));
        let Some(page) = fitting.last() else {
            continue;
        };
        let written = |start: usize| (start..start + page).any(|a| images.wanted[a] != was(a));
        let could = (0..read.len())
            .step_by(page)
            .filter(|&start| written(start))
            .count();
        let pages = differing.chunk_by(|a, b| a / page == b / page).count();
        // All pages left is a chip that is blank, or still old.
        if pages == could {
            continue;
        }
        let model = Model::PagesLeft {
            page,
            pages,
            before,
        };
        let bits = integer(pages) + choose(could, pages) + model_bits(&model, size);
        ledger.list(model.into(), bits);
    }
}

#[cfg(test)]
mod tests {
    use super::super::ledger::Told;
    use super::super::testing;
    use super::*;
    use crate::faults::cost::Literals;
    use crate::wiring::Width;

    const SIZE: Size = Size {
        cells: 64,
        bytes: 64,
        data_lines: 8,
        others: 0,
        cousins: 0,
    };

    /// What is told of this read.
    fn told(read: &[u16], tell: impl Fn(&mut Ledger)) -> Vec<Told> {
        let literals = Literals::of(&[]);
        let mut ledger = Ledger::new(read, Width::Eight, &literals);
        tell(&mut ledger);
        ledger.told
    }

    fn bits_of(told: &[Told], model: Model) -> Option<f64> {
        let mut told = told
            .iter()
            .filter(|told| told.story == model.clone().into());
        let found = told.next().map(|told| told.bits);
        assert!(told.next().is_none());
        found
    }

    fn same(a: Option<f64>, b: f64) {
        assert!(a.is_some_and(|a| (a - b).abs() < 1e-9), "{a:?} {b}");
    }

    /// EVIDENCE, rule 6: a kind of cells is named only when it is 20 bits cheaper than scattered bits.
    #[test]
    fn a_kind_of_cells_has_to_be_worth_its_name() {
        // 2,048 cells with two ones each; so many bits have leaked, far apart, on changing lines.
        let wanted = vec![0x03; 2048];
        let leaked = |bits: usize, line: &dyn Fn(usize) -> usize| {
            let mut read = wanted.clone();
            (0..bits).for_each(|n| read[n * 20 + 7] |= 1 << line(n));
            told(&read, |ledger| tell_cells(ledger, &wanted, SIZE))
        };
        let up = |bits: usize| leaked(bits, &|n| 2 + n % 6);
        let as_one = Model::Cells(CellKind::ReadAsOne);
        let scattered = Model::Cells(CellKind::Scattered);
        // Each costs 0.415 bits less, as there are three quarters of the places: 49 of them are worth 20 bits.
        let gain = |bits: usize| choose(16384, bits) - choose(12288, bits);
        let first = (1..100).find(|bits| gain(*bits) >= 20.0).unwrap();
        assert_eq!(bits_of(&up(first - 1), as_one.clone()), None);
        same(
            bits_of(&up(first), as_one),
            3.0 + integer(first) + choose(12288, first),
        );
        same(
            bits_of(&up(first), scattered),
            3.0 + integer(first) + choose(16384, first),
        );
        let version = up(first).into_iter().map(|told| told.story.first);
        let version: Vec<Model> = version.collect();
        assert!(version.contains(&Model::Cells(CellKind::Changed)));
        assert!(version.contains(&Model::Cells(CellKind::Rewritten)));
        // One line: 7 with its number, against 3 and three more bits a place.
        let d5 = |bits: usize| leaked(bits, &|_| 5);
        let line = Model::Cells(CellKind::OneLine(5));
        let worth = |bits: usize| 4.0 + choose(2048, bits) + 20.0 <= choose(16384, bits);
        let first = (1..100).find(|bits| worth(*bits)).unwrap();
        assert_eq!(bits_of(&d5(first - 1), line.clone()), None);
        same(
            bits_of(&d5(first), line),
            7.0 + integer(first) + choose(2048, first),
        );
    }

    /// 64 cells in which A0 makes no difference, and every other line does.
    fn images(wanted: &[u16]) -> Images<'_> {
        testing::wanted_alone(testing::shape(6, 8), wanted)
    }

    /// A chip whose first half has content, in which A0 makes no difference.
    fn half_written() -> Vec<u16> {
        let cell = |a: u16| if a < 32 { a / 2 * 7 } else { 0xFF };
        (0..64).map(cell).collect()
    }

    fn neighbours(wanted: &[u16], read: &[u16]) -> Vec<Told> {
        let differing: Vec<usize> = (0..64).filter(|&a| wanted[a] != read[a]).collect();
        let images = images(wanted);
        told(read, |ledger| {
            tell_neighbours(ledger, &images, &differing, SIZE)
        })
    }

    #[test]
    fn cells_that_read_as_their_partner() {
        // Only the first half has content, so that of A5 all cells differ, and of A1 half of them.
        let wanted = half_written();
        let mut read = wanted.clone();
        for a in [4, 9, 30] {
            read[a] = wanted[a ^ 2];
        }
        let found = neighbours(&wanted, &read);
        let partner = |line| Model::Cells(CellKind::AsPartner(line));
        // Three of the 32 cells that could show it; which of six lines; and 6 for the kind.
        same(
            bits_of(&found, partner(1)),
            6.0 + integer(3) + choose(32, 3) + 6f64.log2(),
        );
        assert!((2..6).all(|line| bits_of(&found, partner(line)).is_none()));
        assert_eq!(bits_of(&found, Model::Cells(CellKind::AsBefore)), None);
        read[50] = 0xFE;
        assert!(neighbours(&wanted, &read).is_empty());
        assert!(neighbours(&wanted, &wanted).is_empty());
    }

    #[test]
    fn cells_that_read_as_the_one_before() {
        let wanted = half_written();
        let mut read = wanted.clone();
        for a in [4, 10, 0] {
            read[a] = wanted[(a + 63) % 64];
        }
        let before = Model::Cells(CellKind::AsBefore);
        let whole = bits_of(&neighbours(&wanted, &read), before.clone());
        // Where it changes from one pair to the next: 15 cells, that after the content, and the first after the last.
        let by_cells = integer(3) + choose(17, 3);
        let places: usize = (0..64)
            .map(|a| (wanted[a] ^ wanted[(a + 63) % 64]).count_ones() as usize)
            .sum();
        let bits = [14 ^ 7, 35 ^ 28, 0xFF].map(|changed: u16| changed.count_ones() as usize);
        let bits: usize = bits.iter().sum();
        let by_bits = integer(bits) + choose(places, bits);
        assert!(by_cells < by_bits);
        same(whole, 8.0 + 1.0 + by_cells);
        // Some of the bits only.
        read[0] = 0x0F;
        let some = bits_of(&neighbours(&wanted, &read), before.clone());
        let bits = bits - 4;
        same(some, 8.0 + 1.0 + integer(bits) + choose(places, bits));
        // A bit that the cell before has as well can't come from there.
        read[4] ^= 0x80;
        assert_eq!(bits_of(&neighbours(&wanted, &read), before), None);
    }

    /// 1,024 cells, of which these pages read FF, and what is wanted there.
    fn pages(left: &[(usize, usize)], old: Option<&[u16]>) -> Vec<Told> {
        let wanted: Vec<u16> = (0..1024)
            .map(|a| if a < 768 { a % 251 } else { 0xFF })
            .collect();
        let mut read = wanted.clone();
        for &(from, to) in left {
            let was = |a: usize| old.map_or(0xFF, |old| old[a]);
            (from..to).for_each(|a| read[a] = was(a));
        }
        let differing: Vec<usize> = (0..1024).filter(|&a| wanted[a] != read[a]).collect();
        let mut images = images(&wanted);
        images.shape.address_lines = 10;
        images.old = old;
        told(&read, |ledger| {
            tell_pages_left(ledger, &images, &differing, SIZE)
        })
    }

    #[test]
    fn pages_left_are_told_in_the_largest_size_that_fits() {
        let left = |page, pages, before| Model::PagesLeft {
            page,
            pages,
            before,
        };
        let found = pages(&[(64, 128), (320, 384)], None);
        // Two of the twelve pages of 64 that would have content.
        let bits = 6.0 + 6f64.log2() + integer(2) + choose(12, 2);
        same(bits_of(&found, left(64, 2, Before::Erased)), bits);
        assert_eq!(found.len(), 1);
        let found = pages(&[(64, 192)], None);
        same(bits_of(&found, left(64, 2, Before::Erased)), bits);
        let found = pages(&[(128, 256)], None);
        let bits = 6.0 + 6f64.log2() + integer(1) + choose(6, 1);
        same(bits_of(&found, left(128, 1, Before::Erased)), bits);
        // Half a page of the smallest size is none, and all pages are a blank chip.
        assert!(pages(&[(64, 72)], None).is_empty());
        assert!(pages(&[(0, 768)], None).is_empty());
        let old: Vec<u16> = (0..1024).map(|a| a % 13 + 3).collect();
        let found = pages(&[(128, 256)], Some(&old));
        let bits = 6.0 + 6f64.log2() + integer(1) + choose(8, 1);
        same(bits_of(&found, left(128, 1, Before::Old)), bits);
        assert_eq!(found.len(), 1);
    }
}
