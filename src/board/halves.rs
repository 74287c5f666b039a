//! Words of two bytes of which only one is there, where pins are rewired: a word of a chip can only be worked out from both.

use super::store::Store;
use crate::image::{AddressRange, Image, Source};
use crate::wiring::WiringError;

impl Store {
    /// The chips of a content that programs have put there. What they leave of a chip's word stays as in an unused cell; a
    /// byte of a chip that has no bit of theirs is a hole.
    ///
    /// # Errors
    /// [`WiringError`], as for whole words.
    pub(super) fn to_chips_filled(&self, mut content: Image) -> Result<Vec<Image>, WiringError> {
        let missing = self.missing_halves(&content);
        if missing.is_empty() {
            return self.to_chips(content);
        }
        let unused = Image::from_bytes(0, vec![self.filler(); 2], Source::Filler)?;
        let unused = self.of_chips(vec![Some(unused)])?;
        let mut halves = [self.filler(); 2];
        let bytes = unused.spans().iter();
        for (at, byte) in bytes.flat_map(|span| (span.start()..).zip(span.bytes())) {
            halves[(at % 2) as usize] = *byte;
        }
        let filler = missing.iter();
        let filler = filler.map(|at| (*at, vec![halves[(at % 2) as usize]]));
        content.put_all(filler, Source::Filler)?;
        let mut chips = self.to_chips(content)?;
        for (chip, bits) in chips.iter_mut().zip(self.bits_of(missing.into_iter())?) {
            chip.remove_all(&ranges_of(&bits, 0xFF));
        }
        Ok(chips)
    }

    /// The chips of what buses leave of a content. `whole` is all of it, and given back on the way. Of a word that is half
    /// there, the chip's bytes come that have any bit of it.
    ///
    /// # Errors
    /// [`WiringError`], as for whole words.
    pub(super) fn left_over(
        &self,
        content: Image,
        whole: Image,
    ) -> Result<Vec<Image>, WiringError> {
        let missing = self.missing_halves(&content);
        let others = missing.iter();
        let others = others.filter_map(|at| AddressRange::from_len(*at, 1));
        let mut parts: Vec<Image> = others.map(|own| whole.slice(own)).collect();
        drop(whole);
        if parts.is_empty() {
            return self.to_chips(content);
        }
        parts.push(content);
        let mut chips = self.to_chips(Image::gather_apart(parts))?;
        let hidden = missing.into_iter().map(|at| at ^ 1);
        for (chip, bits) in chips.iter_mut().zip(self.bits_of(hidden)?) {
            chip.remove_all(&ranges_of(&bits, 0x00));
        }
        Ok(chips)
    }

    /// The other halves of words of which one half is there, lowest address first; none where halves need not be known.
    fn missing_halves(&self, content: &Image) -> Vec<u64> {
        if !self.is_rewired() || self.part().width != 16 {
            return Vec::new();
        }
        let halves = content.spans().iter().flat_map(|span| {
            let (first, last) = (span.range().first(), span.range().last());
            let before = (first % 2 == 1).then(|| first - 1);
            let after = (last % 2 == 0).then(|| last + 1);
            before.into_iter().chain(after)
        });
        halves.collect()
    }

    /// Which bits of the chips come from these halves of words: they are 1, and 0 are those of the other halves.
    fn bits_of(&self, halves: impl Iterator<Item = u64>) -> Result<Vec<Image>, WiringError> {
        let words = halves.map(|at| match at % 2 {
            0 => (at, vec![0xFF, 0x00]),
            _ => (at - 1, vec![0x00, 0xFF]),
        });
        let mut bits = Image::new();
        bits.put_all(words, Source::Patch)?;
        let mut straight = self.clone();
        let pins = straight.data.iter_mut();
        pins.for_each(|(_, inverted)| *inverted = false);
        straight.to_chips(bits)
    }
}

/// Where an image has bytes of this value.
pub(super) fn ranges_of(image: &Image, value: u8) -> Vec<AddressRange> {
    let mut found: Vec<AddressRange> = Vec::new();
    for span in image.spans() {
        let bytes = (span.start()..).zip(span.bytes());
        for (at, _) in bytes.filter(|(_, own)| **own == value) {
            match found.last_mut().filter(|last| last.last() + 1 == at) {
                Some(last) => *last = AddressRange::new(last.first(), at).unwrap_or(*last),
                None => found.extend(AddressRange::from_len(at, 1)),
            }
        }
    }
    found
}
