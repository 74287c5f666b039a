use super::support::*;
use crate::parts::Sectors;

proptest! {
    #[test]
    fn what_is_burnable_agrees_with_the_same_job_bit_by_bit(
        wanted in images(), now in images(), runs in prop::collection::vec((1u64..4, 1u64..20), 1..4),
        erased in prop::sample::select(vec![0xFFu8, 0, 0xA5]), width in prop::sample::select(vec![4u8, 8, 16]),
    ) {
        let texts: Vec<String> = runs.iter().map(|(n, size)| format!("{n} x {size}")).collect();
        let sectors = Sectors::read(texts.iter().map(String::as_str)).unwrap();
        let found = burnable(&wanted, &now, &Burning { erased, width, sectors: &sectors });
        let held = bytes_of(&now);
        let mut model = ErasureNeeded::default();
        let mut lost_at = Vec::new();
        for (at, want) in bytes_of(&wanted) {
            let Some(have) = held.get(&at) else {
                model.unknown += 1;
                continue;
            };
            model.compared += 1;
            // Programming leads from the erased state to the other, and never back.
            let lost = (0..width.min(8)).filter(|bit| {
                let bit_of = |byte: u8| byte >> bit & 1;
                bit_of(*have) != bit_of(erased) && bit_of(want) == bit_of(erased)
            });
            let lost = lost.count() as u64;
            if lost > 0 {
                model.bits += lost;
                lost_at.push(at);
            }
        }
        model.bytes = lost_at.len() as u64;
        let cut = |addresses: &[u64]| -> Vec<u64> {
            let mut all: Vec<u64> = addresses.iter().map(|at| *sectors.at(*at).start()).collect();
            all.dedup();
            all
        };
        model.sectors = cut(&lost_at);
        model.touched = cut(&bytes_of(&wanted).into_keys().collect::<Vec<_>>()).len() as u64;
        model.ranges = found.ranges.clone();
        let mut words: Vec<u64> = lost_at.iter().map(|at| if width == 16 { at / 2 } else { *at }).collect();
        words.dedup();
        model.words = words.len() as u64;
        prop_assert_eq!(&found, &model);
        let named = found.ranges.iter().flat_map(|range| range.first()..=range.last());
        let whole = words.iter().flat_map(|word| if width == 16 { 2 * word..=2 * word + 1 } else { *word..=*word });
        prop_assert_eq!(named.collect::<Vec<_>>(), whole.collect::<Vec<_>>());
        for pair in found.ranges.windows(2) {
            prop_assert!(pair[0].last() + 1 < pair[1].first());
        }
        prop_assert_eq!(found.is_yes(), model.bits == 0 && model.unknown == 0);
    }
}

#[test]
fn the_first_byte_that_is_not_blank_is_named() {
    let image = image(4, &[0xFF, 0xFF, 0xFF, 7, 8]);
    assert_eq!(check::blank(&image, r(0, 20), 0xFF), Some((7, 7)));
    assert_eq!(check::blank(&image, r(0, 6), 0xFF), None);
}

#[test]
fn what_a_chip_holds_already_may_be_burnt_over_it_and_nothing_unknown() {
    let held = image(4, &[0x5A, 0xFF]);
    let is_yes = |wanted: &Image| {
        let how = Burning {
            erased: 0xFF,
            width: 8,
            sectors: &Sectors::equal(1),
        };
        burnable(wanted, &held, &how).is_yes()
    };
    assert!(is_yes(&held));
    assert!(is_yes(&image(5, &[0x5A])));
    assert!(!is_yes(&image(5, &[0x5A, 0x5A])));
}

#[test]
fn what_a_part_has_no_room_for_is_counted_from_where_it_begins() {
    for (first, bytes, beyond) in [
        (0, 16, 0),
        (0x8000, 16, 0),
        (0x8000, 17, 1),
        (4, 12, 0),
        (0x8004, 13, 1),
        (0x8004, 40, 28),
        (u64::MAX - 15, 15, 0),
    ] {
        let image = image(first, &vec![0; bytes]);
        assert_eq!(bytes_beyond(&image, 16), beyond, "{first:X} {bytes}");
    }
    assert_eq!(bytes_beyond(&Image::new(), 16), 0);
    assert_eq!(bytes_beyond(&image(7, &[0]), 0), 0);
}
