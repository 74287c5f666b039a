//! `seat`: the CPU's addresses to the chips in their sockets.

use std::sync::Arc;

use clap::Args;

use super::Step;
use super::common::{Extent, On, Sockets, extent, no_erased_value, refused};
use crate::board::{Board, BoardError, Placement, Socket};
use crate::cli::bench::{
    Argument, Bench, Blame, MessageKind, Piece, Seat as Seated, Stop, argument,
};
use crate::cli::report::plural;
use crate::image::{AddressRange, Order};
use crate::parts::{Catalogue, Part};
use crate::values::{self, BadValue};

/// Lay a program out for the sockets of one board, one piece per chip
#[derive(Args, Debug)]
pub struct SeatArgs {
    /// The part in each socket, as 27C256
    #[arg(value_name = "PART")]
    part: String,
    #[command(flatten)]
    sockets: Sockets,
    /// Byte order of the CPU, where the part is 16 bits wide
    #[arg(long, value_enum, default_value = "little")]
    order: Order,
    /// Names of the chips, rows from the lowest address up, lanes in order, separated by commas
    #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
    names: Vec<String>,
    /// What unused places hold; else the part's erased value
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    with: Option<u8>,
    /// Leave data outside the window out, with a warning
    #[arg(long)]
    shed: bool,
    /// Bytes of each chip that the CPU sees, where that is less than the chip
    #[arg(long, value_name = "SIZE", value_parser = extent)]
    window: Option<Extent>,
    /// Chip address lines that the board holds at a level
    #[arg(long, value_name = "A14=1,...", value_delimiter = ',', value_parser = tied)]
    tied: Vec<(u8, bool)>,
    /// The upper address lines float or are switched: put the same bytes everywhere
    #[arg(long, conflicts_with_all = ["tied", "switch", "bank"])]
    repeat: bool,
    /// Chip address lines on a switch, lowest first; this program takes one --position, the rest stays hollow
    #[arg(long, value_name = "A15,...", value_delimiter = ',', value_parser = line, requires = "position", conflicts_with_all = ["tied", "bank"])]
    switch: Vec<u8>,
    /// Position of the switch, counted from 0
    #[arg(long, value_name = "N", value_parser = values::number, requires = "switch")]
    position: Option<u64>,
    /// Page of a chip that a bank register switches, counted from 0; the rest stays hollow
    #[arg(long, value_name = "N", value_parser = values::number, requires = "window", conflicts_with = "tied")]
    bank: Option<u64>,
    /// A further CPU range where the chips answer, from their first byte on
    #[arg(long, value_name = "RANGE", value_parser = values::range)]
    also: Vec<AddressRange>,
    /// A CPU range inside the window where something else answers; data there is an error
    #[arg(long, value_name = "RANGE", value_parser = values::range)]
    except: Vec<AddressRange>,
    #[command(flatten)]
    on: On,
}

fn line(text: &str) -> Result<u8, BadValue> {
    text.strip_prefix(['A', 'a'])
        .and_then(|n| n.parse().ok())
        .filter(|n| *n < 64)
        .ok_or_else(|| BadValue::new(format!("`{text}` is no address line"), "write A14"))
}

fn tied(text: &str) -> Result<(u8, bool), BadValue> {
    match text.split_once('=') {
        Some((name, "0")) => Ok((line(name)?, false)),
        Some((name, "1")) => Ok((line(name)?, true)),
        _ => Err(BadValue::new(
            format!("`{text}` does not say a level"),
            "write A14=0 or A14=1",
        )),
    }
}

impl Step for SeatArgs {
    const NAME: &'static str = "seat";
    const ABOUT: &'static str =
        "lay a program out for the sockets of one board, one piece per chip";
    const HELP: &'static str = "\
Takes the window of the CPU's address space that these sockets see, splits it over lanes and rows, places each chip's \
bytes at chip address 0 and fills up with the part's erased value. Data outside the window is an error that names \
file, line and address. Lane 0 holds the byte at the first address of each bus word: D8-D15 on a 68000, D0-D7 on an \
8086. In a part 16 bits wide, chip word n is file bytes 2n (D0-D7) and 2n+1 (D8-D15).

From here on addresses are the chip's; cpu:0xFFFC means the CPU's, through all lanes and rows. The entry point \
belongs to the CPU's image and stays behind. Programs that share one switched chip are seated one by one with \
--switch and --position, or with --bank, then joined and padded to the part; check the result by chip addresses, since \
cpu: asks each program by itself and not its place.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex basic.s19 --name rom --entry none + seat 27C256 --at 0x8000 + show
rom  27C256   chip 0000 = CPU 8000   one cell = 1K
8000 bbffffff  A000 ffffffff  C000 ffffffff  E000 mmfffffm  FFFF
b basic.s19   m monitor.hex   f filler
seated 2,484, filled 30,284, hollow 0
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let (part, board) = self.board(parts)?;
        self.erased(part)?;
        let sockets = board.sockets().count();
        let names = self.names.len();
        if names > 0 && names != sockets {
            // The first that is too many, or the last where some are missing.
            let value = sockets.min(names - 1);
            return Err(
                Stop::trouble(format!("there are {sockets} sockets and {names} names"))
                    .advise("give one name for each")
                    .at(argument!(self.names[value])),
            );
        }
        Ok(())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let (part, board) = self.board(&bench.parts)?;
        let part = part.clone();
        let erased = self.erased(&part)?;
        let chosen = bench.chosen(&self.on.labels)?;
        let several = chosen.len() > 1;
        bench.settle(&chosen);
        let mut pieces = Vec::new();
        for (i, mut piece) in std::mem::take(&mut bench.pieces).into_iter().enumerate() {
            if !chosen.contains(&i) {
                pieces.push(piece);
                continue;
            }
            if piece.seat().is_some() {
                return Err(Stop::trouble(format!("{} is seated already", piece.label)));
            }
            if self.shed {
                shed(bench, &board, &mut piece);
            }
            // Each program has a board of its own, or the CPU would see the chips of all of them at once.
            let board = Arc::new(board.clone());
            bench.seated_on(&board, &mut piece);
            let chips = board
                .seat(piece.image(), erased)
                .map_err(|e| self.refused(e).about(&piece.label))?;
            for ((socket, image), name) in board.sockets().zip(chips).zip(self.labels(&board)) {
                let label = match name {
                    None => piece.label.clone(),
                    Some(name) if several => format!("{}-{name}", piece.label),
                    Some(name) => name,
                };
                let seat = Seated {
                    part: part.clone(),
                    boards: vec![board.clone()],
                    socket,
                    rearranged_by: None,
                };
                pieces.push(Piece::seated(label, image, Some(seat)));
            }
        }
        bench.pieces = pieces;
        Ok(())
    }
}

/// Takes out what lies outside the window, and says so.
fn shed(bench: &Bench, board: &Board, piece: &mut Piece) {
    let whole = board.addresses();
    let mut kept = vec![whole];
    kept.extend(board.also());
    let before = piece.image().len();
    piece.edit().keep(&kept);
    let lost = before - piece.image().len();
    if lost > 0 {
        let text = format!(
            "{}: {} outside {whole} left out",
            piece.label,
            plural(lost, "byte")
        );
        bench.console.say(MessageKind::Warning, &text);
    }
}

impl SeatArgs {
    fn board<'p>(&self, parts: &'p Catalogue) -> Result<(&'p Part, Board), Stop> {
        let part = parts.find(&self.part).blame(argument!(self.part))?;
        if part.width == 4 {
            return Err(Stop::trouble(format!("a {} gives half a byte", part.name))
                .advise(format!(
                    "pad the image to {} and `split nibbles`, one piece per chip",
                    part.words
                ))
                .at(argument!(self.part)));
        }
        let window = match &self.window {
            Some(size) => size.bytes(parts).blame(argument!(self.window))?,
            None => part.bytes(),
        };
        let switched = |numbers: &[u8], value: u64| -> Placement {
            let level = |i: usize| value >> i & 1 == 1;
            let levels = numbers.iter().enumerate();
            Placement::Switched(levels.map(|(i, l)| (*l, level(i))).collect())
        };
        let unit = u64::from(part.width / 8);
        let placement = if self.repeat {
            Placement::Repeated
        } else if !self.tied.is_empty() {
            Placement::Tied(self.tied.clone())
        } else if let Some(position) = self.position {
            fits("--position", position, 1 << self.switch.len().min(63))
                .blame(argument!(self.position))?;
            switched(&self.switch, position)
        } else if let Some(bank) = self.bank {
            fits("--bank", bank, part.bytes() / window.clamp(1, part.bytes()))
                .blame(argument!(self.bank))?;
            let low = (window / unit).max(1).ilog2() as u8;
            let upper: Vec<u8> = (low..part.address_lines()).collect();
            switched(&upper, bank)
        } else {
            Placement::Whole
        };
        let board = Board::for_part(part, self.sockets.at)
            .lanes(self.sockets.lanes)
            .rows(self.sockets.rows)
            .order(self.order)
            .window(window)
            .placement(placement)
            .also(self.also.iter().copied())
            .except(self.except.iter().copied());
        Ok((
            part,
            board.build().map_err(|e| {
                let argument = self.about(&e);
                refused(e).at(argument)
            })?,
        ))
    }

    fn refused(&self, error: BoardError) -> Stop {
        let argument = self.about(&error);
        refused(error).at(argument)
    }

    fn about(&self, error: &BoardError) -> Argument {
        match error {
            BoardError::Lanes(_) => argument!(self.sockets.lanes),
            BoardError::Rows(_) => argument!(self.sockets.rows),
            BoardError::Window { .. } | BoardError::OpenPlace { .. } => argument!(self.window),
            BoardError::Lines { .. } => argument!(self.tied),
            BoardError::NoSuchLine(line) | BoardError::HeldTwice(line) => {
                let tied = self.tied.iter().rposition(|(own, _)| own == line);
                let switched = self.switch.iter().rposition(|own| own == line);
                match (tied, switched) {
                    (Some(value), _) => argument!(self.tied[value]),
                    (None, value) => argument!(self.switch[value.unwrap_or_default()]),
                }
            }
            BoardError::Except { range, .. } | BoardError::InExcepted { range, .. } => {
                let value = self.except.iter().position(|own| own == range);
                argument!(self.except[value.unwrap_or_default()])
            }
            BoardError::Also { range, .. } => {
                let value = self.also.iter().position(|own| own == range);
                argument!(self.also[value.unwrap_or_default()])
            }
            _ => argument!(self.sockets.at),
        }
    }

    fn erased(&self, part: &Part) -> Result<u8, Stop> {
        let erased = self.with.or(part.erased);
        erased.ok_or_else(|| no_erased_value(&part.name).at(argument!(self.part)))
    }

    /// A name for each socket; none for a single one, which keeps the piece's.
    fn labels(&self, board: &Board) -> Vec<Option<String>> {
        if !self.names.is_empty() {
            return self.names.iter().cloned().map(Some).collect();
        }
        let lane = |socket: Socket| match (board.lanes(), socket.lane) {
            (1, _) => None,
            (2, 0) => Some("even".to_owned()),
            (2, _) => Some("odd".to_owned()),
            (_, lane) => Some(format!("lane{lane}")),
        };
        let row = |socket: Socket| (board.rows() > 1).then(|| format!("row{}", socket.row));
        board
            .sockets()
            .map(|socket| match (row(socket), lane(socket)) {
                (Some(row), Some(lane)) => Some(format!("{row}-{lane}")),
                (row, lane) => row.or(lane),
            })
            .collect()
    }
}

fn fits(option: &str, value: u64, count: u64) -> Result<(), Stop> {
    match value < count {
        true => Ok(()),
        false => Err(Stop::trouble(format!(
            "there are {count}, numbered 0 to {}, so {option} {value} is none of them",
            count - 1
        ))),
    }
}
