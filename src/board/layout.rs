//! From the CPU's addresses to the chips in their sockets, and back.
//!
//! A [`Board`] says how a set of sockets sees the CPU's address space. [`Board::seat`] takes a program apart into one
//! image per chip, each at chip address 0; [`Board::unseat`] puts the chips together again as the bus does.

use std::sync::Arc;

use crate::image::{AddressRange, Clash, Image, OutOfSpace};
use crate::ops::OpError;
use crate::parts::Part;
use crate::sums::Order;

/// How a set of equal sockets sees the CPU's address space.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    /// Bytes of one chip; a power of two.
    pub chip: u64,
    /// Bytes a chip answers with at once: 1, or 2 for a part 16 bits wide.
    pub unit: u64,
    /// CPU address of the first byte.
    pub base: u64,
    /// Chips side by side on the bus, 1 to 16.
    pub lanes: u32,
    /// Chips, or groups of lanes, one after another in the address space.
    pub rows: u32,
    /// Which byte of a 16-bit word has the lower CPU address: the low one, or the high one (big-endian).
    pub order: Order,
    /// Bytes of each chip that the CPU sees; the chip's size unless it is larger than its window.
    pub window: u64,
    /// Where in the chip these are.
    pub placing: PlacingInChip,
    /// Further CPU ranges where the chips answer, from the window's first byte on.
    pub also: Vec<AddressRange>,
    /// CPU ranges inside the window that something else answers.
    pub except: Vec<AddressRange>,
}

/// Which part of a chip larger than its window is seen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PlacingInChip {
    /// The chip is as large as its window.
    Whole,
    /// These chip address lines are held at a level; the other lines follow the CPU.
    Lines(Vec<(u8, bool)>),
    /// The upper lines float or are switched: the same bytes stand everywhere.
    Repeated,
}

/// Which socket of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Socket {
    /// Row, counted from 0 at the lowest CPU address.
    pub row: u32,
    /// Lane, counted from 0: the one that holds the first byte of the window.
    pub lane: u32,
}

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
        let plain = board.placing == PlacingInChip::Whole && board.lanes == 1;
        let in_order = board.unit == 1 || board.order == Order::Little;
        let row = board.row_size().checked_mul(self.socket.row.into())?;
        (plain && in_order).then(|| board.base + row)
    }
}

/// What does not fit a board.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BoardError {
    /// The window's first address is not aligned to it.
    #[error(
        "0x{base:04X} is no multiple of the window of {window} bytes, so the address lines would not agree: the next multiples are 0x{below:04X} and 0x{above:04X}"
    )]
    Base {
        /// The base asked for.
        base: u64,
        /// Bytes of one row of sockets.
        window: u64,
        /// The multiple below.
        below: u64,
        /// The multiple above.
        above: u64,
    },
    /// A count out of range.
    #[error("{what} must be {allowed}, not {given}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// The values allowed.
        allowed: &'static str,
        /// The value given.
        given: u64,
    },
    /// The window is larger than the chip or no power of two.
    #[error(
        "a window of {window} bytes makes no sense for a chip of {chip}: it is a power of two and no larger than the chip"
    )]
    Window {
        /// Bytes of the window.
        window: u64,
        /// Bytes of the chip.
        chip: u64,
    },
    /// The chip is larger than its window and nothing says which part is seen.
    #[error(
        "the chip has {chip} bytes and the window {window}: say with --tied which address lines are held at which level, with --switch and --position or --bank which part this is, or with --repeat that the same bytes stand everywhere"
    )]
    OpenPlace {
        /// Bytes of the chip.
        chip: u64,
        /// Bytes of the window.
        window: u64,
    },
    /// The held lines don't leave as many as the window needs.
    #[error(
        "a window of {window} bytes needs {needs} of the chip's {has} address lines to follow the CPU, so {held} must be held, and {given} are: {names}"
    )]
    Lines {
        /// Bytes of the window.
        window: u64,
        /// Lines the window needs.
        needs: u32,
        /// Lines the chip has.
        has: u32,
        /// Lines that must be held.
        held: u32,
        /// Lines that are.
        given: usize,
        /// Their names.
        names: String,
    },
    /// A line the chip does not have, or one that is held twice.
    #[error("A{line} {what}")]
    Line {
        /// The line.
        line: u8,
        /// What is wrong with it.
        what: &'static str,
    },
    /// A range is not inside the window, or larger than it.
    #[error("{range} {what} {window}")]
    Range {
        /// The range.
        range: AddressRange,
        /// What is wrong with it.
        what: &'static str,
        /// The window.
        window: AddressRange,
    },
}

impl Board {
    /// One socket for a byte-wide chip of `chip` bytes at `base`; set the other fields as the board has them.
    pub fn new(chip: u64, base: u64) -> Self {
        Self {
            chip,
            unit: 1,
            base,
            lanes: 1,
            rows: 1,
            order: Order::Little,
            window: chip,
            placing: PlacingInChip::Whole,
            also: Vec::new(),
            except: Vec::new(),
        }
    }

    /// Bytes of one row of sockets as the CPU sees it.
    fn row_size(&self) -> u64 {
        self.window * u64::from(self.lanes)
    }

    /// The CPU addresses of the whole window.
    ///
    /// # Errors
    /// [`BoardError`] when the board can't be built; every other method relies on this check.
    pub fn window(&self) -> Result<AddressRange, BoardError> {
        let count = |what, allowed, given| BoardError::Count {
            what,
            allowed,
            given,
        };
        if !matches!(self.lanes, 1 | 2 | 4 | 8 | 16) {
            let given = self.lanes.into();
            return Err(count("--lanes", "1, 2, 4, 8 or 16", given));
        }
        if !(1..=256).contains(&self.rows) {
            return Err(count("--rows", "1 to 256", self.rows.into()));
        }
        if !matches!(self.unit, 1 | 2) {
            return Err(count("bytes of a chip's word", "1 or 2", self.unit));
        }
        if !self.window.is_power_of_two() || self.window > self.chip || self.window < self.unit {
            return Err(BoardError::Window {
                window: self.window,
                chip: self.chip,
            });
        }
        self.check_placing()?;
        let row = self.row_size();
        if !self.base.is_multiple_of(row) {
            let below = self.base - self.base % row;
            return Err(BoardError::Base {
                base: self.base,
                window: row,
                below,
                above: below.saturating_add(row),
            });
        }
        let whole = AddressRange::from_len(self.base, row * u64::from(self.rows));
        let whole = whole.ok_or(count("the window's end", "below 2^64", self.base))?;
        for range in &self.except {
            if !whole.covers(*range) {
                let what = "(--except) is not inside the window";
                return Err(BoardError::Range {
                    range: *range,
                    what,
                    window: whole,
                });
            }
        }
        for range in &self.also {
            if range.len() > whole.len() || whole.overlap(*range).is_some() {
                let what = "(--also) is larger than the window or overlaps it:";
                return Err(BoardError::Range {
                    range: *range,
                    what,
                    window: whole,
                });
            }
        }
        Ok(whole)
    }

    fn check_placing(&self) -> Result<(), BoardError> {
        let has = (self.chip / self.unit).trailing_zeros();
        let needs = (self.window / self.unit).trailing_zeros();
        let PlacingInChip::Lines(lines) = &self.placing else {
            return match self.placing == PlacingInChip::Whole && self.window < self.chip {
                true => Err(BoardError::OpenPlace {
                    chip: self.chip,
                    window: self.window,
                }),
                false => Ok(()),
            };
        };
        for (i, (line, _)) in lines.iter().enumerate() {
            let line = *line;
            if u32::from(line) >= has {
                let what = "is no address line of this chip";
                return Err(BoardError::Line { line, what });
            }
            if lines[..i].iter().any(|(other, _)| *other == line) {
                let what = "is held twice";
                return Err(BoardError::Line { line, what });
            }
        }
        if lines.len() as u32 != has - needs {
            let names: Vec<String> = lines.iter().map(|(l, _)| format!("A{l}")).collect();
            return Err(BoardError::Lines {
                window: self.window,
                needs,
                has,
                held: has - needs,
                given: lines.len(),
                names: names.join(" "),
            });
        }
        Ok(())
    }

    /// All sockets, rows from the lowest address up, lanes in order.
    pub fn sockets(&self) -> impl Iterator<Item = Socket> {
        let lanes = self.lanes;
        (0..self.rows).flat_map(move |row| (0..lanes).map(move |lane| Socket { row, lane }))
    }

    /// Which chip holds the byte at a CPU address, and at which byte of its file; `None` outside the window.
    pub fn chip_of(&self, cpu: u64) -> Option<(Socket, u64)> {
        let whole = self.window().ok()?;
        let offset = match cpu {
            _ if self.except.iter().any(|r| r.contains(cpu)) => return None,
            _ if whole.contains(cpu) => cpu - whole.first(),
            _ => cpu - self.also.iter().find(|r| r.contains(cpu))?.first(),
        };
        let row = offset / self.row_size();
        let in_row = offset % self.row_size();
        let lanes = u64::from(self.lanes);
        let socket = Socket {
            row: row as u32,
            lane: (in_row / self.unit % lanes) as u32,
        };
        let word = in_row / (self.unit * lanes);
        Some((
            socket,
            self.in_chip(word) * self.unit + self.byte_in_word(in_row % self.unit),
        ))
    }

    /// The CPU address of a byte of a chip's file; `None` where the CPU never sees it.
    pub fn cpu_of(&self, socket: Socket, chip: u64) -> Option<u64> {
        let word = self.word_of(chip / self.unit)?;
        let lanes = u64::from(self.lanes);
        let in_row = (word * lanes + u64::from(socket.lane)) * self.unit
            + self.byte_in_word(chip % self.unit);
        let cpu = self.base + u64::from(socket.row) * self.row_size() + in_row;
        let seen = chip < self.chip && !self.except.iter().any(|r| r.contains(cpu));
        seen.then_some(cpu)
    }

    /// A big-endian bus has the byte with the lower address in the upper half of the word.
    fn byte_in_word(&self, byte: u64) -> u64 {
        match self.order {
            Order::Big => self.unit - 1 - byte,
            Order::Little => byte,
        }
    }

    /// Chip word address for a word of the window.
    fn in_chip(&self, word: u64) -> u64 {
        let PlacingInChip::Lines(lines) = &self.placing else {
            return word;
        };
        let mut free = word;
        let mut out = 0;
        for line in 0..(self.chip / self.unit).trailing_zeros() as u8 {
            let bit = match lines.iter().find(|(l, _)| *l == line) {
                Some((_, level)) => u64::from(*level),
                None => {
                    let bit = free & 1;
                    free >>= 1;
                    bit
                }
            };
            out |= bit << line;
        }
        out
    }

    /// The reverse of [`in_chip`](Self::in_chip); `None` for a word no held level selects.
    fn word_of(&self, chip_word: u64) -> Option<u64> {
        let words = self.window / self.unit;
        let PlacingInChip::Lines(lines) = &self.placing else {
            return (self.placing == PlacingInChip::Repeated || chip_word < words)
                .then_some(chip_word % words);
        };
        let mut out = 0;
        let mut at = 0;
        for line in 0..(self.chip / self.unit).trailing_zeros() as u8 {
            let bit = chip_word >> line & 1;
            match lines.iter().find(|(l, _)| *l == line) {
                Some((_, level)) if u64::from(*level) != bit => return None,
                Some(_) => {}
                None => {
                    out |= bit << at;
                    at += 1;
                }
            }
        }
        Some(out)
    }

    /// Takes `image` apart into one image per socket, in the order of [`sockets`](Self::sockets). Holes stay holes.
    ///
    /// # Errors
    /// The board's own, and data that no chip of it holds.
    pub fn seat(&self, image: &Image) -> Result<Vec<Image>, OpError> {
        let whole = self.window()?;
        let mut seen = image.clone();
        seen.entry = None;
        seen.header = None;
        let mut mirrored = Vec::new();
        for range in &self.also {
            let mut part = seen.slice(*range);
            seen.remove(*range);
            part.shift(i128::from(whole.first()) - i128::from(range.first()))?;
            mirrored.push(part);
        }
        for range in &self.except {
            if let Some((address, _)) = seen.within(*range).next() {
                return Err(OpError::InExcepted {
                    range: *range,
                    address,
                    origin: seen.origin_at(address),
                });
            }
        }
        let outside = {
            let mut rest = seen.clone();
            rest.remove(whole);
            rest
        };
        if let Some(extent) = outside.extent() {
            return Err(OpError::OutsideWindow {
                window: whole,
                address: extent.first(),
                origin: outside.origin_at(extent.first()),
                count: outside.len(),
                extent: image.extent().unwrap_or(extent),
            });
        }
        for part in mirrored {
            seen.merge(part, Clash::Same)
                .map_err(|o| OpError::JoinClash(Box::new(o)))?;
        }
        let mut chips = Vec::new();
        for row in 0..u64::from(self.rows) {
            let start = whole.first() + row * self.row_size();
            let range = AddressRange::from_len(start, self.row_size()).ok_or(OutOfSpace)?;
            let mut part = seen.slice(range);
            part.shift(-i128::from(start))?;
            for lane in self.deal(&part)? {
                chips.push(self.place(lane)?);
            }
        }
        Ok(chips)
    }

    /// The lanes of one row, each at chip word 0.
    fn deal(&self, row: &Image) -> Result<Vec<Image>, OpError> {
        let bytes = self.unit as u32 * self.lanes;
        let dealt = match bytes {
            1 => vec![row.clone()],
            n => row.deal(n),
        };
        let mut lanes = Vec::new();
        for pair in dealt.chunks(self.unit as usize) {
            let mut pair = pair.to_vec();
            if self.order == Order::Big {
                pair.reverse();
            }
            lanes.push(match pair.len() {
                1 => pair.remove(0),
                _ => Image::weave(&pair)?,
            });
        }
        Ok(lanes)
    }

    /// Moves a lane from the window to where it stands in the chip.
    fn place(&self, lane: Image) -> Result<Image, OpError> {
        match &self.placing {
            PlacingInChip::Whole => Ok(lane),
            PlacingInChip::Repeated => {
                let copies = 0..self.chip / self.window;
                let moved = |n: u64| moved_by(lane.clone(), i128::from(n * self.window));
                gather(copies.map(moved).collect::<Result<_, _>>()?)
            }
            PlacingInChip::Lines(_) => self.by_blocks(&lane, |word| Some(self.in_chip(word))),
        }
    }

    /// Moves every block of words that the held lines leave together; `to` gives a block's new first word.
    fn by_blocks(&self, image: &Image, to: impl Fn(u64) -> Option<u64>) -> Result<Image, OpError> {
        let lowest = match &self.placing {
            PlacingInChip::Lines(lines) => lines.iter().map(|(l, _)| *l).min().unwrap_or(63),
            _ => 63,
        };
        let words = (self.chip / self.unit).min(1 << lowest.min(62));
        let block = words * self.unit;
        let mut out = Vec::new();
        let last = image.extent().map_or(0, |e| e.last());
        let mut start = 0;
        while start <= last && !image.is_empty() {
            let range = AddressRange::from_len(start, block).ok_or(OutOfSpace)?;
            if let Some(word) = to(start / self.unit) {
                let moved = i128::from(word * self.unit) - i128::from(start);
                out.push(moved_by(image.slice(range), moved)?);
            }
            start += block;
        }
        gather(out)
    }

    /// The addresses of a chip that the CPU sees, in stretches, lowest first.
    pub fn seen_in_chip(&self) -> Vec<AddressRange> {
        let lowest = match &self.placing {
            PlacingInChip::Whole | PlacingInChip::Repeated => {
                return AddressRange::from_len(0, self.chip).into_iter().collect();
            }
            PlacingInChip::Lines(lines) => lines.iter().map(|(l, _)| *l).min().unwrap_or(0),
        };
        let words = (self.window / self.unit).min(1 << lowest.min(62));
        let starts = (0..self.window / self.unit).step_by(words as usize);
        let mut out: Vec<AddressRange> = starts
            .filter_map(|word| {
                AddressRange::from_len(self.in_chip(word) * self.unit, words * self.unit)
            })
            .collect();
        out.sort_unstable();
        out
    }

    /// The stretches of a chip that the CPU sees in `cpu`, a part of the window, lowest CPU address first; whole words of
    /// the bus.
    pub fn seen_through(&self, socket: Socket, cpu: AddressRange) -> Vec<AddressRange> {
        let row = self.base + u64::from(socket.row) * self.row_size();
        let part = AddressRange::from_len(row, self.row_size()).and_then(|row| row.overlap(cpu));
        let Some(part) = part else {
            return Vec::new();
        };
        let bus = self.unit * u64::from(self.lanes);
        let (first, last) = ((part.first() - row) / bus, (part.last() - row) / bus);
        let block = match &self.placing {
            // Words below the lowest held line stay together.
            PlacingInChip::Lines(lines) => {
                1 << lines.iter().map(|(l, _)| *l).min().unwrap_or(62).min(62)
            }
            _ => self.window,
        };
        let mut out = Vec::new();
        let mut word = first;
        while word <= last {
            let end = (word - word % block).saturating_add(block - 1).min(last);
            let at = self.in_chip(word) * self.unit;
            out.extend(AddressRange::from_len(at, (end - word + 1) * self.unit));
            word = end + 1;
        }
        out
    }

    /// Puts the chips together as the bus sees them, each byte at its CPU address. What the CPU never sees stays
    /// behind.
    ///
    /// # Errors
    /// The board's own; a chip larger than the board's.
    pub fn unseat(&self, chips: &[(Socket, &Image)]) -> Result<Image, OpError> {
        let whole = self.window()?;
        let mut rows = Vec::new();
        for row in 0..self.rows {
            let mut bytes: Vec<Image> = Vec::new();
            for lane in 0..self.lanes {
                let chip = chips.iter().find(|(s, _)| *s == Socket { row, lane });
                let chip = chip.map(|(_, image)| (*image).clone()).unwrap_or_default();
                let seen = match &self.placing {
                    PlacingInChip::Lines(_) => self.by_blocks(&chip, |word| self.word_of(word))?,
                    _ => AddressRange::from_len(0, self.window)
                        .map(|range| chip.slice(range))
                        .unwrap_or_default(),
                };
                let mut halves = match self.unit {
                    1 => vec![seen],
                    _ => seen.deal(2),
                };
                if self.order == Order::Big {
                    halves.reverse();
                }
                bytes.extend(halves);
            }
            let part = match bytes.len() {
                1 => bytes.remove(0),
                _ => Image::weave(&bytes)?,
            };
            let start = whole.first() + u64::from(row) * self.row_size();
            rows.push(moved_by(part, start.into())?);
        }
        let mut out = gather(rows)?;
        for range in &self.except {
            out.remove(*range);
        }
        Ok(out)
    }
}

fn moved_by(mut part: Image, by: i128) -> Result<Image, OpError> {
    part.shift(by)?;
    Ok(part)
}

fn gather(parts: Vec<Image>) -> Result<Image, OpError> {
    Image::gather(parts).map_err(|o| OpError::JoinClash(Box::new(o)))
}
