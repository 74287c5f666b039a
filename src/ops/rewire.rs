//! The board's scrambled lines.

use super::{Large, OpError};
use crate::image::{Image, ask_memory};
use crate::wiring::{Wiring, WiringError};

/// Moves every byte to its place in the chip, so that the CPU reads the image through the scrambled lines.
///
/// Each block, which contains all listed and inverted address lines, is rewired separately. Entry point and header stay.
///
/// # Errors
/// [`OpError::BrokenWord`] when half a word is a hole; [`OpError::Large`] when a block is far larger than the image;
/// [`OpError::OutOfSpace`] when one would pass the last address.
pub fn rewire(image: &mut Image, wiring: &Wiring, large: Large) -> Result<(), OpError> {
    let block = wiring.block();
    if block > image.len() {
        large.check(block)?;
    }
    ask_memory(image.len().saturating_add(block))?;
    wiring.rewire(image).map_err(|error| match error {
        WiringError::BrokenWord { word, hole } => OpError::BrokenWord { word, hole },
        WiringError::OutOfSpace(error) => error.into(),
        error => error.into(),
    })
}
