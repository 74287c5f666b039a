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
