//! A chip's place on a board.

use std::sync::Arc;

use super::address::Seen;
use super::hardware::{Board, Socket};
use super::store::Store;
use crate::parts::Part;

/// A chip's place: the board, and which of its sockets.
#[derive(Clone, Debug)]
pub struct Seat {
    board: Arc<Board>,
    socket: Socket,
}

impl Seat {
    /// The place of the chip in this socket; `None` where the board has no chip there.
    pub fn new(board: Arc<Board>, socket: Socket) -> Option<Self> {
        board.name(socket)?;
        Some(Self { board, socket })
    }

    /// The board.
    pub fn board(&self) -> &Arc<Board> {
        &self.board
    }

    /// Which of its sockets.
    pub fn socket(&self) -> Socket {
        self.socket
    }

    /// The socket's name.
    pub fn name(&self) -> &str {
        self.board.name(self.socket).unwrap_or_default()
    }

    /// The chips that are wired like this one.
    pub fn store(&self) -> &Store {
        &self.board.stores()[self.socket.store]
    }

    /// The part in the socket.
    pub fn part(&self) -> &Part {
        self.store().part()
    }

    /// Where buses see a byte of the chip's file; see [`Board::seen`].
    pub fn seen(&self, address: u64) -> Vec<Seen<'_>> {
        self.board.seen(self.socket, address)
    }

    /// Whether both are sockets of one board.
    pub fn is_on(&self, board: &Arc<Board>) -> bool {
        Arc::ptr_eq(&self.board, board)
    }
}
