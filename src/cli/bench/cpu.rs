//! Pieces in the CPU's addresses: the chips of one board put together as the bus does, and taken apart again.

use std::sync::Arc;

use super::{Bench, Console, Piece, Stop};
use crate::board::{Board, Socket};
use crate::image::Image;
use crate::ops;
use crate::values::Space;

/// Pieces that are one image in the addresses meant.
struct Group {
    /// The board that shows them together; none for a piece in its own addresses.
    board: Option<Arc<Board>>,
    pieces: Vec<usize>,
}

impl Bench {
    /// Shows `work` each chosen image in the addresses meant: the pieces' own, or the CPU's, where the chips of one board
    /// are one image, put together as the bus does.
    ///
    /// # Errors
    /// The first that `work` returns; a piece that shares its chip with others has no one CPU map.
    pub fn view(
        &mut self,
        space: Space,
        labels: &[String],
        mut work: impl FnMut(&Image, &str, &mut Console) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        let several = self.pieces.len() > 1;
        for group in self.groups(space, labels)? {
            let label = self.label_of(&group.pieces);
            let shown = match &group.board {
                None => work(
                    self.pieces[group.pieces[0]].image(),
                    &label,
                    &mut self.console,
                ),
                Some(board) => {
                    let image = self.seen_on(board, &group.pieces)?;
                    work(&image, &label, &mut self.console)
                }
            };
            shown.map_err(|stop| match several {
                true => stop.about(&label),
                false => stop,
            })?;
        }
        Ok(())
    }

    /// Lets `work` change each chosen image where its bytes are, in the addresses meant; see [`view`](Self::view). What it
    /// changes in the CPU's addresses goes back into the chips.
    ///
    /// # Errors
    /// As `view`; a byte in the socket of a chip that was not chosen.
    pub fn edit(
        &mut self,
        space: Space,
        labels: &[String],
        work: impl FnMut(&mut Image, &str, &mut Console) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        self.edit_groups(space, labels, work).map(|_| ())
    }

    /// As [`edit`](Self::edit); gives for each image that `work` had, in order, the pieces that it was made of.
    ///
    /// # Errors
    /// As `edit`.
    pub fn edit_groups(
        &mut self,
        space: Space,
        labels: &[String],
        mut work: impl FnMut(&mut Image, &str, &mut Console) -> Result<(), Stop>,
    ) -> Result<Vec<Vec<usize>>, Stop> {
        let several = self.pieces.len() > 1;
        let groups = self.groups(space, labels)?;
        for group in &groups {
            let label = self.label_of(&group.pieces);
            let named = |stop: Stop| match several {
                true => stop.about(&label),
                false => stop,
            };
            let Some(board) = &group.board else {
                let piece = &mut self.pieces[group.pieces[0]];
                work(piece.edit(), &label, &mut self.console).map_err(named)?;
                continue;
            };
            let before = self.seen_on(board, &group.pieces)?;
            let mut after = before.clone();
            work(&mut after, &label, &mut self.console).map_err(named)?;
            if !after.same_bytes(&before) {
                self.put_into_chips(board, group, &label, &after)?;
            }
        }
        Ok(groups.into_iter().map(|group| group.pieces).collect())
    }

    /// The chosen pieces, those together that one board shows as one image.
    fn groups(&self, space: Space, labels: &[String]) -> Result<Vec<Group>, Stop> {
        let alone = |piece: usize| Group {
            board: None,
            pieces: vec![piece],
        };
        let mut waiting = self.chosen(labels)?;
        if space == Space::Own {
            return Ok(waiting.into_iter().map(alone).collect());
        }
        let mut groups = Vec::new();
        while let Some(&first) = waiting.first() {
            let Some(board) = self.board_of(first)? else {
                // Not seated: its own addresses are the CPU's.
                groups.push(alone(waiting.remove(0)));
                continue;
            };
            let same =
                |i: &usize| matches!(self.board_of(*i), Ok(Some(b)) if Arc::ptr_eq(&b, &board));
            let (pieces, rest) = waiting.into_iter().partition(same);
            waiting = rest;
            groups.push(Group {
                board: Some(board),
                pieces,
            });
        }
        Ok(groups)
    }

    fn board_of(&self, piece: usize) -> Result<Option<Arc<Board>>, Stop> {
        let piece = &self.pieces[piece];
        let Some(seat) = piece.seat() else {
            return Ok(None);
        };
        let label = &piece.label;
        match (seat.board(), seat.rearranged_by) {
            (Some(board), _) => Ok(Some(board.clone())),
            (None, Some(step)) => Err(Stop::trouble(format!(
                "`{step}` has rearranged {label} since it was seated, so no cpu: address leads to its bytes"
            ))
            .advise("use cpu: before that step")),
            (None, None) => Err(Stop::trouble(format!(
                "{label} holds several programs for the same CPU addresses, so cpu: is open"
            ))
            .advise("use it before `join`, or give chip addresses")),
        }
    }

    /// What pieces are called together.
    pub(super) fn label_of(&self, pieces: &[usize]) -> String {
        let labels: Vec<&str> = pieces
            .iter()
            .map(|i| self.pieces[*i].label.as_str())
            .collect();
        labels.join("+")
    }

    /// What the CPU sees of these chips.
    pub(super) fn seen_on(&self, board: &Board, chips: &[usize]) -> Result<Image, Stop> {
        let chips = chips.iter().map(|i| &self.pieces[*i]);
        let chips: Vec<(Socket, &Image)> = chips
            .filter_map(|piece| Some((piece.seat()?.socket, piece.image())))
            .collect();
        Ok(board.unseat(&chips)?)
    }

    /// Puts what the CPU shall see into the chips of its board.
    fn put_into_chips(
        &mut self,
        board: &Board,
        group: &Group,
        label: &str,
        view: &Image,
    ) -> Result<(), Stop> {
        let seen = board.seen_in_chip();
        let chips: Vec<(Socket, Image)> = board.sockets().zip(board.distribute(view)?).collect();
        for (socket, image) in chips {
            let is_own = |p: &Piece| p.seat().is_some_and(|s| s.socket == socket);
            let Some(at) = group.pieces.iter().find(|i| is_own(&self.pieces[**i])) else {
                // A byte for a chip that is not worked on must not vanish.
                let first = image.extent().map(|extent| extent.first());
                match first.and_then(|chip| board.cpu_of(socket, chip)) {
                    None => continue,
                    Some(cpu) => {
                        return Err(Stop::trouble(format!(
                            "0x{cpu:04X} stands in another chip of the board than {label}"
                        ))
                        .advise("give --on that one too, or none"));
                    }
                }
            };
            let chip = self.pieces[*at].edit();
            let (entry, header) = (chip.entry, chip.header.clone());
            chip.remove_all(&seen);
            *chip = ops::join(vec![std::mem::take(chip), image])?;
            (chip.entry, chip.header) = (entry, header);
        }
        Ok(())
    }
}
