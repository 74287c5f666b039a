//! The two functions that everything is built on: from a bus address to the cells of chips, and back.

use super::hardware::{Board, Socket};
use super::lines::{collect, spread};
use super::store::{Store, Window};
use crate::image::{AddressRange, Image};
use crate::sums::Order;

/// Half a byte: what a part four bits wide gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Nibble {
    /// Bits 0 to 3.
    Low,
    /// Bits 4 to 7.
    High,
}

/// A byte of a chip's file, or half a byte of the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cell {
    /// The chip.
    pub socket: Socket,
    /// Byte of its file, in the form that programmers take: of a part 16 bits wide word n is bytes 2n (D0-D7) and 2n+1
    /// (D8-D15); of one 4 bits wide each byte is a word.
    pub address: u64,
    /// Which half of the bus's byte it is, for parts 4 bits wide.
    pub nibble: Option<Nibble>,
}

/// A byte as a bus sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Seen<'b> {
    /// The bus.
    pub space: &'b str,
    /// The position of the switch that shows it; `None` where it is always seen.
    pub bank: Option<u64>,
    /// The address on that bus.
    pub address: u64,
}

/// What a bus sees at an address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// These cells, which all contain the same; none where the place has no chip.
    Cells(Vec<Cell>),
    /// A switched window, and no bank was named: the banks at which something answers.
    Switched(Vec<(u64, u64)>),
    /// A switched window that does not answer in the bank that was named: the banks at which something does.
    OtherBank(Vec<(u64, u64)>),
    /// Nothing answers there.
    Nothing,
}

impl Board {
    /// What a bus sees at an address: from the bus to the chips. `bank` is the position of the switch of the window that
    /// answers there; a window that is always seen needs none.
    pub fn at(&self, space: &str, bank: Option<u64>, address: u64) -> Answer {
        let mut switched = Vec::new();
        for (number, window) in self.windows() {
            if window.space() != space || !window.shows(address) {
                continue;
            }
            if window.answers(bank, address) {
                let store = &self.stores()[number];
                return Answer::Cells(store.cells(number, window, bank, address));
            }
            switched.extend(window.banks());
        }
        match (switched.is_empty(), bank) {
            (true, _) => Answer::Nothing,
            (false, None) => Answer::Switched(switched),
            (false, Some(_)) => Answer::OtherBank(switched),
        }
    }

    /// Where buses see a byte of a chip's file: from the chip to the buses, window by window, the lowest bank and address
    /// of each first. Nothing for a byte that no bus sees.
    pub fn seen(&self, socket: Socket, address: u64) -> Vec<Seen<'_>> {
        let Some(store) = self.stores().get(socket.store) else {
            return Vec::new();
        };
        let Some((word, byte)) = store.word_of(socket, address) else {
            return Vec::new();
        };
        let windows = store.windows().iter();
        windows
            .flat_map(|window| window.addresses_of(store, word, byte))
            .collect()
    }
}

impl Store {
    /// The cells that a window shows at an address that it answers.
    fn cells(&self, number: usize, window: &Window, bank: Option<u64>, address: u64) -> Vec<Cell> {
        let unit = self.word_bytes();
        let offset = address - window.range().first();
        let word = window.word(bank, offset / unit);
        let byte = offset % unit;
        let mut cells = Vec::new();
        for word in window.alike(word) {
            let (row, word) = ((word / self.words()) as u32, word % self.words());
            let word = self.pins_of(word);
            let mut push = |lane: u64, address: u64, nibble: Option<Nibble>| {
                let lane = lane as u32;
                let socket = Socket {
                    store: number,
                    row,
                    lane,
                };
                let place = row as usize * self.lanes() as usize + lane as usize;
                if self.names.get(place).is_some_and(Option::is_some) {
                    cells.push(Cell {
                        socket,
                        address,
                        nibble,
                    });
                }
            };
            match self.part().width {
                16 => push(byte / 2, word * 2 + self.byte_in_word(byte % 2), None),
                4 => {
                    push(byte * 2, word, Some(Nibble::Low));
                    if byte * 2 + 1 < u64::from(self.lanes()) {
                        push(byte * 2 + 1, word, Some(Nibble::High));
                    }
                }
                _ => push(byte, word, None),
            }
        }
        cells
    }

    /// The word of the store that a byte of a chip's file is part of, and which byte of it; `None` past the chip's end.
    fn word_of(&self, socket: Socket, address: u64) -> Option<(u64, u64)> {
        let lane = u64::from(socket.lane);
        let (pins, byte) = match self.part().width {
            16 => (address / 2, lane * 2 + self.byte_in_word(address % 2)),
            4 => (address, lane / 2),
            _ => (address, lane),
        };
        let inside = pins < self.words()
            && socket.lane < self.lanes()
            && u64::from(socket.row) < self.rows();
        inside.then(|| {
            (
                u64::from(socket.row) * self.words() + self.lines_of(pins),
                byte,
            )
        })
    }

    /// The byte of a chip's word with the lower bus address is the low one, or the high one; it is its own reverse.
    pub(super) fn byte_in_word(&self, byte: u64) -> u64 {
        match self.order() {
            Order::Little => byte,
            Order::Big => 1 - byte,
        }
    }

    /// The levels of a chip's address pins when its lines make this number.
    pub(super) fn pins_of(&self, lines: u64) -> u64 {
        let pins = self.address.iter().enumerate();
        pins.fold(0, |out, (pin, (line, inverted))| {
            out | ((lines >> line & 1) ^ u64::from(*inverted)) << pin
        })
    }

    /// The reverse of [`pins_of`](Self::pins_of).
    fn lines_of(&self, pins: u64) -> u64 {
        let all = self.address.iter().enumerate();
        all.fold(0, |out, (pin, (line, inverted))| {
            out | ((pins >> pin & 1) ^ u64::from(*inverted)) << line
        })
    }
}

impl Window {
    /// The word of the store at so many bus words from the window's start; open lines are 0 in it.
    pub(super) fn word(&self, bank: Option<u64>, offset: u64) -> u64 {
        spread((self.first + offset) % self.shown, &self.follows) | self.high | self.position(bank)
    }

    /// The bytes of a program inside this window that are for a place without a chip, as ranges of the bus; of parts four
    /// bits wide also those of which one half is.
    pub(super) fn without_chip(
        &self,
        store: &Store,
        bank: Option<u64>,
        program: &Image,
    ) -> Vec<AddressRange> {
        if store.names.iter().all(Option::is_some) {
            return Vec::new();
        }
        let unit = store.word_bytes();
        let lanes = store.lanes() as usize;
        let is_absent = |address: u64| {
            let offset = address - self.range().first();
            let row = (self.word(bank, offset / unit) / store.words()) as usize;
            let byte = (offset % unit) as usize;
            let (first, count) = match store.part().width {
                16 => (byte / 2, 1),
                4 => (byte * 2, 2),
                _ => (byte, 1),
            };
            let own = first..(first + count).min(lanes);
            let places = own.map(|lane| row * lanes + lane);
            let mut names = places.map(|place| store.names.get(place).and_then(Option::as_ref));
            names.any(|name| name.is_none())
        };
        let mut ranges = Vec::new();
        for span in program.spans() {
            let mut from = None;
            for address in span.range().first()..=span.range().last() {
                match (is_absent(address), from) {
                    (true, None) => from = Some(address),
                    (false, Some(first)) => {
                        ranges.extend(AddressRange::new(first, address - 1));
                        from = None;
                    }
                    _ => {}
                }
            }
            let open = from.and_then(|first| AddressRange::new(first, span.range().last()));
            ranges.extend(open);
        }
        ranges
    }

    /// What the switch makes of a position.
    pub(super) fn position(&self, bank: Option<u64>) -> u64 {
        let Some(bank) = bank.filter(|_| self.banks.is_some()) else {
            return 0;
        };
        let lines = self.switch.iter().enumerate();
        lines.fold(0, |out, (bit, (line, inverted))| {
            out | ((bank >> bit & 1) ^ u64::from(*inverted)) << line
        })
    }

    /// The words that are the same as this one for a bus: one for each level of the open lines.
    pub(super) fn alike(&self, word: u64) -> impl Iterator<Item = u64> + '_ {
        let levels = 0..1u64 << self.any.len();
        levels.map(move |levels| word | spread(levels, &self.any))
    }

    /// Where this window shows a byte of a word of its store.
    fn addresses_of<'b>(&'b self, store: &Store, word: u64, byte: u64) -> Vec<Seen<'b>> {
        if word & self.held != self.high {
            return Vec::new();
        }
        let number = collect(word, &self.follows);
        if number >= self.shown {
            return Vec::new();
        }
        let lines = self.switch.iter().enumerate();
        let set = lines.fold(0, |out, (bit, (line, inverted))| {
            out | ((word >> line & 1) ^ u64::from(*inverted)) << bit
        });
        let unit = store.word_bytes();
        let words = self.range().len() / unit;
        let first = match number >= self.first {
            true => number - self.first,
            // Only a window that shows its store again comes around to it.
            false => number + self.shown - self.first,
        };
        let offsets = (first..words).step_by(self.shown as usize);
        let addresses: Vec<u64> = offsets
            .map(|offset| self.range().first() + offset * unit + byte)
            .filter(|address| self.shows(*address))
            .collect();
        let seen = |bank: Option<u64>| {
            let addresses = addresses.iter();
            addresses.map(move |&address| Seen {
                space: self.space(),
                bank,
                address,
            })
        };
        match self.banks {
            None => seen(None).collect(),
            Some((low, high)) => {
                let step = 1u64 << self.switch.len();
                let start = low + (set + step - low % step) % step;
                let banks = (start..=high).step_by(step as usize);
                banks.flat_map(|bank| seen(Some(bank))).collect()
            }
        }
    }
}
