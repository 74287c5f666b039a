//! `seat`: programs into the chips of a board.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use super::Step;
use super::common::{AllowLarge, Extent, On, extent, no_erased_value};
use super::lanes::backwards;
use super::programs::{PlacedProgram, meant};
use crate::board::{
    Board, BoardFault, Key, Level as PinLevel, Outside, Program, SocketsSpec, WindowSpec, Wrong,
};
use crate::cli::bench::{
    Argument, Bench, Blame, MessageKind, Piece, Seat as Seated, Stop, argument,
};
use crate::cli::report::advice::for_options;
use crate::cli::report::plural;
use crate::image::{AddressRange, Clash, Order};
use crate::ops::Large;
use crate::parts::{Catalogue, Doubt, Part};
use crate::values::{self, BadValue};

/// Lay programs out for the sockets of a board, one piece a chip
#[derive(Args, Debug)]
pub struct SeatArgs {
    /// The part in each socket, such as 27C256
    #[arg(
        value_name = "PART",
        required_unless_present = "board",
        conflicts_with = "board"
    )]
    part: Option<String>,
    /// The board, from a file (see `romloom help board`)
    #[arg(long, value_name = "FILE")]
    board: Option<PathBuf>,
    /// CPU address of the first byte of these sockets
    #[arg(long, value_name = "BASE", value_parser = values::number, requires = "part")]
    at: Option<u64>,
    /// Bytes that the CPU sees of them [default: all]
    #[arg(long, value_name = "SIZE", value_parser = extent, requires = "part")]
    size: Option<Extent>,
    /// Where in the chips the CPU's window starts
    #[arg(long, value_name = "ADDR", value_parser = values::size, requires = "part")]
    from: Option<u64>,
    /// Chip address pins that the board holds at a level: A14=1, A14=0, or A14=any if the level is not known
    #[arg(long, value_name = "A14=1,...", value_delimiter = ',', value_parser = tied, requires = "part")]
    tied: Vec<(u8, PinLevel)>,
    /// How many banks a switch or a register shows in this window, one at a time
    #[arg(long, value_name = "N", value_parser = values::number, requires = "size")]
    banks: Option<u64>,
    /// Chips side by side on a wide bus [default: 1]
    #[arg(long, value_name = "N", requires = "part")]
    lanes: Option<u32>,
    /// Sockets, or groups of lanes, one after another in the address space [default: 1]
    #[arg(long, value_name = "N", requires = "part")]
    rows: Option<u32>,
    /// Names of the sockets, rows from the lowest address up, lanes in order; - is a place without a chip
    #[arg(
        long,
        value_name = "NAME,...",
        value_delimiter = ',',
        requires = "part"
    )]
    names: Vec<String>,
    /// Byte order of the CPU; must be said for parts 16 bits wide
    #[arg(long, value_enum, requires = "part")]
    order: Option<Order>,
    /// Content of unused cells [default: the part's erased value]
    #[arg(long, value_name = "BYTE", value_parser = values::byte, requires = "part")]
    with: Option<u8>,
    /// A CPU range inside the window where something else answers; data there is an error
    #[arg(long, value_name = "RANGE", value_parser = values::range, requires = "part")]
    except: Vec<AddressRange>,
    /// The pieces for bank 0, 1, 2 and so on; - leaves a bank out, game* takes game0, game1 and so on by their numbers
    #[arg(
        long,
        value_name = "[BUS:]NAME,...",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    in_banks: Vec<String>,
    /// Bank N is in the program at N x SIZE + address, where compilers for banked code place it
    #[arg(long, value_name = "SIZE", value_parser = values::size, conflicts_with = "in_banks")]
    far: Option<u64>,
    /// What happens where two programs want one cell of a chip
    #[arg(long, value_enum, default_value_t)]
    clash: Clash,
    /// Drop data that nothing on the board shows, with a warning
    #[arg(long)]
    drop_outside: bool,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

fn tied(text: &str) -> Result<(u8, PinLevel), BadValue> {
    let (name, level) = text.split_once('=').unwrap_or((text, ""));
    let pin = name
        .strip_prefix(['A', 'a'])
        .and_then(|n| n.parse().ok())
        .filter(|n| *n < 64);
    let Some(pin) = pin else {
        let meant = name.parse::<u8>().unwrap_or(14);
        let level = if level.is_empty() { "1" } else { level };
        return Err(BadValue::new(
            format!("`{text}` is not an address pin and its level"),
            format!("write A{meant}={level}"),
        )
        .meaning(format!("A{meant}={level}")));
    };
    match level {
        "0" => Ok((pin, PinLevel::Low)),
        "1" => Ok((pin, PinLevel::High)),
        "any" => Ok((pin, PinLevel::Any)),
        _ => Err(BadValue::new(
            format!("`{text}` does not say a level"),
            format!("write A{pin}=0, A{pin}=1 or A{pin}=any"),
        )),
    }
}

impl Step for SeatArgs {
    const NAME: &'static str = "seat";
    const ABOUT: &'static str = "lay programs out for the sockets of a board, one piece a chip";
    const SENTENCE: &'static str = "Lays the programs out for the sockets of a board: one piece for each chip, at the chip's own addresses.";
    const HELP: &'static str = "\
All chosen pieces are laid over the board together. Each chip gets the bytes that its bus must see, at the chip's own \
addresses from 0, and is filled up with the part's erased value. With --board the board comes from a file, which says for \
every socket where which bus sees it; with PART and --at it is one kind of chip in one place. Data that nothing on the \
board shows is an error that names file, line and address. So are two programs that want one byte.

Lane 0 has the byte at the first address of each bus word: D8-D15 on a 68000, D0-D7 on an 8086. In a part 16 bits wide, \
chip word n is file bytes 2n (D0-D7) and 2n+1 (D8-D15), and --order says which of them has the lower CPU address.

A piece goes to the bus `cpu`, unless `load --for` or --in-banks says another bus, a bank or a socket. From here on \
addresses are the chip's; cpu:0xFFFC, bank3:0x4007 and U7:0x10 mean the bus's, a bank's and the chip's in a socket. A \
chip stays a chip: a later step can't make it longer than its part, or put different bytes where its board shows the same. \
The entry point belongs to the CPU's image and is dropped.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex basic.s19 --name rom --entry none + seat 27C256 --at 0x8000 + show
rom  27C256   chip 0000 = CPU 8000   one cell = 1K
8000 bbffffff  A000 ffffffff  C000 ffffffff  E000 mmfffffm  FFFF
b basic.s19   m monitor.hex   f filler
seated 2,735, filled 30,033, hollow 0
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        if let Some(name) = &self.part {
            let part = part_named(name, parts).blame(argument!(self.part))?;
            self.one_entry(part, "rom", parts)?;
        }
        Ok(())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let chosen = bench.chosen(&self.on.only)?;
        if let Some(i) = chosen.iter().find(|i| bench.pieces[**i].seat().is_some()) {
            return Err(Stop::trouble(format!(
                "{} is already seated",
                bench.pieces[*i].name
            )));
        }
        let name = bench.pieces[chosen[0]].name.clone();
        let board = match (&self.board, &self.part) {
            (Some(file), _) => read_board(bench, file).blame(argument!(self.board))?,
            (None, part) => {
                let part = part.as_deref().unwrap_or_default();
                let part = bench.parts.find(part).blame(argument!(self.part))?.clone();
                self.one_entry(&part, &name, &bench.parts)?
            }
        };
        warn_of_names(bench, &board);
        let board = Arc::new(board);
        let pieces: Vec<&Piece> = chosen.iter().map(|i| &bench.pieces[*i]).collect();
        let loaded = pieces.iter().map(|piece| piece.image().len()).sum::<u64>();
        let meant = meant(&board, &pieces, &self.in_banks, self.far).map_err(|refused| {
            let (stop, at) = *refused;
            stop.at(match (at, self.in_banks.is_empty()) {
                (Some(value), false) => argument!(self.in_banks[value]),
                _ => self.what(),
            })
        })?;
        let outside = match self.drop_outside {
            true => Outside::Drop,
            false => Outside::Refuse,
        };
        let made = board.stores().iter().map(|store| store.bytes());
        let made = made.fold(0, u64::saturating_add);
        let large = self.large.large();
        large.check(made).blame(self.what())?;
        // What each chip is put together from is there beside it.
        let places = pieces.iter().map(|piece| piece.image().places_len());
        let places = places.sum::<u64>().saturating_mul(3);
        let beside = made
            .saturating_mul(2)
            .saturating_add(loaded)
            .saturating_add(places);
        Large::Allow.check_memory(beside).blame(self.what())?;
        let single = board.sockets().count() == 1 && self.board.is_none() && self.names.is_empty();
        let at = chosen[0];
        let mut taken = bench.take(&chosen);
        for (piece, space, bank) in meant.iter().filter_map(PlacedProgram::on_bus) {
            bench.seated_on(&board, (&space, bank), &mut taken[piece]);
        }
        // From here on the board alone has the programs, and can give their memory back.
        drop(taken);
        let names: Vec<String> = meant.iter().map(|own| own.name().to_owned()).collect();
        let programs = meant.into_iter().zip(&names);
        let programs: Vec<Program> = programs.map(|(own, name)| own.named(name)).collect();
        let all: u64 = programs.iter().map(|program| program.image.len()).sum();
        let laid = board.lay(programs, self.clash, outside);
        let laid = laid.blame(self.what())?;
        let lost: u64 = laid.dropped.iter().map(|dropped| dropped.count).sum();
        if lost > 0 && lost == all {
            let stop = Stop::trouble("this board shows nothing of what was loaded");
            return Err(stop
                .advise("place a raw file with `load --at`, or move what is loaded with `relocate`")
                .at(argument!(self.drop_outside)));
        }
        for dropped in &laid.dropped {
            let text = format!(
                "{}: dropped {} that nothing on the board shows; the first was at 0x{:04X}",
                names[dropped.program],
                plural(dropped.count, "byte"),
                dropped.address
            );
            bench.console.say(MessageKind::Warning, &text);
        }
        let mut seated = Vec::new();
        for chip in laid.chips {
            let Some(seat) = Seated::new(board.clone(), chip.socket) else {
                continue;
            };
            let name = match single {
                true => name.clone(),
                false => seat.name().to_owned(),
            };
            seated.push(Piece::seated(name, chip.image, Some(seat)));
        }
        bench.pieces.splice(at..at, seated);
        bench.refuse_same_names("--names").blame(self.what())
    }
}

impl SeatArgs {
    /// The argument that says what the board is.
    fn what(&self) -> Argument {
        match self.board {
            Some(_) => argument!(self.board),
            None => argument!(self.part),
        }
    }

    /// The board that the options describe. `name` names its only socket.
    fn one_entry(&self, part: &Part, name: &str, parts: &Catalogue) -> Result<Board, Stop> {
        let Some(at) = self.at else {
            return Err(Stop::trouble("nothing says where the CPU sees this part")
                .advise("add --at BASE")
                .at(argument!(self.part)));
        };
        let mut spec = SocketsSpec::new(part.clone(), self.socket_names(name));
        spec.lanes = self.lanes.unwrap_or(1);
        spec.order = self.order;
        spec.with = self.with;
        spec.tied = self.tied.clone();
        spec.except = self.except.clone();
        let size = self.size.as_ref().map(|size| size.bytes(parts));
        spec = spec.window(WindowSpec {
            at,
            size: size.transpose().blame(argument!(self.size))?,
            from: self.from,
            banks: self.banks.map(|banks| (0, banks.saturating_sub(1))),
            ..WindowSpec::default()
        });
        Board::new("", [spec]).map_err(|fault| self.refused(fault, part))
    }

    fn socket_names(&self, name: &str) -> Vec<String> {
        if !self.names.is_empty() {
            return self.names.clone();
        }
        let (lanes, rows) = (self.lanes.unwrap_or(1), self.rows.unwrap_or(1));
        let lane = |lane: u32| match (lanes, lane) {
            (1, _) => None,
            (2, 0) => Some("even".to_owned()),
            (2, _) => Some("odd".to_owned()),
            (_, lane) => Some(format!("lane{lane}")),
        };
        let row = |row: u32| (rows > 1).then(|| format!("row{row}"));
        // The count refuses more than any board has.
        let places = (0..rows.min(8192)).flat_map(|r| (0..lanes.min(17)).map(move |l| (r, l)));
        places
            .map(|(r, l)| match (row(r), lane(l)) {
                (Some(row), Some(lane)) => format!("{row}-{lane}"),
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => socket_name(name),
            })
            .collect()
    }

    /// What is wrong with the board that the options describe.
    fn refused(&self, fault: BoardFault, part: &Part) -> Stop {
        let argument = match fault.key {
            Key::Lanes => argument!(self.lanes),
            Key::Order => argument!(self.order),
            Key::With => argument!(self.with),
            Key::Size => argument!(self.size),
            Key::From => argument!(self.from),
            Key::Banks | Key::Switch => argument!(self.banks),
            Key::Tied => argument!(self.tied),
            Key::Except => argument!(self.except),
            Key::Names if self.names.is_empty() => argument!(self.rows),
            Key::Names => argument!(self.names),
            Key::At => argument!(self.at),
            _ => argument!(self.part),
        };
        let argument = match (&fault.wrong, argument) {
            (Wrong::NotShown { range }, _) => {
                let value = self.except.iter().position(|own| own == range);
                argument!(self.except[value.unwrap_or_default()])
            }
            (Wrong::NoSuchPin { pin, .. } | Wrong::PinTwice { pin, .. }, _) => {
                let value = self.tied.iter().rposition(|(own, _)| own == pin);
                argument!(self.tied[value.unwrap_or_default()])
            }
            (Wrong::NameTwice(name), _) => {
                let same = |own: &String| own.to_lowercase() == name.to_lowercase();
                match self.names.iter().rposition(same) {
                    Some(value) => argument!(self.names[value]),
                    None => argument!(self.names),
                }
            }
            (_, argument) => argument,
        };
        match &fault.wrong {
            Wrong::NoErased(_) => no_erased_value(&part.name).at(argument!(self.part)),
            Wrong::OrderOpen(_) => Stop::from(fault)
                .advise("add --order little or --order big")
                .at(argument!(self.part)),
            _ => {
                let advice = for_options(&fault);
                let stop = Stop::from(fault).at(argument);
                match advice {
                    Some(advice) => stop.advise(advice),
                    None => stop,
                }
            }
        }
    }
}

/// Warns of sockets whose names say another lane than the one they are.
fn warn_of_names(bench: &Bench, board: &Board) {
    for store in board.stores() {
        let names: Vec<&str> = store.names().map(Option::unwrap_or_default).collect();
        let order = store.order_is_said().then(|| store.order());
        let rows = names.chunks(store.lanes() as usize);
        for odd in rows.filter_map(|row| backwards(row, order)) {
            bench.console.say(MessageKind::Warning, &odd);
        }
    }
}

/// The part of this name; for a size, the error lists the parts of that size.
fn part_named<'p>(name: &str, parts: &'p Catalogue) -> Result<&'p Part, Stop> {
    parts.find(name).map_err(|unknown| {
        let size = match (values::size(name), unknown.doubt) {
            (Ok(size), Doubt::Unlike) => size,
            _ => return Stop::from(unknown),
        };
        let fits = parts.all().filter(|part| part.bytes() == size);
        let fits: Vec<&str> = fits.map(|part| part.name.as_str()).take(4).collect();
        let stop = Stop::trouble(format!("`{name}` is a size, but a chip needs a part"));
        match fits.is_empty() {
            true => stop.advise("no part of the table has this size; `romloom parts` lists all"),
            false => stop.advise(format!("parts of this size are {}", fits.join(", "))),
        }
    })
}

/// A name made fit for a socket.
fn socket_name(name: &str) -> String {
    let plain = |c: char| match c.is_alphanumeric() || matches!(c, '_' | '.') {
        true => c,
        false => '_',
    };
    let name: String = name.chars().map(plain).collect();
    let lower = name.to_lowercase();
    let reserved = ["cpu", "part", "text"].contains(&lower.as_str()) || lower.starts_with("bank");
    match reserved || name.is_empty() {
        true => format!("U_{name}"),
        false => name,
    }
}

/// Reads a board file.
///
/// # Errors
/// What is wrong with it, with its line.
pub fn read_board(bench: &mut Bench, file: &Path) -> Result<Board, Stop> {
    let text = bench.read_text(file)?;
    let shown = bench.shown(file);
    let mut parts = bench.parts.clone();
    Ok(Board::from_toml(&shown, &text, &mut parts)?)
}
