//! Second copies of bytes, and where bytes occur.

use memchr::memmem;

use super::OpError;
use crate::image::{AddressRange, Clash, Image, Origin, OutOfSpace, Source};

/// Puts a second copy of `range` at `to`; holes in it stay holes. Returns how many bytes were copied.
///
/// # Errors
/// [`OpError::Nothing`] when the range is all holes; [`OpError::Clash`] where `clash` does not settle an overlap;
/// [`OpError::OutOfSpace`].
pub fn copy(image: &mut Image, range: AddressRange, to: u64, clash: Clash) -> Result<u64, OpError> {
    let mut second = image.slice(range);
    if second.is_empty() {
        return Err(OpError::Nothing { range });
    }
    second.shift(i128::from(to) - i128::from(range.first()))?;
    let copied = second.len();
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
/// [`OpError::Nothing`], [`OpError::AcrossBanks`], [`OpError::SpreadOverData`], [`OpError::OutOfSpace`].
pub fn spread(
    image: &mut Image,
    range: AddressRange,
    size: u64,
    banks: u64,
    over: OverData,
) -> Result<u64, OpError> {
    if size == 0 || range.first() / size != range.last() / size {
        return Err(OpError::AcrossBanks { range, size });
    }
    let block = image.slice(range);
    if block.is_empty() {
        return Err(OpError::Nothing { range });
    }
    let offset = range.first() % size;
    let mut copies = Vec::new();
    for bank in (0..banks).filter(|bank| *bank != range.first() / size) {
        let to = bank.checked_mul(size).and_then(|b| b.checked_add(offset));
        let mut copy = block.clone();
        copy.shift(i128::from(to.ok_or(OutOfSpace)?) - i128::from(range.first()))?;
        if over == OverData::Refuse {
            refuse_over_data(image, &copy, bank)?;
        }
        copies.push(copy);
    }
    let count = copies.len() as u64;
    for copy in copies {
        image
            .merge(copy, Clash::Last)
            .map_err(|o| OpError::Clash(Box::new(o)))?;
    }
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

/// All addresses where `bytes` occur, overlapping ones too, lowest first.
pub fn find_bytes(image: &Image, bytes: &[u8]) -> Vec<u64> {
    let finder = memmem::Finder::new(bytes);
    let mut out = Vec::new();
    if bytes.is_empty() {
        return out;
    }
    for span in image.spans() {
        let mut from = 0;
        while let Some(at) = finder.find(&span.bytes()[from..]) {
            out.push(span.start() + (from + at) as u64);
            from += at + 1;
        }
    }
    out
}
