//! Sums that were stored, and whether later steps have made them wrong.

use std::sync::Arc;

use super::{Bench, Level, Piece};
use crate::image::Image;
use crate::ops::{Board, Socket, Stamp};
use crate::values::Space;

/// A sum, and the bytes that it left.
#[derive(Clone, Debug)]
pub struct Stored {
    /// How it is made, and where it stands.
    pub stamp: Stamp,
    /// What it left there.
    pub bytes: Vec<u8>,
}

impl Bench {
    /// Keeps in mind what was stored in the image that [`each_in`](Self::each_in) called `label`.
    pub fn stamped(&mut self, space: Space, label: &str, stamp: Stored) {
        // Chips of one board go by all their names.
        let of = |piece: &&mut Piece| {
            let rest = label.strip_prefix(piece.label.as_str());
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('+'))
        };
        let Some(piece) = self.pieces.iter_mut().find(of) else {
            return;
        };
        match piece.seat.as_ref().map(|seat| &seat.boards[..]) {
            Some([board]) if space == Space::Cpu => {
                let board = board.clone();
                self.stamps
                    .retain(|(on, old)| !Arc::ptr_eq(on, &board) || apart(old, &stamp));
                self.stamps.push((board, stamp));
            }
            _ => {
                piece.stamps.retain(|old| apart(old, &stamp));
                piece.stamps.push(stamp);
            }
        }
    }

    /// Warns of every stored sum that does not fit any more since `step` has run, once each.
    pub fn check_stamps(&mut self, step: &str) {
        let mut stale = Vec::new();
        for piece in &mut self.pieces {
            let Piece {
                label,
                image,
                stamps,
                ..
            } = piece;
            stamps.retain(|stamp| fits(stamp, image, label, &mut stale));
        }
        let mut stamps = std::mem::take(&mut self.stamps);
        stamps.retain(|(board, stamp)| {
            let (label, seen) = self.seen_on(board);
            seen.is_some_and(|seen| fits(stamp, &seen, &label, &mut stale))
        });
        self.stamps = stamps;
        for stamp in stale {
            let text = format!(
                "`{step}` has changed what the {stamp} was made of, so it does not fit any more: `stamp` behind all changes"
            );
            self.talk.say(Level::Warning, &text);
        }
    }

    /// What the CPU sees on a board whose chips all stand as they were seated, and their names.
    fn seen_on(&self, board: &Arc<Board>) -> (String, Option<Image>) {
        let mut labels = Vec::new();
        let mut chips: Vec<(Socket, &Image)> = Vec::new();
        for piece in &self.pieces {
            let Some(seat) = piece
                .seat
                .as_ref()
                .filter(|seat| seat.rearranged_by.is_none())
            else {
                continue;
            };
            if matches!(&seat.boards[..], [own] if Arc::ptr_eq(own, board)) {
                labels.push(piece.label.as_str());
                chips.push((seat.socket, &piece.image));
            }
        }
        (labels.join("+"), board.unseat(&chips).ok())
    }
}

/// Whether two stamps stand in places of their own.
fn apart(one: &Stored, other: &Stored) -> bool {
    match (one.stamp.place(), other.stamp.place()) {
        (Ok(one), Ok(other)) => one.overlap(other).is_none(),
        _ => false,
    }
}

/// Whether a stamp fits and is worth another look; what is stale is named.
fn fits(stored: &Stored, image: &Image, label: &str, stale: &mut Vec<String>) -> bool {
    let stamp = &stored.stamp;
    let fits = stamp.still_fits(image, &stored.bytes);
    if let (Some(false), Ok(place)) = (fits, stamp.place()) {
        stale.push(format!("{} at {place} of {label}", stamp.algo()));
    }
    fits == Some(true)
}
