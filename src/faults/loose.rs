//! Faults that leave open which cells they hit: a read can be consistent with them, no more.
//!
//! Each is asked only whether it permits every difference. How much that says depends on how
//! seldom chance would do the same, so each comes with its evidence in bits.

use super::models::{Model, PAGES};
use super::predict::Images;
use crate::wiring::Line;

/// What a whole cell that came from elsewhere says beyond one turned bit: at least the choice among the 8 bits of a byte.
const FROM_ELSEWHERE: f64 = 3.0;
/// What a cell says, beyond its turned bits, that took over every bit in which it differs from the one before: where there
/// are two such bits or more, chance would take them all once in 4 at most.
const WHOLE_AS_BEFORE: f64 = 2.0;
/// What a cell of a left page says beyond its turned bits: it is as before throughout, and two unrelated bytes differ in 4
/// of 8 bits, each of which would have had to turn.
const PAGE_AS_BEFORE: f64 = 4.0;

/// A loose model that permits every difference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Consistent {
    pub model: Model,
    /// How unlikely random differences would be to look so: a binary logarithm, after the
    /// choice among such models is paid for.
    pub evidence: f64,
}

/// All loose models that permit every difference, the most telling first. `differing` are the
/// cells that differ, at least one.
pub(super) fn consistent(images: &Images, read: &[u16], differing: &[usize]) -> Vec<Consistent> {
    let wanted = images.wanted;
    let changed = |a: usize| wanted[a] ^ read[a];
    let shape = images.shape;
    let all = |permits: &dyn Fn(usize) -> bool| differing.iter().all(|&a| permits(a));
    let cells = differing.len() as f64;
    let bits: f64 = differing
        .iter()
        .map(|&a| f64::from(changed(a).count_ones()))
        .sum();
    let mut found = Vec::new();
    let mut add = |model, evidence| found.push(Consistent { model, evidence });

    let lines = differing.iter().fold(0, |lines, &a| lines | changed(a));
    if lines.is_power_of_two() {
        // Another line would have been as likely for every bit but the first.
        let spread = f64::from(shape.data_lines).log2();
        add(
            Model::Floating(Line::Data(lines.trailing_zeros() as u8)),
            spread * (bits - 1.0),
        );
    }
    for line in 0..shape.address_lines {
        if all(&|a| read[a] == wanted[a ^ 1 << line]) {
            let choice = f64::from(shape.address_lines).log2();
            add(
                Model::Floating(Line::Address(line)),
                FROM_ELSEWHERE * cells - choice,
            );
        }
    }
    let before = |a: usize| wanted[a.wrapping_sub(1) & (shape.size() - 1)];
    if all(&|a| changed(a) & !(before(a) ^ wanted[a]) == 0) {
        let whole = differing.iter().filter(|&&a| read[a] == before(a)).count();
        add(Model::Late, bits + WHOLE_AS_BEFORE * whole as f64);
    }
    if let Some(pages) = pages_left(images, read, differing) {
        add(pages, bits + PAGE_AS_BEFORE * cells);
    }
    if all(&|a| read[a] & !wanted[a] == 0) {
        add(Model::OnlyToZero, bits);
    }
    if all(&|a| wanted[a] & !read[a] == 0) {
        add(Model::OnlyToOne, bits);
    }
    found.sort_by(|a, b| b.evidence.total_cmp(&a.evidence));
    found
}

/// The largest page size at which every page that differs holds only what was there before.
fn pages_left(images: &Images, read: &[u16], differing: &[usize]) -> Option<Model> {
    let erased = images.shape.erased();
    let before = |a: usize| images.old.map_or(erased, |old| old[a]);
    // What is left over in one page size is so in every smaller one.
    PAGES
        .into_iter()
        .take_while(|&page| {
            page <= read.len()
                && differing
                    .chunk_by(|a, b| a / page == b / page)
                    .all(|cells| {
                        let start = cells[0] / page * page;
                        (start..start + page).all(|a| read[a] == before(a))
                    })
        })
        .last()
        .map(|page| Model::PagesLeft { page })
}
