//! Words that are there in part.

use super::{AddressRange, Image};

impl Image {
    /// The first word of `width` bytes that is there in part, and its lowest address without a byte; words begin at
    /// multiples of `width`, which is at least 1. `None` when every word is whole or not there at all.
    pub fn broken_word(&self, width: u64) -> Option<(u64, u64)> {
        let width = width.max(1);
        self.spans().iter().find_map(|span| {
            let range = span.range();
            let (front, back) = (range.first() % width, range.last() % width);
            if front != 0 {
                let word = range.first() - front;
                let before = AddressRange::new(word, range.first()).unwrap_or(range);
                let hole = self.holes(before).next();
                return Some((word, hole.map_or(word, AddressRange::first)));
            }
            // The last byte of a word needs no next one, which may be past the last address.
            (back != width - 1).then(|| (range.last() - back, range.last() + 1))
        })
    }
}
