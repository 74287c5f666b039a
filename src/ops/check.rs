//! Questions with a plain answer: the checks of `expect`.

use super::OpError;
use crate::image::{AddressRange, Image};
use crate::sums::Order;

/// The first address in `range` with a byte other than `erased`; `None` when the range is blank.
pub fn blank(image: &Image, range: AddressRange, erased: u8) -> Option<(u64, u8)> {
    image.within(range).find_map(|(start, bytes)| {
        let i = bytes.iter().position(|b| *b != erased)?;
        Some((start + i as u64, bytes[i]))
    })
}

/// What is at `address`, `None` for holes, when it differs from `wanted`.
pub fn bytes_at(image: &Image, address: u64, wanted: &[u8]) -> Option<Vec<Option<u8>>> {
    let found: Vec<Option<u8>> = (0..wanted.len() as u64)
        .map(|i| image.byte(address.saturating_add(i)))
        .collect();
    let same = found.iter().zip(wanted).all(|(f, w)| *f == Some(*w));
    (!same).then_some(found)
}

/// The first hole between the first byte and the last.
///
/// # Errors
/// [`OpError::Empty`].
pub fn full(image: &Image) -> Result<Option<AddressRange>, OpError> {
    let extent = image.extent().ok_or(OpError::Empty)?;
    Ok(image.holes(extent).next())
}

/// A vector: an address stored in the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pointer {
    /// Where it is stored.
    pub address: u64,
    /// Its size, 1 to 8 bytes.
    pub width: u64,
    /// Its byte order.
    pub order: Order,
}

/// Where a vector points.
///
/// # Errors
/// [`OpError::Hole`] when a byte of it is missing; [`OpError::OutOfSpace`].
pub fn pointer(image: &Image, pointer: Pointer) -> Result<u64, OpError> {
    let place = AddressRange::from_len(pointer.address, pointer.width.clamp(1, 8))
        .ok_or(crate::image::OutOfSpace)?;
    let bytes = image.contiguous(place).map_err(|hole| OpError::Hole {
        hole,
        what: "a vector needs every byte",
    })?;
    let add = |n: u64, b: &u8| n << 8 | u64::from(*b);
    Ok(match pointer.order {
        Order::Big => bytes.iter().fold(0, add),
        Order::Little => bytes.iter().rev().fold(0, add),
    })
}
