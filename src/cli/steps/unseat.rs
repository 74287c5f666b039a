//! `unseat`: chips that were read, in the view of the buses.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;

use super::Step;
use super::common::On;
use super::seat::read_board;
use crate::board::{Board, Socket};
use crate::cli::bench::{Bench, Blame, MessageKind, Piece, Stop, argument};
use crate::image::Image;
use crate::ops::Large;
use crate::prose::plural;
use crate::values::{BankSet, Place};

/// Put the chips of a board together, as its buses see them
#[derive(Args, Debug)]
pub struct UnseatArgs {
    /// The board, from a file; pieces are named as its sockets [default: the board they were seated on]
    #[arg(long, value_name = "FILE")]
    board: Option<PathBuf>,
    /// The socket of each piece, in the pieces' order, if they have other names
    #[arg(
        long,
        value_name = "SOCKET,...",
        value_delimiter = ',',
        requires = "board"
    )]
    names: Vec<String>,
    #[command(flatten)]
    on: On,
}

impl Step for UnseatArgs {
    const NAME: &'static str = "unseat";
    const ABOUT: &'static str = "put the chips of a board together, as its buses see them";
    const SENTENCE: &'static str =
        "Puts the chips of a board together again, as its buses see them.";
    const HELP: &'static str = "\
The reverse of `seat`, for chips that were read: each bus becomes a piece of its own name with what it always sees, and \
what only a switch shows becomes a piece for each bank, named after the first socket and the bank, such as slot-bank3. Each \
byte of a chip comes out once. Each piece remembers its place, so that `seat` on the same board makes the same chips.";
    const EXAMPLE: &'static str = "\
$ romloom load even.bin odd.bin --apart + unseat --board heron-16.board + show hex 0-0xF
cpu
0000 > 00 11 00 00 . 00 00 04 00 . 00 00 05 34 . 00 00 05 44 < 000F  even.bin and odd.bin in turn
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let chosen = bench.chosen(&self.on.only)?;
        let board = match &self.board {
            Some(file) => Arc::new(read_board(bench, file).blame(argument!(self.board))?),
            None => {
                let seat = bench.pieces[chosen[0]].seat();
                let seat = seat.ok_or_else(|| {
                    Stop::trouble(format!("{} is not seated", bench.pieces[chosen[0]].name))
                        .advise("name its board with --board")
                })?;
                seat.board().clone()
            }
        };
        let mut sockets = Vec::new();
        for (n, i) in chosen.iter().enumerate() {
            sockets.push(self.socket(&board, n, &bench.pieces[*i])?);
        }
        if let Some(n) = (1..sockets.len()).find(|n| sockets[..*n].contains(&sockets[*n])) {
            let name = board.name(sockets[n]).unwrap_or_default();
            return Err(Stop::trouble(format!("two pieces are in {name}")));
        }
        let at = chosen[0];
        let taken = bench.take(&chosen).into_iter();
        let images = taken.map(Piece::into_image);
        let chips: Vec<(Socket, Image)> = sockets.into_iter().zip(images).collect();
        let bytes = chips.iter().map(|(_, image)| image.len()).sum::<u64>();
        Large::Allow.check_memory(bytes.saturating_mul(2))?;
        for (socket, image) in &chips {
            let upper = upper_halves(&board, *socket, image);
            if upper > 0 {
                let text = format!(
                    "{}: the upper four bits of {} are left out: the part has four data lines",
                    board.name(*socket).unwrap_or("-"),
                    plural(upper, "byte"),
                );
                bench.console.say(MessageKind::Warning, &text);
            }
        }
        let unseated = board.unseat(chips)?;
        for (socket, mut left) in unseated.unshown {
            let name = board.name(socket).unwrap_or("-");
            let part = board.stores()[socket.store].part();
            let beyond = left.split_off(part.bytes());
            for (what, left) in [
                ("that no bus shows in full".to_owned(), left),
                (format!("past the end of the {}", part.name), beyond),
            ] {
                if let Some(extent) = left.extent() {
                    let text = format!(
                        "{name}: left out {} {what}; the first is at 0x{:04X}",
                        plural(left.len(), "byte"),
                        extent.first()
                    );
                    bench.console.say(MessageKind::Warning, &text);
                }
            }
        }
        let pieces = unseated.seen.into_iter().map(|own| {
            let (piece_name, banks) = match own.bank {
                None => (own.space.clone(), None),
                Some((bank, socket)) => (
                    format!("{}-bank{bank}", board.name(socket).unwrap_or(&own.space)),
                    Some(BankSet::Some(vec![(bank, bank)])),
                ),
            };
            let name = Some(own.space);
            Piece::new(piece_name, own.image).with_place(Place::On { name, banks })
        });
        let pieces: Vec<Piece> = pieces.collect();
        bench.pieces.splice(at..at, pieces);
        bench.refuse_same_names("--on")
    }
}

/// How many bytes of a chip with four data lines have other bits set too.
fn upper_halves(board: &Board, socket: Socket, image: &Image) -> u64 {
    if board.stores()[socket.store].part().width != 4 {
        return 0;
    }
    let bytes = image.spans().iter().flat_map(|span| span.bytes());
    bytes.filter(|byte| **byte > 0x0F).count() as u64
}

impl UnseatArgs {
    /// The socket of a piece.
    fn socket(&self, board: &Board, n: usize, piece: &Piece) -> Result<Socket, Stop> {
        if let Some(seat) = piece.seat().filter(|_| self.board.is_none()) {
            if let Some(step) = piece.rearranged_by() {
                return Err(Stop::trouble(format!(
                    "`{step}` has rearranged {} since it was seated",
                    piece.name
                )));
            }
            return Ok(seat.socket());
        }
        let (name, about) = match self.names.get(n) {
            Some(name) => (name, argument!(self.names[n])),
            None => (&piece.name, argument!(self.board)),
        };
        board.socket(name).ok_or_else(|| {
            let known: Vec<&str> = board.sockets().map(|(_, name)| name).collect();
            Stop::trouble(format!("the board has no socket called `{name}`"))
                .advise(format!(
                    "it has {}: give the piece one of these names with `load --name`, or say with --names which is which",
                    known.join(", ")
                ))
                .at(about)
        })
    }
}
