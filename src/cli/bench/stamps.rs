//! Sums that were stored, and whether later steps have made them wrong.
//!
//! A piece keeps the sums that stand in its own addresses, the bench those that stand in the CPU's. Steps that make other
//! pieces, or move bytes to other addresses, carry them along where they can (`join`, `seat`, `relocate`); else nothing is
//! known of them any more.

use std::sync::Arc;

use super::{Bench, Level, Piece};
use crate::board::{Board, Socket};
use crate::image::{AddressRange, Image};
use crate::ops::{Fit, Stamp};
use crate::sums::Algo;
use crate::values::Space;

/// A sum, and the bytes that it left.
#[derive(Clone, Debug)]
pub struct Stored {
    /// How it is made, and where it stands.
    pub stamp: Stamp,
    /// What it left there.
    pub bytes: Vec<u8>,
}

/// What the bench keeps in mind beside its pieces.
#[derive(Default)]
pub(super) struct Stamps {
    /// Sums in the CPU's addresses.
    on_boards: Vec<(Arc<Board>, Stored)>,
    /// Sums that don't fit any more, and were neither stored anew nor told.
    stale: Vec<Stale>,
}

struct Stale {
    label: String,
    place: AddressRange,
    algo: Algo,
    /// The step that made it so.
    step: String,
}

impl Piece {
    /// Takes over the sums of a piece whose bytes now stand here, at the same addresses.
    pub fn inherit(&mut self, other: &mut Piece) {
        self.stamps.append(&mut other.stamps);
    }

    /// Notes that the step `by` has put the piece's bytes into other places or changed all of them, so that neither a
    /// seat's CPU addresses nor stored sums go with them any more.
    pub fn rearranged(&mut self, by: &'static str) {
        self.stamps.clear();
        if let Some(seat) = &mut self.seat {
            seat.rearranged_by = Some(by);
        }
    }

    /// Notes that the step `by` has moved all bytes by `delta` addresses. Their sums move along, a seat does not.
    pub fn moved(&mut self, by: &'static str, delta: i128) {
        let stamps = std::mem::take(&mut self.stamps);
        if delta != 0 {
            self.rearranged(by);
        }
        let moved = stamps.into_iter().filter_map(|stored| {
            let stamp = stored.stamp.moved(delta)?;
            Some(Stored { stamp, ..stored })
        });
        self.stamps = moved.collect();
    }
}

impl Bench {
    /// Keeps in mind what was stored in the pieces of `group`, which go by `label`.
    pub fn stamped(&mut self, space: Space, group: &[usize], label: &str, stored: Stored) {
        let (Some(&first), Ok(place)) = (group.first(), stored.stamp.place()) else {
            return;
        };
        let again = |s: &Stale| s.label == label && s.place.overlap(place).is_some();
        self.stamps.stale.retain(|stale| !again(stale));
        let piece = &mut self.pieces[first];
        let board = piece.seat.as_ref().and_then(|seat| seat.board()).cloned();
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

    /// Looks which stored sums don't fit any more since `step` has run.
    pub fn check_stamps(&mut self, step: &str) {
        let mut stale = Vec::new();
        for piece in &mut self.pieces {
            let Piece {
                label,
                image,
                stamps,
                ..
            } = piece;
            stamps.retain(|stored| is_kept(stored, image, label, step, &mut stale));
        }
        let mut on_boards = std::mem::take(&mut self.stamps.on_boards);
        let mut seen: Vec<(Arc<Board>, String, Option<Image>)> = Vec::new();
        on_boards.retain(|(board, stored)| {
            let at = seen.iter().position(|(of, ..)| Arc::ptr_eq(of, board));
            let at = at.unwrap_or_else(|| {
                let (label, image) = self.seen_on(board);
                seen.push((board.clone(), label, image));
                seen.len() - 1
            });
            let (_, label, image) = &seen[at];
            let image = image.as_ref();
            image.is_some_and(|image| is_kept(stored, image, label, step, &mut stale))
        });
        self.stamps.on_boards = on_boards;
        self.stamps.stale.extend(stale);
    }

    /// Warns of every stored sum that does not fit any more, once each. For steps whose outcome leaves the bench.
    pub fn warn_of_stale_stamps(&mut self) {
        for stale in std::mem::take(&mut self.stamps.stale) {
            let Stale {
                label,
                place,
                algo,
                step,
            } = stale;
            let text = format!(
                "`{step}` has changed what the {algo} at {place} of {label} was made of, so it does not fit any more: `stamp` behind all changes"
            );
            self.talk.say(Level::Warning, &text);
        }
    }

    /// What the CPU sees on a board whose chips all stand as they were seated, and their names.
    fn seen_on(&self, board: &Arc<Board>) -> (String, Option<Image>) {
        let mut labels = Vec::new();
        let mut chips: Vec<(Socket, &Image)> = Vec::new();
        for piece in &self.pieces {
            let Some(seat) = &piece.seat else { continue };
            if seat.board().is_some_and(|own| Arc::ptr_eq(own, board)) {
                labels.push(piece.label.as_str());
                chips.push((seat.socket, &piece.image));
            }
        }
        (labels.join("+"), board.unseat(&chips).ok())
    }
}

/// Whether two sums stand in places of their own.
fn apart(one: &Stored, other: &Stored) -> bool {
    match (one.stamp.place(), other.stamp.place()) {
        (Ok(one), Ok(other)) => one.overlap(other).is_none(),
        _ => false,
    }
}

/// Whether a sum is worth another look later; what is stale is noted.
fn is_kept(
    stored: &Stored,
    image: &Image,
    label: &str,
    step: &str,
    stale: &mut Vec<Stale>,
) -> bool {
    match stored.stamp.fit(image, &stored.bytes) {
        // What is hollow now may be filled again.
        Fit::Fits | Fit::Hollow => true,
        Fit::Replaced => false,
        Fit::Stale(place) => {
            stale.push(Stale {
                label: label.to_owned(),
                place,
                algo: stored.stamp.algo(),
                step: step.to_owned(),
            });
            false
        }
    }
}
