//! Source of the rules: Motorola, *M68000 Family Programmer's Reference Manual* (M68000PM/AD), Appendix C,
//! S-record output format. S6, and what real tools do beyond the rules, is common practice and has no source.

use super::SRecords;
use crate::formats::tests::*;
use crate::image::{Builder, Clash, Entry, Image, Source};

/// A record of type `kind`, `address` already as wide as the type has it; checksum worked out here.
fn record(kind: u8, address: &[u8], data: &[u8]) -> String {
    let mut bytes = vec![(address.len() + data.len() + 1) as u8];
    bytes.extend(address);
    bytes.extend(data);
    let sum: u32 = bytes.iter().map(|b| u32::from(*b)).sum();
    bytes.push(255 - (sum % 256) as u8);
    let digits: String = bytes.iter().map(|b| format!("{b:02X}")).collect();
    format!("S{kind}{digits}\n")
}

fn s1(address: u16, data: &[u8]) -> String {
    record(1, &address.to_be_bytes(), data)
}

fn s2(address: u32, data: &[u8]) -> String {
    record(2, &address.to_be_bytes()[1..], data)
}

fn s3(address: u32, data: &[u8]) -> String {
    record(3, &address.to_be_bytes(), data)
}

const S9: &str = "S9030000FC\n";

/// The worked example of the appendix.
const EXAMPLE: &str = "S00600004844521B\n\
                       S1130000285F245F2212226A000424290008237C2A\n\
                       S11300100002000800082629001853812341001813\n\
                       S113002041E900084E42234300182342000824A952\n\
                       S107003000144ED492\n\
                       S9030000FC\n";

/// Reads one damaged line between sound ones: the error; what is sound must have been read.
#[track_caller]
fn damaged(line: impl AsRef<[u8]>) -> Seen {
    let mut text = s1(0, &[1, 2]).into_bytes();
    text.extend(line.as_ref());
    text.extend(b"\n");
    text.extend((s1(0x10, &[3]) + S9).as_bytes());
    let reading = read(&SRecords, text);
    let both = [(0, vec![1, 2]), (0x10, vec![3])];
    assert_eq!(spans(&reading.image), both);
    reading.one_error()
}

/// A file that is odd, with its one warning, which is an error under `--strict`.
#[track_caller]
fn odd(text: &str) -> (Image, Seen) {
    let (image, warning) = read(&SRecords, text).one_warning();
    assert_eq!(read_strictly(&SRecords, text).one_error(), warning);
    (image, warning)
}

// Records

#[test]
fn the_worked_example_is_read_and_written_back_letter_for_letter() {
    let image = read_strictly(&SRecords, EXAMPLE).clean();
    assert_eq!(image.header.as_deref(), Some(&b"HDR"[..]));
    assert_eq!(image.entry, Some(Entry::Linear(0)));
    let [(start, bytes)] = &spans(&image)[..] else {
        panic!("{image:?}")
    };
    assert_eq!((*start, bytes.len()), (0, 0x34));
    assert_eq!(bytes[..4], [0x28, 0x5F, 0x24, 0x5F]);
    assert_eq!(bytes[0x30..], [0x00, 0x14, 0x4E, 0xD4]);
    assert_eq!(image.origin_at(0x21).unwrap().to_string(), "a.hex line 4");
    let (text, how) = written(&SRecords, &image, &WriteOptions::default());
    assert_eq!(text, EXAMPLE);
    assert_eq!(how.form, Some("S1"));
}

#[test]
fn addresses_have_16_24_or_32_bits_by_type() {
    for (text, address) in [
        (s1(0xFEDC, &[7]) + S9, 0xFEDC),
        (s2(0xFE_DCBA, &[7]) + "S804000000FB\n", 0xFE_DCBA),
        (s3(0xFEDC_BA98, &[7]) + "S70500000000FA\n", 0xFEDC_BA98),
    ] {
        let image = read_strictly(&SRecords, text).clean();
        assert_eq!(spans(&image), [(address, vec![7])]);
    }
}

#[test]
fn the_end_record_carries_the_entry_point() {
    for (text, entry) in [
        (s1(0, &[7]) + &record(9, &[0x12, 0x34], &[]), 0x1234),
        (
            s2(0, &[7]) + &record(8, &[0x12, 0x34, 0x56], &[]),
            0x12_3456,
        ),
        (
            s3(0, &[7]) + &record(7, &[0xFE, 0x34, 0x56, 0x78], &[]),
            0xFE34_5678,
        ),
    ] {
        let image = read_strictly(&SRecords, text).clean();
        assert_eq!(image.entry, Some(Entry::Linear(entry)));
    }
}

#[test]
fn records_carry_as_many_bytes_as_a_count_of_255_leaves() {
    let most: Vec<u8> = (0..252).collect();
    let image = read(&SRecords, s1(0, &most) + &s1(0x200, &[]) + S9).clean();
    assert_eq!(spans(&image), [(0, most.clone())]);
    let text = s3(0, &most[..250]) + "S70500000000FA\n";
    assert_eq!(read(&SRecords, text).clean().len(), 250);
}

#[test]
fn records_may_come_in_any_order_and_gaps_are_holes() {
    let text = s1(0x20, &[3]) + &s1(0, &[1]) + &s1(0x10, &[2]) + S9;
    let image = read(&SRecords, text).clean();
    let wanted = [(0, vec![1]), (0x10, vec![2]), (0x20, vec![3])];
    assert_eq!(spans(&image), wanted);
    assert_eq!(image.origin_at(0x10).unwrap().line, Some(3));
}

#[test]
fn addresses_that_count_words_are_multiplied() {
    let how = ReadOptions {
        unit: 2,
        ..ReadOptions::default()
    };
    let text = s1(0x10, &[1, 2, 3, 4]) + &s1(0x12, &[5, 6]) + &record(9, &[0, 0x12], &[]);
    let image = read_with(&SRecords, text, &how).clean();
    assert_eq!(spans(&image), [(0x20, vec![1, 2, 3, 4, 5, 6])]);
    assert_eq!(image.entry, Some(Entry::Linear(0x24)));
}

// Headers

#[test]
fn a_header_holds_any_bytes() {
    let header = [0xFF, 0xFE, 0x00, b'A', 0x80];
    let text = record(0, &[0, 0], &header) + &s1(0, &[1]) + S9;
    let image = read_strictly(&SRecords, &text).clean();
    assert_eq!(image.header.as_deref(), Some(&header[..]));
    assert_eq!(written(&SRecords, &image, &WriteOptions::default()).0, text);
}

#[test]
fn no_header_is_fine() {
    let image = read_strictly(&SRecords, s1(0, &[1]) + S9).clean();
    assert_eq!(image.header, None);
}

#[test]
fn a_late_header_is_a_warning_and_the_first_text_stays() {
    let late = record(0, &[0, 0], b"late");
    let (image, warning) = odd(&(s1(0, &[1]) + &late + S9));
    assert_eq!(warning, seen(2, 2, "0", Problem::LateHeader));
    assert_eq!(image.header.as_deref(), Some(&b"late"[..]));

    let (image, _) = odd(&(record(0, &[0, 0], b"one") + &late + &s1(0, &[1]) + S9));
    assert_eq!(image.header.as_deref(), Some(&b"one"[..]));
}

#[test]
fn a_header_with_an_address_is_refused_under_strict_only() {
    let text = record(0, &[0x12, 0x34], b"A") + &s1(0, &[1]) + S9;
    assert_eq!(read(&SRecords, &text).clean().len(), 1);
    let what = "S0 (header)";
    let wanted = seen(1, 5, "1234", Problem::AddressNotZero { what });
    assert_eq!(read_strictly(&SRecords, &text).one_error(), wanted);
}

// Types

#[test]
fn reserved_s4_is_skipped_with_a_warning() {
    let text = s1(0, &[1]) + &record(4, &[0, 0], &[9, 9]) + S9;
    let (image, warning) = odd(&text);
    assert_eq!(warning, seen(2, 2, "4", Problem::Reserved { what: "S4" }));
    assert_eq!(spans(&image), [(0, vec![1])]);
}

#[test]
fn data_kinds_mixed_in_one_file_are_a_warning() {
    let text = s1(0, &[1]) + &s2(0x1_0000, &[2]) + S9;
    let (image, warning) = odd(&text);
    let problem = Problem::MixedKinds {
        first: '1',
        here: '2',
    };
    assert_eq!(warning, seen(2, 2, "2", problem));
    assert_eq!(spans(&image), [(0, vec![1]), (0x1_0000, vec![2])]);
}

#[test]
fn an_end_record_of_another_kind_than_the_data_is_a_warning() {
    let ends = [
        ('9', S9.to_owned()),
        ('8', record(8, &[0; 3], &[])),
        ('7', record(7, &[0; 4], &[])),
    ];
    let datas = [('9', s1(0, &[1])), ('8', s2(0, &[1])), ('7', s3(0, &[1]))];
    for (wants, data) in &datas {
        for (has, end) in &ends {
            let text = format!("{data}{end}");
            if has == wants {
                read_strictly(&SRecords, text).clean();
                continue;
            }
            let problem = Problem::EndKind {
                has: *has,
                wants: *wants,
            };
            assert_eq!(odd(&text).1, seen(2, 2, &has.to_string(), problem));
        }
    }
}

#[test]
fn a_type_digit_damaged_from_1_to_2_keeps_its_checksum_and_is_noticed() {
    let damaged = EXAMPLE.replace("S1130010", "S2130010");
    let (_, warning) = odd(&damaged);
    assert!(matches!(warning.3, Problem::MixedKinds { .. }));
    let damaged = EXAMPLE.replace("S1130010", "S0130010");
    let reading = read(&SRecords, damaged);
    assert!(matches!(reading.one_warning().1.3, Problem::LateHeader));
}

#[test]
fn an_unknown_record_type_is_refused() {
    let known = "S0 to S9";
    let problem = Problem::UnknownType { known };
    assert_eq!(damaged("SA030000FC"), seen(2, 2, "A", problem.clone()));
    assert_eq!(damaged("S:030000FC"), seen(2, 2, ":", problem.clone()));
    assert_eq!(damaged("Sé030000FC"), seen(2, 2, "é", problem.clone()));
    assert_eq!(damaged("S"), seen(2, 2, "", problem));
}

// Counts

#[test]
fn a_count_record_that_agrees_is_fine() {
    let data = s1(0, &[1]) + &s1(1, &[]) + &s1(1, &[2]);
    for count in [record(5, &[0, 3], &[]), record(6, &[0, 0, 3], &[])] {
        let text = format!("S0030000FC\n{data}{count}{S9}");
        assert_eq!(read_strictly(&SRecords, text).clean().len(), 2);
    }
}

#[test]
fn a_count_record_that_disagrees_is_an_error() {
    let data = s1(0, &[1]) + &s1(1, &[2]);
    let reading = read(&SRecords, data.clone() + &record(5, &[0, 3], &[]) + S9);
    let problem = Problem::Count { says: 3, has: 2 };
    assert_eq!(reading.image.len(), 2);
    assert_eq!(reading.one_error(), seen(3, 5, "0003", problem));

    let reading = read(&SRecords, data + &record(6, &[1, 0, 2], &[]) + S9);
    let problem = Problem::Count {
        says: 0x1_0002,
        has: 2,
    };
    assert_eq!(reading.one_error(), seen(3, 5, "010002", problem));

    let reading = read(&SRecords, s1(0, &[1]) + &record(5, &[0, 0], &[]) + S9);
    let problem = Problem::Count { says: 0, has: 1 };
    assert_eq!(reading.one_error(), seen(2, 5, "0000", problem));
}

#[test]
fn count_and_end_records_carry_no_data() {
    for (line, what) in [
        (record(5, &[0, 1], &[9]), "count"),
        (record(6, &[0, 0, 1], &[9]), "count"),
        (record(9, &[0, 0], &[9]), "end"),
    ] {
        let problem = Problem::FixedLength {
            what,
            wanted: 0,
            has: 1,
        };
        let reading = read(&SRecords, s1(0, &[1]) + &line + S9);
        let error = reading.errors().remove(0);
        assert_eq!(error, seen(2, 3, &line[2..4], problem.clone()));
        assert_eq!(problem.label(), "1 here, expected 0");
    }
}

// Accepted by default

#[test]
fn line_ends_of_every_kind_and_blank_lines_are_fine() {
    let text = s1(0, &[1]) + "\n" + &s1(1, &[2]) + S9;
    for end in ["\n", "\r\n", "\r"] {
        let image = read(&SRecords, text.replace('\n', end)).clean();
        assert_eq!(spans(&image), [(0, vec![1, 2])], "{end:?}");
        assert_eq!(image.origin_at(1).unwrap().line, Some(3), "{end:?}");
    }
}

#[test]
fn lower_case_is_fine_and_refused_under_strict() {
    let text = "s1040000ab50\ns9030000fc\n";
    assert_eq!(spans(&read(&SRecords, text).clean()), [(0, vec![0xAB])]);
    let what = "a letter in lower case";
    let problem = Problem::Untidy { what };
    let wanted = [seen(1, 1, "s", problem.clone()), seen(2, 1, "s", problem)];
    assert_eq!(read_strictly(&SRecords, text).errors(), wanted);
}

#[test]
fn what_surrounds_a_record_is_fine_and_refused_under_strict() {
    for (text, place, what) in [
        (
            format!("  {}{S9}", s1(0, &[1])),
            (1, 1, "  "),
            "something stands before the record",
        ),
        (
            format!("S104000001FA \t\n{S9}"),
            (1, 13, " \t"),
            "something stands behind the record",
        ),
        (
            format!("S104000001FA\n\0\0\n{S9}"),
            (2, 1, "\0\0"),
            "bytes 1A or 00 between or behind the records",
        ),
    ] {
        assert_eq!(read(&SRecords, &text).clean().len(), 1, "{text:?}");
        let wanted = seen(place.0, place.1, place.2, Problem::Untidy { what });
        assert_eq!(read_strictly(&SRecords, &text).one_error(), wanted);
    }
}

#[test]
fn trailing_1a_and_nuls_are_fine_however_many() {
    for tail in ["\x1A".to_owned(), "\0".repeat(3), "\0".repeat(500_000)] {
        let image = read(&SRecords, format!("{EXAMPLE}{tail}")).clean();
        assert_eq!(image.len(), 0x34);
    }
}

#[test]
fn no_end_record_is_a_warning_with_the_fitting_example() {
    for (text, example) in [
        (s1(0, &[1]), "S9030000FC"),
        (s2(0, &[1]), "S804000000FB"),
        (s3(0, &[1]), "S70500000000FA"),
    ] {
        let (image, warning) = odd(&text);
        assert_eq!(warning, seen(0, 0, "", Problem::NoEnd { example }));
        assert_eq!(image.entry, None);
        // The example is a record that works.
        read_strictly(&SRecords, text + example).clean();
    }
}

#[test]
fn what_stands_behind_the_end_record_is_ignored_with_a_warning() {
    let (image, warning) = odd(&format!("{EXAMPLE}\nlast page\n{}", s1(0x100, &[1])));
    let problem = Problem::AfterEnd {
        lines: 2,
        records: 1,
    };
    assert_eq!(warning, seen(8, 1, "last page", problem));
    assert_eq!(image.len(), 0x34);
}

// Refused always

#[test]
fn a_wrong_checksum_is_refused() {
    let problem = Problem::Checksum {
        says: 0xFB,
        gives: 0xFA,
        digits: 2,
    };
    assert_eq!(damaged("S104000001FB"), seen(2, 11, "FB", problem));
    // The shortest there is.
    let problem = Problem::Checksum {
        says: 0xFD,
        gives: 0xFC,
        digits: 2,
    };
    assert_eq!(damaged("S9030000FD"), seen(2, 9, "FD", problem));
}

#[test]
fn a_record_shorter_than_its_count_is_refused() {
    let problem = Problem::Length { says: 5, has: 4 };
    assert_eq!(damaged("S105000001FA"), seen(2, 3, "05", problem.clone()));
    assert_eq!(damaged("  S105000001FA"), seen(2, 5, "05", problem));
}

#[test]
fn a_record_longer_than_its_count_is_refused() {
    let problem = Problem::Length { says: 4, has: 5 };
    assert_eq!(damaged("S10400000100F9"), seen(2, 3, "04", problem));
    let joined = s1(0, &[1]).trim_end().to_owned() + s1(1, &[2]).trim_end();
    // The `S` of the second record is the first thing that is no digit.
    assert_eq!(damaged(joined), seen(2, 13, "S", Problem::NotHex));
}

#[test]
fn a_record_without_room_for_its_address_is_refused() {
    for (line, digits, least) in [
        ("S1", 0, 8),
        ("S100", 2, 8),
        ("S10200FD", 6, 8),
        ("S3030000FC", 8, 12),
        ("S20200FD", 6, 10),
    ] {
        let problem = Problem::TooShort { least, digits };
        assert_eq!(damaged(line), seen(2, 3, &line[2..], problem), "{line}");
    }
}

#[test]
fn an_odd_digit_is_refused() {
    let problem = Problem::OddDigits { digits: 9 };
    assert_eq!(damaged("S1040000010"), seen(2, 11, "0", problem));
}

#[test]
fn what_is_no_hex_digit_is_refused() {
    for wrong in ["G", " ", "+", "/", ":", "@", "`", "g", "é", "€"] {
        let line = format!("S104{wrong}00001FA");
        assert_eq!(damaged(line), seen(2, 5, wrong, Problem::NotHex));
    }
    assert_eq!(damaged("S1+4000001FA"), seen(2, 3, "+", Problem::NotHex));
    // A pair of a sign and a digit, as number parsers take it.
    assert_eq!(damaged("S1040000+1FA"), seen(2, 9, "+", Problem::NotHex));
}

#[test]
fn a_line_that_is_no_record_is_refused() {
    let problem = Problem::NoMark { expected: 'S' };
    assert_eq!(damaged("; monitor"), seen(2, 1, ";", problem.clone()));
    assert_eq!(damaged("éS9030000FC"), seen(2, 1, "é", problem));
}

#[test]
fn lines_longer_than_any_record_are_refused() {
    for digits in [514, 10_000_000] {
        let (line, column, _, problem) = damaged(format!("S1{}", "0".repeat(digits)));
        assert_eq!((line, column), (2, 515));
        let length = digits as u64 + 2;
        assert_eq!(problem, Problem::LongLine { length, most: 514 });
    }
}

#[test]
fn files_without_a_record_say_that_there_is_no_data() {
    for text in [vec![], vec![0; 300_000], b"\r\n\r\n".to_vec()] {
        let reading = read(&SRecords, text);
        assert!(reading.image.is_empty());
        assert_eq!(reading.one_error(), seen(0, 0, "", Problem::NoData));
    }
}

// Clashes

#[test]
fn a_data_clash_is_settled_as_asked_or_names_both_lines() {
    let read_as = |clash, second: &[u8]| {
        let how = ReadOptions {
            clash,
            ..ReadOptions::default()
        };
        read_with(&SRecords, s1(0x10, &[1, 2]) + &s1(0x11, second) + S9, &how)
    };
    let (_, _, _, problem) = read_as(Clash::Refuse, &[2]).one_error();
    assert_eq!(
        problem.label(),
        "0x0011 is wanted twice: a.hex line 1 puts 02 there, a.hex line 2 puts 02; \
         1 byte overlaps, equal on both sides"
    );
    assert_eq!(read_as(Clash::Same, &[2]).clean().len(), 2);
    assert!(matches!(
        read_as(Clash::Same, &[3]).one_error().3,
        Problem::Overlap(_)
    ));
    let first = read_as(Clash::First, &[3, 4]).clean();
    assert_eq!(spans(&first), [(0x10, vec![1, 2, 4])]);
    let last = read_as(Clash::Last, &[3, 4]).clean();
    assert_eq!(spans(&last), [(0x10, vec![1, 3, 4])]);
}

// Writing

fn in_form(address: AddressForm) -> WriteOptions {
    WriteOptions {
        address,
        ..WriteOptions::default()
    }
}

#[test]
fn the_smallest_form_that_holds_addresses_and_entry_point_is_written() {
    for (last, entry, form) in [
        (0xFFFF, 0xFFFF, "S1"),
        (0xFFFF, 0x1_0000, "S2"),
        (0x1_0000, 0, "S2"),
        (0xFF_FFFF, 0, "S2"),
        (0x100_0000, 0, "S3"),
        (5, 0xFFFF_FFFF, "S3"),
        (0xFFFF_FFFF, 0, "S3"),
    ] {
        let mut image = image(&[(last - 1, &[1, 2])]);
        image.entry = Some(Entry::Linear(entry));
        let (text, how) = written(&SRecords, &image, &WriteOptions::default());
        assert_eq!(how.form, Some(form));
        let again = read_strictly(&SRecords, text).clean();
        assert_eq!(spans(&again), spans(&image));
        assert_eq!(again.entry, image.entry);
    }
}

#[test]
fn each_form_has_its_own_data_and_end_records() {
    let image = image(&[(0x10, &[7])]);
    for (form, text) in [
        (
            AddressForm::Bits16,
            "S0030000FC\nS104001007E4\nS9030000FC\n",
        ),
        (
            AddressForm::Bits24,
            "S0030000FC\nS20500001007E3\nS804000000FB\n",
        ),
        (
            AddressForm::Bits32,
            "S0030000FC\nS3060000001007E2\nS70500000000FA\n",
        ),
    ] {
        assert_eq!(written(&SRecords, &image, &in_form(form)).0, text);
    }
}

#[test]
fn addresses_and_entry_points_beyond_the_form_are_refused() {
    for (form, name, beyond) in [
        (AddressForm::Bits16, "S1", 0x1_0000),
        (AddressForm::Bits24, "S2", 0x100_0000),
        (AddressForm::Bits32, "S3", 0x1_0000_0000),
        (AddressForm::Smallest, "S3", 0x1_0000_0000),
    ] {
        match refused(&SRecords, &image(&[(beyond, &[1])]), &in_form(form)) {
            WriteError::AddressTooLarge { form, limit, .. } => {
                assert_eq!((form, limit), (name, beyond - 1));
            }
            other => panic!("{other}"),
        }
        let how = WriteOptions {
            entry: EntryChoice::At(beyond),
            ..in_form(form)
        };
        match refused(&SRecords, &image(&[(0, &[1])]), &how) {
            WriteError::EntryTooLarge { form, entry, limit } => {
                assert_eq!((form, entry, limit), (name, beyond, beyond - 1));
            }
            other => panic!("{other}"),
        }
    }
}

#[test]
fn there_is_no_20_bit_form() {
    let error = refused(
        &SRecords,
        &image(&[(0, &[1])]),
        &in_form(AddressForm::Bits20),
    );
    assert_eq!(
        error.to_string(),
        "s-record has no 20-bit addresses; it has 16 (S1), 24 (S2) and 32 (S3)"
    );
}

#[test]
fn records_are_as_wide_as_asked_for_up_to_what_the_count_can_say() {
    let bytes = vec![0xA5; 600];
    let image = image(&[(0x100, &bytes)]);
    for (form, most) in [
        (AddressForm::Bits16, 252),
        (AddressForm::Bits24, 251),
        (AddressForm::Bits32, 250),
    ] {
        for width in [1, 33, most] {
            let how = WriteOptions {
                width: Some(width),
                ..in_form(form)
            };
            let (text, _) = written(&SRecords, &image, &how);
            let records = text
                .lines()
                .filter(|l| !matches!(&l[1..2], "0" | "7" | "8" | "9"));
            assert_eq!(records.count(), 600_usize.div_ceil(width.into()));
            assert_eq!(
                spans(&read_strictly(&SRecords, text).clean()),
                spans(&image)
            );
        }
        for width in [0, most + 1, u16::MAX] {
            let how = WriteOptions {
                width: Some(width),
                ..in_form(form)
            };
            match refused(&SRecords, &image, &how) {
                WriteError::Width { most: m, .. } => assert_eq!(m, most),
                other => panic!("{other}"),
            }
        }
    }
}

#[test]
fn the_header_is_the_images_own_or_the_one_asked_for() {
    let mut image = image(&[(0, &[1])]);
    image.header = Some(b"HDR".to_vec());
    let with = |header: &[u8]| WriteOptions {
        header: Some(header.to_vec()),
        ..WriteOptions::default()
    };
    let (text, _) = written(&SRecords, &image, &WriteOptions::default());
    assert!(text.starts_with("S00600004844521B\n"));
    let (text, _) = written(&SRecords, &image, &with(b"Heron-8"));
    assert_eq!(
        read(&SRecords, text).clean().header.as_deref(),
        Some(&b"Heron-8"[..])
    );
    let (text, _) = written(&SRecords, &image, &with(b""));
    assert!(text.starts_with("S0030000FC\n"));
    let (text, _) = written(&SRecords, &image, &with(&[b'x'; 252]));
    assert_eq!(read(&SRecords, text).clean().header.unwrap().len(), 252);
    match refused(&SRecords, &image, &with(&[b'x'; 253])) {
        WriteError::HeaderTooLong {
            length: 253,
            most: 252,
        } => {}
        other => panic!("{other}"),
    }
}

#[test]
fn lines_end_in_cr_lf_where_asked_for() {
    let how = WriteOptions {
        crlf: true,
        ..WriteOptions::default()
    };
    let image = read(&SRecords, EXAMPLE).clean();
    let (text, _) = written(&SRecords, &image, &how);
    assert_eq!(text, EXAMPLE.replace('\n', "\r\n"));
}

#[test]
fn a_count_record_is_s5_and_beyond_65535_records_s6() {
    for (records, line) in [
        (4, "S5030004F8"),
        (0xFFFF, "S503FFFFFE"),
        (0x1_0000, "S604010000FA"),
    ] {
        let image = image(&[(0, &vec![0; records])]);
        let how = WriteOptions {
            count: true,
            width: Some(1),
            ..WriteOptions::default()
        };
        let (text, _) = written(&SRecords, &image, &how);
        let (count, _) = text.lines().rev().skip(1).zip(0..).next().unwrap();
        assert_eq!(count, line);
        let again = read_strictly(&SRecords, text).clean();
        assert_eq!(again.len(), records as u64);
    }
}

#[test]
fn an_entry_point_of_its_own_or_none() {
    let mut image = image(&[(0, &[1])]);
    image.entry = Some(Entry::Segmented { cs: 0x100, ip: 5 });
    let end = |entry| {
        let how = WriteOptions {
            entry,
            ..WriteOptions::default()
        };
        let (text, _) = written(&SRecords, &image, &how);
        text.lines().last().unwrap().to_owned()
    };
    assert_eq!(end(EntryChoice::Own), "S9031005E7");
    assert_eq!(end(EntryChoice::At(0x1234)), "S9031234B6");
    // There is no end record without an address; 0 is what tools write that have none.
    assert_eq!(end(EntryChoice::None), "S9030000FC");
}

#[test]
fn an_image_without_a_byte_is_a_header_and_an_end() {
    let (text, _) = written(&SRecords, &Image::new(), &WriteOptions::default());
    assert_eq!(text, "S0030000FC\nS9030000FC\n");
    assert!(read_strictly(&SRecords, text).clean().is_empty());
}

#[test]
fn the_longest_record_may_have_blanks_behind_it() {
    let longest = s1(0x100, &[0x5A; 252]);
    let longest = longest.trim_end();
    assert_eq!(longest.len(), 514);
    let damaged_one = longest.replacen("5A", "5B", 1);
    for blanks in [0, 1, 600] {
        let line = format!("{damaged_one}{}", " ".repeat(blanks));
        let (_, column, _, problem) = damaged(line);
        assert_eq!(column, longest.len() as u64 - 1);
        assert!(matches!(problem, Problem::Checksum { .. }), "{problem:?}");
    }
}

#[test]
fn the_form_is_told_by_the_kind_of_the_data() {
    let form = |text: String| read(&SRecords, text + S9).findings.facts.form;
    assert_eq!(form(s1(0, &[1])), Some("S1"));
    assert_eq!(form(s2(0, &[1])), Some("S2"));
    assert_eq!(form(s3(0, &[1])), Some("S3"));
    let mixed = Some("S1, S2 and S3 mixed");
    assert_eq!(form(s1(0, &[1]) + &s2(1, &[1])), mixed);
    assert_eq!(form(String::new()), None);
}

#[test]
fn records_that_are_no_data_are_counted_by_their_kinds() {
    let others = |text: String| read(&SRecords, text).findings.facts.others;
    let some = s1(0, &[1]);
    let s0 = "S0030000FC\n";
    let with_count = others(format!("{s0}{some}{}S5030002FA\n{S9}", s1(1, &[2])));
    assert_eq!(
        with_count,
        [("S0 (header)", 1), ("S5 (count)", 1), ("S9 (end)", 1)]
    );
    let reserved = others(format!("{some}S4030000FC\nS4030000FC\nS604000001FA\n{S9}"));
    assert_eq!(
        reserved,
        [("S4 (reserved)", 2), ("S6 (count)", 1), ("S9 (end)", 1)]
    );
    assert_eq!(others(s2(0, &[1]) + "S804000000FB\n"), [("S8 (end)", 1)]);
    assert_eq!(others(s3(0, &[1]) + "S70500000000FA\n"), [("S7 (end)", 1)]);
}

#[test]
fn an_end_record_with_data_ends_the_file_all_the_same() {
    let reading = read(&SRecords, s1(0, &[1]) + "S904000001FA\n");
    let problem = Problem::FixedLength {
        what: "end",
        wanted: 0,
        has: 1,
    };
    assert_eq!(reading.warnings(), []);
    assert_eq!(reading.one_error(), seen(2, 3, "04", problem));
}

#[test]
fn a_damaged_record_still_looks_like_one() {
    let looks = |bytes: &[u8]| SRecords.likeness(&Head { bytes, whole: true });
    assert_eq!(looks(b"S1040000AA51\n"), Likeness::Proven);
    for line in ["S1040000AA50\n", "S1040000AAx1\n", "S104000000\n"] {
        assert_eq!(looks(line.as_bytes()), Likeness::Likely, "{line}");
    }
    for line in [
        "S1040000Ax51\n",
        "1040000AA51\n",
        "S10400000\n",
        "T1040000AA51\n",
    ] {
        assert_eq!(looks(line.as_bytes()), Likeness::Possible, "{line}");
    }
}

// Salvage

#[test]
fn of_data_kinds_that_are_mixed_the_usual_one_is_believed_in_a_salvage() {
    let records = [
        s1(0, &[1, 1]),
        s2(0x10, &[2, 2, 2]),
        s2(0x13, &[2]),
        s1(0x20, &[1]),
        s3(0x30, &[3]),
        s2(0x40, &[2]),
    ];
    let reading = salvage(&SRecords, records.concat() + "S804000000FB\n");
    let kept = [(0x10, vec![2; 4]), (0x40, vec![2])];
    assert_eq!(spans(&reading.image), kept);
    let facts = &reading.findings.facts;
    assert_eq!((facts.left_out_records, facts.left_out_bytes), (3, 4));
    let damaged: Vec<(u64, u64)> = facts.damaged.iter().map(|d| (d.first, d.last)).collect();
    assert_eq!(damaged, [(1, 1), (4, 5)]);
    let problem = Problem::OtherKinds {
        most: '2',
        records: 3,
    };
    assert!(
        reading.errors().iter().any(|e| e.3 == problem),
        "{:?}",
        reading.errors()
    );
    // Neither is more frequent: the one met first.
    for (one, two, kept) in [(s1(0, &[1]), s3(8, &[3]), 0), (s3(8, &[3]), s1(0, &[1]), 8)] {
        let reading = salvage(&SRecords, one + &two + S9);
        assert_eq!(spans(&reading.image)[0].0, kept);
        assert_eq!(reading.findings.facts.left_out_records, 1);
    }
    let pure = salvage(&SRecords, s2(0, &[1]) + &s2(8, &[2]) + "S804000000FB\n");
    assert_eq!(pure.errors(), []);
    assert_eq!(pure.findings.facts.left_out_records, 0);
}

#[test]
fn a_damaged_data_record_covers_what_its_digits_say_where_something_speaks_for_them() {
    let covers = |unit: u64, text: &str| {
        let mut findings = Findings::new("a".into(), Strictness::Salvage);
        let builder = || Builder::new(Source::File("a".into()));
        let mut reader = super::Reader {
            findings: &mut findings,
            builders: [builder(), builder(), builder()],
            apart: 3,
            unit,
            header: None,
            entry: None,
            data_kind: Some(b'2'),
            data_records: 1,
            mixed: false,
            any: true,
            ended: false,
        };
        reader.builders[1].push(0x100, &[1; 16], 1).unwrap();
        let range = reader.covered_by(text.as_bytes());
        range.map(|range| (range.first(), range.last()))
    };
    for whole in [
        "S107020011223344FF",
        "S20800020011223344FF",
        "S3090000020011223344FF",
    ] {
        assert_eq!(covers(1, whole), Some((0x200, 0x203)));
        assert_eq!(covers(2, whole), Some((0x400, 0x403)));
        assert_eq!(
            covers(1, &whole[..whole.len() - 1]),
            None,
            "nothing speaks for it"
        );
    }
    assert_eq!(covers(1, "S2140001101122"), Some((0x110, 0x11F)));
    assert_eq!(
        covers(1, "S1130110112233"),
        None,
        "no record of its kind goes before it"
    );
    assert_eq!(covers(2, "S2140000881122"), Some((0x110, 0x11F)));
    assert_eq!(covers(2, "S2140001101122"), None);
    assert_eq!(covers(1, "S804000200F9"), None, "no data record");
    assert_eq!(covers(1, "S204000200F9"), None, "no bytes");
    assert_eq!(covers(1, "S203000200"), None, "less than an address");
    assert_eq!(covers(1, "S2x800020011223344FF"), None, "no length");
}
