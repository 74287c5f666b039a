//! Can an image be programmed over what a chip holds now?

use crate::image::{AddressRange, Image};
use crate::parts::Sectors;

/// What programming without erasing would fail to do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ErasureNeeded {
    /// Bytes compared: those the image wants and the chip's read shows.
    pub compared: u64,
    /// Bytes the image wants where the read shows nothing.
    pub unknown: u64,
    /// Bytes with at least one bit that would have to go back to its erased state.
    pub bytes: u64,
    /// Such bits.
    pub bits: u64,
    /// Where these bytes are.
    pub ranges: Vec<AddressRange>,
    /// First addresses of the sectors that hold such a byte.
    pub sectors: Vec<u64>,
    /// Sectors the image touches in all.
    pub touched: u64,
}

/// Holds `wanted` against what the chip holds now. Programming takes bits away from the erased value, and only erasing
/// brings them back; `sectors` says what can be erased by itself.
pub fn burnable(wanted: &Image, now: &Image, erased: u8, sectors: &Sectors) -> ErasureNeeded {
    let mut out = ErasureNeeded::default();
    let mut last_touched = None;
    for span in wanted.spans() {
        let range = span.range();
        let mut next = Some(range.first());
        while let Some(address) = next.filter(|address| *address <= range.last()) {
            let sector = sectors.at(address);
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
                // A bit is lost when it is programmed now and wanted erased.
                let lost = (have ^ erased) & !(want ^ erased);
                if lost != 0 {
                    out.add(start + i as u64, lost.count_ones().into(), sectors);
                }
            }
        }
        out.compared += known;
        out.unknown += range.len() - known;
    }
    out
}

impl ErasureNeeded {
    /// Whether it can be done without erasing.
    pub fn is_yes(&self) -> bool {
        self.bits == 0 && self.unknown == 0
    }

    fn add(&mut self, address: u64, bits: u64, sectors: &Sectors) {
        self.bytes += 1;
        self.bits += bits;
        let start = *sectors.at(address).start();
        if self.sectors.last() != Some(&start) {
            self.sectors.push(start);
        }
        match self.ranges.last_mut() {
            Some(last) if last.last() + 1 == address => {
                *last = AddressRange::new(last.first(), address).unwrap_or(*last);
            }
            _ => self.ranges.extend(AddressRange::new(address, address)),
        }
    }
}
