//! How a set of equal sockets sees the CPU's address space, and which byte is where.

use crate::image::{AddressRange, Order};

/// How a set of equal sockets sees the CPU's address space; made and checked by [`Board::builder`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    pub(super) chip: u64,
    pub(super) word_bytes: u64,
    pub(super) lanes: u32,
    pub(super) rows: u32,
    pub(super) order: Order,
    pub(super) window: u64,
    pub(super) placement: Placement,
    pub(super) also: Vec<AddressRange>,
    pub(super) except: Vec<AddressRange>,
    /// The whole window; a multiple of the row's size, so that no sum of addresses below can pass the last one.
    pub(super) addresses: AddressRange,
}

/// Which bytes of a chip larger than its window the CPU sees. A level is the number of a chip address line, from 0 for A0,
/// and whether it is high; of a part 16 bits wide A0 counts words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum Placement {
    /// The chip is as large as its window.
    #[default]
    Whole,
    /// The board ties these lines; the other lines follow the CPU. The rest of the chip is never seen.
    Tied(Vec<(u8, bool)>),
    /// These lines are switched, and are at these levels for this program; the rest of the chip is for other programs.
    Switched(Vec<(u8, bool)>),
    /// The upper lines are at no known level: the same bytes are needed everywhere.
    Repeated,
}

/// Which socket of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Socket {
    /// Row, counted from 0 at the lowest CPU address.
    pub row: u32,
    /// Lane, counted from 0: the one that holds the first byte of the window.
    pub lane: u32,
}

impl Placement {
    /// Lines that don't follow the CPU, with their levels; none where every line follows it or no level is known.
    pub fn levels(&self) -> &[(u8, bool)] {
        match self {
            Placement::Tied(levels) | Placement::Switched(levels) => levels,
            Placement::Whole | Placement::Repeated => &[],
        }
    }

    /// Lines below this one all follow the CPU, so words that differ in nothing else stay together; at most 62.
    pub(super) fn lowest_held(&self) -> u32 {
        let lowest = self.levels().iter().map(|(line, _)| *line).min();
        lowest.map_or(62, |line| u32::from(line).min(62))
    }
}

impl Board {
    /// Bytes of one chip; a power of two.
    pub fn chip(&self) -> u64 {
        self.chip
    }

    /// Bytes that a chip answers with at once: 1 or 2.
    pub fn word_bytes(&self) -> u64 {
        self.word_bytes
    }

    /// CPU address of the first byte.
    pub fn base(&self) -> u64 {
        self.addresses.first()
    }

    /// Chips side by side on the bus: 1, 2, 4, 8 or 16.
    pub fn lanes(&self) -> u32 {
        self.lanes
    }

    /// Chips, or groups of lanes, one after another in the address space: 1 to 256.
    pub fn rows(&self) -> u32 {
        self.rows
    }

    /// Which byte of a 16-bit word has the lower CPU address.
    pub fn order(&self) -> Order {
        self.order
    }

    /// Bytes of each chip that the CPU sees at once; a power of two, and no more than the chip.
    pub fn window(&self) -> u64 {
        self.window
    }

    /// Where in the chip these are.
    pub fn placement(&self) -> &Placement {
        &self.placement
    }

    /// Further CPU ranges where the chips answer, from the window's first byte on.
    pub fn also(&self) -> &[AddressRange] {
        &self.also
    }

    /// CPU ranges inside the window that something else answers.
    pub fn except(&self) -> &[AddressRange] {
        &self.except
    }

    /// The CPU addresses of the whole window: all lanes, all rows.
    pub fn addresses(&self) -> AddressRange {
        self.addresses
    }

    /// Bytes of one row of sockets as the CPU sees it.
    pub(super) fn row_size(&self) -> u64 {
        self.window * u64::from(self.lanes)
    }

    /// Whether there is such a socket.
    pub(super) fn has(&self, socket: Socket) -> bool {
        socket.row < self.rows && socket.lane < self.lanes
    }

    /// All sockets, rows from the lowest address up, lanes in order.
    pub fn sockets(&self) -> impl Iterator<Item = Socket> {
        let lanes = self.lanes;
        (0..self.rows).flat_map(move |row| (0..lanes).map(move |lane| Socket { row, lane }))
    }

    /// Which chip holds the byte at a CPU address, and at which byte of its file; `None` outside the window.
    pub fn chip_of(&self, cpu: u64) -> Option<(Socket, u64)> {
        let whole = self.addresses;
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
            lane: (in_row / self.word_bytes % lanes) as u32,
        };
        let word = in_row / (self.word_bytes * lanes);
        Some((
            socket,
            self.in_chip(word) * self.word_bytes + self.byte_in_word(in_row % self.word_bytes),
        ))
    }

    /// The CPU address of a byte of a chip's file; `None` where the CPU never sees it, and where the
    /// board has no such socket or the chip no such byte.
    pub fn cpu_of(&self, socket: Socket, chip: u64) -> Option<u64> {
        if !self.has(socket) || chip >= self.chip {
            return None;
        }
        let word = self.word_of(chip / self.word_bytes)?;
        let lanes = u64::from(self.lanes);
        let in_row = (word * lanes + u64::from(socket.lane)) * self.word_bytes
            + self.byte_in_word(chip % self.word_bytes);
        let cpu = self.addresses.first() + u64::from(socket.row) * self.row_size() + in_row;
        let seen = !self.except.iter().any(|r| r.contains(cpu));
        seen.then_some(cpu)
    }

    /// A big-endian bus has the byte with the lower address in the upper half of the word.
    fn byte_in_word(&self, byte: u64) -> u64 {
        match self.order {
            Order::Big => self.word_bytes - 1 - byte,
            Order::Little => byte,
        }
    }

    /// Chip word address for a word of the window.
    pub(super) fn in_chip(&self, word: u64) -> u64 {
        let levels = self.placement.levels();
        if levels.is_empty() {
            return word;
        }
        let mut free = word;
        let mut out = 0;
        for line in 0..(self.chip / self.word_bytes).trailing_zeros() as u8 {
            let bit = match levels.iter().find(|(l, _)| *l == line) {
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
    pub(super) fn word_of(&self, chip_word: u64) -> Option<u64> {
        let words = self.window / self.word_bytes;
        let levels = self.placement.levels();
        if levels.is_empty() {
            let seen = self.placement == Placement::Repeated || chip_word < words;
            return seen.then_some(chip_word % words);
        }
        let mut out = 0;
        let mut at = 0;
        for line in 0..(self.chip / self.word_bytes).trailing_zeros() as u8 {
            let bit = chip_word >> line & 1;
            match levels.iter().find(|(l, _)| *l == line) {
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

    /// The addresses of a chip that the CPU sees, in stretches, lowest first.
    pub fn seen_in_chip(&self) -> Vec<AddressRange> {
        if self.placement.levels().is_empty() {
            return AddressRange::from_len(0, self.chip).into_iter().collect();
        }
        let words = (self.window / self.word_bytes).min(1 << self.placement.lowest_held());
        let starts = (0..self.window / self.word_bytes).step_by(words as usize);
        let mut out: Vec<AddressRange> = starts
            .filter_map(|word| {
                AddressRange::from_len(
                    self.in_chip(word) * self.word_bytes,
                    words * self.word_bytes,
                )
            })
            .collect();
        out.sort_unstable();
        out
    }

    /// The stretches of a chip that the CPU sees in `cpu`, a part of the window, lowest CPU address first; whole words of
    /// the bus.
    pub fn seen_through(&self, socket: Socket, cpu: AddressRange) -> Vec<AddressRange> {
        if !self.has(socket) {
            return Vec::new();
        }
        let row = self.addresses.first() + u64::from(socket.row) * self.row_size();
        let part = AddressRange::from_len(row, self.row_size()).and_then(|row| row.overlap(cpu));
        let Some(part) = part else {
            return Vec::new();
        };
        let bus = self.word_bytes * u64::from(self.lanes);
        let (first, last) = ((part.first() - row) / bus, (part.last() - row) / bus);
        let block = 1u64 << self.placement.lowest_held();
        let mut out = Vec::new();
        let mut word = first;
        while word <= last {
            let end = (word - word % block).saturating_add(block - 1).min(last);
            let at = self.in_chip(word) * self.word_bytes;
            out.extend(AddressRange::from_len(
                at,
                (end - word + 1) * self.word_bytes,
            ));
            word = end + 1;
        }
        out
    }
}
