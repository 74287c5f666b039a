//! Colour says nothing that the words don't.

use proptest::prelude::*;

use super::helpers::*;
use crate::cli::report::ChangesReport;
use crate::image::{Image, Source};

proptest! {
    #[test]
    fn colour_never_changes_the_words(
        pieces in prop::collection::vec((0u64..0x3000, prop::collection::vec(any::<u8>(), 1..80), 0..5), 0..8),
        shift in 0u64..0x200,
    ) {
        let build = |skip: usize, by: u64| {
            let mut image = Image::new();
            for (at, bytes, kind) in pieces.iter().skip(skip) {
                let source = match kind {
                    0 => Source::Filler,
                    1 => Source::Stamp("sum8".into()),
                    2 => Source::Patch,
                    n => file(&format!("{n}.hex")),
                };
                put(&mut image, at + by, bytes, source);
            }
            image
        };
        let (was, now) = (build(0, 0), build(1, shift));
        for image in [&was, &now] {
            prop_assert!(widest(&map(image)) <= 80);
            if let Some(extent) = image.extent() {
                dump(image, extent);
            }
        }
        // Every address that differs is counted.
        let report = ChangesReport::new("chip", "old", &was, &now, 4);
        let differing = (0..0x4000).filter(|a| was.byte(*a) != now.byte(*a)).count() as u64;
        prop_assert_eq!(report.bytes, differing);
        text(&report);
    }
}
