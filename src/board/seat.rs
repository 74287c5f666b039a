//! Which socket a chip is in, and how the CPU sees it there.

use std::sync::Arc;

use super::{Board, Placement, Socket};
use crate::image::Order;
use crate::parts::Part;

/// A chip's place: the part, how the CPU sees it, and which socket it is.
#[derive(Clone, Debug)]
pub struct Seat {
    /// The part in the socket.
    pub part: Part,
    /// How the CPU sees it; several where several programs share one switched chip.
    pub boards: Vec<Arc<Board>>,
    /// Which socket of the board.
    pub socket: Socket,
    /// The step, if any, that has moved the chip's bytes since it was seated: no CPU address leads to them any more.
    pub rearranged_by: Option<&'static str>,
}

impl Seat {
    /// The board through which one CPU address leads to each byte; none where several programs share the chip, or where a
    /// step has moved its bytes.
    pub fn board(&self) -> Option<&Arc<Board>> {
        match &self.boards[..] {
            [board] if self.rearranged_by.is_none() => Some(board),
            _ => None,
        }
    }

    /// The CPU address of a byte of the chip's file; where several programs share the chip, in the first that shows it.
    pub fn cpu_of(&self, chip: u64) -> Option<u64> {
        if self.rearranged_by.is_some() {
            return None;
        }
        let mut boards = self.boards.iter();
        boards.find_map(|b| b.cpu_of(self.socket, chip))
    }

    /// What is added to a chip address to make the CPU's, where one number does it for the whole chip.
    pub fn offset(&self) -> Option<u64> {
        let board = self.board()?;
        let plain = *board.placement() == Placement::Whole && board.lanes() == 1;
        let in_order = board.word_bytes() == 1 || board.order() == Order::Little;
        let row = board.row_size() * u64::from(self.socket.row);
        (plain && in_order && board.has(self.socket)).then(|| board.base() + row)
    }
}
