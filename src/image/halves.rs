//! Halves of bytes, each in the low half of a byte: what chips 4 bits wide contain.

use std::convert::Infallible;

use super::{AddressRange, Image};

impl Image {
    /// The low half of each byte, and the high one. Entry point and header belong to the whole and are left out.
    pub(crate) fn split_halves(mut self) -> [Image; 2] {
        (self.entry, self.header) = (None, None);
        let half = |mut image: Image, shift: u32| {
            let Ok(()) = image.edit_bytes(|_, bytes| {
                let bytes = bytes.iter_mut();
                bytes.for_each(|byte| *byte = *byte >> shift & 0x0F);
                Ok::<(), Infallible>(())
            });
            image
        };
        [half(self.clone(), 0), half(self, 4)]
    }

    /// Bytes from these low halves and their high ones, where both are there.
    pub(crate) fn join_halves(mut self, high: &Image) -> Image {
        let there: Vec<AddressRange> = high.ranges().collect();
        self.keep(&there);
        let Ok(()) = self.edit_bytes(|start, bytes| {
            let range = AddressRange::from_len(start, bytes.len() as u64);
            for (at, halves) in range.into_iter().flat_map(|range| high.within(range)) {
                let from = (at - start) as usize;
                for (byte, half) in bytes[from..].iter_mut().zip(halves) {
                    *byte = *byte & 0x0F | half << 4;
                }
            }
            Ok::<(), Infallible>(())
        });
        self
    }
}
