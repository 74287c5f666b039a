//! What windows show of a chip, in stretches: for maps, pages and drawings.

use super::hardware::Socket;
use super::lines::collect;
use super::seat::Seat;
use super::spec::{Level, Wire};
use super::store::{Store, Window};
use super::stretch::united;
use crate::image::AddressRange;
use crate::sums::Order;

impl Window {
    /// The stretches of a chip's file that this window shows in the given bus addresses, in this bank, in the chip's own
    /// addresses: lowest first, those that touch as one. None where it does not show the chip, or not in this bank.
    /// `bank` does not matter for a window that always answers.
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
        for range in self.ranges() {
            let words = range.overlap(bus);
            let Some((from, end)) = words.and_then(|part| self.words_of(store, socket, part))
            else {
                continue;
            };
            // A window that shows its store again shows the same bytes again.
            let end = end.min(from + self.shown);
            for run in self.runs(bank, from, end) {
                for word in self.alike(run.word) {
                    let blocks = store.blocks(word, run.len, false);
                    let chips = blocks.map(|block| store.in_chip(block));
                    let own = chips.filter(|(row, _)| *row == socket.row);
                    out.extend(own.filter_map(|(_, chip)| chip));
                }
            }
        }
        touching(out)
    }

    /// The bus addresses from the first to the last bus word in which this window shows a chip, in any bank; `None`
    /// where it never does. Lanes side by side have the same addresses.
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
}

/// Ranges in order, those that touch or overlap as one.
fn touching(ranges: Vec<AddressRange>) -> Vec<AddressRange> {
    let ranges = ranges.iter().map(|range| (range.first(), range.last()));
    let ranges = united(ranges.collect()).into_iter();
    ranges
        .filter_map(|(first, last)| AddressRange::new(first, last))
        .collect()
}

impl Store {
    /// Whether there is a chip in this socket of the store.
    fn has_chip(&self, socket: Socket) -> bool {
        let place = self.place_of(socket);
        place.is_some_and(|place| self.names[place].is_some())
    }

    /// Pins on which another line is soldered than their name says, address pins first.
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

    /// The bus, and what is added to an address of the chip's file to get the bus address, if one number is right for the
    /// whole chip and the chip is seen nowhere else. Places where something else answers don't matter.
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
