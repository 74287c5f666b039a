//! Pieces in the addresses that a step means: their own, those of a socket's chip, or those of a bus, where the chips of one
//! board are one image, as the bus sees them in a bank.

use std::collections::VecDeque;
use std::sync::Arc;

use super::{Bench, Console, Stop};
use crate::board::{Board, CPU, Opened, Socket};
use crate::image::{AddressRange, Image, NoMemory, ask_memory};
use crate::values::{BankSet, Place};

/// Pieces that are looked at together.
struct Group {
    pieces: Vec<usize>,
    on: GroupAddresses,
}

/// Whose addresses are meant.
enum GroupAddresses {
    /// The piece's own.
    Own,
    /// A bus of their board, in these banks one after another.
    Bus {
        board: Arc<Board>,
        space: String,
        banks: Vec<Option<u64>>,
    },
}

/// What a step works on at a time.
pub struct PieceInBank<'a> {
    /// The pieces' names.
    pub name: &'a str,
    /// The bank, where one was named.
    pub bank: Option<u64>,
}

/// What a step has worked on at a time, for what is to be remembered of it.
pub struct Worked {
    /// The pieces.
    pub pieces: Vec<usize>,
    /// The bus and bank, where it was in a bus's addresses.
    pub bus: Option<(Arc<Board>, String, Option<u64>)>,
    /// The pieces' names.
    pub name: String,
}

impl Bench {
    /// Shows `work` each chosen image in the addresses meant. `ranges` are the addresses that it looks at, if not
    /// all.
    ///
    /// # Errors
    /// The first that `work` returns; a place that no chosen piece has; a range in a switched window without its bank.
    pub fn view(
        &mut self,
        place: &Place,
        ranges: Option<&[AddressRange]>,
        names: &[String],
        mut work: impl FnMut(&Image, &PieceInBank, &mut Console) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        let several = self.pieces.len() > 1;
        for group in self.groups(place, ranges, names)? {
            let name = self.label_of(&group.pieces);
            let named = |stop: Stop| match several {
                true => stop.about(&name),
                false => stop,
            };
            let GroupAddresses::Bus {
                board,
                space,
                banks,
            } = &group.on
            else {
                let shown = PieceInBank {
                    name: &name,
                    bank: None,
                };
                let image = self.pieces[group.pieces[0]].image();
                work(image, &shown, &mut self.console).map_err(named)?;
                continue;
            };
            let looked_at = looked_at(board, space, ranges);
            let mut opened = opened(board, chips_of(&self.pieces, &group.pieces))?;
            for bank in banks {
                let image = opened.see(space, *bank, &looked_at)?;
                let shown = PieceInBank {
                    name: &name,
                    bank: *bank,
                };
                work(&image, &shown, &mut self.console).map_err(named)?;
            }
        }
        Ok(())
    }

    /// Lets `work` change each chosen image where its bytes are, in the addresses meant; see [`view`](Self::view). What it
    /// changes in a bus's addresses goes back into the chips.
    ///
    /// # Errors
    /// As `view`; a byte at an address that nothing answers, or in a chip that was not chosen.
    pub fn edit(
        &mut self,
        place: &Place,
        ranges: Option<&[AddressRange]>,
        names: &[String],
        work: impl FnMut(&mut Image, &PieceInBank, &mut Console) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        self.edit_each(place, ranges, names, work).map(|_| ())
    }

    /// As [`edit`](Self::edit); gives what each image that `work` had was made of, in order.
    ///
    /// # Errors
    /// As `edit`.
    pub fn edit_each(
        &mut self,
        place: &Place,
        ranges: Option<&[AddressRange]>,
        names: &[String],
        mut work: impl FnMut(&mut Image, &PieceInBank, &mut Console) -> Result<(), Stop>,
    ) -> Result<Vec<Worked>, Stop> {
        let several = self.pieces.len() > 1;
        let mut worked = Vec::new();
        for group in self.groups(place, ranges, names)? {
            let name = self.label_of(&group.pieces);
            let named = |stop: Stop| match several {
                true => stop.about(&name),
                false => stop,
            };
            let GroupAddresses::Bus {
                board,
                space,
                banks,
            } = group.on
            else {
                let shown = PieceInBank {
                    name: &name,
                    bank: None,
                };
                let piece = &mut self.pieces[group.pieces[0]];
                let image = piece.edit().map_err(Stop::from);
                image
                    .and_then(|image| work(image, &shown, &mut self.console))
                    .map_err(named)?;
                worked.push(Worked {
                    pieces: group.pieces,
                    bus: None,
                    name,
                });
                continue;
            };
            let looked_at = looked_at(&board, &space, ranges);
            let mut opened = opened(&board, chips_of(&self.pieces, &group.pieces))?;
            for bank in banks {
                let mut before = opened.see(&space, bank, &looked_at)?;
                ask_memory(before.len().saturating_mul(2))?;
                // What changes next must not have to be copied since a view of it is here.
                before.unshare();
                let mut after = before.clone();
                let shown = PieceInBank { name: &name, bank };
                work(&mut after, &shown, &mut self.console).map_err(named)?;
                opened.put(&space, bank, &before, &after)?;
                worked.push(Worked {
                    pieces: group.pieces.clone(),
                    bus: Some((board.clone(), space.clone(), bank)),
                    name: name.clone(),
                });
            }
            for (socket, image) in opened.close()? {
                let is_own = |i: &&usize| {
                    let seat = self.pieces[**i].seat();
                    seat.is_some_and(|seat| seat.socket() == socket)
                };
                let Some(at) = group.pieces.iter().find(is_own).copied() else {
                    continue;
                };
                self.pieces[at].replace(image);
            }
        }
        Ok(worked)
    }

    /// The chosen pieces, those together that one board shows.
    fn groups(
        &self,
        place: &Place,
        ranges: Option<&[AddressRange]>,
        names: &[String],
    ) -> Result<Vec<Group>, Stop> {
        let alone = |piece: usize| Group {
            pieces: vec![piece],
            on: GroupAddresses::Own,
        };
        let chosen = self.chosen(names)?;
        let Place::On { name, banks } = place else {
            return Ok(chosen.into_iter().map(alone).collect());
        };
        let mut waiting = VecDeque::from(chosen);
        let is_cpu = name.as_deref().unwrap_or(CPU) == CPU && banks.is_none();
        let mut groups = Vec::new();
        let mut boards: Vec<Arc<Board>> = Vec::new();
        while let Some(&first) = waiting.front() {
            let Some(board) = self.board_of(first)? else {
                waiting.pop_front();
                // Not seated: its own addresses are the CPU's.
                if is_cpu {
                    groups.push(alone(first));
                }
                continue;
            };
            let same = |i: &usize| {
                let seat = self.pieces[*i].seat();
                seat.is_some_and(|seat| seat.is_on(&board))
            };
            let (pieces, rest): (Vec<usize>, Vec<usize>) = waiting.into_iter().partition(same);
            waiting = rest.into();
            for piece in &pieces {
                // A piece that was rearranged no longer has a place on its board.
                self.board_of(*piece)?;
            }
            boards.push(board.clone());
            groups.extend(self.on_board(&board, pieces, place, ranges)?);
        }
        // Of several boards, those that answer there are meant.
        let answers = |group: &Group| match &group.on {
            GroupAddresses::Own => true,
            GroupAddresses::Bus { board, space, .. } => {
                let windows = board.windows().filter(|(_, w)| w.space() == space);
                let wanted = |w: AddressRange| {
                    ranges
                        .unwrap_or_default()
                        .iter()
                        .any(|r| w.overlap(*r).is_some())
                };
                windows.into_iter().any(|(_, w)| wanted(w.range()))
            }
        };
        if boards.len() > 1 && ranges.is_some_and(|r| !r.is_empty()) && groups.iter().any(answers) {
            groups.retain(answers);
        }
        match groups.is_empty() {
            false => Ok(groups),
            true => Err(no_such_place(place, &boards)),
        }
    }

    /// Pieces of one board in this place; nothing where the board does not have it.
    fn on_board(
        &self,
        board: &Arc<Board>,
        pieces: Vec<usize>,
        place: &Place,
        ranges: Option<&[AddressRange]>,
    ) -> Result<Option<Group>, Stop> {
        let Place::On { name, banks } = place else {
            return Ok(None);
        };
        let name = name.as_deref().unwrap_or(CPU);
        if !board.spaces().contains(&name) {
            let socket = board.socket(name).filter(|_| banks.is_none());
            let seated = |i: &usize| self.pieces[*i].seat().map(|seat| seat.socket()) == socket;
            let piece = socket.and_then(|_| pieces.iter().copied().find(seated));
            return Ok(piece.map(|piece| Group {
                pieces: vec![piece],
                on: GroupAddresses::Own,
            }));
        }
        let looked_at = looked_at(board, name, ranges);
        let known = board.banks_in(name, &looked_at);
        let banks: Vec<Option<u64>> = match banks {
            None => vec![None],
            Some(BankSet::All) => known.iter().copied().map(Some).collect(),
            Some(BankSet::Some(wanted)) => {
                let mut banks = Vec::new();
                for (first, last) in wanted {
                    let here = known.iter().filter(|bank| (first..=last).contains(bank));
                    let count = here.clone().count() as u64;
                    if count <= last - first {
                        let missing = (*first..=*last).find(|bank| !known.contains(bank));
                        return Err(no_such_bank(missing.unwrap_or(*first), &known));
                    }
                    banks.extend(here.copied().map(Some));
                }
                banks
            }
        };
        if banks.is_empty() {
            return Err(Stop::trouble(format!(
                "{name} has no switched window there"
            )));
        }
        for range in ranges.unwrap_or_default() {
            for bank in &banks {
                let Some((address, (first, last))) = board.open_at(name, *bank, *range) else {
                    continue;
                };
                return Err(match bank {
                    None => Stop::trouble(format!(
                        "0x{address:04X} is in a switched window, but no bank is named"
                    ))
                    .advise(format!(
                        "write bank{first}:0x{address:04X}, or another bank up to {last}"
                    )),
                    Some(bank) => Stop::trouble(format!(
                        "0x{address:04X} is in a window with the banks {first} to {last}, so there is no bank {bank}"
                    )),
                });
            }
        }
        Ok(Some(Group {
            pieces,
            on: GroupAddresses::Bus {
                board: board.clone(),
                space: name.to_owned(),
                banks,
            },
        }))
    }

    fn board_of(&self, piece: usize) -> Result<Option<Arc<Board>>, Stop> {
        let piece = &self.pieces[piece];
        let Some(seat) = piece.seat() else {
            return Ok(None);
        };
        match piece.rearranged_by() {
            None => Ok(Some(seat.board().clone())),
            Some(step) => Err(Stop::trouble(format!(
                "`{step}` has rearranged {} since it was seated, so cpu: addresses no longer apply to it",
                piece.name
            ))
            .advise("use cpu: before that step")),
        }
    }

    /// The names of pieces together.
    pub(super) fn label_of(&self, pieces: &[usize]) -> String {
        let names: Vec<&str> = pieces
            .iter()
            .map(|i| self.pieces[*i].name.as_str())
            .collect();
        names.join("+")
    }
}

/// The chips among these pieces, with their sockets.
pub(super) fn chips_of<'p>(
    pieces: &'p [super::Piece],
    chosen: &[usize],
) -> Vec<(Socket, &'p Image)> {
    let chosen = chosen.iter().map(|i| &pieces[*i]);
    chosen
        .filter_map(|piece| Some((piece.seat()?.socket(), piece.image())))
        .collect()
}

/// These chips as stores, which take as much memory as the chips.
fn opened<'a>(board: &'a Board, chips: Vec<(Socket, &'a Image)>) -> Result<Opened<'a>, NoMemory> {
    ask_memory(chips.iter().map(|(_, image)| image.len()).sum())?;
    Ok(Opened::new(board, chips))
}

/// The ranges of a bus that a step looks at; everything that its windows show if the step does not say.
fn looked_at(board: &Board, space: &str, ranges: Option<&[AddressRange]>) -> Vec<AddressRange> {
    if let Some(ranges) = ranges {
        return ranges.to_vec();
    }
    let windows = board.windows().filter(|(_, w)| w.space() == space);
    let mut all: Vec<AddressRange> = windows.map(|(_, w)| w.range()).collect();
    all.sort_unstable();
    all.dedup();
    all
}

fn no_such_bank(bank: u64, known: &[u64]) -> Stop {
    let stop = Stop::trouble(format!("there is no bank {bank} at these addresses"));
    match (known.first(), known.last()) {
        (Some(first), Some(last)) => stop.advise(format!("there are the banks {first} to {last}")),
        _ => stop.advise("no window there is switched: leave the bank out"),
    }
}

fn no_such_place(place: &Place, boards: &[Arc<Board>]) -> Stop {
    let Place::On { name, banks } = place else {
        return Stop::trouble("there is no piece");
    };
    if boards.is_empty() {
        let place = place.to_string();
        return Stop::trouble(format!("no piece is seated, so {place} means nothing")).advise(
            match banks {
                Some(_) => "`seat` them first, or add --bank-size",
                None => "`seat` them first",
            },
        );
    }
    let name = name.as_deref().unwrap_or(CPU);
    let mut known: Vec<&str> = Vec::new();
    for board in boards {
        known.extend(board.spaces());
        known.extend(board.sockets().map(|(_, name)| name));
    }
    let nearest = crate::prose::nearest(name, known.iter().copied());
    let stop = Stop::trouble(format!("the board has no bus or socket called `{name}`"));
    match nearest.first() {
        Some(nearest) => stop.advise(format!("did you mean {nearest}?")),
        None => stop.advise(format!("it has {}", known.join(", "))),
    }
}
