//! What a wiring makes of an image.

use super::wires::scatter;
use super::{Lookup, Width, Wiring, WiringError};
use crate::image::{AddressRange, Image};

/// Blocks that are rewired at once have at least this many address lines: a few bytes at a time would be slow.
const LEAST_LINES: u32 = 12;

impl Wiring {
    /// Makes of an image what must be in the chip, so that it reads as the image through these lines.
    ///
    /// Each block of [`block`](Self::block) bytes is rewired separately, in memory of its size. Entry point and header stay.
    ///
    /// # Errors
    /// [`WiringError::BrokenWord`] when half a word is a hole; [`WiringError::OutOfSpace`] when a block would pass the last
    /// address. The image is unchanged then.
    pub fn rewire(&self, image: &mut Image) -> Result<(), WiringError> {
        // Lines above the list are straight, so a block may be larger.
        let top = image.extent().map_or(0, |extent| extent.last());
        let lines = match top < AddressRange::TOP >> 1 {
            true => self.lines().max(LEAST_LINES),
            false => self.lines(),
        };
        match self.width() {
            Width::Eight => {
                let byte = self.data_tables()[0].map(|byte| byte as u8);
                Ok(image.permute(lines, self.chip_address(lines), &byte)?)
            }
            Width::Sixteen => self.rewire_words(image, lines),
        }
    }

    /// Bytes of a block, which contains all listed and inverted address lines; at most 2^33.
    pub fn block(&self) -> u64 {
        (self.width().bytes() as u64) << self.lines()
    }

    /// The bytes of a chip, from its address 0 up, that this wiring makes of the given ones. `None` when they are not a whole
    /// number of blocks, or more than 2^24.
    pub fn apply(&self, bytes: &[u8]) -> Option<Vec<u8>> {
        const LARGEST: u64 = 1 << 24;
        let block = self.block();
        if block > LARGEST || bytes.len() as u64 > LARGEST || bytes.len() as u64 % block != 0 {
            return None;
        }
        let mut wiring = self.clone();
        // All lines of a block are in the list then.
        let listed = self.address().len() as u8;
        wiring.list_straight(listed..self.lines() as u8);
        let lookup = Lookup::new(&wiring);
        let cells = self.width().cells(bytes);
        let blocks = cells.chunks(1 << self.lines());
        let chip = blocks.flat_map(|block| (0..block.len()).map(|at| lookup.cell(block, at)));
        Some(match self.width() {
            Width::Eight => chip.map(|cell| cell as u8).collect(),
            Width::Sixteen => chip.flat_map(u16::to_le_bytes).collect(),
        })
    }

    /// Address lines of a block: those listed, and straight ones up to the highest inverted.
    fn lines(&self) -> u32 {
        let inverted = u32::BITS - self.address_inverted().leading_zeros();
        inverted.max(self.address().len() as u32)
    }

    fn rewire_words(&self, image: &mut Image, lines: u32) -> Result<(), WiringError> {
        if let Some((word, hole)) = image.broken_word(2) {
            return Err(WiringError::BrokenWord { word, hole });
        }
        // Both bytes of a word move together, so the words' lines are the bytes' lines without the lowest.
        let word = self.chip_address(lines);
        let place = |byte: u64| word(byte >> 1) << 1 | byte & 1;
        let unchanged = std::array::from_fn(|byte| byte as u8);
        image.permute(lines + 1, place, &unchanged)?;
        let [low, high] = self.data_tables();
        image.edit_bytes(|_, bytes| {
            for word in bytes.chunks_exact_mut(2) {
                let wired = low[usize::from(word[0])] ^ high[usize::from(word[1])];
                word.copy_from_slice(&wired.to_le_bytes());
            }
            Ok::<(), WiringError>(())
        })
    }

    /// The chip address of the cell at an address of the image, inside one block of this many lines.
    fn chip_address(&self, lines: u32) -> impl Fn(u64) -> u64 + use<> {
        // Two tables of half the lines each: wires don't depend on each other.
        let count = lines as usize;
        let straight = self.address().len() as u8..lines as u8;
        let list: Vec<u8> = self.address().iter().copied().chain(straight).collect();
        let low = count / 2;
        let table = |from: usize, to: usize, turn: u64| -> Vec<u64> {
            (0..1u64 << (to - from))
                .map(|n| scatter(n << from, &list) ^ turn)
                .collect()
        };
        let inverted = u64::from(self.address_inverted());
        let (lower, upper) = (table(0, low, inverted), table(low, count, 0));
        let mask = (1u64 << low) - 1;
        move |a| lower[(a & mask) as usize] ^ upper[(a >> low) as usize]
    }
}
