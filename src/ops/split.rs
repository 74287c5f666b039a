//! One image into many, and back: byte lanes and banks.

use super::OpError;
use crate::image::{AddressRange, Clash, Image, OutOfSpace, ask_memory};

/// The most banks a split makes.
const MOST_BANKS: u64 = 65_536;

/// Splits over the byte lanes of a bus `n` bytes wide: lane `i` gets the addresses that are `i` mod `n`, divided by
/// `n`. Entry point and header belong to the whole and are left out.
///
/// # Errors
/// [`OpError::Lanes`] unless `n` is 2 to 16.
pub fn split_lanes(image: Image, n: u32) -> Result<Vec<Image>, OpError> {
    match n {
        2..=16 => {
            ask_memory(image.len())?;
            Ok(image.deal(n))
        }
        _ => Err(OpError::Lanes(n)),
    }
}

/// Cuts at absolute multiples of `size`, each bank placed at 0. Bank 0 is the one at address 0; empty ones are kept, so
/// that numbers never shift.
///
/// # Errors
/// [`OpError::Banks`] when there would be more than 65,536; [`OpError::Empty`]; [`OpError::Memory`].
pub fn split_banks(mut image: Image, size: u64) -> Result<Vec<Image>, OpError> {
    let extent = image.extent().ok_or(OpError::Empty)?;
    let size = size.max(1);
    let count = extent.last() / size + 1;
    if count > MOST_BANKS {
        return Err(OpError::Banks(count));
    }
    ask_memory(image.len().saturating_add(count * 1024))?;
    // From the back, so that the memory of what has been taken off is free again at once.
    let mut banks = Vec::with_capacity(count as usize);
    for bank in (0..count).rev() {
        let mut piece = image.split_off(bank * size);
        piece.shift(-i128::from(bank * size))?;
        banks.push(piece);
    }
    banks.reverse();
    Ok(banks)
}

/// The reverse of [`split_lanes`]: byte `a` of lane `i` goes to address `a * n + i`.
///
/// # Errors
/// [`OpError::UnequalLanes`], [`OpError::Lanes`], [`OpError::OutOfSpace`].
pub fn join_lanes(lanes: Vec<Image>) -> Result<Image, OpError> {
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
    ask_memory(lanes.iter().map(Image::len).sum())?;
    Ok(Image::weave(lanes)?)
}

/// The reverse of [`split_banks`]: bank `k` goes to `k * size`.
///
/// # Errors
/// [`OpError::OutsideBank`] when a bank has a byte at or above `size`; [`OpError::OutOfSpace`].
pub fn join_banks(banks: Vec<Image>, size: u64) -> Result<Image, OpError> {
    let mut placed = Vec::with_capacity(banks.len());
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
        placed.push(image);
    }
    let mut whole = gathered(placed)?;
    (whole.entry, whole.header) = (None, None);
    Ok(whole)
}

/// All images as one, each byte at its own address; the first entry point and the first header stay.
///
/// # Errors
/// [`OpError::JoinClash`] when two want the same address; [`OpError::Memory`].
pub fn join(pieces: Vec<Image>) -> Result<Image, OpError> {
    gathered(pieces)
}

fn gathered(pieces: Vec<Image>) -> Result<Image, OpError> {
    ask_memory(pieces.iter().map(Image::len).sum())?;
    let entry = pieces.iter().find_map(|piece| piece.entry);
    let header = pieces.iter().find_map(|piece| piece.header.clone());
    let mut whole = match Image::first_two_that_overlap(&pieces) {
        None => Ok(Image::gather_apart(pieces)),
        // One after another, so that the error is about the first that can't be added, and all of it.
        Some(_) => (pieces.into_iter()).try_fold(Image::new(), |mut whole, piece| {
            whole.merge(piece, Clash::Refuse).map(|()| whole)
        }),
    }
    .map_err(|o| OpError::JoinClash(Box::new(o)))?;
    (whole.entry, whole.header) = (entry, header);
    Ok(whole)
}

/// Splits each byte over two 4-bit chips: first the low halves, then the high ones, each in the low half of a byte. Entry
/// point and header belong to the whole and are left out.
pub fn split_nibbles(image: Image) -> [Image; 2] {
    image.split_halves()
}

/// The reverse of [`split_nibbles`]: the low halves first.
///
/// # Errors
/// [`OpError::Halves`], [`OpError::NotNibble`], [`OpError::UnequalLanes`] when the two differ in extent,
/// [`OpError::Hole`] where one of them has a hole that the other does not have; [`OpError::Memory`].
pub fn join_nibbles(halves: Vec<Image>) -> Result<Image, OpError> {
    let [low, high] =
        <[Image; 2]>::try_from(halves).map_err(|halves| OpError::Halves(halves.len()))?;
    for (piece, image) in [&low, &high].into_iter().enumerate() {
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
            last: last(&high),
            first_last: last(&low),
        });
    }
    for (one, other, what) in [
        (&low, &high, "the high half has no byte there"),
        (&high, &low, "the low half has no byte there"),
    ] {
        let ranges = one.ranges();
        if let Some(hole) = ranges.flat_map(|range| other.holes(range)).next() {
            return Err(OpError::Hole { hole, what });
        }
    }
    low.ask_to_change()?;
    Ok(low.join_halves(&high))
}
