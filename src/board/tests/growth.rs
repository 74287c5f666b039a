//! Work that grows with the bytes of a board, counted and not timed.

use crate::board::{Board, SocketsSpec, WindowSpec};
use crate::image::{Image, Source};
use crate::parts;

/// So many sockets of 128K, of which a switch shows 8K at a time.
fn board(sockets: u64) -> Board {
    let names = (0..sockets).map(|n| format!("U{n}"));
    let part = parts::find("27C010").unwrap().clone();
    let spec = SocketsSpec::new(part, names).window(WindowSpec {
        at: 0x4000,
        size: Some(8 << 10),
        banks: Some((0, sockets * 16 - 1)),
        ..WindowSpec::default()
    });
    Board::new("", [spec]).unwrap()
}

/// The pieces that all banks are made of, laid and looked at.
fn pieces(board: &Board) -> (usize, usize, usize) {
    let (store, window) = (&board.stores()[0], &board.stores()[0].windows()[0]);
    let bank = Image::from_bytes(0x4000, vec![1; 8 << 10], Source::Patch).unwrap();
    let content = Image::from_bytes(0, vec![1; store.bytes() as usize], Source::Patch).unwrap();
    let (first, last) = window.banks().unwrap();
    let (mut runs, mut laid, mut seen) = (0, 0, 0);
    for n in first..=last {
        runs += window.runs(Some(n), 0, 8 << 10).count();
        laid += window.to_store(store, Some(n), &bank).len();
        seen += window
            .out_of_store(store, Some(n), &content, window.range())
            .len();
    }
    (runs, laid, seen)
}

#[test]
fn banks_are_made_of_as_many_pieces_as_there_are_banks() {
    assert_eq!(pieces(&board(1)), (16, 16, 16));
    assert_eq!(pieces(&board(64)), (1024, 1024, 1024));
}

/// The size of a chip makes no more pieces of a plain window.
#[test]
fn a_plain_window_is_one_piece_for_each_row_at_most() {
    for (part, rows) in [("27C64", 1), ("27C080", 1), ("27C080", 16)] {
        let names = (0..rows).map(|n| format!("U{n}"));
        let spec = SocketsSpec::new(parts::find(part).unwrap().clone(), names).at(0);
        let board = Board::new("", [spec]).unwrap();
        let store = &board.stores()[0];
        let runs = store.windows()[0].runs(None, 0, store.bytes()).count();
        assert!(runs <= rows, "{part} {rows}: {runs}");
    }
}
