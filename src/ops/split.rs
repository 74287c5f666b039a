//! One image into many, and back: byte lanes and banks.

use std::convert::Infallible;

use super::OpError;
use crate::image::{AddressRange, Clash, Image, OutOfSpace};

/// The most banks a split makes.
const MOST_BANKS: u64 = 4096;

/// Splits over the byte lanes of a bus `n` bytes wide: lane `i` gets the addresses that are `i` mod `n`, divided by
/// `n`. Entry point and header belong to the whole and are left out.
///
/// # Errors
/// [`OpError::Lanes`] unless `n` is 2 to 16.
pub fn split_lanes(image: &Image, n: u32) -> Result<Vec<Image>, OpError> {
    match n {
        2..=16 => Ok(image.deal(n)),
        _ => Err(OpError::Lanes(n)),
    }
}

/// Cuts at absolute multiples of `size`, each bank placed at 0. Bank 0 is the one at address 0; empty ones are kept, so
/// that numbers never shift.
///
/// # Errors
/// [`OpError::Banks`] when there would be more than 4096; [`OpError::Empty`].
pub fn split_banks(image: &Image, size: u64) -> Result<Vec<Image>, OpError> {
    let extent = image.extent().ok_or(OpError::Empty)?;
    let size = size.max(1);
    let count = extent.last() / size + 1;
    if count > MOST_BANKS {
        return Err(OpError::Banks(count));
    }
    (0..count)
        .map(|bank| {
            let start = bank * size;
            let range = AddressRange::from_len(start, size).or(AddressRange::from_up(start));
            let mut piece = range.map_or_else(Image::new, |range| image.slice(range));
            piece.shift(-i128::from(start))?;
            Ok(piece)
        })
        .collect()
}

/// The reverse of [`split_lanes`]: byte `a` of lane `i` goes to address `a * n + i`.
///
/// # Errors
/// [`OpError::UnequalLanes`], [`OpError::Lanes`], [`OpError::OutOfSpace`].
pub fn join_lanes(lanes: &[Image]) -> Result<Image, OpError> {
    let n = lanes.len() as u32;
    if !(2..=16).contains(&n) {
        return Err(OpError::Lanes(n));
    }
    let last = |image: &Image| image.extent().map_or(0, AddressRange::last);
    let first_last = last(&lanes[0]);
    if let Some(lane) = lanes.iter().position(|l| last(l) != first_last) {
        return Err(OpError::UnequalLanes {
            lane,
            last: last(&lanes[lane]),
            first_last,
        });
    }
    Ok(Image::weave(lanes)?)
}

/// The reverse of [`split_banks`]: bank `k` goes to `k * size`.
///
/// # Errors
/// [`OpError::OutsideBank`] when a bank has a byte at or above `size`; [`OpError::OutOfSpace`].
pub fn join_banks(banks: Vec<Image>, size: u64) -> Result<Image, OpError> {
    let mut whole = Image::new();
    for (bank, mut image) in banks.into_iter().enumerate() {
        if let Some(extent) = image.extent() {
            if extent.last() >= size {
                return Err(OpError::OutsideBank {
                    bank,
                    address: extent.last(),
                    last: size.saturating_sub(1),
                });
            }
        }
        let start = (bank as u64).checked_mul(size).ok_or(OutOfSpace)?;
        image.shift(i128::from(start))?;
        whole
            .merge(image, Clash::Refuse)
            .map_err(|o| OpError::JoinClash(Box::new(o)))?;
    }
    Ok(whole)
}

/// All images as one, each byte at its own address.
///
/// # Errors
/// [`OpError::JoinClash`] when two want the same address.
pub fn join(pieces: Vec<Image>) -> Result<Image, OpError> {
    let mut pieces = pieces.into_iter();
    let mut whole = pieces.next().unwrap_or_default();
    for piece in pieces {
        let (entry, header) = (piece.entry, piece.header.clone());
        whole
            .merge(piece, Clash::Refuse)
            .map_err(|o| OpError::JoinClash(Box::new(o)))?;
        whole.entry = whole.entry.or(entry);
        whole.header = whole.header.or(header);
    }
    Ok(whole)
}

/// Splits each byte over two 4-bit chips: first the low halves, then the high ones, each in the low half of a byte. Entry
/// point and header belong to the whole and are left out.
pub fn split_nibbles(image: &Image) -> [Image; 2] {
    let half = |shift: u32| {
        let mut half = image.clone();
        (half.entry, half.header) = (None, None);
        let Ok(()) = half.edit_bytes(|_, bytes| {
            bytes.iter_mut().for_each(|b| *b = *b >> shift & 0x0F);
            Ok::<(), Infallible>(())
        });
        half
    };
    [half(0), half(4)]
}

/// The reverse of [`split_nibbles`]: the low halves first.
///
/// # Errors
/// [`OpError::Halves`], [`OpError::NotNibble`], [`OpError::UnequalLanes`] when the two differ in extent.
pub fn join_nibbles(halves: &[Image]) -> Result<Image, OpError> {
    let [low, high] = halves else {
        return Err(OpError::Halves(halves.len()));
    };
    for (piece, image) in halves.iter().enumerate() {
        for span in image.spans() {
            if let Some(i) = span.bytes().iter().position(|b| *b > 0x0F) {
                return Err(OpError::NotNibble {
                    piece,
                    address: span.start() + i as u64,
                    byte: span.bytes()[i],
                });
            }
        }
    }
    if low.extent() != high.extent() {
        let last = |image: &Image| image.extent().map_or(0, AddressRange::last);
        return Err(OpError::UnequalLanes {
            lane: 1,
            last: last(high),
            first_last: last(low),
        });
    }
    let mut whole = low.clone();
    whole.edit_bytes(|start, bytes| {
        let range = AddressRange::from_len(start, bytes.len() as u64).ok_or(OutOfSpace)?;
        let upper = high.contiguous(range).map_err(|hole| OpError::Hole {
            hole,
            what: "the high half has no byte there",
        })?;
        bytes
            .iter_mut()
            .zip(upper)
            .for_each(|(low, high)| *low |= high << 4);
        Ok::<(), OpError>(())
    })?;
    Ok(whole)
}
