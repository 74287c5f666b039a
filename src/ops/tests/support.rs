//! What the tests of all steps need.

pub(super) use proptest::prelude::*;

pub(super) use crate::image::testing::*;
pub(super) use crate::image::{AddressRange, Clash, Entry, Image, Source};
pub(super) use crate::ops::*;
pub(super) use crate::sums::{Algo, Complement, Order};

/// Runs `op` and checks that an error leaves bytes, origins and entry point as they were.
pub(super) fn unchanged_when_refused<T>(
    image: &mut Image,
    op: impl FnOnce(&mut Image) -> Result<T, OpError>,
) -> Result<T, OpError> {
    let before = image.clone();
    let result = op(image);
    if result.is_err() {
        assert_eq!(bytes_of(image), bytes_of(&before));
        assert_eq!(origins_of(image), origins_of(&before));
        assert_eq!(image.entry, before.entry);
    }
    result
}

pub(super) fn refusal<T: std::fmt::Debug>(
    image: &mut Image,
    op: impl FnOnce(&mut Image) -> Result<T, OpError>,
) -> String {
    unchanged_when_refused(image, op).unwrap_err().to_string()
}

/// What stands in a range, as the model reads it.
pub(super) fn read(image: &Image, range: AddressRange) -> Vec<u8> {
    image.contiguous(range).unwrap().to_vec()
}
