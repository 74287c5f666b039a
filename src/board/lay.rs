//! Programs into chips: what is to be burned.

use super::address::{Answer, Seen};
use super::bulk::merged;
use super::hardware::{Board, Socket};
use super::spec::CPU;
use super::store::Window;
use crate::image::{AddressRange, Clash, Image, Origin, Overlap};
use crate::prose::plural;
use crate::wiring::WiringError;

/// What is laid over a board, and where.
#[derive(Clone, Debug)]
pub struct Program<'a> {
    /// Its name, for messages.
    pub name: &'a str,
    /// Its bytes, at the addresses of its target.
    pub image: Image,
    /// Where they are.
    pub target: Target,
}

/// The addresses of a program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// Those of a bus; `bank` is the position of the switches of the windows that it is in.
    Bus {
        /// The bus.
        space: String,
        /// The bank.
        bank: Option<u64>,
    },
    /// Those of one chip's file, as it is.
    Chip(Socket),
}

impl Default for Target {
    fn default() -> Self {
        Target::Bus {
            space: CPU.into(),
            bank: None,
        }
    }
}

/// What happens to bytes that no window shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Outside {
    /// They are an error.
    #[default]
    Refuse,
    /// They are dropped, and counted.
    Drop,
}

/// The chips of a board, ready to be burned.
#[derive(Clone, Debug)]
pub struct Laid {
    /// Each socket with its chip, in the order of the description: the whole chip, filled.
    pub chips: Vec<Chip>,
    /// What was dropped, program by program.
    pub dropped: Vec<Dropped>,
}

/// A chip, ready to be burned.
#[derive(Clone, Debug)]
pub struct Chip {
    /// Its socket.
    pub socket: Socket,
    /// Its whole content.
    pub image: Image,
    /// Whether any of it came from a program.
    pub has_data: bool,
}

/// Bytes that no window shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dropped {
    /// Which program, in the order given.
    pub program: usize,
    /// The first of them.
    pub address: u64,
    /// How many.
    pub count: u64,
}

/// Why programs can't be laid over a board.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LayError {
    /// Bytes that no window of that bus shows.
    #[error("{name}: nothing on the bus `{space}` shows {}; the first is at 0x{address:04X}{}", counted_bytes(.count), from(.origin))]
    Unseen {
        /// The program.
        name: String,
        /// The bus.
        space: String,
        /// The first byte.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
        /// How many there are.
        count: u64,
        /// The window that is nearest to the first.
        nearest: Option<AddressRange>,
    },
    /// Bytes in a window that a switch shows, and nothing says in which position.
    #[error("{name}: 0x{address:04X}{} is in a switched window, but no bank is given", from(.origin))]
    NoBank {
        /// The program.
        name: String,
        /// The first byte.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
        /// The banks there are.
        banks: (u64, u64),
    },
    /// Bytes in a window that does not answer in this bank.
    #[error("{name}: 0x{address:04X}{} is in a window with the banks {} to {}, so there is no bank {bank}", from(.origin), banks.0, banks.1)]
    OtherBank {
        /// The program.
        name: String,
        /// The first byte.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
        /// The bank that was named.
        bank: u64,
        /// The banks there are.
        banks: (u64, u64),
    },
    /// Bytes where something else answers.
    #[error("{name}: 0x{address:04X}{} is in {range}, where something else answers", from(.origin))]
    Excepted {
        /// The program.
        name: String,
        /// The first byte.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
        /// The range.
        range: AddressRange,
    },
    /// Bytes for a place that has no chip.
    #[error("{name}: {} for places without a chip; the first is at 0x{address:04X}{}", counted_bytes(.count), from(.origin))]
    Absent {
        /// The program.
        name: String,
        /// The first byte.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
        /// How many bytes nothing shows.
        count: u64,
    },
    /// A bus that the board does not have.
    #[error("{name}: the board has no bus `{space}`")]
    NoSpace {
        /// The program.
        name: String,
        /// The bus that was named.
        space: String,
        /// The buses it has.
        known: Vec<String>,
    },
    /// A socket that the board does not have, or a place without a chip.
    #[error("{name}: the board has no chip in that socket")]
    NoSocket {
        /// The program.
        name: String,
    },
    /// One program puts different bytes into one cell, through two windows.
    #[error("{name}: {one} and {other} are one cell of {chip}, but the program has {} and {} there", hex(.bytes.0), hex(.bytes.1))]
    SeenTwice {
        /// The program.
        name: String,
        /// The chips.
        chip: String,
        /// The first address.
        one: String,
        /// The other.
        other: String,
        /// The bytes.
        bytes: (u8, u8),
    },
    /// Two programs want one cell.
    #[error("{one} and {other} want the same cells of {chip}: {}", wanted(.overlap))]
    Programs {
        /// The first program.
        one: String,
        /// The other.
        other: String,
        /// The chips.
        chip: String,
        /// Where.
        overlap: Box<Overlap>,
    },
    /// Content that is too large for the chip.
    #[error("{name}: {chip} has {}, but there is a byte at 0x{address:04X}{}", plural(*.size, "byte"), from(.origin))]
    BeyondChip {
        /// The program.
        name: String,
        /// The chip.
        chip: String,
        /// Its size.
        size: u64,
        /// The first byte beyond.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
    },
    /// A byte whose upper half has no chip.
    #[error("{name}: the upper half of {byte:02X} at 0x{address:04X}{} is not 0, but there is no chip for it", from(.origin))]
    UpperHalf {
        /// The program.
        name: String,
        /// The byte.
        byte: u8,
        /// Where it is.
        address: u64,
        /// Where it came from.
        origin: Option<Origin>,
    },
    /// Half a word where the board's data lines need a whole one.
    #[error(transparent)]
    Wiring(#[from] WiringError),
}

crate::prose::debug_as_display!(LayError);

fn from(origin: &Option<Origin>) -> String {
    origin.as_ref().map_or(String::new(), |o| format!(" ({o})"))
}

fn counted_bytes(count: &u64) -> String {
    plural(*count, "byte")
}

fn hex(byte: u8) -> String {
    format!("{byte:02X}")
}

fn wanted(overlap: &Overlap) -> String {
    let ((one, old), (other, new)) = (&overlap.earlier, &overlap.later);
    format!("{one} puts {old:02X} there, {other} puts {new:02X}")
}

impl Board {
    /// Lays programs over the board and gives the whole content of every chip, with its unused cells filled.
    ///
    /// A program whose image nobody else has gives its memory back while the chips are made.
    ///
    /// # Errors
    /// [`LayError`]; nothing is guessed, and every byte that is lost is counted.
    pub fn lay(
        &self,
        mut programs: Vec<Program<'_>>,
        clash: Clash,
        outside: Outside,
    ) -> Result<Laid, LayError> {
        let mut contents: Vec<Content> = self.stores().iter().map(|_| Content::default()).collect();
        let mut dropped = Vec::new();
        let mut alone: Vec<(usize, Socket)> = Vec::new();
        for (number, program) in programs.iter().enumerate() {
            match &program.target {
                Target::Chip(socket) if self.name(*socket).is_none() => {
                    let name = program.name.to_owned();
                    return Err(LayError::NoSocket { name });
                }
                Target::Chip(socket) => alone.push((number, *socket)),
                Target::Bus { space, bank } => {
                    let lost = self.through_windows(
                        &programs,
                        number,
                        (space, *bank),
                        clash,
                        outside,
                        &mut contents,
                    )?;
                    dropped.extend(lost);
                }
            }
        }
        // What is for a bus is in the stores now.
        let on_bus = |program: &&mut Program<'_>| matches!(program.target, Target::Bus { .. });
        for program in programs.iter_mut().filter(on_bus) {
            program.image = Image::new();
        }
        let mut chips = Vec::new();
        let mut contents = contents.into_iter();
        for (number, store) in self.stores().iter().enumerate() {
            let mut content = contents.next().unwrap_or_default();
            self.check_halves(number, &programs, &content)?;
            let images = store.to_chips_filled(std::mem::take(&mut content.image))?;
            for (place, mut image) in images.into_iter().enumerate() {
                let socket = store.socket_at(number, place);
                if self.name(socket).is_none() {
                    continue;
                }
                for (program, _) in alone.iter().filter(|(_, own)| *own == socket) {
                    let names = content.owners(&programs);
                    self.add_alone(&programs[*program], socket, &names, clash, &mut image)?;
                }
                let has_data = !image.is_empty();
                if let Some(whole) = AddressRange::from_len(0, store.part().bytes()) {
                    image.fill_holes(whole, |_| store.filler());
                }
                chips.push(Chip {
                    socket,
                    image,
                    has_data,
                });
            }
        }
        Ok(Laid { chips, dropped })
    }

    /// The whole content of every chip, in the order of the description, for one program on the bus `cpu`.
    ///
    /// # Errors
    /// As [`lay`](Self::lay).
    pub fn seat(&self, image: &Image) -> Result<Vec<Image>, LayError> {
        let program = Program {
            name: "the program",
            image: image.clone(),
            target: Target::default(),
        };
        let laid = self.lay(vec![program], Clash::Refuse, Outside::Refuse)?;
        Ok(laid.chips.into_iter().map(|chip| chip.image).collect())
    }

    /// Puts a program into the stores that its bus sees; gives the bytes that the bus does not see.
    fn through_windows(
        &self,
        programs: &[Program<'_>],
        number: usize,
        (space, bank): (&str, Option<u64>),
        clash: Clash,
        outside: Outside,
        contents: &mut [Content],
    ) -> Result<Option<Dropped>, LayError> {
        let program = &programs[number];
        let name = || program.name.to_owned();
        if !self.spaces().contains(&space) {
            return Err(LayError::NoSpace {
                name: name(),
                space: space.into(),
                known: self.spaces().into_iter().map(String::from).collect(),
            });
        }
        let mut taken: Vec<AddressRange> = Vec::new();
        let mut parts: Vec<Vec<Image>> = contents.iter().map(|_| Vec::new()).collect();
        for (store, window) in self.windows() {
            if window.space() != space || !in_bank(window, bank) {
                continue;
            }
            // No two windows answer at one address, so what one takes is not taken again.
            let mut shown = program.image.slice(window.range());
            if shown.is_empty() {
                continue;
            }
            for range in window.except() {
                // Another window may answer there.
                shown.remove(*range);
            }
            let own = &self.stores()[store];
            // They count as bytes that nothing shows, so that they are refused or counted.
            shown.remove_all(&window.without_chip(own, bank, &shown));
            taken.extend(shown.ranges());
            parts[store].extend(window.to_store(own, bank, &shown));
        }
        let seen: u64 = taken.iter().map(|range| range.len()).sum();
        let mut left = Image::new();
        if seen < program.image.len() {
            left = program.image.clone();
            left.remove_all(&taken);
        }
        let dropped = match left.extent() {
            None => None,
            Some(extent) => {
                self.refuse_unseen(program, (space, bank), &left, outside)?;
                Some(Dropped {
                    program: number,
                    address: extent.first(),
                    count: left.len(),
                })
            }
        };
        for (store, parts) in parts.into_iter().enumerate() {
            if parts.is_empty() {
                continue;
            }
            let own = merged(parts)
                .map_err(|overlap| self.seen_twice(program, (space, bank), store, &overlap))?;
            let content = &mut contents[store];
            let ranges: Vec<AddressRange> = own.ranges().collect();
            if content.image.is_empty() {
                content.image = own;
            } else {
                content.image.merge(own, clash).map_err(|overlap| {
                    let one = content.owner_of(overlap.differs_at.unwrap_or(overlap.address));
                    LayError::Programs {
                        one: one.map_or(String::new(), |one| programs[one].name.to_owned()),
                        other: name(),
                        chip: self.names_of(store),
                        overlap: Box::new(overlap),
                    }
                })?;
            }
            content.programs.push((number, ranges));
        }
        Ok(dropped)
    }

    /// Whether what is left of a program may be dropped.
    fn refuse_unseen(
        &self,
        program: &Program<'_>,
        (space, bank): (&str, Option<u64>),
        left: &Image,
        outside: Outside,
    ) -> Result<(), LayError> {
        let Some(first) = left.extent().map(|extent| extent.first()) else {
            return Ok(());
        };
        let name = program.name.to_owned();
        let on_bus = self.windows().filter(|(_, w)| w.space() == space);
        let on_bus: Vec<&Window> = on_bus.map(|(_, window)| window).collect();
        // Bytes that a switch shows in another position were not meant to be lost.
        for span in left.spans() {
            let others = on_bus.iter().filter(|w| !in_bank(w, bank));
            let others = others.filter_map(|w| Some((w, w.banks()?)));
            let mut others = others
                .filter_map(|(w, banks)| Some((w.range().overlap(span.range())?.first(), banks)));
            let Some((address, banks)) = others.next() else {
                continue;
            };
            let origin = left.origin_at(address);
            return Err(match bank {
                None => LayError::NoBank {
                    name,
                    address,
                    origin,
                    banks,
                },
                Some(bank) => LayError::OtherBank {
                    name,
                    address,
                    origin,
                    bank,
                    banks,
                },
            });
        }
        if outside == Outside::Drop {
            return Ok(());
        }
        let origin = left.origin_at(first);
        let excepted = on_bus.iter().flat_map(|w| w.except());
        if let Some(range) = excepted.copied().find(|range| range.contains(first)) {
            return Err(LayError::Excepted {
                name,
                address: first,
                origin,
                range,
            });
        }
        if matches!(self.at(space, bank, first), Answer::Cells(_)) {
            return Err(LayError::Absent {
                name,
                address: first,
                origin,
                count: left.len(),
            });
        }
        let distance = |range: &AddressRange| match first < range.first() {
            true => range.first() - first,
            false => first.saturating_sub(range.last()),
        };
        Err(LayError::Unseen {
            name,
            space: space.into(),
            address: first,
            origin,
            count: left.len(),
            nearest: on_bus.iter().map(|w| w.range()).min_by_key(distance),
        })
    }

    /// One program has two bytes for one cell.
    fn seen_twice(
        &self,
        program: &Program<'_>,
        (space, bank): (&str, Option<u64>),
        store: usize,
        overlap: &Overlap,
    ) -> LayError {
        let at = overlap.differs_at.unwrap_or(overlap.address);
        let own = &self.stores()[store];
        let unit = own.word_bytes();
        let mut addresses: Vec<u64> = Vec::new();
        for window in own
            .windows()
            .iter()
            .filter(|w| w.space() == space && in_bank(w, bank))
        {
            let words = window.range().len() / unit;
            for run in window.runs(bank, 0, words) {
                for word in window.alike(run.word) {
                    let here = word * unit..(word + run.len) * unit;
                    if here.contains(&at) {
                        let offset = run.offset * unit + (at - word * unit);
                        addresses.push(window.range().first() + offset);
                    }
                }
            }
        }
        let here = |address: Option<&u64>| {
            address.map_or(String::new(), |address| format!("0x{address:04X}"))
        };
        let byte = |address: Option<&u64>| {
            let byte = address.and_then(|address| program.image.byte(*address));
            byte.unwrap_or_default()
        };
        let one = addresses.first();
        let differs = |other: &&u64| byte(Some(*other)) != byte(one);
        let other = addresses.iter().find(differs).or(addresses.get(1));
        LayError::SeenTwice {
            name: program.name.to_owned(),
            chip: self.names_of(store),
            one: here(one),
            other: here(other),
            bytes: (byte(one), byte(other)),
        }
    }

    /// An odd chip of four bits at the end has only the low half of its byte.
    fn check_halves(
        &self,
        store: usize,
        programs: &[Program<'_>],
        content: &Content,
    ) -> Result<(), LayError> {
        let own = &self.stores()[store];
        if own.part().width != 4 || own.lanes() % 2 == 0 {
            return Ok(());
        }
        let unit = own.word_bytes();
        for span in content.image.spans() {
            let bytes = span.bytes().iter().zip(span.start()..);
            let mut bytes = bytes.filter(|(_, at)| at % unit == unit - 1);
            if let Some((byte, at)) = bytes.find(|(byte, _)| **byte > 0x0F) {
                let owner = content.owner_of(at);
                return Err(LayError::UpperHalf {
                    name: owner.map_or(String::new(), |one| programs[one].name.to_owned()),
                    byte: *byte,
                    address: at,
                    origin: content.image.origin_at(at),
                });
            }
        }
        Ok(())
    }

    /// Adds the content of one chip, as it is.
    fn add_alone(
        &self,
        program: &Program<'_>,
        socket: Socket,
        others: &str,
        clash: Clash,
        image: &mut Image,
    ) -> Result<(), LayError> {
        let size = self.stores()[socket.store].part().bytes();
        let chip = self.name(socket).unwrap_or_default().to_owned();
        let mut own = program.image.clone();
        own.entry = None;
        own.header = None;
        if let Some(last) = own.extent().map(|e| e.last()).filter(|last| *last >= size) {
            let beyond = AddressRange::new(size, last);
            let first = beyond.and_then(|range| own.within(range).next().map(|(at, _)| at));
            let address = first.unwrap_or(last);
            return Err(LayError::BeyondChip {
                name: program.name.to_owned(),
                chip,
                size,
                address,
                origin: own.origin_at(address),
            });
        }
        if self.stores()[socket.store].part().width == 4 {
            for span in own.spans() {
                let mut bytes = (span.start()..).zip(span.bytes());
                if let Some((address, byte)) = bytes.find(|(_, byte)| **byte > 0x0F) {
                    return Err(LayError::UpperHalf {
                        name: program.name.to_owned(),
                        byte: *byte,
                        address,
                        origin: own.origin_at(address),
                    });
                }
            }
        }
        image
            .merge(own, clash)
            .map_err(|overlap| LayError::Programs {
                one: others.to_owned(),
                other: program.name.to_owned(),
                chip,
                overlap: Box::new(overlap),
            })
    }
}

/// The content of a store while programs are laid into it.
#[derive(Default)]
struct Content {
    image: Image,
    /// Which programs have put something where.
    programs: Vec<(usize, Vec<AddressRange>)>,
}

impl Content {
    /// The first program that has put a byte there.
    fn owner_of(&self, address: u64) -> Option<usize> {
        let holds = |ranges: &Vec<AddressRange>| {
            let after = ranges.partition_point(|range| range.last() < address);
            ranges
                .get(after)
                .is_some_and(|range| range.contains(address))
        };
        let mut programs = self.programs.iter();
        programs
            .find(|(_, ranges)| holds(ranges))
            .map(|(program, _)| *program)
    }

    fn owners(&self, programs: &[Program<'_>]) -> String {
        let names: Vec<&str> = self
            .programs
            .iter()
            .map(|(n, _)| programs[*n].name)
            .collect();
        names.join(", ")
    }
}

/// Whether a window can answer in this bank.
pub(super) fn in_bank(window: &Window, bank: Option<u64>) -> bool {
    match (window.banks(), bank) {
        (None, _) => true,
        (Some((first, last)), Some(bank)) => (first..=last).contains(&bank),
        (Some(_), None) => false,
    }
}

impl std::fmt::Display for Seen<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:", self.space)?;
        if let Some(bank) = self.bank {
            write!(f, "bank{bank}:")?;
        }
        write!(f, "0x{:04X}", self.address)
    }
}
