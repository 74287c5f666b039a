//! Sectors of different sizes: read, found by address, refused.

use proptest::prelude::*;

use crate::parts::*;

/// A 16-bit part with boot sectors, as a user describes it.
const BOOT_X16: &str = r#"
[[part]]
name = "KF-800T"
words = 524_288
width = 16
kind = "sector-flash"
erased = 0xFF
sectors = ["15 x 64K", "32K", "2 x 8K", "16K"]
pins = 44
"#;

fn sectors(texts: &[&str]) -> Sectors {
    Sectors::read(texts.iter().copied()).unwrap()
}

#[test]
fn a_users_part_may_have_them() {
    let mut catalogue = Catalogue::built_in();
    catalogue.add_own("own.toml", BOOT_X16).unwrap();
    let part = catalogue.find("kf-800t").unwrap();
    let found = part.sectors.as_ref().unwrap();
    // In bytes, two to a word.
    assert_eq!((found.bytes(), found.count()), (part.bytes(), 19));
    assert_eq!(found.to_string(), "15 x 64K, 32K, 2 x 8K, 16K");
    let json = serde_json::to_value(part).unwrap();
    assert_eq!(json["sectors"][1], "32K");
    assert_eq!(json["sector"], serde_json::Value::Null);
}

#[test]
fn what_is_not_the_whole_part_is_refused_in_its_place() {
    for (from, to, said) in [
        (
            "15 x",
            "14 x",
            "sectors of 983,040 bytes in all; the part has 1,048,576",
        ),
        ("2 x 8K", "2 by 8K", "and found `2 by 8K`"),
        ("\"16K\"", "16384", "a text in quotes"),
        ("\"16K\"", "\"0\", \"16K\"", "and found `0`"),
        (
            "sector-flash",
            "eeprom",
            "sectors for the kind eeprom, which does not have them; leave them out",
        ),
        ("pins = 44", "sector = 65536\npins = 44", "leave one out"),
        (
            "[\"15 x 64K\", \"32K\", \"2 x 8K\", \"16K\"]",
            "[]",
            "and found none",
        ),
    ] {
        assert!(BOOT_X16.contains(from), "{from}");
        let mut catalogue = Catalogue::built_in();
        let text = BOOT_X16.replacen(from, to, 1);
        let error = catalogue.add_own("own.toml", &text).unwrap_err();
        assert_eq!(error.line, 8, "{to}: {error}");
        assert!(error.message.contains(said), "{to}: {error}");
    }
}

#[test]
fn texts_that_are_none_are_refused() {
    for text in [
        "",
        "x",
        "7 x",
        "x 64K",
        "7 x 64Q",
        "-1",
        "+1",
        "1.5K",
        "K",
        "0 x 8K",
        "4096M",
        "2 x 2048M",
        "7 x 8 x 9",
    ] {
        assert!(Sectors::read([text]).is_err(), "{text}");
    }
    assert_eq!(sectors(&["7X64k", " 1 x 100 "]).to_string(), "7 x 64K, 100");
    assert_eq!(sectors(&["2M"]).to_string(), "2M");
}

#[test]
fn equal_sectors_reach_as_far_as_addresses_do() {
    assert_eq!(Sectors::equal(0).at(5), 5..=5);
    assert_eq!(Sectors::equal(4096).at(0x1_2345), 0x1_2000..=0x1_2FFF);
    assert_eq!(
        Sectors::equal(4096).at(u64::MAX),
        u64::MAX - 4095..=u64::MAX
    );
    assert_eq!(Sectors::equal(u64::MAX).at(7), 0..=u64::MAX - 1);
    assert_eq!(Sectors::equal(u64::MAX).at(u64::MAX), u64::MAX..=u64::MAX);
}

proptest! {
    /// Against sectors laid one after another.
    #[test]
    fn an_address_lies_in_the_sector_that_is_laid_there(
        runs in prop::collection::vec((1u64..5, 1u64..40), 1..6),
        rounds in 1u64..4,
    ) {
        let texts: Vec<String> = runs.iter().map(|(n, size)| format!("{n} x {size}")).collect();
        let found = Sectors::read(texts.iter().map(String::as_str)).unwrap();
        let each = || runs.iter().flat_map(|&(n, size)| (0..n).map(move |_| size));
        prop_assert_eq!(found.count(), each().count() as u64);
        let mut first = 0;
        for size in (0..rounds).flat_map(|_| each()) {
            for address in first..first + size {
                prop_assert_eq!(found.at(address), first..=first + size - 1);
            }
            first += size;
        }
        prop_assert_eq!(first, found.bytes() * rounds);
    }
}
