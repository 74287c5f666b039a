//! Second copies of bytes, and where bytes occur.

use memchr::memmem;

use super::{Large, OpError};
use crate::image::{AddressRange, Clash, Image, Origin, Source, ask_memory};

/// Puts a second copy of `range` at `to`; holes in it stay holes. Returns how many bytes were copied.
///
/// # Errors
/// [`OpError::Nothing`] when the range is all holes; [`OpError::Clash`] where `clash` does not settle an overlap;
/// [`OpError::OutOfSpace`]; [`OpError::Large`]; [`OpError::Memory`].
pub fn copy(
    image: &mut Image,
    range: AddressRange,
    to: u64,
    clash: Clash,
    large: Large,
) -> Result<u64, OpError> {
    let made = image.within(range).map(|(_, bytes)| bytes.len() as u64);
    let made = made.sum();
    large.check(made)?;
    // What others have too is copied beside it.
    let beside = image.shared_len().saturating_add(image.places_len());
    ask_memory(made.saturating_mul(2).saturating_add(beside))?;
    let mut second = image.slice(range);
    if second.is_empty() {
        return Err(OpError::Nothing { range });
    }
    second.shift(i128::from(to) - i128::from(range.first()))?;
    let copied = second.len();
    // What is only added after the image can be copied where it is. All else changes the image, which must not have to be
    // copied for that.
    let after = image.extent().map(|extent| extent.last() + 1);
    if second.extent().map(|extent| extent.first()) != after {
        second.unshare();
    }
    image
        .merge(second, clash)
        .map_err(|o| OpError::Clash(Box::new(o)))?;
    Ok(copied)
}

/// Whether data that was loaded may be replaced; filler always may.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum OverData {
    /// No: it is an error.
    #[default]
    Refuse,
    /// Yes.
    Replace,
}

/// Where the first byte of `place` came from that is neither filler nor from a source that `may_go`.
pub(super) fn data_at(
    image: &Image,
    place: AddressRange,
    may_go: impl Fn(&Source) -> bool,
) -> Option<Origin> {
    let mut runs = image.origins().within(place);
    let kept = runs.find(|run| !run.source.is_filler() && !may_go(&run.source))?;
    image.origin_at(kept.range.first())
}

/// Copies `range` into the same place of each of `banks` banks of `size` bytes, the first at address 0.
///
/// Filler and equal bytes are replaced; `over` says what happens to other data. Returns how many banks got a copy.
///
/// # Errors
/// [`OpError::Nothing`], [`OpError::AcrossBanks`], [`OpError::SpreadOverData`], [`OpError::OutOfSpace`],
/// [`OpError::Large`], [`OpError::Scattered`], [`OpError::Memory`].
pub fn spread(
    image: &mut Image,
    range: AddressRange,
    size: u64,
    banks: u64,
    over: OverData,
    large: Large,
) -> Result<u64, OpError> {
    if size == 0 || range.first() / size != range.last() / size {
        return Err(OpError::AcrossBanks { range, size });
    }
    let mut block = image.slice(range);
    if block.is_empty() {
        return Err(OpError::Nothing { range });
    }
    let own = range.first() / size;
    let count = banks - u64::from(own < banks);
    large.check_copies(count, &block)?;
    block.unshare();
    let others = || (0..banks).filter(|bank| *bank != own);
    let distance = |bank: u64| (i128::from(bank) - i128::from(own)) * i128::from(size);
    if over == OverData::Refuse {
        for bank in others() {
            let mut copy = block.clone();
            copy.shift(distance(bank))?;
            refuse_over_data(image, &copy, bank)?;
        }
    }
    let copies = block.copies(others().map(distance))?;
    image
        .merge(copies, Clash::Last)
        .map_err(|o| OpError::Clash(Box::new(o)))?;
    Ok(count)
}

pub(super) fn refuse_over_data(image: &Image, copy: &Image, bank: u64) -> Result<(), OpError> {
    for span in copy.spans() {
        for run in image.origins().within(span.range()) {
            if run.source.is_filler() {
                continue;
            }
            let differs = |a: &u64| image.byte(*a) != copy.byte(*a);
            let differing = (run.range.first()..=run.range.last()).find(differs);
            if let Some(address) = differing {
                if let Some(origin) = image.origin_at(address) {
                    return Err(OpError::SpreadOverData {
                        bank,
                        address,
                        origin,
                    });
                }
            }
        }
    }
    Ok(())
}

/// All addresses where `bytes` occur, overlapping ones too, lowest first. The time grows with the image and the bytes looked
/// for, whatever both contain.
pub fn find_bytes<'i>(image: &'i Image, bytes: &'i [u8]) -> impl Iterator<Item = u64> + 'i {
    let needle = Needle::new(bytes);
    let spans = image.spans().iter().filter(|_| !bytes.is_empty());
    spans.flat_map(move |span| {
        let needle = needle.clone();
        let (mut from, mut last) = (0, None);
        std::iter::from_fn(move || {
            let at = needle.next(span.bytes(), from, last)?;
            (from, last) = (at + 1, Some(at));
            Some(span.start() + at as u64)
        })
    })
}

/// Bytes to look for.
#[derive(Clone)]
struct Needle<'n> {
    bytes: &'n [u8],
    finder: memmem::Finder<'n>,
    /// The smallest distance at which they overlap themselves; their length where they don't.
    period: usize,
}

impl<'n> Needle<'n> {
    fn new(bytes: &'n [u8]) -> Self {
        Self {
            bytes,
            finder: memmem::Finder::new(bytes),
            period: period(bytes),
        }
    }

    /// The first place from `from` up; `last` is the one before it.
    ///
    /// After a place the next is a period away, or so far away that a new search from there costs no more than the bytes in between:
    /// two that overlap by at least a period have every multiple of it between them (Fine and Wilf, 1965).
    fn next(&self, hay: &[u8], from: usize, last: Option<usize>) -> Option<usize> {
        let from = match last {
            None => from,
            Some(last) => {
                let next = last + self.period;
                let new = self.bytes.len() - self.period;
                let end = hay.get(last + self.bytes.len()..next + self.bytes.len());
                if end == Some(&self.bytes[new..]) {
                    return Some(next);
                }
                next + 1
            }
        };
        let found = self.finder.find(hay.get(from..)?)?;
        Some(from + found)
    }
}

/// The smallest distance at which bytes overlap themselves; by the table of borders (Knuth, Morris and Pratt, 1977).
fn period(bytes: &[u8]) -> usize {
    let mut borders = vec![0; bytes.len()];
    let mut border = 0;
    for i in 1..bytes.len() {
        while border > 0 && bytes[i] != bytes[border] {
            border = borders[border - 1];
        }
        border += usize::from(bytes[i] == bytes[border]);
        borders[i] = border;
    }
    bytes.len() - borders.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_period_is_the_smallest_distance_at_which_bytes_overlap_themselves(
            bytes in prop::collection::vec(0u8..2, 1..40),
        ) {
            let overlaps = |by: &usize| bytes[*by..] == bytes[..bytes.len() - by];
            prop_assert_eq!(Some(period(&bytes)), (1..=bytes.len()).find(overlaps));
        }
    }
}
