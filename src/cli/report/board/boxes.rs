//! The chips beside the buses: which of their bytes each window shows, and where they are drawn.

use super::columns::{ColumnPart, Scale, cut_up};
use super::view::row_names;
use crate::board::{Board, Store, Window};
use crate::image::AddressRange;

/// Pieces of one window in one chip that are drawn apart.
const MOST_PIECES: usize = 12;
/// Positions of a switch that are looked at one by one.
const MOST_BANKS: u64 = 4096;

/// The chips of a row, side by side.
pub(super) struct ChipBox {
    pub store: usize,
    pub row: u32,
    pub names: Vec<String>,
    pub part: String,
    pub scale: Scale,
}

/// A window's stretch of its bus, and the bytes of a row's chips that it shows.
pub(super) struct Link {
    /// The window, by its number on the board.
    pub window: usize,
    pub bus: AddressRange,
    pub store: usize,
    pub row: u32,
    pub chip: AddressRange,
}

/// All links of a board, and all boxes, `y` of the first below 0.
pub(super) fn chips(board: &Board, top: u32) -> (Vec<Link>, Vec<ChipBox>) {
    let mut links = Vec::new();
    for (number, (store, window)) in board.windows().enumerate() {
        links.extend(links_of(board, number, store, window));
    }
    let mut boxes = Vec::new();
    let mut y = top;
    for (store, row) in rows(board, &links) {
        let own = &board.stores()[store];
        let names = row_names(own, row);
        let whole = AddressRange::from_len(0, own.part().bytes());
        let (Some(whole), false) = (whole, names.is_empty()) else {
            continue;
        };
        let shown = links.iter().filter(|l| l.store == store && l.row == row);
        let shown: Vec<AddressRange> = shown.map(|link| link.chip).collect();
        y += 20;
        let scale = Scale::new(y, cut_up(whole, &shown));
        y = scale.bottom() + 18;
        boxes.push(ChipBox {
            store,
            row,
            names,
            part: own.part().name.clone(),
            scale,
        });
    }
    (links, boxes)
}

/// All rows of all stores in the order in which the buses see them, so that few bands cross.
fn rows(board: &Board, links: &[Link]) -> Vec<(usize, u32)> {
    let spaces = board.spaces();
    let windows: Vec<&Window> = board.windows().map(|(_, window)| window).collect();
    let stores = board.stores().iter().enumerate();
    let all = stores.flat_map(|(store, own)| {
        let rows = 0..u32::try_from(own.rows()).unwrap_or(u32::MAX);
        rows.map(move |row| (store, row))
    });
    let mut all: Vec<(usize, u32)> = all.collect();
    all.sort_by_cached_key(|&(store, row)| {
        let own = links.iter().filter(|l| l.store == store && l.row == row);
        own.map(|link| {
            let space = windows[link.window].space();
            let bus = spaces.iter().position(|own| *own == space);
            (bus, link.bus.first())
        })
        .min()
    });
    all
}

fn links_of(board: &Board, number: usize, store: usize, window: &Window) -> Vec<Link> {
    let own = &board.stores()[store];
    let link = |bus, row, chip| Link {
        window: number,
        bus,
        store,
        row,
        chip,
    };
    match window.banks() {
        None => {
            let shown = own.shown(window, None).unwrap_or_default();
            if !shown.is_empty() && shown.len() <= MOST_PIECES {
                let shown = shown.iter();
                return shown.map(|s| link(s.bus, s.row, s.chip)).collect();
            }
            let pieces = pieces(own, window, &[None]).into_iter();
            pieces
                .map(|(row, chip)| link(window.range(), row, chip))
                .collect()
        }
        Some((first, last)) => {
            let last = last.min(first.saturating_add(MOST_BANKS));
            let banks: Vec<Option<u64>> = (first..=last).map(Some).collect();
            let pieces = pieces(own, window, &banks).into_iter();
            pieces
                .map(|(row, chip)| link(window.range(), row, chip))
                .collect()
        }
    }
}

/// What a window shows in these banks, row by row; of many ranges what is between the first and the last.
fn pieces(store: &Store, window: &Window, banks: &[Option<u64>]) -> Vec<(u32, AddressRange)> {
    let mut all: Vec<(u32, AddressRange)> = Vec::new();
    for bank in banks {
        match store.shown(window, *bank) {
            Some(shown) => all.extend(shown.iter().map(|s| (s.row, s.chip))),
            None => {
                let whole = AddressRange::from_len(0, store.part().bytes());
                let rows = 0..u32::try_from(store.rows()).unwrap_or(u32::MAX);
                return rows.zip(whole.into_iter().cycle()).collect();
            }
        }
    }
    all.sort_by_key(|(row, range)| (*row, range.first()));
    all.dedup_by(|next, own| {
        let touch = own.0 == next.0 && next.1.first() <= own.1.last().saturating_add(1);
        if touch {
            own.1 = own.1.hull(next.1);
        }
        touch
    });
    let mut out: Vec<(u32, AddressRange)> = Vec::new();
    for row in all.chunk_by(|a, b| a.0 == b.0) {
        match row {
            [first, .., last] if row.len() > MOST_PIECES => {
                out.push((first.0, first.1.hull(last.1)));
            }
            _ => out.extend(row),
        }
    }
    out
}

/// A segment that something shows.
pub(super) fn is_shown(segment: &ColumnPart, links: &[Link], chip: &ChipBox) -> bool {
    let own = |link: &&Link| link.store == chip.store && link.row == chip.row;
    let mut own = links.iter().filter(own);
    own.any(|link| link.chip.overlap(segment.range).is_some())
}
