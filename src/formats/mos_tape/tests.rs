//! Source of the rules: MOS Technology, *KIM-1 Microcomputer Module User Manual*, August 1976, appendix on the paper
//! tape format. What tools do beyond it is common practice.

use super::MosTape;
use crate::formats::tests::*;
use crate::image::Entry;

/// Worked example of the manual.
const EXAMPLE: &str = ";180000FFEEDDCCBBAA0099887766554433221122334455667788990AFC\n;0000010001\n";

/// A record by the manual, checksum worked out here.
fn record(address: u16, data: &[u8]) -> String {
    let mut bytes = vec![data.len() as u8];
    bytes.extend(address.to_be_bytes());
    bytes.extend(data);
    let sum: u32 = bytes.iter().map(|b| u32::from(*b)).sum();
    bytes.extend((sum as u16).to_be_bytes());
    let digits: String = bytes.iter().map(|b| format!("{b:02X}")).collect();
    format!(";{digits}\n")
}

fn end(records: u16) -> String {
    record(records, &[])
}

#[test]
fn the_worked_example_is_read_and_written_letter_for_letter() {
    let image = read_strictly(&MosTape, EXAMPLE).clean();
    let data = b"\xFF\xEE\xDD\xCC\xBB\xAA\x00\x99\x88\x77\x66\x55\x44\x33\x22\x11\x22\x33\x44\x55\x66\x77\x88\x99";
    assert_eq!(spans(&image), [(0, data.to_vec())]);
    let (text, _) = written(&MosTape, &image, &WriteOptions::default());
    assert_eq!(text, EXAMPLE);
    let how = WriteOptions {
        crlf: true,
        ..WriteOptions::default()
    };
    let (text, _) = written(&MosTape, &image, &how);
    assert_eq!(text, EXAMPLE.replace('\n', "\r\n"));
}

#[test]
fn nuls_line_ends_and_xoff_between_records_are_no_matter_even_strictly() {
    let gap = "\r\n\0\0\0\0\0\0";
    let text = format!("\0\0\0{}\x13", EXAMPLE.replace('\n', gap));
    assert_eq!(read_strictly(&MosTape, text).clean().len(), 24);
    let one_line = EXAMPLE.replace('\n', "");
    assert_eq!(read_strictly(&MosTape, one_line).clean().len(), 24);
}

#[test]
fn what_precedes_the_mark_is_ignored_and_said_so() {
    for (text, line, column, marked) in [
        (format!("HERON-8\n{EXAMPLE}"), 1, 1, "HERON-8"),
        (format!("junk {EXAMPLE}"), 1, 1, "junk "),
        (EXAMPLE.replace("\n;00", " junk\n;00"), 1, 61, "junk"),
    ] {
        let (image, warning) = read(&MosTape, &text).one_warning();
        assert_eq!(image.len(), 24, "{text}");
        assert_eq!(warning, seen(line, column, marked, Problem::Outside));
        // The rules allow it.
        assert_eq!(read_strictly(&MosTape, &text).errors(), []);
    }
}

#[test]
fn a_wrong_checksum_names_both_sums_in_four_digits() {
    let reading = read(&MosTape, EXAMPLE.replace("0AFC", "0AFB"));
    assert!(reading.image.is_empty());
    let problem = Problem::Checksum {
        says: 0x0AFB,
        gives: 0x0AFC,
        digits: 4,
    };
    // The end record counts a record that was not read.
    let count = Problem::Count { says: 1, has: 0 };
    let errors = [seen(1, 56, "0AFB", problem), seen(2, 4, "0001", count)];
    assert_eq!(reading.errors(), errors);
}

#[test]
fn every_single_digit_that_is_damaged_is_noticed() {
    for i in 0..EXAMPLE.len() {
        let mut text = EXAMPLE.as_bytes().to_vec();
        if text[i] == b'\n' {
            continue;
        }
        text[i] = if text[i] == b'3' { b'5' } else { b'3' };
        let reading = read(&MosTape, &text);
        assert!(!reading.findings.list().is_empty(), "{i}");
    }
}

#[test]
fn digits_that_are_lost_or_extra_are_a_wrong_length() {
    let sound = record(0x2000, &[1, 2, 3]);
    for (line, problem) in [
        (
            sound.replace("0102", "01"),
            Problem::Length { says: 3, has: 2 },
        ),
        (
            sound.replace(";03", ";02"),
            Problem::Length { says: 2, has: 3 },
        ),
        (
            sound.replace("0102", "012"),
            Problem::OddDigits { digits: 15 },
        ),
        (
            ";0320\n".into(),
            Problem::TooShort {
                least: 10,
                digits: 4,
            },
        ),
    ] {
        let reading = read(&MosTape, line.clone() + &end(0));
        assert_eq!(reading.one_error().3, problem, "{line}");
    }
}

#[test]
fn what_is_wrong_is_marked_wherever_in_the_line_the_record_stands() {
    let sound = record(0x2000, &[1, 2, 3]);
    let sound = sound.trim_end();
    // NULs in front, and a sound record close behind.
    let among = |damaged: &str| {
        let text = format!("\0\0{damaged}{}{}", record(0x3000, &[9]), end(1));
        let reading = read(&MosTape, text);
        assert_eq!(spans(&reading.image), [(0x3000, vec![9])]);
        reading.one_error()
    };
    let length = |says, has| Problem::Length { says, has };
    assert_eq!(
        among(&sound.replace("0102", "01")),
        seen(1, 4, "03", length(3, 2))
    );
    let odd = sound.replace("0102", "012");
    let last = &odd[odd.len() - 1..];
    assert_eq!(
        among(&odd),
        seen(1, 18, last, Problem::OddDigits { digits: 15 })
    );
    let short = Problem::TooShort {
        least: 10,
        digits: 4,
    };
    assert_eq!(among(";0320"), seen(1, 4, "0320", short));
    let wrong = sound.replace("0102", "0202");
    let sum = Problem::Checksum {
        says: 0x29,
        gives: 0x2A,
        digits: 4,
    };
    assert_eq!(among(&wrong), seen(1, 16, "0029", sum));
    // No shorter than an end record.
    let sum = Problem::Checksum {
        says: 2,
        gives: 1,
        digits: 4,
    };
    assert_eq!(among(";0000010002"), seen(1, 10, "0002", sum));
    assert_eq!(
        among(&sound.replace("0102", "01G2")),
        seen(1, 12, "G", Problem::NotHex)
    );
}

/// Three records of three bytes from 0x2000 on, the second changed by `damage`, and the end.
fn second_damaged(damage: impl Fn(&str) -> String) -> String {
    let records = [0x2000, 0x2003, 0x2006].map(|at| record(at, &[1, 2, 3]));
    let [first, second, third] = &records;
    first.clone() + &damage(second) + third + &end(3)
}

#[test]
fn what_would_explain_a_damage_is_named() {
    let causes = |from: &str, to: &str| {
        let text = second_damaged(|second| second.replacen(from, to, 1));
        let reading = read(&MosTape, text);
        reading.findings.list()[0].explanations.clone()
    };
    let length = field("length", "07", "03", "that many bytes follow");
    assert_eq!(causes(";03", ";07"), [length]);
    let goes_on = "it continues where the record before it ended";
    let address = field("address", "2103", "2003", goes_on);
    assert_eq!(causes("2003", "2103"), [address]);
    // Address and length say nothing of a changed byte.
    let digit = Explanation::OneDigit { places: 1 };
    assert_eq!(causes("0102", "0502"), [digit]);
    // In units of two bytes the address counts words.
    let words = [0x1000, 0x1002, 0x1004].map(|at| record(at, &[1, 2, 3, 4]));
    let text = words[0].clone() + &words[1].replace("1002", "1012") + &words[2] + &end(3);
    let how = ReadOptions {
        unit: 2,
        ..ReadOptions::default()
    };
    let reading = read_with(&MosTape, text, &how);
    let address = field("address", "1012", "1002", goes_on);
    assert_eq!(reading.findings.list()[0].explanations, [address]);
}

#[test]
fn a_damaged_record_tells_what_is_missing() {
    let missing = |text: String| salvage(&MosTape, text).missing();
    let names = || "line 2 is damaged, and its digits name these addresses".to_owned();
    let wrong_byte = second_damaged(|second| second.replace("0102", "0502"));
    assert_eq!(missing(wrong_byte), [(0x2003, 0x2005, names())]);
    // A digit is lost, but the address goes on: its count is believed.
    let short = second_damaged(|second| second.replace("0102", "010"));
    assert_eq!(missing(short), [(0x2003, 0x2005, names())]);
    // A record whose own digits don't agree, somewhere else: the hole between its neighbours tells.
    let elsewhere = second_damaged(|second| second.replace("2003", "4003").replace("0102", "010"));
    let gap = "line 2 is damaged".to_owned();
    assert_eq!(missing(elsewhere), [(0x2003, 0x2005, gap)]);
}

#[test]
fn records_behind_the_end_are_counted() {
    let more = format!("\0 {}{}{}", record(0x3000, &[1]), "noise\n", end(1));
    let text = record(0x2000, &[1]) + &end(1) + &more;
    let reading = read(&MosTape, text);
    let (line, column, _, problem) = reading.warnings().remove(0);
    assert_eq!((line, column), (3, 3));
    let behind = Problem::AfterEnd {
        lines: 3,
        records: 2,
    };
    assert_eq!(problem, behind);
}

#[test]
fn what_is_no_hex_digit_is_marked() {
    let sound = record(0x2000, &[0x5A]);
    for bad in ["G", "+", "é", "x"] {
        let reading = read(&MosTape, sound.replace("5A", &format!("5{bad}")) + &end(0));
        assert_eq!(reading.one_error(), seen(1, 9, bad, Problem::NotHex));
    }
}

#[test]
fn a_damaged_record_hides_no_sound_one() {
    let text = record(0, &[1]) + ";zz\n" + &record(8, &[2]) + &end(2);
    let reading = read(&MosTape, text);
    assert_eq!(spans(&reading.image), [(0, vec![1]), (8, vec![2])]);
    assert_eq!(reading.one_error().0, 2);
}

#[test]
fn the_end_record_counts_the_records() {
    for (says, has) in [(1, 2), (3, 2), (0, 2)] {
        let text = record(0, &[1]) + &record(8, &[2]) + &end(says);
        let problem = Problem::Count {
            says: says.into(),
            has,
        };
        let (line, column, _, found) = read(&MosTape, text).one_error();
        assert_eq!((line, column, found), (3, 4, problem));
    }
}

#[test]
fn a_missing_end_record_is_a_warning_and_strictly_an_error() {
    let text = record(0, &[1]);
    let (_, warning) = read(&MosTape, &text).one_warning();
    assert!(matches!(warning.3, Problem::NoEnd { .. }));
    assert!(matches!(
        read_strictly(&MosTape, &text).one_error().3,
        Problem::NoEnd { .. }
    ));
}

#[test]
fn what_follows_the_end_record_is_not_read_and_said_so() {
    let text = EXAMPLE.to_owned() + &record(0x100, &[1]) + "more\n";
    let (image, warning) = read(&MosTape, text).one_warning();
    assert_eq!(image.len(), 24);
    let behind = Problem::AfterEnd {
        lines: 2,
        records: 1,
    };
    assert_eq!((warning.0, warning.3), (3, behind));
}

#[test]
fn lower_case_is_read_and_strictly_refused() {
    let text = EXAMPLE.to_lowercase();
    assert_eq!(read(&MosTape, &text).clean().len(), 24);
    let what = "a hex digit in lower case";
    let error = seen(1, 8, "f", Problem::Untidy { what });
    assert_eq!(read_strictly(&MosTape, &text).errors()[0], error);
}

#[test]
fn a_record_across_the_last_address_is_an_error_and_not_wrapped() {
    let text = record(0xFFFE, &[1, 2, 3]) + &end(1);
    let reading = read(&MosTape, text);
    assert!(reading.image.is_empty());
    let last = Problem::PastLast { last: 0xFFFF };
    assert_eq!(reading.one_error(), seen(1, 12, "03", last));
    let text = record(0xFFFE, &[1, 2]) + &end(1);
    let image = read(&MosTape, text).clean();
    assert_eq!(spans(&image), [(0xFFFE, vec![1, 2])]);
}

#[test]
fn a_file_without_records_is_an_error() {
    for text in ["", "\0\0\0", "\n\n"] {
        let error = read(&MosTape, text).one_error();
        assert_eq!(error, seen(0, 0, "", Problem::NoData));
    }
    let text_only = read(&MosTape, "hello");
    assert_eq!(text_only.warnings()[0].3, Problem::Outside);
    assert_eq!(text_only.errors()[0].3, Problem::NoData);
}

#[test]
fn the_largest_record_is_read_and_written() {
    let data: Vec<u8> = (0..=254).collect();
    let image = image(&[(0x1000, &data)]);
    let how = WriteOptions {
        width: Some(255),
        ..WriteOptions::default()
    };
    let (text, _) = written(&MosTape, &image, &how);
    assert_eq!(text, record(0x1000, &data) + &end(1));
    assert_eq!(spans(&read(&MosTape, text).clean()), spans(&image));
    let how = WriteOptions {
        width: Some(256),
        ..how
    };
    let error = refused(&MosTape, &image, &how);
    assert!(matches!(error, WriteError::Width { most: 255, .. }));
}

#[test]
fn addresses_beyond_16_bits_are_refused() {
    let far = image(&[(0x1_0000, &[1])]);
    let error = refused(&MosTape, &far, &WriteOptions::default());
    assert_eq!(
        error.to_string(),
        "the image goes up to 0x10000, but mos-tape addresses end at 0xFFFF"
    );
    for address in [
        AddressForm::Bits20,
        AddressForm::Bits24,
        AddressForm::Bits32,
    ] {
        let how = WriteOptions {
            address,
            ..WriteOptions::default()
        };
        let error = refused(&MosTape, &image(&[(0, &[1])]), &how);
        assert!(matches!(error, WriteError::NoSuchForm { .. }));
    }
}

#[test]
fn more_records_than_the_end_record_counts_are_refused() {
    let full = image(&[(0, &[0; 0x1_0000])]);
    let how = WriteOptions {
        width: Some(1),
        ..WriteOptions::default()
    };
    let error = refused(&MosTape, &full, &how);
    assert!(matches!(
        error,
        WriteError::TooManyRecords {
            records: 0x1_0000,
            most: 0xFFFF
        }
    ));
}

#[test]
fn addresses_that_count_words_are_read_and_written() {
    let how = ReadOptions {
        unit: 2,
        ..ReadOptions::default()
    };
    let text = record(0xFFFF, &[1, 2]) + &end(1);
    let image = read_with(&MosTape, &text, &how).clean();
    assert_eq!(spans(&image), [(0x1_FFFE, vec![1, 2])]);
    let how = WriteOptions {
        unit: 2,
        ..WriteOptions::default()
    };
    assert_eq!(written(&MosTape, &image, &how).0, text);
}

#[test]
fn an_entry_point_has_no_place_and_that_is_said() {
    let mut image = image(&[(0, &[1])]);
    image.entry = Some(Entry::Linear(0x8000));
    let (_, written) = written(&MosTape, &image, &WriteOptions::default());
    assert_eq!(
        left_out(&written),
        ["a mos-tape file has no place for the entry point 0x8000"]
    );
}
