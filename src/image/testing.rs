//! Made-up images for the tests of every room that works on images.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::{AddressRange, Image, Source};

/// The model: every byte at its address, nothing else.
pub(crate) type Bytes = BTreeMap<u64, u8>;

pub(crate) fn r(first: u64, last: u64) -> AddressRange {
    AddressRange::new(first, last).unwrap()
}

pub(crate) fn file(name: &str) -> Source {
    Source::File(name.into())
}

pub(crate) fn image(start: u64, bytes: &[u8]) -> Image {
    Image::from_bytes(start, bytes.to_vec(), file("a.bin")).unwrap()
}

pub(crate) fn bytes_of(image: &Image) -> Bytes {
    let spans = image.spans().iter();
    spans
        .flat_map(|s| (s.start()..=s.range().last()).zip(s.bytes().iter().copied()))
        .collect()
}

pub(crate) fn origins_of(image: &Image) -> Vec<(AddressRange, String)> {
    let runs = image.origins().runs().iter();
    runs.map(|r| (r.range, r.source.to_string())).collect()
}

/// Any small image: some pieces of data, holes between them, perhaps some filler.
pub(crate) fn images() -> impl Strategy<Value = Image> {
    let piece = (0u64..96, prop::collection::vec(any::<u8>(), 1..12), 0..4);
    prop::collection::vec(piece, 1..6).prop_map(|pieces| {
        let mut image = Image::new();
        for (at, bytes, kind) in pieces {
            let source = match kind {
                0 => Source::Filler,
                _ => file("a.bin"),
            };
            image.put(at, bytes, source).unwrap();
        }
        image
    })
}

pub(crate) fn ranges() -> impl Strategy<Value = AddressRange> {
    (0u64..120, 1u64..60).prop_map(|(first, len)| AddressRange::from_len(first, len).unwrap())
}
