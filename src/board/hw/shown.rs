//! What windows show of a chip, in stretches: for maps, pages and drawings.

use super::address::Nibble;
use super::hardware::Socket;
use super::lines::{collect, spread};
use super::seat::Seat;
use super::spec::{Level, Wire};
use super::store::{Store, Window};
use crate::image::AddressRange;
use crate::sums::Order;

impl Window {
    /// The stretches of a chip's file that this window shows in these of its bus addresses, in this bank, as the chip's own
    /// pins count them: lowest first, those that touch as one. None where it does not show the chip, or not in this bank.
    /// `bank` means nothing for a window that always answers.
    pub fn chip_ranges(
        &self,
        store: &Store,
        socket: Socket,
        bank: Option<u64>,
        bus: AddressRange,
    ) -> Vec<AddressRange> {
        let mut out = Vec::new();
        if !store.has_chip(socket) || !self.is_in(bank) {
            return out;
        }
        for part in self.answered(bus) {
            let Some((from, end)) = self.words_of(store, socket, part) else {
                continue;
            };
            let len = (end - from).min(self.shown);
            let start = (self.first + from) % self.shown;
            let stop = (start + len).min(self.shown);
            self.blocks(store, socket, bank, start..stop, &mut out);
            // A window that shows its store again comes around to the start.
            self.blocks(store, socket, bank, 0..start + len - stop, &mut out);
        }
        touching(out)
    }

    /// The bus addresses from the first to the last bus word in which this window shows a chip, in whichever bank; `None`
    /// where it never does. Lanes side by side have the same.
    pub fn bus_range(&self, store: &Store, socket: Socket) -> Option<AddressRange> {
        let banks = self.banks.map_or(0..=0, |(first, last)| first..=last);
        let different = 1usize << self.switch.len().min(20);
        let mut banks = banks.take(different);
        banks.find(|bank| {
            !self
                .chip_ranges(store, socket, Some(*bank), self.range)
                .is_empty()
        })?;
        let unit = store.word_bytes();
        let words = self.range.len() / unit;
        if self.first + words > self.shown {
            return Some(self.range);
        }
        let own = store.words().trailing_zeros();
        let above = self.follows.iter().filter(|line| u32::from(**line) >= own);
        let above: Vec<u8> = above.copied().collect();
        // The lines that choose the row are the upper ones of those that follow.
        let block = 1u64 << (self.follows.len() - above.len());
        let row = collect(u64::from(socket.row) << own, &above);
        let from = (row * block).max(self.first) - self.first;
        let end = ((row + 1) * block).min(self.first + words) - self.first;
        AddressRange::from_len(self.range.first() + from * unit, (end - from) * unit)
    }

    /// The address pins that are held while this window answers, with their levels.
    pub fn tied(&self) -> Vec<(u8, Level)> {
        let held = (0..64u8).filter(|line| self.held >> line & 1 == 1);
        let held = held.map(|line| match self.high >> line & 1 {
            1 => (line, Level::High),
            _ => (line, Level::Low),
        });
        let any = self.any.iter().map(|line| (*line, Level::Any));
        let mut tied: Vec<(u8, Level)> = held.chain(any).collect();
        tied.sort_by_key(|(line, _)| *line);
        tied
    }

    /// The lines that the switch sets, the position's lowest bit first, each with whether it is high at this position.
    /// Lines above the chip's own address pins choose the row. None for a window that always answers.
    pub fn switched(&self, bank: u64) -> Vec<(u8, bool)> {
        let set = self.position(Some(bank));
        let lines = self.switch.iter();
        lines
            .map(|(line, _)| (*line, set >> line & 1 == 1))
            .collect()
    }

    fn is_in(&self, bank: Option<u64>) -> bool {
        match (self.banks, bank) {
            (None, _) => true,
            (Some((first, last)), Some(bank)) => (first..=last).contains(&bank),
            (Some(_), None) => false,
        }
    }

    /// These bus addresses, without those that the window does not answer.
    fn answered(&self, bus: AddressRange) -> Vec<AddressRange> {
        let mut left: Vec<AddressRange> = self.range.overlap(bus).into_iter().collect();
        for except in &self.except {
            left = left
                .into_iter()
                .flat_map(|range| {
                    let below = except.first().checked_sub(1);
                    let below = below.and_then(|last| AddressRange::new(range.first(), last));
                    let above = except.last().checked_add(1);
                    let above = above.and_then(|first| AddressRange::new(first, range.last()));
                    let parts = below.into_iter().chain(above);
                    parts.filter_map(move |part| part.overlap(range))
                })
                .collect();
        }
        left
    }

    /// The bus words, from the window's start, in which these of its addresses have a byte of the chip's lane.
    fn words_of(&self, store: &Store, socket: Socket, part: AddressRange) -> Option<(u64, u64)> {
        let unit = store.word_bytes();
        let lane = u64::from(socket.lane);
        let (low, high) = match store.part().width {
            16 => (lane * 2, lane * 2 + 1),
            4 => (lane / 2, lane / 2),
            _ => (lane, lane),
        };
        let start = self.range.first();
        let from = (part.first() - start).saturating_sub(high).div_ceil(unit);
        let end = (part.last() - start).checked_sub(low)? / unit + 1;
        (from < end).then_some((from, end))
    }

    /// Adds what the chip gives for these numbers of the lines that follow.
    fn blocks(
        &self,
        store: &Store,
        socket: Socket,
        bank: Option<u64>,
        numbers: std::ops::Range<u64>,
        out: &mut Vec<AddressRange>,
    ) {
        let bytes = u64::from(store.part().width.div_ceil(8));
        let any = spread(u64::MAX, &self.any);
        let mut at = numbers.start;
        while at < numbers.end {
            // As many words as share all but their lowest lines.
            let most = (numbers.end - at).ilog2();
            let count = at.trailing_zeros().min(most);
            let free = spread((1 << count) - 1, &self.follows) | any;
            let word = spread(at, &self.follows) | self.high | self.position(bank);
            at += 1 << count;
            let rows = free / store.words();
            if (word / store.words()) & !rows != u64::from(socket.row) & !rows {
                continue;
            }
            let free_pins: Vec<u8> = (0u8..)
                .zip(&store.address)
                .filter(|(_, (line, _))| free >> line & 1 == 1)
                .map(|(pin, _)| pin)
                .collect();
            let straight = (0u8..).zip(&free_pins);
            let straight = straight.take_while(|(i, pin)| i == *pin).count();
            let (through, above) = free_pins.split_at(straight);
            let fixed = store.pins_of(word) & !spread(u64::MAX, &free_pins);
            let len = bytes << through.len();
            for level in 0..1u64 << above.len() {
                let start = (fixed | spread(level, above)) * bytes;
                out.extend(AddressRange::from_len(start, len));
            }
        }
    }
}

/// Ranges in order, those that touch or overlap as one.
fn touching(mut ranges: Vec<AddressRange>) -> Vec<AddressRange> {
    ranges.sort_unstable();
    let mut out: Vec<AddressRange> = Vec::new();
    for range in ranges {
        match out.last_mut() {
            Some(last) if range.first() <= last.last().saturating_add(1) => {
                *last = last.hull(range);
            }
            _ => out.push(range),
        }
    }
    out
}

impl Store {
    /// Whether there is a chip in this socket of the store.
    fn has_chip(&self, socket: Socket) -> bool {
        let place = u64::from(socket.row) * u64::from(self.lanes) + u64::from(socket.lane);
        let name = self.names.get(place as usize);
        socket.lane < self.lanes && name.is_some_and(Option::is_some)
    }

    /// What is soldered otherwise than its name says, address pins first.
    pub fn wires(&self) -> Vec<Wire> {
        let other = |pins: &[(u8, bool)]| -> Vec<(u8, u8, bool)> {
            let pins = (0u8..).zip(pins);
            pins.filter(|(pin, (line, inverted))| pin != line || *inverted)
                .map(|(pin, (line, inverted))| (pin, *line, *inverted))
                .collect()
        };
        let address = other(&self.address).into_iter();
        let address = address.map(|(pin, line, inverted)| Wire::Address {
            pin,
            line,
            inverted,
        });
        let data = other(&self.data).into_iter();
        let data = data.map(|(pin, line, inverted)| Wire::Data {
            pin,
            line,
            inverted,
        });
        address.chain(data).collect()
    }

    /// Which half of a byte of the bus a chip of this lane gives; `None` unless the part is 4 bits wide.
    pub fn nibble(&self, lane: u32) -> Option<Nibble> {
        match (self.part.width, lane % 2) {
            (4, 0) => Some(Nibble::Low),
            (4, _) => Some(Nibble::High),
            _ => None,
        }
    }
}

impl Seat {
    /// The stretches of the chip's file that a window of its store shows in a bank; see [`Window::chip_ranges`].
    pub fn shown(&self, window: &Window, bank: Option<u64>) -> Vec<AddressRange> {
        window.chip_ranges(self.store(), self.socket(), bank, window.range())
    }

    /// The stretches of the chip's file that a window of its store shows in one bank or another.
    pub fn ever_shown(&self, window: &Window) -> Vec<AddressRange> {
        let Some((first, last)) = window.banks else {
            return self.shown(window, None);
        };
        // More positions than the switch's lines tell apart show the same again.
        let different = 1usize << window.switch.len().min(20);
        let banks = (first..=last).take(different);
        touching(
            banks
                .flat_map(|bank| self.shown(window, Some(bank)))
                .collect(),
        )
    }

    /// The bus, and what is added to an address of the chip's file to make that bus's, where one number does it for the
    /// whole chip and the chip is seen nowhere else. Where something else answers makes no difference.
    pub fn offset(&self) -> Option<(&str, u64)> {
        let store = self.store();
        let windows = store.windows().iter();
        let mut windows = windows.filter(|w| w.bus_range(store, self.socket()).is_some());
        let (window, None) = (windows.next()?, windows.next()) else {
            return None;
        };
        let first = u64::from(self.socket().row) * store.words();
        let words = window.range.len() / store.word_bytes();
        let whole = window.first <= first && first + store.words() <= window.first + words;
        let is_straight = |pins: &[(u8, bool)]| {
            let mut pins = (0u8..).zip(pins);
            pins.all(|(pin, (line, inverted))| pin == *line && !inverted)
        };
        let in_order = store.part().width != 16 || store.order() == Order::Little;
        let mut follows = (0u8..).zip(&window.follows);
        let one = store.lanes() == 1
            && window.banks.is_none()
            && whole
            && window.first + words <= window.shown
            && is_straight(&store.address)
            && follows.all(|(bit, line)| bit == *line);
        let add = (first.checked_sub(window.first)?) * store.word_bytes();
        (one && in_order).then(|| (window.space(), window.range.first() + add))
    }
}
