//! Which piece goes where on a board.

use crate::board::{Board, CPU, Program, Target};
use crate::cli::bench::{Piece, Stop};
use crate::image::{AddressRange, Image, ask_memory};
use crate::values::{BankSet, Place};

/// The most banks of one program: a size that gives more is probably wrong.
const MOST_BANKS: u64 = 1 << 16;

/// A piece, or a part of it, and where it goes.
pub struct PlacedProgram {
    /// Which of the pieces.
    piece: usize,
    name: String,
    image: Image,
    target: Target,
}

impl PlacedProgram {
    /// What errors call it: the piece's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The program for the board, under this name.
    pub fn named(self, name: &str) -> Program<'_> {
        Program {
            name,
            image: self.image,
            target: self.target,
        }
    }

    /// Which piece goes to which bus and bank; none for one that is the content of a chip.
    pub fn on_bus(&self) -> Option<(usize, String, Option<u64>)> {
        match &self.target {
            Target::Bus { space, bank } => Some((self.piece, space.clone(), *bank)),
            Target::Chip(_) => None,
        }
    }
}

/// A stop, and the word of the list of banks that it is about.
type RefusedWord = Box<(Stop, Option<usize>)>;

/// Where each piece goes. `in_banks` names pieces bank by bank, with a bus before the first or not; `far` is how far
/// apart the banks are in a program that has all of them.
///
/// # Errors
/// A name that no piece has; a place that the board does not have.
pub fn meant(
    board: &Board,
    pieces: &[&Piece],
    in_banks: &[String],
    far: Option<u64>,
) -> Result<Vec<PlacedProgram>, RefusedWord> {
    let mut banks: Vec<(usize, String, u64)> = Vec::new();
    let mut space = CPU.to_owned();
    for (number, word) in in_banks.iter().enumerate() {
        let mut word = word.as_str();
        if let (0, Some((bus, rest))) = (number, word.split_once(':')) {
            space = bus.to_owned();
            word = rest;
        }
        if word == "-" {
            continue;
        }
        let found: Vec<(usize, u64)> = match word.strip_suffix('*') {
            Some(stem) => {
                let number = |piece: &Piece| piece.name.strip_prefix(stem)?.parse::<u64>().ok();
                let all = pieces.iter().enumerate();
                all.filter_map(|(i, piece)| Some((i, number(piece)?)))
                    .collect()
            }
            None => {
                let at = pieces.iter().position(|piece| piece.name == word);
                at.map(|at| (at, number as u64)).into_iter().collect()
            }
        };
        if found.is_empty() {
            let known: Vec<&str> = pieces.iter().map(|p| p.name.as_str()).collect();
            let stop = Stop::trouble(format!("there is no piece called `{word}`"))
                .advise(format!("the pieces are {}", known.join(", ")));
            return Err(Box::new((stop, Some(number))));
        }
        banks.extend(found.iter().map(|(i, bank)| (*i, space.clone(), *bank)));
    }
    let mut out = Vec::new();
    for (i, piece) in pieces.iter().enumerate() {
        let listed: Vec<&(usize, String, u64)> =
            banks.iter().filter(|(own, ..)| *own == i).collect();
        let mut add = |image: Image, target: Target| {
            out.push(PlacedProgram {
                piece: i,
                name: piece.name.clone(),
                image,
                target,
            });
        };
        let bus = |space: &str, bank: Option<u64>| Target::Bus {
            space: space.to_owned(),
            bank,
        };
        if !listed.is_empty() {
            for (_, space, bank) in listed {
                add(piece.image().clone(), bus(space, Some(*bank)));
            }
            continue;
        }
        match (piece.meant_for(), far) {
            (Place::On { name, banks }, _) => {
                for target in targets(board, name.as_deref(), banks.as_ref())
                    .map_err(|stop| (stop.about(&piece.name), None))?
                {
                    add(piece.image().clone(), target);
                }
            }
            (_, None) => add(piece.image().clone(), bus(CPU, None)),
            (_, Some(far)) => {
                for (bank, image) in apart(piece.image(), far).map_err(|stop| (stop, None))? {
                    add(image, bus(CPU, Some(bank)));
                }
            }
        }
    }
    Ok(out)
}

/// The places that a name and banks mean on a board.
fn targets(
    board: &Board,
    name: Option<&str>,
    banks: Option<&BankSet>,
) -> Result<Vec<Target>, Stop> {
    let name = name.unwrap_or(CPU);
    if let Some(socket) = board.socket(name) {
        return match banks {
            None => Ok(vec![Target::Chip(socket)]),
            Some(_) => Err(Stop::trouble(format!(
                "{name} is a socket, which has no banks"
            ))),
        };
    }
    let target = |bank: Option<u64>| Target::Bus {
        space: name.to_owned(),
        bank,
    };
    match banks {
        None => Ok(vec![target(None)]),
        Some(BankSet::All) => {
            let all = AddressRange::from_up(0);
            let all = board.banks_in(name, &all.into_iter().collect::<Vec<_>>());
            Ok(all.into_iter().map(|bank| target(Some(bank))).collect())
        }
        Some(BankSet::Some(ranges)) => {
            let count: u64 = ranges.iter().map(|(first, last)| last - first + 1).sum();
            if count > MOST_BANKS {
                return Err(Stop::trouble(format!(
                    "{count} banks are more than a board has"
                )));
            }
            let banks = ranges.iter().flat_map(|(first, last)| *first..=*last);
            Ok(banks.map(|bank| target(Some(bank))).collect())
        }
    }
}

/// The banks of a program that has all of them, `far` bytes apart, each at the addresses that the CPU sees.
fn apart(image: &Image, far: u64) -> Result<Vec<(u64, Image)>, Stop> {
    if far == 0 {
        return Err(Stop::trouble("banks can't be 0 bytes apart"));
    }
    // Small banks don't share the memory of the program.
    ask_memory(image.len())?;
    let mut out: Vec<(u64, Image)> = Vec::new();
    for span in image.spans() {
        for bank in span.start() / far..=span.range().last() / far {
            if out.last().is_some_and(|(last, _)| *last == bank) {
                continue;
            }
            let range = AddressRange::from_len(bank * far, far);
            let mut own = range.map(|range| image.slice(range)).unwrap_or_default();
            own.shift(-i128::from(bank * far))?;
            out.push((bank, own));
            if out.len() as u64 > MOST_BANKS {
                return Err(Stop::trouble(format!(
                    "more than {} banks are more than a board has: is --far right?",
                    out.len()
                )));
            }
        }
    }
    Ok(out)
}
