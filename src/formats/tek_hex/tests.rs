//! Source of the rules: as in Texas Instruments, *ARM Assembly Language Tools User's Guide* (SPNU118), Tektronix object
//! format.

use super::TekHex;
use crate::formats::tests::*;
use crate::image::Entry;

/// Worked record: six bytes 20 at 0x100; 21 characters; 1+5+6+3+1+0+0+6x(2+0) = 0x1C.
const RECORD: &str = "%1561C3100202020202020\n";
/// Address 0 in one digit: 0+7+8+1+0 = 0x10.
const END: &str = "%0781010\n";

/// A record by the rules, length and checksum worked out here.
fn record(kind: char, body: &str) -> String {
    let order = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$%._abcdefghijklmnopqrstuvwxyz";
    let length = format!("{:02X}", body.len() + 5);
    let values = format!("{length}{kind}{body}");
    let sum: usize = values.chars().map(|c| order.find(c).unwrap()).sum();
    format!("%{length}{kind}{:02X}{body}\n", sum % 256)
}

fn read_behind(line: &str) -> Reading {
    read(&TekHex, line.to_owned() + END)
}

#[test]
fn the_worked_record_is_read_and_written_letter_for_letter() {
    let image = read_strictly(&TekHex, RECORD.to_owned() + END).clean();
    assert_eq!(spans(&image), [(0x100, vec![0x20; 6])]);
    assert_eq!(image.entry, Some(Entry::Linear(0)));
    let (text, _) = written(&TekHex, &image, &WriteOptions::default());
    assert_eq!(text, RECORD.to_owned() + END);
    assert_eq!(record('6', "3100202020202020"), RECORD);
    assert_eq!(record('8', "10"), END);
}

#[test]
fn every_character_has_its_value_in_the_checksum() {
    // Symbols use all of them; their records are checked and skipped.
    let all = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$%._abcdefghijklmnopqrstuvwxyz";
    let text = record('3', all) + RECORD + END;
    let image = read_strictly(&TekHex, &text).clean();
    assert_eq!(image.len(), 6);
    let swapped = record('3', all).replace("Aa", "AA");
    let damaged = swapped.replace('a', "b");
    let problem = read_behind(&damaged).errors()[0].3.clone();
    assert!(matches!(problem, Problem::Checksum { .. }), "{problem:?}");
}

#[test]
fn an_address_has_as_many_digits_as_its_first_says_and_0_means_16() {
    for (address, at) in [
        ("15", 5),
        ("200", 0),
        ("3100", 0x100),
        ("800000100", 0x100),
        ("F123456789ABCDEF", 0x123_4567_89AB_CDEF),
        ("0FEDCBA9876543210", 0xFEDC_BA98_7654_3210),
    ] {
        let image = read_behind(&record('6', &format!("{address}5A"))).clean();
        assert_eq!(spans(&image), [(at, vec![0x5A])], "{address}");
    }
}

#[test]
fn the_end_record_carries_the_entry_point() {
    let text = RECORD.to_owned() + &record('8', "48000");
    let mut image = read_strictly(&TekHex, &text).clean();
    assert_eq!(image.entry, Some(Entry::Linear(0x8000)));
    assert_eq!(written(&TekHex, &image, &WriteOptions::default()).0, text);
    image.entry = None;
    let none = RECORD.to_owned() + END;
    assert_eq!(written(&TekHex, &image, &WriteOptions::default()).0, none);
    let how = WriteOptions {
        entry: EntryChoice::At(u64::MAX),
        ..WriteOptions::default()
    };
    let text = written(&TekHex, &image, &how).0;
    assert!(text.ends_with(&record('8', "0FFFFFFFFFFFFFFFF")));
    let back = read(&TekHex, text).clean();
    assert_eq!(back.entry, Some(Entry::Linear(u64::MAX)));
}

#[test]
fn a_wrong_checksum_names_both_sums() {
    let problem = Problem::Checksum {
        says: 0x1D,
        gives: 0x1C,
        digits: 2,
    };
    let error = read_behind(&RECORD.replace("1C", "1D")).one_error();
    assert_eq!(error, seen(1, 5, "1D", problem));
}

#[test]
fn digits_that_are_lost_or_extra_are_a_wrong_length() {
    for (line, has) in [
        (RECORD.replace("2020\n", "202\n"), 20),
        (RECORD.replace("2020\n", "20202\n"), 22),
    ] {
        let problem = Problem::Length { says: 21, has };
        assert_eq!(read_behind(&line).one_error(), seen(1, 2, "15", problem));
    }
}

#[test]
fn what_no_record_may_hold_is_marked() {
    for (line, column, marked) in [
        ("%1561C3100202020202é2020\n", 20, "é"),
        ("%1561C31002020202-202020\n", 18, "-"),
        ("%G561C3100202020202020\n", 2, "G"),
        ("%15+1C3100202020202020\n", 4, "+"),
    ] {
        let error = read_behind(line).one_error();
        assert_eq!(error, seen(1, column, marked, Problem::NotHex), "{line}");
    }
}

#[test]
fn a_field_with_letters_that_only_symbols_have_is_no_number() {
    for (body, column, marked) in [("3100G0", 11, "G"), ("31_05A", 9, "_"), ("Z10", 7, "Z")] {
        let line = record('6', body);
        let error = read_behind(&line).one_error();
        assert_eq!(error, seen(1, column, marked, Problem::NotHex), "{line}");
    }
}

#[test]
fn half_a_byte_is_refused() {
    let line = record('6', "31005A5");
    let problem = Problem::OddDigits { digits: 3 };
    assert_eq!(read_behind(&line).one_error(), seen(1, 13, "5", problem));
}

#[test]
fn a_record_that_stops_inside_its_head_or_address_is_too_short() {
    let problem = Problem::TooShort {
        least: 7,
        digits: 5,
    };
    assert_eq!(
        read_behind("%05600\n").one_error(),
        seen(1, 2, "05600", problem)
    );
    let line = record('6', "8000");
    let problem = Problem::TooShort {
        least: 14,
        digits: 9,
    };
    assert_eq!(read_behind(&line).one_error(), seen(1, 7, "8000", problem));
}

#[test]
fn an_unknown_type_is_refused() {
    let error = read_behind(&record('7', "10")).one_error();
    assert_eq!((error.0, error.1, &error.2[..]), (1, 4, "7"));
    assert!(matches!(error.3, Problem::UnknownType { .. }));
}

#[test]
fn an_end_record_with_data_is_refused() {
    let reading = read(&TekHex, RECORD.to_owned() + &record('8', "105A"));
    let problem = Problem::FixedLength {
        what: "end",
        wanted: 0,
        has: 1,
    };
    assert_eq!(reading.one_error(), seen(2, 9, "5A", problem));
}

#[test]
fn a_line_that_is_no_record_is_refused() {
    let error = read_behind("HERON 8\n").one_error();
    assert_eq!(error, seen(1, 1, "H", Problem::NoMark { expected: '%' }));
}

#[test]
fn a_line_longer_than_any_record_is_refused() {
    let line = format!("%FF6{}\n", "0".repeat(100_000));
    let error = read_behind(&line).one_error();
    assert_eq!((error.0, error.1), (1, 257));
    assert!(matches!(error.3, Problem::LongLine { most: 256, .. }));
}

#[test]
fn lower_case_has_other_values_and_is_strictly_refused() {
    let lower = record('6', "3100ab");
    assert_eq!(spans(&read_behind(&lower).clean()), [(0x100, vec![0xAB])]);
    let what = "a hex digit in lower case";
    let error = read_strictly(&TekHex, lower + END).one_error();
    assert_eq!(error, seen(1, 11, "a", Problem::Untidy { what }));
    // A file whose checksums were made in upper case does not pass in lower case.
    let line = record('6', "3100AB").replace("AB\n", "ab\n");
    let problem = read_behind(&line).one_error().3;
    assert!(matches!(problem, Problem::Checksum { .. }));
}

#[test]
fn an_address_that_leaves_64_bits_is_refused() {
    let error = read_behind(&record('6', "0FFFFFFFFFFFFFFFF5A")).one_error();
    assert_eq!(error, seen(1, 7, "0FFFFFFFFFFFFFFFF", Problem::OutOfSpace));
    let how = ReadOptions {
        unit: 2,
        ..ReadOptions::default()
    };
    let text = record('6', "080000000000000005A5A") + END;
    let error = read_with(&TekHex, text, &how).one_error();
    assert_eq!(error.3, Problem::OutOfSpace);
}

#[test]
fn a_missing_end_record_is_a_warning_and_strictly_an_error() {
    let example = "%0781010";
    let no_end = seen(0, 0, "", Problem::NoEnd { example });
    let (_, warning) = read(&TekHex, RECORD).one_warning();
    assert_eq!(warning, no_end);
    assert_eq!(read_strictly(&TekHex, RECORD).one_error(), no_end);
}

#[test]
fn what_follows_the_end_record_is_not_read_and_said_so() {
    let (image, warning) = read(&TekHex, END.to_owned() + RECORD + END).one_warning();
    assert!(image.is_empty());
    let behind = Problem::AfterEnd {
        lines: 2,
        records: 2,
    };
    assert_eq!((warning.0, warning.3), (2, behind));
}

#[test]
fn a_file_without_records_is_an_error() {
    let error = read(&TekHex, "\n").one_error();
    assert_eq!(error, seen(0, 0, "", Problem::NoData));
}

#[test]
fn a_record_holds_what_its_length_can_count() {
    let data = [0x5A; 300];
    // One length digit and 3 address digits leave (255 - 5 - 1 - 3) / 2 bytes.
    let image = image(&[(0x100, &data)]);
    let how = WriteOptions {
        width: Some(123),
        ..WriteOptions::default()
    };
    let (text, _) = written(&TekHex, &image, &how);
    assert!(text.starts_with("%FF6"), "{text}");
    assert_eq!(spans(&read_strictly(&TekHex, text).clean()), spans(&image));
    let how = WriteOptions {
        width: Some(124),
        ..WriteOptions::default()
    };
    let error = refused(&TekHex, &image, &how);
    assert!(matches!(error, WriteError::Width { most: 123, .. }));
}

#[test]
fn the_address_form_bounds_addresses_and_sets_their_digits() {
    let image = image(&[(0x1_0000, &[0x5A])]);
    let how = |address| WriteOptions {
        address,
        ..WriteOptions::default()
    };
    for (form, body) in [
        (AddressForm::Smallest, "5100005A"),
        (AddressForm::Bits20, "5100005A"),
        (AddressForm::Bits24, "60100005A"),
        (AddressForm::Bits32, "8000100005A"),
    ] {
        let (text, _) = written(&TekHex, &image, &how(form));
        assert_eq!(text, record('6', body) + END);
    }
    let error = refused(&TekHex, &image, &how(AddressForm::Bits16));
    assert!(matches!(
        error,
        WriteError::AddressTooLarge { limit: 0xFFFF, .. }
    ));
    let how = WriteOptions {
        entry: EntryChoice::At(0x10_0000),
        ..how(AddressForm::Bits20)
    };
    let error = refused(&TekHex, &image, &how);
    assert!(matches!(
        error,
        WriteError::EntryTooLarge {
            limit: 0xF_FFFF,
            ..
        }
    ));
}

#[test]
fn addresses_that_count_words_are_read_and_written() {
    let how = ReadOptions {
        unit: 2,
        ..ReadOptions::default()
    };
    let text = record('6', "31000102") + &record('8', "3100");
    let image = read_with(&TekHex, &text, &how).clean();
    assert_eq!(spans(&image), [(0x200, vec![1, 2])]);
    assert_eq!(image.entry, Some(Entry::Linear(0x200)));
    let how = WriteOptions {
        unit: 2,
        ..WriteOptions::default()
    };
    assert_eq!(written(&TekHex, &image, &how).0, text);
    let how = WriteOptions {
        entry: EntryChoice::At(0x201),
        ..how
    };
    let error = refused(&TekHex, &image, &how);
    assert!(matches!(
        error,
        WriteError::EntryUnit {
            entry: 0x201,
            unit: 2
        }
    ));
}

/// Three records of three bytes from 0x2000 on, the second changed by `damage`, and the end.
fn second_damaged(damage: impl Fn(&str) -> String) -> String {
    let records = ["2000", "2003", "2006"].map(|at| record('6', &format!("4{at}010203")));
    let [first, second, third] = &records;
    first.clone() + &damage(second) + third + END
}

#[test]
fn what_would_explain_a_damage_is_named() {
    let causes = |from: &str, to: &str| {
        let text = second_damaged(|second| second.replacen(from, to, 1));
        let reading = read(&TekHex, text);
        reading.findings.list()[0].explanations.clone()
    };
    let length = field("length", "14", "10", "that many bytes follow");
    assert_eq!(causes("%10", "%14"), [length]);
    let goes_on = "it continues where the record before it ended";
    let address = field("address", "2103", "2003", goes_on);
    assert_eq!(causes("2003", "2103"), [address]);
    let kind = field("type", "2", "6", "there is no type in it");
    assert_eq!(causes("%106", "%102"), [kind]);
}

#[test]
fn a_damaged_record_tells_what_is_missing() {
    let missing = |text: String| salvage(&TekHex, text).missing();
    let names = || "line 2 is damaged, and its digits name these addresses".to_owned();
    let wrong_byte = second_damaged(|second| second.replace("0102", "0502"));
    assert_eq!(missing(wrong_byte), [(0x2003, 0x2005, names())]);
    // A digit is lost, but the address goes on: the length is believed.
    let short = second_damaged(|second| second.replace("0102", "010"));
    assert_eq!(missing(short), [(0x2003, 0x2005, names())]);
    // A record whose own digits don't agree, somewhere else: the hole between its neighbours tells.
    let elsewhere = second_damaged(|second| second.replace("2003", "4003").replace("0102", "010"));
    let gap = "line 2 is damaged".to_owned();
    assert_eq!(missing(elsewhere), [(0x2003, 0x2005, gap)]);
}
