//! Sums that were stored, and whether later steps have made them wrong.
//!
//! A piece keeps the sums that stand in its own addresses, the bench those that stand in the CPU's. Steps that make other
//! pieces, or move bytes to other addresses, carry them along where they can (`join`, `seat`, `relocate`); else nothing is
//! known of them any more. A sum is made again only where it matters: when something leaves the bench, and when it is about
//! to be forgotten; and then only if a step has changed bytes since it was stored.

use std::sync::Arc;

use super::stored::{Stale, Stored};
use super::{Bench, MessageKind, Piece};
use crate::board::Board;
use crate::image::Image;
use crate::ops::Fit;
use crate::values::Space;

impl Bench {
    /// Keeps in mind what was stored in the pieces of `group`, which go by `label`.
    pub fn stamped(&mut self, space: Space, group: &[usize], label: &str, mut stored: Stored) {
        let (Some(&first), Ok(place)) = (group.first(), stored.stamp.place()) else {
            return;
        };
        stored.at = self.steps_run;
        // An older one that this replaces, or that it stands beside, may be wrong already.
        let again = |s: &Stale| s.label == label && s.place.overlap(place).is_some();
        self.stamps.stale.retain(|stale| !again(stale));
        let piece = &mut self.pieces[first];
        let board = piece.seat().and_then(|seat| seat.board()).cloned();
        match board.filter(|_| space == Space::Cpu) {
            Some(board) => self.on_board_stamped(board, stored),
            None => {
                piece.stamps.retain(|old| apart(old, &stored));
                piece.stamps.push(stored);
            }
        }
    }

    fn on_board_stamped(&mut self, board: Arc<Board>, stored: Stored) {
        let on_boards = &mut self.stamps.on_boards;
        on_boards.retain(|(on, old)| !Arc::ptr_eq(on, &board) || apart(old, &stored));
        on_boards.push((board, stored));
    }

    /// The sums of a piece that was not seated yet stand in the addresses in which the CPU sees its chips.
    pub fn seated_on(&mut self, board: &Arc<Board>, piece: &mut Piece) {
        for stored in piece.stamps.drain(..) {
            self.on_board_stamped(board.clone(), stored);
        }
    }

    /// Takes note of which stored sums of these pieces don't fit any more, while it can still be told.
    pub(super) fn settle_stamps(&mut self, pieces: &[usize]) {
        let now = self.steps_run;
        let mut stale = std::mem::take(&mut self.stamps.stale);
        for &i in pieces {
            let piece = &mut self.pieces[i];
            let mut stamps = std::mem::take(&mut piece.stamps);
            stamps.retain_mut(|stored| match &since(stored, [&*piece])[..] {
                [] => true,
                steps => is_kept(stored, now, steps, &piece.label, piece.image(), &mut stale),
            });
            piece.stamps = stamps;
        }
        let mut on_boards = std::mem::take(&mut self.stamps.on_boards);
        let mut seen: Option<(Arc<Board>, Option<Image>)> = None;
        on_boards.retain_mut(|(board, stored)| {
            let chips = self.chips_on(board);
            let steps = since(stored, chips.iter().map(|i| &self.pieces[*i]));
            if steps.is_empty() || !chips.iter().any(|i| pieces.contains(i)) {
                return true;
            }
            let (_, image) = match seen.take_if(|(of, _)| Arc::ptr_eq(of, board)) {
                Some(same) => seen.insert(same),
                None => seen.insert((board.clone(), self.seen_on(board, &chips).ok())),
            };
            let label = self.label_of(&chips);
            let image = image.as_ref();
            image.is_some_and(|image| is_kept(stored, now, &steps, &label, image, &mut stale))
        });
        self.stamps.on_boards = on_boards;
        self.stamps.stale = stale;
    }

    /// Warns of every stored sum that does not fit any more, once each. For steps whose outcome leaves the bench.
    pub fn warn_of_stale_stamps(&mut self) {
        let all: Vec<usize> = (0..self.pieces.len()).collect();
        self.settle_stamps(&all);
        for stale in std::mem::take(&mut self.stamps.stale) {
            let Stale {
                label,
                place,
                algo,
                steps,
            } = stale;
            let steps: Vec<String> = steps.iter().map(|step| format!("`{step}`")).collect();
            let steps = steps.join(" or ");
            let text = format!(
                "{steps} has changed what the {algo} at {place} of {label} was made of, so it does not fit any more: `stamp` behind all changes"
            );
            self.console.say(MessageKind::Warning, &text);
        }
    }

    /// The pieces that stand on this board as they were seated.
    fn chips_on(&self, board: &Arc<Board>) -> Vec<usize> {
        let on = |piece: &Piece| {
            let own = piece.seat().and_then(|seat| seat.board());
            own.is_some_and(|own| Arc::ptr_eq(own, board))
        };
        let pieces = self.pieces.iter().enumerate();
        pieces
            .filter_map(|(i, piece)| on(piece).then_some(i))
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

/// Whether two sums stand in places of their own.
fn apart(one: &Stored, other: &Stored) -> bool {
    match (one.stamp.place(), other.stamp.place()) {
        (Ok(one), Ok(other)) => one.overlap(other).is_none(),
        _ => false,
    }
}

/// Whether a sum is worth another look later; what is stale is noted. `now` is the number of the step that runs.
fn is_kept(
    stored: &mut Stored,
    now: u64,
    steps: &[&'static str],
    label: &str,
    image: &Image,
    stale: &mut Vec<Stale>,
) -> bool {
    match stored.stamp.fit(image, &stored.bytes) {
        Fit::Fits => {
            stored.at = now;
            true
        }
        // What is hollow now may be filled again.
        Fit::Hollow => true,
        Fit::Replaced => false,
        Fit::Stale(place) => {
            stale.push(Stale {
                label: label.to_owned(),
                place,
                algo: stored.stamp.algo(),
                steps: steps.to_vec(),
            });
            false
        }
    }
}
