//! What the tests of images need.

pub(super) use std::collections::BTreeMap;
pub(super) use std::sync::Arc;

pub(super) use proptest::prelude::*;

pub(super) use crate::image::testing::{bytes_of, file, r};
pub(super) use crate::image::*;

/// What every image promises: sorted spans that do not touch, and an origin for exactly the bytes there are.
pub(super) fn assert_sound(image: &Image) {
    for pair in image.spans().windows(2) {
        assert!(pair[0].range().last() + 1 < pair[1].start(), "{image:?}");
    }
    for pair in image.origins().runs().windows(2) {
        assert!(pair[0].range.last() < pair[1].range.first(), "{image:?}");
    }
    let described: u64 = image.origins().runs().iter().map(|r| r.range.len()).sum();
    assert_eq!(described, image.len());
    assert_eq!(image.is_empty(), described == 0);
    for run in image.origins().runs() {
        assert!(image.contiguous(run.range).is_ok(), "{run:?}");
    }
}

pub(super) type Records = Vec<(u64, Vec<u8>)>;

pub(super) fn records() -> impl Strategy<Value = Records> {
    prop::collection::vec(
        (0u64..300, prop::collection::vec(any::<u8>(), 0..12)),
        0..60,
    )
}

/// The same job byte by byte.
pub(super) fn by_the_byte(records: &Records, first_wins: bool) -> BTreeMap<u64, u8> {
    let mut all = BTreeMap::new();
    for (start, bytes) in records {
        for (i, b) in bytes.iter().enumerate() {
            let at = start + i as u64;
            if !(first_wins && all.contains_key(&at)) {
                all.insert(at, *b);
            }
        }
    }
    all
}

pub(super) fn built(records: &Records, clash: Clash) -> Result<Image, Overlap> {
    let mut b = Builder::new(file("a"));
    for (i, (start, bytes)) in records.iter().enumerate() {
        b.push(*start, bytes, i as u64 + 1).unwrap();
    }
    b.finish(clash)
}
