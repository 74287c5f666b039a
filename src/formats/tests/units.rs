//! Addresses that count words of several bytes (the option `unit`), in the record formats: what is written reads back, and what
//! would be lost is refused. Each other format has its own beside its tests.

use super::*;
use crate::image::{AddressRange, Entry};

const RECORDS: [&'static dyn Format; 2] = [&intel_hex::IntelHex, &s_record::SRecords];

fn by_words(unit: u8) -> WriteOptions {
    WriteOptions {
        unit,
        ..WriteOptions::default()
    }
}

fn read_words(format: &'static dyn Format, text: &str, unit: u8) -> Image {
    let how = ReadOptions {
        unit,
        ..ReadOptions::default()
    };
    read_with(format, text, &how).clean()
}

#[test]
fn intel_hex_counts_words_in_offsets_bases_and_the_entry_point() {
    // Bytes 0x3FFFE and 0x3FFFF are word 0x1FFFF, the next two word 0x20000.
    let mut image = image(&[(0x3_FFFE, &[1, 2, 3, 4])]);
    image.entry = Some(Entry::Linear(0x4_0000));
    let how = WriteOptions {
        address: AddressForm::Bits32,
        ..by_words(2)
    };
    let (text, _) = written(&intel_hex::IntelHex, &image, &how);
    let lines: Vec<_> = text.lines().map(|l| &l[..l.len() - 2]).collect();
    let wanted = [
        ":020000040001",
        ":02FFFF000102",
        ":020000040002",
        ":020000000304",
        ":0400000500020000",
        ":00000001",
    ];
    assert_eq!(lines, wanted);
    let back = read_words(&intel_hex::IntelHex, &text, 2);
    assert_eq!((spans(&back), back.entry), (spans(&image), image.entry));
}

#[test]
fn s_records_count_words_in_addresses_and_the_entry_point() {
    let mut image = image(&[(0x1_FFFC, &[1, 2, 3, 4])]);
    image.entry = Some(Entry::Linear(0x1_FFFE));
    let (text, written) = written(&s_record::SRecords, &image, &by_words(2));
    // 0xFFFE words still fit S1.
    assert_eq!(written.form, Some("S1"));
    assert!(text.contains("\nS107FFFE01020304"), "{text}");
    assert!(text.contains("\nS903FFFF"), "{text}");
    let back = read_words(&s_record::SRecords, &text, 2);
    assert_eq!((spans(&back), back.entry), (spans(&image), image.entry));
}

#[test]
fn part_words_at_either_end_are_refused_and_named() {
    for format in RECORDS {
        for (start, bytes) in [(1, &[1, 2][..]), (2, &[1])] {
            let error = refused(
                format,
                &image(&[(8, &[0, 0]), (start, bytes)]),
                &by_words(2),
            );
            let range = AddressRange::from_len(start, bytes.len() as u64).unwrap();
            assert_eq!(
                error.to_string(),
                format!("the bytes at {range} don't fill whole words of 2")
            );
        }
    }
}

#[test]
fn records_hold_whole_words() {
    for format in RECORDS {
        let long = image(&[(0, &[0x5A; 30])]);
        // 16 bytes hold five words of 3.
        let (text, _) = written(format, &long, &by_words(3));
        let data = |l: &&str| l.starts_with(":0F") || l.starts_with("S112");
        assert_eq!(text.lines().filter(data).count(), 2, "{text}");
        let how = WriteOptions {
            width: Some(16),
            ..by_words(3)
        };
        let error = refused(format, &long, &how);
        assert!(matches!(
            error,
            WriteError::WidthUnit { width: 16, unit: 3 }
        ));
    }
}

#[test]
fn an_entry_point_inside_a_word_is_refused() {
    let mut image = image(&[(0, &[1, 2])]);
    image.entry = Some(Entry::Linear(1));
    for format in RECORDS {
        let how = WriteOptions {
            address: AddressForm::Bits32,
            ..by_words(2)
        };
        let error = refused(format, &image, &how);
        assert!(matches!(error, WriteError::EntryUnit { entry: 1, unit: 2 }));
    }
}

#[test]
fn a_unit_out_of_range_is_refused() {
    for format in RECORDS {
        for unit in [0, 9, 255] {
            let error = refused(format, &image(&[(0, &[1])]), &by_words(unit));
            assert!(matches!(
                error,
                WriteError::OutOfRange {
                    option: WriteOption::Unit,
                    ..
                }
            ));
            let how = ReadOptions {
                unit,
                ..ReadOptions::default()
            };
            let text = [HEX, S]
                .into_iter()
                .find(|t| read(format, t).errors().is_empty());
            let problem = read_with(format, text.unwrap(), &how).one_error().3;
            assert!(matches!(
                problem,
                Problem::OutOfRange {
                    option: ReadOption::Unit,
                    ..
                }
            ));
        }
    }
}
