//! Sums that were stored, and whether later steps have made them wrong.
//!
//! A piece keeps the sums in its own addresses, the bench those in the addresses of a bus. Steps that make other
//! pieces, or move bytes to other addresses, take them along where they can (`join`, `seat`, `relocate`); otherwise they are
//! forgotten. A sum is made again only where it matters: when something leaves the bench, and when the sum is about
//! to be forgotten; and then only if a step has changed bytes since it was stored.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::places::chips_of;
use super::stored::{OnBus, Stale, Stored};
use super::{Bench, MessageKind, Piece, Worked};
use crate::board::{Board, Opened};
use crate::image::{AddressRange, Image};
use crate::ops::Fit;

impl Bench {
    /// Remembers what was stored in the pieces that a step has worked on.
    pub fn stamped(&mut self, all: Vec<(Worked, Vec<Stored>)>) {
        let now = self.steps_run;
        // An older sum that this one replaces, or that is beside it, may be wrong already.
        let mut by_name: HashMap<&str, CoveredRanges> = HashMap::new();
        for (worked, stored) in &all {
            by_name.entry(&worked.name).or_default().add(stored);
        }
        by_name.values_mut().for_each(CoveredRanges::sort);
        let stays = |s: &Stale| by_name.get(&*s.name).is_none_or(|new| !new.meets(s.place));
        self.stamps.stale.retain(stays);
        let mut on_boards = Vec::new();
        for (worked, stored) in all {
            let stored = stored
                .into_iter()
                .map(|stored| Stored { at: now, ..stored });
            match (worked.bus, worked.pieces.first()) {
                (Some((board, space, bank)), _) => on_boards.extend(stored.map(|stored| OnBus {
                    board: board.clone(),
                    space: space.clone(),
                    bank,
                    stored,
                })),
                (None, Some(first)) => {
                    let stored: Vec<Stored> = stored.collect();
                    let mut new = CoveredRanges::default();
                    new.add(&stored);
                    new.sort();
                    let stamps = &mut self.pieces[*first].stamps;
                    stamps.retain(|old| old.stamp.place().is_ok_and(|place| !new.meets(place)));
                    stamps.extend(stored);
                }
                (None, None) => {}
            }
        }
        self.stamped_on(on_boards);
    }

    fn stamped_on(&mut self, new: Vec<OnBus>) {
        if new.is_empty() {
            return;
        }
        let mut places: HashMap<(*const Board, &str, Option<u64>), CoveredRanges> = HashMap::new();
        for on in &new {
            let same = places.entry(key(on)).or_default();
            same.add(std::slice::from_ref(&on.stored));
        }
        places.values_mut().for_each(CoveredRanges::sort);
        let stays = |old: &OnBus| {
            let place = old.stored.stamp.place();
            let new = places.get(&key(old));
            new.is_none_or(|new| place.is_ok_and(|place| !new.meets(place)))
        };
        self.stamps.on_boards.retain(stays);
        self.stamps.on_boards.extend(new);
    }

    /// The sums of a piece that was not seated yet are in the addresses in which a bus sees its chips.
    pub fn seated_on(
        &mut self,
        board: &Arc<Board>,
        (space, bank): (&str, Option<u64>),
        piece: &mut Piece,
    ) {
        let on_bus = piece.stamps.drain(..).map(|stored| OnBus {
            board: board.clone(),
            space: space.to_owned(),
            bank,
            stored,
        });
        self.stamped_on(on_bus.collect());
    }

    /// Notes which stored sums of these pieces are wrong by now, while that can still be worked out.
    pub(super) fn settle_stamps(&mut self, pieces: &[usize]) {
        let now = self.steps_run;
        let mut stale = std::mem::take(&mut self.stamps.stale);
        for &i in pieces {
            let piece = &mut self.pieces[i];
            let mut stamps = std::mem::take(&mut piece.stamps);
            stamps.retain_mut(|stored| match &since(stored, [&*piece])[..] {
                [] => true,
                steps => is_kept(stored, now, steps, &piece.name, piece.image(), &mut stale),
            });
            piece.stamps = stamps;
        }
        let mut on_boards = std::mem::take(&mut self.stamps.on_boards);
        let looked_at: HashSet<usize> = pieces.iter().copied().collect();
        // Sums of one board's banks follow each other: its chips are put together once for all of them.
        let boards: Vec<Arc<Board>> = on_boards.iter().map(|on| on.board.clone()).collect();
        let mut last: Option<(&Arc<Board>, Vec<usize>, Opened<'_>)> = None;
        let mut boards = boards.iter();
        on_boards.retain_mut(|on| {
            let board = boards.next();
            let chips = self.chips_on(on);
            let steps = since(&on.stored, chips.iter().map(|i| &self.pieces[*i]));
            let (Some(board), false) = (board, steps.is_empty()) else {
                return true;
            };
            if !chips.iter().any(|i| looked_at.contains(i)) {
                return true;
            }
            let opened = match last.take() {
                Some((old, seen, opened)) if Arc::ptr_eq(old, board) && seen == chips => opened,
                _ => Opened::new(board, chips_of(&self.pieces, &chips)),
            };
            let (_, _, opened) = last.insert((board, chips.clone(), opened));
            let image = opened.see(&on.space, on.bank, &on.stored.stamp.ranges());
            let name = self.label_of(&chips);
            let kept =
                image.map(|image| is_kept(&mut on.stored, now, &steps, &name, &image, &mut stale));
            kept.unwrap_or(false)
        });
        self.stamps.on_boards = on_boards;
        self.stamps.stale = stale;
    }

    /// Warns of every stored sum that is now wrong, once each. For steps whose result leaves the bench.
    pub fn warn_of_stale_stamps(&mut self) {
        let all: Vec<usize> = (0..self.pieces.len()).collect();
        self.settle_stamps(&all);
        for stale in std::mem::take(&mut self.stamps.stale) {
            let Stale {
                name,
                place,
                algo,
                steps,
            } = stale;
            let steps: Vec<String> = steps.iter().map(|step| format!("`{step}`")).collect();
            let steps = steps.join(" or ");
            let text = format!(
                "{steps} changed bytes that the {algo} at {place} of {name} covers, so the sum is now wrong: put `stamp` after all changes"
            );
            self.console.say(MessageKind::Warning, &text);
        }
    }

    /// The pieces that show the bytes of a sum, and are as they were seated.
    fn chips_on(&self, on: &OnBus) -> Vec<usize> {
        let ranges = on.stored.stamp.ranges();
        let shows = |store: usize| {
            let windows = on.board.stores()[store].windows().iter();
            let mut windows = windows.filter(|w| w.space() == on.space);
            windows.any(|w| ranges.iter().any(|r| w.range().overlap(*r).is_some()))
        };
        let is_there = |piece: &Piece| {
            let seat = piece.seat().filter(|_| piece.rearranged_by().is_none());
            seat.is_some_and(|seat| seat.is_on(&on.board) && shows(seat.socket().store))
        };
        let pieces = self.pieces.iter().enumerate();
        pieces
            .filter_map(|(i, piece)| is_there(piece).then_some(i))
            .collect()
    }
}

/// The steps that have changed bytes of these pieces since a sum was stored, in order, each once.
fn since<'p>(stored: &Stored, pieces: impl IntoIterator<Item = &'p Piece>) -> Vec<&'static str> {
    let mut edits: Vec<(u64, &'static str)> = (pieces.into_iter())
        .flat_map(|piece| &piece.edits)
        .filter(|(at, _)| *at > stored.at)
        .copied()
        .collect();
    edits.sort_unstable();
    let mut steps = Vec::new();
    for (_, step) in edits {
        if !steps.contains(&step) {
            steps.push(step);
        }
    }
    steps
}

/// What tells sums of different buses and banks apart.
fn key(on: &OnBus) -> (*const Board, &str, Option<u64>) {
    (Arc::as_ptr(&on.board), &on.space, on.bank)
}

/// The places of sums, none of which overlaps another.
#[derive(Default)]
struct CoveredRanges(Vec<AddressRange>);

impl CoveredRanges {
    fn add(&mut self, stored: &[Stored]) {
        let places = stored.iter().map(|stored| stored.stamp.place());
        self.0.extend(places.flatten());
    }

    fn sort(&mut self) {
        self.0.sort_unstable();
    }

    /// Whether one of them overlaps this one.
    fn meets(&self, place: AddressRange) -> bool {
        let i = self.0.partition_point(|own| own.last() < place.first());
        self.0.get(i).is_some_and(|own| own.first() <= place.last())
    }
}

/// Whether a sum is worth another look later; a stale one is noted. `now` is the number of the step that runs.
fn is_kept(
    stored: &mut Stored,
    now: u64,
    steps: &[&'static str],
    name: &str,
    image: &Image,
    stale: &mut Vec<Stale>,
) -> bool {
    match stored.stamp.fit(image, &stored.bytes) {
        Fit::Fits => {
            stored.at = now;
            true
        }
        // What is a hole now may be filled again.
        Fit::Hollow => true,
        Fit::Replaced => false,
        Fit::Stale(place) => {
            stale.push(Stale {
                name: name.to_owned(),
                place,
                algo: stored.stamp.algo(),
                steps: steps.to_vec(),
            });
            false
        }
    }
}
