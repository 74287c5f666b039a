//! Can an image be programmed over what is in a chip now?

use crate::image::{AddressRange, Image};
use crate::parts::Sectors;

/// What programming and erasing do to the cells of a chip.
#[derive(Clone, Copy, Debug)]
pub struct Burning<'s> {
    /// What an erased byte reads as; programming changes bits away from it.
    pub erased: u8,
    /// Bits in a word, 1 to 16. A word of more than 8 is two bytes at an even address, and programmed as one; of fewer than 8
    /// bits only these count.
    pub width: u8,
    /// What can be erased separately.
    pub sectors: &'s Sectors,
}

/// What programming without erasing would fail to do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ErasureNeeded {
    /// Bytes compared: those that are in both the image and the chip's read.
    pub compared: u64,
    /// Bytes of the image where the read has none.
    pub unknown: u64,
    /// Words with at least one bit that would have to go back to its erased state.
    pub words: u64,
    /// Bytes with such a bit.
    pub bytes: u64,
    /// Such bits.
    pub bits: u64,
    /// The addresses of these words, as whole words.
    pub ranges: Vec<AddressRange>,
    /// First addresses of the sectors with such a word.
    pub sectors: Vec<u64>,
    /// All sectors that the image touches.
    pub touched: u64,
}

/// Compares `wanted` with what is in the chip now. Programming changes bits away from the erased value, and only erasing
/// changes them back.
pub fn burnable(wanted: &Image, now: &Image, how: &Burning) -> ErasureNeeded {
    let mut out = ErasureNeeded::default();
    let mut last_touched = None;
    let mask = match how.width {
        n @ 0..=7 => (1 << n) - 1,
        _ => 0xFF,
    };
    for span in wanted.spans() {
        let range = span.range();
        let mut next = Some(range.first());
        while let Some(address) = next.filter(|address| *address <= range.last()) {
            let sector = how.sectors.at(address);
            if last_touched != Some(*sector.start()) {
                out.touched += 1;
                last_touched = Some(*sector.start());
            }
            next = sector.end().checked_add(1);
        }
        let mut known = 0;
        for (start, old) in now.within(range) {
            known += old.len() as u64;
            let from = (start - range.first()) as usize;
            for (i, (want, have)) in span.bytes()[from..].iter().zip(old).enumerate() {
                // A bit is lost when it is programmed now and should be erased.
                let lost = (have ^ how.erased) & !(want ^ how.erased) & mask;
                if lost != 0 {
                    out.add(start + i as u64, lost.count_ones().into(), how);
                }
            }
        }
        out.compared += known;
        out.unknown += range.len() - known;
    }
    out
}

/// Bytes by which an image goes past the end of a part with `size` bytes. The part begins at a multiple of its size, at or
/// below the first byte: at chip address 0, or where the chip begins again on a bus.
pub fn bytes_beyond(image: &Image, size: u64) -> u64 {
    let size = size.max(1);
    image.extent().map_or(0, |extent| {
        let last = extent.last() - (extent.first() - extent.first() % size);
        last.saturating_sub(size - 1)
    })
}

impl ErasureNeeded {
    /// Whether it can be done without erasing.
    pub fn is_yes(&self) -> bool {
        self.bits == 0 && self.unknown == 0
    }

    fn add(&mut self, address: u64, bits: u64, how: &Burning) {
        self.bytes += 1;
        self.bits += bits;
        let word = match how.width {
            0..=8 => AddressRange::new(address, address),
            _ => AddressRange::new(address & !1, address | 1),
        };
        let start = *how.sectors.at(address).start();
        if self.sectors.last() != Some(&start) {
            self.sectors.push(start);
        }
        let Some(word) = word else {
            return;
        };
        match self.ranges.last_mut() {
            // The other half of the word before.
            Some(last) if last.last() >= word.last() => return,
            Some(last) if last.last() + 1 == word.first() => *last = last.hull(word),
            _ => self.ranges.push(word),
        }
        self.words += 1;
    }
}
