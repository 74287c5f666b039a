//! Whole images through windows and stores: the same arithmetic as for one byte, a run of words at a time.

use super::store::{Store, Window};
use crate::image::{AddressRange, Clash, Image, Overlap};
use crate::sums::Order;
use crate::wiring::{Width, Wiring, WiringError};

/// Words of a window that follow each other in the store too.
pub(super) struct WordRun {
    /// Bus words from the window's start.
    pub offset: u64,
    /// The first word in the store, open lines at 0.
    pub word: u64,
    /// How many words.
    pub len: u64,
}

impl Window {
    /// The runs that the bus words `from..end` of this window, counted from its start, are made of.
    pub(super) fn runs(
        &self,
        bank: Option<u64>,
        from: u64,
        end: u64,
    ) -> impl Iterator<Item = WordRun> {
        let straight = (0u8..).zip(&self.follows);
        let straight = straight.take_while(|(i, line)| i == *line).count();
        let block = 1u64 << straight.min(62);
        let mut at = from;
        std::iter::from_fn(move || {
            if at >= end {
                return None;
            }
            let number = (self.first + at) % self.shown;
            let len = (end - at)
                .min(block - number % block)
                .min(self.shown - number);
            let run = WordRun {
                offset: at,
                word: self.word(bank, at),
                len,
            };
            at += len;
            Some(run)
        })
    }

    /// What a program puts into the store through this window, at store addresses. The program must have nothing in excepted
    /// ranges.
    pub(super) fn to_store(&self, store: &Store, bank: Option<u64>, program: &Image) -> Vec<Image> {
        let unit = store.word_bytes();
        let start = self.range().first();
        let mut parts = Vec::new();
        let mut done = 0;
        for (at, bytes) in program.within(self.range()) {
            let from = ((at - start) / unit).max(done);
            let end = (at - start + bytes.len() as u64).div_ceil(unit);
            done = end;
            for run in self.runs(bank, from, end) {
                let bus = AddressRange::from_len(start + run.offset * unit, run.len * unit);
                let Some(bus) = bus else { continue };
                for word in self.alike(run.word) {
                    parts.push(moved(program.slice(bus), bus.first(), word * unit));
                }
            }
        }
        parts
    }

    /// What the bus sees of a store through this window, at bus addresses, in the given ranges.
    pub(super) fn out_of_store(
        &self,
        store: &Store,
        bank: Option<u64>,
        content: &Image,
        range: AddressRange,
    ) -> Vec<Image> {
        let Some(range) = self.range().overlap(range) else {
            return Vec::new();
        };
        let unit = store.word_bytes();
        let start = self.range().first();
        let from = (range.first() - start) / unit;
        let end = (range.last() - start) / unit + 1;
        let mut parts = Vec::new();
        for run in self.runs(bank, from, end) {
            let Some(own) = AddressRange::from_len(run.word * unit, run.len * unit) else {
                continue;
            };
            let piece = content.slice(own);
            if piece.is_empty() {
                continue;
            }
            let mut piece = moved(piece, run.word * unit, start + run.offset * unit);
            piece.keep(&[range]);
            piece.remove_all(&self.except);
            parts.push(piece);
        }
        parts
    }
}

impl Store {
    /// The chips of this store, in the order of its places, from its content; what is for a place without a chip is left
    /// out.
    ///
    /// # Errors
    /// [`WiringError`] where data lines are crossed or inverted and half a word is a hole.
    pub(super) fn to_chips(&self, mut content: Image) -> Result<Vec<Image>, WiringError> {
        let unit = self.word_bytes();
        let row_bytes = self.words() * unit;
        let wiring = self.wiring()?;
        let mut rows = Vec::new();
        // From the back, so that the memory of what has been taken off is free again at once.
        for row in (0..self.rows()).rev() {
            let start = row * row_bytes;
            let content = moved(content.split_off(start), start, 0);
            let bytes = match unit {
                1 => vec![content],
                n => content.deal(n as u32),
            };
            let mut chips = self.lanes_of(bytes);
            if let Some(wiring) = &wiring {
                chips.iter_mut().try_for_each(|chip| wiring.rewire(chip))?;
            }
            rows.push(chips);
        }
        Ok(rows.into_iter().rev().flatten().collect())
    }

    /// The lanes from the bytes of a bus word.
    fn lanes_of(&self, bytes: Vec<Image>) -> Vec<Image> {
        match self.part().width {
            16 => {
                let mut bytes = bytes.into_iter();
                let pairs = std::iter::from_fn(|| {
                    let mut pair: Vec<Image> = bytes.by_ref().take(2).collect();
                    if self.order() == Order::Big {
                        pair.reverse();
                    }
                    (!pair.is_empty()).then(|| Image::weave(pair).unwrap_or_default())
                });
                pairs.collect()
            }
            4 => {
                let lanes = self.lanes() as usize;
                let halves = bytes.into_iter();
                let halves = halves.flat_map(Image::split_halves);
                halves.take(lanes).collect()
            }
            _ => bytes,
        }
    }

    /// The content of this store from its chips, in the order of its places.
    ///
    /// # Errors
    /// As [`to_chips`](Self::to_chips).
    pub(super) fn of_chips(&self, chips: Vec<Option<Image>>) -> Result<Image, WiringError> {
        let unit = self.word_bytes();
        let row_bytes = self.words() * unit;
        let wiring = self.wiring()?.map(|wiring| wiring.inverse());
        let mut rows = Vec::new();
        let mut chips = chips.into_iter();
        for row in 0..self.rows() {
            let mut lanes = Vec::new();
            for chip in chips.by_ref().take(self.lanes() as usize) {
                let mut chip = chip.unwrap_or_default();
                (chip.entry, chip.header) = (None, None);
                if let Some(beyond) = AddressRange::from_up(self.part().bytes()) {
                    chip.remove(beyond);
                }
                if let Some(wiring) = &wiring {
                    wiring.rewire(&mut chip)?;
                }
                lanes.push(chip);
            }
            let bytes = self.bytes_of(lanes);
            let content = match bytes.len() {
                1 => bytes.into_iter().next().unwrap_or_default(),
                _ => Image::weave(bytes)?,
            };
            rows.push(moved(content, 0, row * row_bytes));
        }
        // Rows have addresses of their own.
        Ok(Image::gather_apart(rows))
    }

    /// Takes off the half bytes of chips 4 bits wide whose other halves are not there, each with its place: no byte comes of
    /// them. They stay at addresses of the chip's file.
    pub(super) fn half_bytes(&self, places: &mut [Option<Image>]) -> Vec<(usize, Image)> {
        let mut alone = Vec::new();
        if self.part().width != 4 {
            return alone;
        }
        let lanes = self.lanes() as usize;
        for row in (0..places.len()).step_by(lanes) {
            for low in (row..row + lanes - lanes % 2).step_by(2) {
                let there = [low, low + 1].map(|place| ranges(places[place].as_ref()));
                for (place, other) in [(low, &there[1]), (low + 1, &there[0])] {
                    let Some(chip) = &mut places[place] else {
                        continue;
                    };
                    let mut own = chip.clone();
                    own.remove_all(other);
                    if !own.is_empty() {
                        chip.keep(other);
                        alone.push((place, own));
                    }
                }
            }
        }
        alone
    }

    /// The bytes of a bus word from the lanes.
    fn bytes_of(&self, lanes: Vec<Image>) -> Vec<Image> {
        match self.part().width {
            16 => lanes
                .into_iter()
                .flat_map(|lane| {
                    let mut pair = lane.deal(2);
                    if self.order() == Order::Big {
                        pair.reverse();
                    }
                    pair
                })
                .collect(),
            4 => {
                let mut lanes = lanes.into_iter();
                let bytes = std::iter::from_fn(|| {
                    let low = lanes.next()?;
                    Some(match lanes.next() {
                        Some(high) => low.join_halves(&high),
                        None => low,
                    })
                });
                bytes.collect()
            }
            _ => lanes,
        }
    }

    /// What the chips' pins do to their content; `None` where every line is on the pin of its name.
    fn wiring(&self) -> Result<Option<Wiring>, WiringError> {
        if !self.is_rewired() {
            return Ok(None);
        }
        let width = match self.part().width {
            16 => Width::Sixteen,
            _ => Width::Eight,
        };
        let lines =
            |pins: &[(u8, bool)]| -> Vec<u8> { pins.iter().map(|(line, _)| *line).collect() };
        let inverted = |pins: &[(u8, bool)]| {
            let pins = pins.iter().zip(0u32..);
            pins.fold(0u32, |out, ((_, inverted), pin)| {
                out | u32::from(*inverted) << pin
            })
        };
        let wiring = Wiring::new(width, lines(&self.address), lines(&self.data))?;
        let data = inverted(&self.data) as u16;
        wiring.inverting(inverted(&self.address), data).map(Some)
    }
}

/// An image moved from one address to another; both are inside the 64-bit space.
fn moved(mut image: Image, from: u64, to: u64) -> Image {
    // Both ends were checked when the board was made.
    let _ = image.shift(i128::from(to) - i128::from(from));
    image
}

/// Where there are bytes.
fn ranges(image: Option<&Image>) -> Vec<AddressRange> {
    image.into_iter().flat_map(Image::ranges).collect()
}

/// All of these as one; equal bytes may overlap.
pub(super) fn merged(parts: Vec<Image>) -> Result<Image, Overlap> {
    if Image::first_two_that_overlap(&parts).is_none() {
        return Ok(Image::gather_apart(parts));
    }
    // Merged one by one, so that equal bytes are accepted.
    let mut all = Image::new();
    for part in parts {
        all.merge(part, Clash::Same)?;
    }
    Ok(all)
}
