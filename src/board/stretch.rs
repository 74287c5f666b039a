//! What windows show of the chips, as ranges: for people and for pictures.

use super::hardware::Board;
use super::spec::SwitchedPin;
use super::store::{Store, Window};
use crate::image::AddressRange;
use crate::sums::Order;

/// At most this many ranges of one window or one store are counted one by one.
const MOST: usize = 1 << 20;
/// At most this many ranges are given in the order of the bus; of more only the set is given.
const FEW: usize = 16;

/// A stretch of a bus, and what it shows of the chips of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stretch {
    /// The bus addresses.
    pub bus: AddressRange,
    /// The row of the store that answers, the lowest first.
    pub row: u32,
    /// Bytes of the file of each chip in the row. Crossed address lines put them in another order.
    pub chip: AddressRange,
}

impl Board {
    /// The ranges between the first and the last address of a bus that are in no window of any bank. Excepted ranges are
    /// inside their windows, so they are not among them.
    pub fn unanswered(&self, space: &str) -> Vec<AddressRange> {
        let windows = self.windows().filter(|(_, window)| window.space() == space);
        let ranges = windows.map(|(_, window)| (window.range().first(), window.range().last()));
        let ranges = united(ranges.collect());
        let pairs = ranges.windows(2);
        pairs
            .filter_map(|pair| AddressRange::new(pair[0].1 + 1, pair[1].0 - 1))
            .collect()
    }
}

impl Window {
    /// The lines that its switch sets, the position's lowest bit first. Those above the part's own choose the row.
    pub fn switch(&self) -> Vec<SwitchedPin> {
        let lines = self.switch.iter();
        lines
            .map(|&(pin, inverted)| SwitchedPin { pin, inverted })
            .collect()
    }

    /// Its bus addresses without those where something else answers.
    pub fn ranges(&self) -> Vec<AddressRange> {
        let except = self
            .except
            .iter()
            .map(|range| (range.first(), range.last()));
        between(&united(except.collect()), self.range)
    }
}

impl Store {
    /// The data lines of the bus that a lane has, first and last.
    pub fn data_lines(&self, lane: u32) -> (u32, u32) {
        let width = u32::from(self.part.width);
        let lines = self.lanes * width;
        let first = match (self.order, width) {
            (Order::Little, _) => lane * width,
            // The byte at the lowest address has the highest lines; of two chips 4 bits wide the first has its low half.
            (Order::Big, 4) => {
                let bytes = lines.div_ceil(8);
                (bytes.saturating_sub(1 + lane / 2)) * 8 + lane % 2 * 4
            }
            (Order::Big, _) => lines.saturating_sub((lane + 1) * width),
        };
        (first, first + width - 1)
    }

    /// What one of its windows shows in a bank, in the order of the bus. `None` where that would be more than a million
    /// ranges, such as when the lowest lines of a large chip are crossed with the highest.
    ///
    /// A bus word that is partly excepted counts as shown.
    pub fn shown(&self, window: &Window, bank: Option<u64>) -> Option<Vec<Stretch>> {
        // In the order of the bus, as long as that is short.
        let exact = self.stretches(window, bank, true, FEW);
        exact.or_else(|| self.stretches(window, bank, false, MOST))
    }

    fn stretches(
        &self,
        window: &Window,
        bank: Option<u64>,
        exact: bool,
        most: usize,
    ) -> Option<Vec<Stretch>> {
        let unit = self.word_bytes();
        let start = window.range().first();
        let mut out: Vec<Stretch> = Vec::new();
        for range in window.ranges() {
            let from = (range.first() - start) / unit;
            let end = (range.last() - start) / unit + 1;
            for run in window.runs(bank, from, end) {
                for word in window.alike(run.word) {
                    for block in self.blocks(word, run.len, exact) {
                        let (row, chip) = self.in_chip(block);
                        let bus = start + (run.offset + block.0 - word) * unit;
                        let bus = AddressRange::from_len(bus, block.1 * unit);
                        let bus = bus.and_then(|bus| bus.overlap(range));
                        let (Some(bus), Some(chip)) = (bus, chip) else {
                            continue;
                        };
                        add(&mut out, Stretch { bus, row, chip });
                        if out.len() > most {
                            return None;
                        }
                    }
                }
            }
        }
        Some(out)
    }

    /// Words of the store cut so that each piece, `(first, count)`, is one piece of a chip too; `exact` where they must be
    /// in the same order there.
    pub(super) fn blocks(
        &self,
        word: u64,
        count: u64,
        exact: bool,
    ) -> impl Iterator<Item = (u64, u64)> + '_ {
        let lines = self.address.len() as u32;
        let straight = self.address.iter().zip(0u8..);
        let straight = straight.take_while(|((line, inverted), pin)| line == pin && !inverted);
        let straight = straight.count() as u32;
        let whole = |lowest: u32| match exact {
            true => lowest <= straight,
            false => {
                let own = &self.address[..lowest as usize];
                own.iter().all(|(line, _)| u32::from(*line) < lowest)
            }
        };
        let sizes: Vec<u32> = (0..=lines).rev().filter(|lowest| whole(*lowest)).collect();
        let (mut at, end) = (word, word + count);
        std::iter::from_fn(move || {
            if at >= end {
                return None;
            }
            let fits = |size: &&u32| {
                let len = 1u64 << **size;
                at % len == 0 && end - at >= len
            };
            let len = 1u64 << sizes.iter().find(fits).copied().unwrap_or(0);
            let block = (at, len);
            at += len;
            Some(block)
        })
    }

    /// The row, and the bytes of a chip's file that such a piece is.
    pub(super) fn in_chip(&self, (word, count): (u64, u64)) -> (u32, Option<AddressRange>) {
        let file = u64::from(self.part.width.div_ceil(8));
        let row = (word / self.words()) as u32;
        let pins = self.pins_of(word % self.words()) / count * count;
        (row, AddressRange::from_len(pins * file, count * file))
    }

    /// For each place, in the order of the names, the bytes of its chip's file that no bus ever shows. `None` where they
    /// are in more than a million ranges; a place without a chip has none.
    pub fn unseen(&self) -> Option<Vec<Vec<AddressRange>>> {
        let unit = self.word_bytes();
        let mut seen = Vec::new();
        for window in &self.windows {
            let (first, last) = window.banks.unwrap_or((0, 0));
            for bank in first..=last {
                let bank = window.banks.map(|_| bank);
                self.seen_in(window, bank, unit, &mut seen)?;
            }
        }
        let all = AddressRange::from_len(0, self.bytes())?;
        let unseen = between(&united(seen), all);
        let places = self.names.iter().zip(0u64..);
        let mut budget = MOST;
        places
            .map(|(name, place)| match name {
                None => Some(Vec::new()),
                Some(_) => self.unseen_at(place, &unseen, &mut budget),
            })
            .collect()
    }

    /// Adds the store's bytes that a window shows in a bank.
    fn seen_in(
        &self,
        window: &Window,
        bank: Option<u64>,
        unit: u64,
        seen: &mut Vec<(u64, u64)>,
    ) -> Option<()> {
        let start = window.range().first();
        for range in window.ranges() {
            let (from, to) = (range.first() - start, range.last() - start);
            for run in window.runs(bank, from / unit, to / unit + 1) {
                // The first and last word perhaps not with all bytes.
                let before = from.saturating_sub(run.offset * unit);
                let end = (run.offset + run.len) * unit - 1;
                let after = end.saturating_sub(to);
                for word in window.alike(run.word) {
                    let first = word * unit + before;
                    let last = (word + run.len) * unit - 1 - after;
                    match seen.last_mut() {
                        Some(own) if own.1 + 1 == first => own.1 = last,
                        _ => seen.push((first, last)),
                    }
                }
                if seen.len() > MOST {
                    return None;
                }
            }
        }
        Some(())
    }

    fn unseen_at(
        &self,
        place: u64,
        unseen: &[AddressRange],
        budget: &mut usize,
    ) -> Option<Vec<AddressRange>> {
        let unit = self.word_bytes();
        let lanes = u64::from(self.lanes);
        let (row, lane) = (place / lanes, place % lanes);
        let row = AddressRange::from_len(row * self.words() * unit, self.words() * unit)?;
        // The bytes of a bus word that this lane gives, and which byte of its own word each is.
        let bytes: Vec<(u64, u64)> = match self.part.width {
            16 => (0..2)
                .map(|k| (lane * 2 + k, self.byte_in_word(k)))
                .collect(),
            4 => vec![(lane / 2, 0)],
            _ => vec![(lane, 0)],
        };
        let file = bytes.len() as u64;
        let from = unseen.partition_point(|range| range.last() < row.first());
        let near = unseen[from..].iter();
        let near = near.take_while(|range| range.first() <= row.last());
        let mut out = Vec::new();
        for range in near.filter_map(|range| range.overlap(row)) {
            let (first, end) = (range.first().div_ceil(unit), (range.last() + 1) / unit);
            for block in self.blocks(first, end.saturating_sub(first), false) {
                let (_, chip) = self.in_chip(block);
                out.extend(chip.map(|chip| (chip.first(), chip.last())));
                *budget = budget.checked_sub(1)?;
            }
            // Words of which only some bytes are not seen.
            let mut part: Vec<u64> = [range.first() / unit, range.last() / unit]
                .into_iter()
                .filter(|word| !(first..end).contains(word))
                .collect();
            part.dedup();
            for word in part {
                let pins = self.pins_of(word % self.words());
                for (in_bus, in_chip) in &bytes {
                    if range.contains(word * unit + in_bus) {
                        let at = pins * file + in_chip;
                        out.push((at, at));
                    }
                }
            }
        }
        let united = united(out).into_iter();
        Some(
            united
                .filter_map(|(first, last)| AddressRange::new(first, last))
                .collect(),
        )
    }
}

/// Adds a stretch, or makes the last one longer if it continues it.
fn add(list: &mut Vec<Stretch>, next: Stretch) {
    if let Some(own) = list.last_mut() {
        let goes_on = own.row == next.row
            && own.bus.last().checked_add(1) == Some(next.bus.first())
            && own.chip.last().checked_add(1) == Some(next.chip.first());
        if goes_on {
            own.bus = own.bus.hull(next.bus);
            own.chip = own.chip.hull(next.chip);
            return;
        }
    }
    list.push(next);
}

/// The same addresses in order, in as few ranges as possible; first and last.
pub(super) fn united(mut ranges: Vec<(u64, u64)>) -> Vec<(u64, u64)> {
    ranges.sort_unstable();
    let mut out: Vec<(u64, u64)> = Vec::new();
    for (first, last) in ranges {
        match out.last_mut() {
            Some(own) if first <= own.1.saturating_add(1) => own.1 = own.1.max(last),
            _ => out.push((first, last)),
        }
    }
    out
}

/// What is left of `all` without these ranges, which are in order.
fn between(ranges: &[(u64, u64)], all: AddressRange) -> Vec<AddressRange> {
    let mut out = Vec::new();
    let mut at = all.first();
    for (first, last) in ranges {
        if *first > at {
            out.extend(AddressRange::new(at, first - 1));
        }
        match last.checked_add(1) {
            Some(next) => at = at.max(next),
            None => return out,
        }
    }
    if at <= all.last() {
        out.extend(AddressRange::new(at, all.last()));
    }
    out
}
