//! Source of the rules: Intel, *Hexadecimal Object File Format Specification*, Revision A, 6 January 1988.
//! What real tools do beyond them is common practice and has no source.

use super::IntelHex;
use crate::formats::tests::*;
use crate::image::{Builder, Clash, Entry, Image, Source};

/// A record by section 3 of the specification, checksum worked out here.
fn record(kind: u8, offset: u16, data: &[u8]) -> String {
    let mut bytes = vec![data.len() as u8];
    bytes.extend(offset.to_be_bytes());
    bytes.push(kind);
    bytes.extend(data);
    let sum: u32 = bytes.iter().map(|b| u32::from(*b)).sum();
    bytes.push(((256 - sum % 256) % 256) as u8);
    let digits: String = bytes.iter().map(|b| format!("{b:02X}")).collect();
    format!(":{digits}\n")
}

fn data(offset: u16, data: &[u8]) -> String {
    record(0, offset, data)
}

/// The end record of the specification, section 6.
const END: &str = ":00000001FF\n";

/// Reads records that an end record follows, and that nothing is to be said about.
#[track_caller]
fn sound(records: &[String]) -> Image {
    read(&IntelHex, records.concat() + END).clean()
}

/// Reads one damaged line between sound ones: the error; what is sound must have been read.
#[track_caller]
fn damaged(line: impl AsRef<[u8]>) -> Seen {
    let mut text = data(0, &[1, 2]).into_bytes();
    text.extend(line.as_ref());
    text.extend(b"\n");
    text.extend((data(0x10, &[3]) + END).as_bytes());
    let reading = read(&IntelHex, text);
    let both = [(0, vec![1, 2]), (0x10, vec![3])];
    assert_eq!(spans(&reading.image), both);
    reading.one_error()
}

/// A line that is fine by default (one warning at most) and refused under `--strict`.
#[track_caller]
fn strict_only(text: &str) -> Seen {
    assert_eq!(read(&IntelHex, text).errors(), []);
    read_strictly(&IntelHex, text).one_error()
}

// Records

#[test]
fn the_end_record_is_that_of_the_specification() {
    assert!(read(&IntelHex, END).clean().is_empty());
    assert_eq!(
        written(&IntelHex, &Image::new(), &WriteOptions::default()).0,
        END
    );
}

#[test]
fn a_data_record_is_length_offset_type_data_checksum() {
    // Added by hand: 03 + 01 + 23 + 00 + AA + BB + CC = 0x258, and A8 makes it 0 mod 256.
    let image = read(&IntelHex, ":03012300AABBCCA8\n:00000001FF\n").clean();
    assert_eq!(spans(&image), [(0x123, vec![0xAA, 0xBB, 0xCC])]);
    assert_eq!(image.origin_at(0x125).unwrap().to_string(), "a.hex line 1");
}

#[test]
fn records_carry_0_to_255_bytes() {
    let most: Vec<u8> = (0..255).collect();
    let image = sound(&[data(7, &[]), data(0x100, &most), data(0x300, &[])]);
    assert_eq!(spans(&image), [(0x100, most)]);
}

#[test]
fn records_may_come_in_any_order() {
    let image = sound(&[
        data(0x20, &[3]),
        data(0, &[1]),
        data(0x10, &[2]),
        data(1, &[9]),
    ]);
    let wanted = [(0, vec![1, 9]), (0x10, vec![2]), (0x20, vec![3])];
    assert_eq!(spans(&image), wanted);
    assert_eq!(image.origin_at(1).unwrap().line, Some(4));
}

#[test]
fn a_gap_between_records_is_a_hole_and_not_a_byte() {
    let image = sound(&[data(0, &[1]), data(2, &[2])]);
    assert_eq!(image.byte(1), None);
}

// Bases

#[test]
fn under_an_02_record_offsets_wrap_inside_the_segment() {
    let image = sound(&[record(2, 0, &[0x10, 0x00]), data(0xFFFE, &[1, 2, 3, 4])]);
    let wanted = [(0x1_0000, vec![3, 4]), (0x1_FFFE, vec![1, 2])];
    assert_eq!(spans(&image), wanted);
}

#[test]
fn the_same_record_under_an_04_record_carries_into_the_next_64k() {
    let image = sound(&[record(4, 0, &[0x00, 0x01]), data(0xFFFE, &[1, 2, 3, 4])]);
    assert_eq!(spans(&image), [(0x1_FFFE, vec![1, 2, 3, 4])]);
}

#[test]
fn without_a_base_record_addresses_carry_too() {
    let image = sound(&[data(0xFFFE, &[1, 2, 3, 4])]);
    assert_eq!(spans(&image), [(0xFFFE, vec![1, 2, 3, 4])]);
}

#[test]
fn a_segment_starts_at_any_multiple_of_16() {
    let image = sound(&[record(2, 0, &[0xF0, 0x01]), data(0xFFFF, &[1, 2])]);
    assert_eq!(spans(&image), [(0xF_0010, vec![2]), (0x10_000F, vec![1])]);
}

#[test]
fn linear_addresses_wrap_at_4g() {
    let image = sound(&[record(4, 0, &[0xFF, 0xFF]), data(0xFFFE, &[1, 2, 3, 4])]);
    let wanted = [(0, vec![3, 4]), (0xFFFF_FFFE, vec![1, 2])];
    assert_eq!(spans(&image), wanted);
}

#[test]
fn a_record_that_lands_in_two_places_names_its_line_in_both() {
    let image = sound(&[record(2, 0, &[0, 0]), data(0xFFFF, &[1, 2, 3])]);
    assert_eq!(spans(&image), [(0, vec![2, 3]), (0xFFFF, vec![1])]);
    for address in [0, 1, 0xFFFF] {
        assert_eq!(image.origin_at(address).unwrap().line, Some(2));
    }
}

#[test]
fn a_record_that_ends_at_the_segments_last_address_does_not_wrap() {
    let image = sound(&[record(2, 0, &[0x10, 0x00]), data(0xFFFE, &[1, 2])]);
    assert_eq!(spans(&image), [(0x1_FFFE, vec![1, 2])]);
}

#[test]
fn a_base_stays_in_force() {
    let image = sound(&[
        record(4, 0, &[0, 2]),
        data(0, &[1]),
        data(0x10, &[2]),
        record(5, 0, &[0, 0, 0, 0]),
        data(0x20, &[3]),
    ]);
    let at: Vec<u64> = image.spans().iter().map(|s| s.start()).collect();
    assert_eq!(at, [0x2_0000, 0x2_0010, 0x2_0020]);
}

#[test]
fn bases_of_both_kinds_replace_each_other() {
    let image = sound(&[
        record(4, 0, &[0x00, 0x05]),
        record(2, 0, &[0x10, 0x00]),
        data(0xFFFF, &[1, 2]),
        record(4, 0, &[0x00, 0x03]),
        data(0xFFFF, &[3, 4]),
    ]);
    let wanted = [
        (0x1_0000, vec![2]),
        (0x1_FFFF, vec![1]),
        (0x3_FFFF, vec![3, 4]),
    ];
    assert_eq!(spans(&image), wanted);
}

#[test]
fn a_first_04_record_with_0000_changes_nothing() {
    let image = sound(&[":020000040000FA\n".into(), data(0x10, &[1])]);
    assert_eq!(spans(&image), [(0x10, vec![1])]);
}

#[test]
fn addresses_that_count_words_are_multiplied() {
    let how = ReadOptions {
        unit: 2,
        ..ReadOptions::default()
    };
    let text = data(0x10, &[1, 2, 3, 4])
        + &record(2, 0, &[0x10, 0x00])
        + &data(0xFFFF, &[5, 6, 7, 8])
        + &record(4, 0, &[0x00, 0x02])
        + &data(0x8000, &[9, 10])
        + &record(5, 0, &[0, 1, 0, 0])
        + END;
    let image = read_with(&IntelHex, text, &how).clean();
    let wanted = [
        (0x20, vec![1, 2, 3, 4]),
        // The word behind the segment's last is its first.
        (0x2_0000, vec![7, 8]),
        (0x3_FFFE, vec![5, 6]),
        (0x5_0000, vec![9, 10]),
    ];
    assert_eq!(spans(&image), wanted);
    assert_eq!(image.entry, Some(Entry::Linear(0x2_0000)));
}

// Entry points

#[test]
fn records_03_and_05_carry_the_entry_point_wherever_they_stand() {
    let cs_ip = record(3, 0, &[0xF0, 0x00, 0xFF, 0xF0]);
    let eip = record(5, 0, &[0x00, 0x01, 0x80, 0x00]);
    let entry = Entry::Segmented {
        cs: 0xF000,
        ip: 0xFFF0,
    };
    for (start, entry) in [(cs_ip, entry), (eip, Entry::Linear(0x1_8000))] {
        let (one, two) = (data(0, &[1]), data(1, &[2]));
        for order in [
            [&start, &one, &two],
            [&one, &start, &two],
            [&one, &two, &start],
        ] {
            let image = sound(&order.map(Clone::clone));
            assert_eq!(image.entry, Some(entry));
            assert_eq!(spans(&image), [(0, vec![1, 2])]);
        }
    }
}

#[test]
fn of_two_different_entry_points_the_first_is_kept_with_a_warning() {
    let text = record(5, 0, &[0, 0, 0x12, 0x34]) + ":040000050000800077\n" + END;
    let (image, warning) = read(&IntelHex, &text).one_warning();
    assert_eq!(image.entry, Some(Entry::Linear(0x1234)));
    let problem = Problem::SecondEntry {
        kept: 0x1234,
        other: 0x8000,
    };
    let wanted = seen(2, 1, ":040000050000800077", problem);
    assert_eq!(warning, wanted);
    assert_eq!(strict_only(&text), wanted);
}

#[test]
fn the_same_entry_point_twice_is_nothing_to_speak_of() {
    let text = record(3, 0, &[0x08, 0, 0, 0]) + &record(5, 0, &[0, 0, 0x80, 0]) + END;
    let image = read_strictly(&IntelHex, text).clean();
    assert_eq!(image.entry.map(Entry::address), Some(0x8000));
}

// Accepted by default

#[test]
fn line_ends_of_every_kind_and_blank_lines_are_fine() {
    let text = data(0, &[1]) + &data(1, &[2]) + "\n" + &data(2, &[3]) + END;
    for end in ["\n", "\r\n", "\r"] {
        let image = read(&IntelHex, text.replace('\n', end)).clean();
        assert_eq!(spans(&image), [(0, vec![1, 2, 3])], "{end:?}");
        assert_eq!(image.origin_at(2).unwrap().line, Some(4), "{end:?}");
    }
    let unfinished = text.trim_end();
    assert_eq!(read(&IntelHex, unfinished).clean().len(), 3);
}

#[test]
fn lower_case_is_fine_and_refused_under_strict() {
    let text = ":01000000ab54\n:00000001ff\n";
    assert_eq!(spans(&read(&IntelHex, text).clean()), [(0, vec![0xAB])]);
    let what = "a letter in lower case";
    let problem = Problem::Untidy { what };
    let errors = read_strictly(&IntelHex, text).errors();
    let wanted = [seen(1, 10, "a", problem.clone()), seen(2, 10, "f", problem)];
    assert_eq!(errors, wanted);
}

#[test]
fn blanks_around_a_record_are_fine_and_refused_under_strict() {
    let what = "something stands before the record";
    let wanted = seen(1, 1, " \t", Problem::Untidy { what });
    assert_eq!(strict_only(" \t:01000000AA55\n:00000001FF\n"), wanted);
    let what = "something stands behind the record";
    let wanted = seen(1, 14, "  ", Problem::Untidy { what });
    assert_eq!(strict_only(":01000000AA55  \n:00000001FF\n"), wanted);
}

#[test]
fn the_places_of_a_record_behind_blanks_are_right_too() {
    let error = damaged("  :01000000AA54 ");
    let problem = Problem::Checksum {
        says: 0x54,
        gives: 0x55,
        digits: 2,
    };
    assert_eq!(error, seen(2, 14, "54", problem));
}

#[test]
fn trailing_1a_and_nuls_are_fine_however_many() {
    for tail in ["\x1A", "\0\0\0", "\x1A\x1A\n", " \x1A\0\r\n\0"] {
        let image = read(&IntelHex, format!("{HEX_TEXT}{tail}")).clean();
        assert_eq!(image.len(), 1, "{tail:?}");
        // Nor do they count as an end record.
        let reading = read(&IntelHex, data(0, &[1]) + tail);
        let example = ":00000001FF";
        let (_, warning) = reading.one_warning();
        assert_eq!(warning, seen(0, 0, "", Problem::NoEnd { example }));
    }
    let long = format!("{HEX_TEXT}{}", "\0".repeat(1_000_000));
    assert_eq!(read(&IntelHex, long).clean().len(), 1);
    let long = format!(":01000000AA55{}\n{END}", "\x1A".repeat(1_000_000));
    assert_eq!(read(&IntelHex, long).clean().len(), 1);
}

const HEX_TEXT: &str = ":01000000AA55\n:00000001FF\n";

#[test]
fn padding_between_records_is_refused_under_strict() {
    let what = "bytes 1A or 00 between or behind the records";
    let wanted = seen(2, 1, "\x1A", Problem::Untidy { what });
    assert_eq!(strict_only(":01000000AA55\n\x1A\n:00000001FF\n"), wanted);
}

#[test]
fn no_end_record_is_a_warning() {
    let text = data(0, &[1]);
    let example = ":00000001FF";
    let wanted = seen(0, 0, "", Problem::NoEnd { example });
    let (image, warning) = read(&IntelHex, &text).one_warning();
    assert_eq!(warning, wanted);
    assert_eq!(image.len(), 1);
    assert_eq!(strict_only(&text), wanted);
}

#[test]
fn text_behind_the_end_record_is_ignored_with_a_warning() {
    let text = format!("{HEX_TEXT}\nend of listing\nlast page\n");
    let problem = Problem::AfterEnd {
        lines: 2,
        records: 0,
    };
    let wanted = seen(4, 1, "end of listing", problem);
    let (image, warning) = read(&IntelHex, &text).one_warning();
    assert_eq!(warning, wanted);
    assert_eq!(image.len(), 1);
    assert_eq!(strict_only(&text), wanted);
}

#[test]
fn sound_records_behind_the_end_record_are_not_read_and_counted() {
    let text = format!("{HEX_TEXT}{}{END}junk\n", data(0x100, &[1]));
    let problem = Problem::AfterEnd {
        lines: 3,
        records: 2,
    };
    let (image, warning) = read(&IntelHex, text).one_warning();
    assert_eq!(warning, seen(3, 1, ":0101000001FD", problem));
    assert_eq!(spans(&image), [(0, vec![0xAA])]);
}

#[test]
fn an_end_record_with_an_address_carries_the_entry_point_as_in_the_8080s_time() {
    let text = data(0x100, &[1]) + ":00010001FE\n";
    let problem = Problem::EndWithAddress { address: 0x100 };
    let wanted = seen(2, 4, "0100", problem);
    let (image, warning) = read(&IntelHex, &text).one_warning();
    assert_eq!(warning, wanted);
    assert_eq!(image.entry, Some(Entry::Linear(0x100)));
    assert_eq!(strict_only(&text), wanted);
}

#[test]
fn an_empty_data_record_ends_a_file_as_in_the_8080s_time() {
    let text = data(0x100, &[1]) + ":00010000FF\n";
    let wanted = seen(2, 1, ":00010000FF", Problem::EmptyEnd);
    let (image, warning) = read(&IntelHex, &text).one_warning();
    assert_eq!(warning, wanted);
    assert_eq!(image.entry, Some(Entry::Linear(0x100)));
    assert_eq!(strict_only(&text), wanted);

    let (image, _) = read(&IntelHex, data(0x100, &[1]) + ":0000000000\n\x1A").one_warning();
    assert_eq!(image.entry, None);
}

#[test]
fn an_empty_data_record_in_the_middle_ends_nothing() {
    let image = sound(&[data(0, &[1]), data(5, &[]), data(1, &[2])]);
    assert_eq!(spans(&image), [(0, vec![1, 2])]);
    assert_eq!(image.entry, None);
}

#[test]
fn an_address_in_a_record_that_has_none_is_a_warning() {
    let text = ":020001020000FB\n:00000001FF\n";
    let what = "02 (segment address)";
    let wanted = seen(1, 4, "0001", Problem::AddressNotZero { what });
    assert_eq!(read(&IntelHex, text).one_warning().1, wanted);
    assert_eq!(strict_only(text), wanted);
}

// Refused always

#[test]
fn a_wrong_checksum_is_refused() {
    let problem = Problem::Checksum {
        says: 0x54,
        gives: 0x55,
        digits: 2,
    };
    assert_eq!(damaged(":01000000AA54"), seen(2, 12, "54", problem));
}

#[test]
fn a_record_shorter_than_its_length_field_is_refused() {
    let problem = Problem::Length { says: 4, has: 2 };
    assert_eq!(damaged(":04000000AABB97"), seen(2, 2, "04", problem));
}

#[test]
fn a_record_longer_than_its_length_field_is_refused() {
    let problem = Problem::Length { says: 1, has: 2 };
    assert_eq!(damaged(":01000000AABB9A"), seen(2, 2, "01", problem));
    // Two records whose line end was lost: the sum alone would let this pass.
    let problem = Problem::Length { says: 1, has: 7 };
    let joined = data(0, &[1]).trim_end().to_owned() + data(1, &[2])[1..].trim_end();
    assert_eq!(damaged(joined), seen(2, 2, "01", problem));
}

#[test]
fn a_record_without_its_fixed_part_is_refused() {
    for (line, digits) in [(":", 0), (":00", 2), (":00000000", 8)] {
        let problem = Problem::TooShort { least: 10, digits };
        assert_eq!(damaged(line), seen(2, 2, &line[1..], problem), "{line}");
    }
}

#[test]
fn an_unknown_record_type_is_refused() {
    let known = "00 to 05";
    let problem = Problem::UnknownType { known };
    assert_eq!(damaged(":00000006FA"), seen(2, 8, "06", problem.clone()));
    assert_eq!(damaged(":000000FF01"), seen(2, 8, "FF", problem));
}

#[test]
fn records_of_fixed_length_have_it() {
    for (kind, what, wanted) in [
        (1, "01 (end of file)", 0),
        (2, "02 (segment address)", 2),
        (3, "03 (start segment address)", 4),
        (4, "04 (linear address)", 2),
        (5, "05 (start linear address)", 4),
    ] {
        let line = record(kind, 0, &[0; 3]);
        let problem = Problem::FixedLength {
            what,
            wanted,
            has: 3,
        };
        let text = line + HEX_TEXT;
        let reading = read(&IntelHex, text);
        // Not even the end record has an effect then: what follows is read.
        assert_eq!(reading.image.len(), 1);
        let error = reading.errors().remove(0);
        assert_eq!(error, seen(1, 2, "03", problem));
    }
}

#[test]
fn an_odd_digit_is_refused() {
    let problem = Problem::OddDigits { digits: 11 };
    assert_eq!(damaged(":01000000AA5"), seen(2, 12, "5", problem));
}

#[test]
fn what_is_no_hex_digit_is_refused() {
    assert_eq!(damaged(":01000000AG55"), seen(2, 11, "G", Problem::NotHex));
    assert_eq!(damaged(":0100 0000AA55"), seen(2, 6, " ", Problem::NotHex));
    // The neighbours of the digits and letters in ASCII, and what a mask of upper bits would let pass.
    for wrong in ["/", ":", "@", "g", "`", "\u{10}", "Ａ"] {
        let line = format!(":01000000A{wrong}55");
        assert_eq!(damaged(line), seen(2, 11, wrong, Problem::NotHex));
    }
}

#[test]
fn a_sign_is_no_hex_digit() {
    assert_eq!(damaged(":01000000+5FA"), seen(2, 10, "+", Problem::NotHex));
    assert_eq!(damaged(":+1000000AA55"), seen(2, 2, "+", Problem::NotHex));
}

#[test]
fn a_line_that_is_no_record_is_refused() {
    let problem = Problem::NoMark { expected: ':' };
    assert_eq!(damaged("; monitor"), seen(2, 1, ";", problem.clone()));
    assert_eq!(damaged("  0100"), seen(2, 3, "0", problem.clone()));
    assert_eq!(damaged("é:0100"), seen(2, 1, "é", problem));
}

#[test]
fn characters_of_several_bytes_count_as_one_column_and_are_marked_whole() {
    assert_eq!(damaged(":0100é000AA55"), seen(2, 6, "é", Problem::NotHex));
    assert_eq!(damaged(":01€😀55"), seen(2, 4, "€", Problem::NotHex));
    let mut latin = b":0100".to_vec();
    latin.extend(b"\xE9000AA55");
    let (line, column, marked, problem) = damaged(latin);
    assert_eq!((line, column, problem), (2, 6, Problem::NotHex));
    assert_eq!(marked, "[E9]");
}

#[test]
fn a_line_longer_than_any_record_is_refused() {
    let problem = Problem::LongLine {
        length: 523,
        most: 521,
    };
    let line = format!(":{}", "0".repeat(522));
    assert_eq!(damaged(line), seen(2, 522, "00", problem));
}

#[test]
fn a_line_of_10_mb_is_one_error_and_reading_goes_on() {
    let line = format!(":{}", "0".repeat(10_000_000));
    let (line, column, _, problem) = damaged(line);
    assert_eq!((line, column), (2, 522));
    let length = 10_000_001;
    assert_eq!(problem, Problem::LongLine { length, most: 521 });
}

#[test]
fn a_sound_record_at_the_beginning_of_an_endless_line_does_not_hide_the_rest() {
    for blanks in [100_000, 300_000] {
        let line = format!(":01000000AA55{}:0101000001FD", " ".repeat(blanks));
        let length = line.len() as u64;
        let (_, _, _, problem) = damaged(line);
        assert_eq!(problem, Problem::LongLine { length, most: 521 });
    }
}

#[test]
fn files_without_a_record_say_that_there_is_no_data() {
    let wanted = seen(0, 0, "", Problem::NoData);
    for text in [vec![], vec![0; 100], vec![0; 1_000_000], b"\n\n".to_vec()] {
        let reading = read(&IntelHex, text);
        assert!(reading.image.is_empty());
        assert_eq!(reading.one_error(), wanted);
    }
}

#[test]
fn every_damaged_line_is_reported_and_every_sound_one_read() {
    let text = format!("x\n{}:0\n{}:\n{END}", data(0, &[1]), data(8, &[2]));
    let reading = read(&IntelHex, text);
    let lines: Vec<u64> = reading.errors().iter().map(|e| e.0).collect();
    assert_eq!(lines, [1, 3, 5]);
    assert_eq!(reading.image.len(), 2);
}

// Clashes

fn clashing(second: &[u8], clash: Clash) -> Reading {
    let how = ReadOptions {
        clash,
        ..ReadOptions::default()
    };
    let text = data(0x100, &[1, 2, 3, 4]) + &data(0x200, &[7]) + &data(0x102, second) + END;
    read_with(&IntelHex, text, &how)
}

#[test]
fn a_data_clash_is_refused_and_names_both_lines() {
    for clash in [Clash::Refuse, Clash::Same] {
        let (line, _, _, problem) = clashing(&[3, 9, 5], clash).one_error();
        assert_eq!(line, 0);
        let Problem::Overlap(overlap) = &problem else {
            panic!("{problem:?}")
        };
        assert_eq!(overlap.earlier.0.line, Some(1));
        assert_eq!(overlap.later.0.line, Some(3));
        assert_eq!(
            problem.label(),
            "0x0102 is wanted twice: a.hex line 1 puts 03 there, a.hex line 3 puts 03; \
             2 bytes overlap, 1 of them different, the first at 0x0103"
        );
    }
}

#[test]
fn equal_bytes_may_come_twice_where_same_is_asked_for() {
    let image = clashing(&[3, 4, 5], Clash::Same).clean();
    let wanted = [(0x100, vec![1, 2, 3, 4, 5]), (0x200, vec![7])];
    assert_eq!(spans(&image), wanted);
    let (_, _, _, problem) = clashing(&[3, 4, 5], Clash::Refuse).one_error();
    assert!(matches!(problem, Problem::Overlap(_)));
}

#[test]
fn the_first_or_the_last_record_wins_where_asked_for() {
    let first = clashing(&[8, 9, 5], Clash::First).clean();
    assert_eq!(spans(&first)[0], (0x100, vec![1, 2, 3, 4, 5]));
    let last = clashing(&[8, 9, 5], Clash::Last).clean();
    assert_eq!(spans(&last)[0], (0x100, vec![1, 2, 8, 9, 5]));
    assert_eq!(last.origin_at(0x101).unwrap().line, Some(1));
    assert_eq!(last.origin_at(0x102).unwrap().line, Some(3));
}

#[test]
fn what_wrapped_to_the_segments_beginning_clashes_with_what_stands_there() {
    let text = record(2, 0, &[0x10, 0]) + &data(0xFFFF, &[1, 2]) + &data(0, &[3]) + END;
    let (_, _, _, problem) = read(&IntelHex, text).one_error();
    let Problem::Overlap(overlap) = problem else {
        panic!("{problem:?}")
    };
    assert_eq!(overlap.address, 0x1_0000);
    assert_eq!(overlap.earlier.0.line, Some(2));
    assert_eq!(overlap.later.0.line, Some(3));
}

// Writing

fn in_form(address: AddressForm) -> WriteOptions {
    WriteOptions {
        address,
        ..WriteOptions::default()
    }
}

#[test]
fn the_smallest_form_that_holds_the_addresses_is_written() {
    for (last, form) in [
        (0xFFFF, "I8HEX"),
        (0x1_0000, "I16HEX"),
        (0xF_FFFF, "I16HEX"),
        (0x10_0000, "I32HEX"),
        (0xFFFF_FFFF, "I32HEX"),
    ] {
        let image = image(&[(last - 1, &[1, 2])]);
        let (text, how) = written(&IntelHex, &image, &WriteOptions::default());
        assert_eq!(how.form, Some(form));
        assert_eq!(
            spans(&read_strictly(&IntelHex, text).clean()),
            spans(&image)
        );
    }
}

#[test]
fn addresses_beyond_the_form_are_refused() {
    for (form, name, last) in [
        (AddressForm::Bits16, "I8HEX", 0x1_0000),
        (AddressForm::Bits20, "I16HEX", 0x10_0000),
        (AddressForm::Bits32, "I32HEX", 0x1_0000_0000),
        (AddressForm::Smallest, "I32HEX", 0x1_0000_0000),
    ] {
        let image = image(&[(last - 1, &[1, 2])]);
        match refused(&IntelHex, &image, &in_form(form)) {
            WriteError::AddressTooLarge {
                form,
                last: l,
                limit,
                ..
            } => {
                assert_eq!((form, l, limit), (name, last, last - 1));
            }
            other => panic!("{other}"),
        }
    }
    let error = refused(
        &IntelHex,
        &image(&[(0x1_0000, &[1])]),
        &in_form(AddressForm::Bits16),
    );
    assert_eq!(
        error.to_string(),
        "the image reaches 0x10000, and I8HEX addresses end at 0xFFFF"
    );
}

#[test]
fn there_is_no_24_bit_form() {
    let error = refused(
        &IntelHex,
        &image(&[(0, &[1])]),
        &in_form(AddressForm::Bits24),
    );
    assert_eq!(
        error.to_string(),
        "intel-hex has no 24-bit addresses; it has 16 (I8HEX), 20 (I16HEX) and 32 (I32HEX)"
    );
}

#[test]
fn i16hex_sets_a_segment_for_each_64k_and_cuts_records_there() {
    let image = image(&[(0xFFFE, &[1, 2, 3, 4])]);
    let (text, _) = written(&IntelHex, &image, &in_form(AddressForm::Bits20));
    let wanted =
        ":020000020000FC\n:02FFFE000102FE\n:020000021000EC\n:020000000304F7\n:00000001FF\n";
    assert_eq!(text, wanted);
}

#[test]
fn i32hex_sets_a_base_for_each_64k_and_cuts_records_there() {
    let image = image(&[(0xFFFE, &[1, 2, 3, 4]), (0x3_0000, &[5])]);
    let (text, _) = written(&IntelHex, &image, &in_form(AddressForm::Bits32));
    let wanted = ":020000040000FA\n:02FFFE000102FE\n:020000040001F9\n:020000000304F7\n\
                  :020000040003F7\n:0100000005FA\n:00000001FF\n";
    assert_eq!(text, wanted);
}

#[test]
fn i8hex_has_no_base_records_and_holes_start_a_new_record() {
    let image = image(&[(0, &[1; 17]), (0x20, &[2])]);
    let (text, _) = written(&IntelHex, &image, &WriteOptions::default());
    let wanted = data(0, &[1; 16]) + &data(16, &[1]) + &data(0x20, &[2]) + END;
    assert_eq!(text, wanted);
}

#[test]
fn records_are_as_wide_as_asked_for() {
    let image = image(&[(0, &[0xA5; 600])]);
    for width in [1, 7, 32, 255] {
        let how = WriteOptions {
            width: Some(width),
            ..WriteOptions::default()
        };
        let (text, _) = written(&IntelHex, &image, &how);
        let chunks = vec![0xA5; 600];
        let wanted: String = (chunks.chunks(width.into()).enumerate())
            .map(|(i, bytes)| data(i as u16 * width, bytes))
            .collect();
        assert_eq!(text, wanted + END);
    }
    for width in [0, 256, u16::MAX] {
        let how = WriteOptions {
            width: Some(width),
            ..WriteOptions::default()
        };
        match refused(&IntelHex, &image, &how) {
            WriteError::Width { most: 255, .. } => {}
            other => panic!("{other}"),
        }
    }
}

#[test]
fn lines_end_in_cr_lf_where_asked_for() {
    let how = WriteOptions {
        crlf: true,
        ..WriteOptions::default()
    };
    let (text, _) = written(&IntelHex, &image(&[(0, &[0xAA])]), &how);
    assert_eq!(text, HEX_TEXT.replace('\n', "\r\n"));
}

#[test]
fn the_entry_point_is_written_in_the_record_of_its_form() {
    let mut image = image(&[(0, &[1])]);
    let segmented = Entry::Segmented { cs: 0xFFFF, ip: 0 };
    for (form, entry, line) in [
        (
            AddressForm::Bits20,
            Entry::Linear(0x1_2345),
            ":040000031000234581".to_owned(),
        ),
        (
            AddressForm::Bits32,
            Entry::Linear(0x1234_5678),
            ":0400000512345678E3".into(),
        ),
        (AddressForm::Bits20, segmented, ":04000003FFFF0000FB".into()),
        (AddressForm::Bits32, segmented, ":04000003FFFF0000FB".into()),
    ] {
        image.entry = Some(entry);
        let (text, how) = written(&IntelHex, &image, &in_form(form));
        assert!(text.contains(&format!("{line}\n")), "{text} {line}");
        assert!(how.left_out.is_empty());
        let again = read_strictly(&IntelHex, text).clean();
        assert_eq!(again.entry.map(Entry::address), Some(entry.address()));
    }
}

#[test]
fn i8hex_carries_no_entry_point_and_says_so() {
    let mut image = image(&[(0, &[0xAA])]);
    image.entry = Some(Entry::Linear(0x8000));
    let (text, how) = written(&IntelHex, &image, &WriteOptions::default());
    assert_eq!(text, HEX_TEXT);
    assert_eq!(how.left_out.len(), 1);
    assert!(
        how.left_out[0].to_string().contains("0x8000"),
        "{:?}",
        how.left_out
    );
    // Nothing is lost where there is none, or none but 0.
    for entry in [None, Some(Entry::Linear(0))] {
        image.entry = entry;
        let (_, how) = written(&IntelHex, &image, &WriteOptions::default());
        assert_eq!(how.left_out, []);
    }
}

#[test]
fn an_entry_point_beyond_the_form_is_refused() {
    for (form, name, limit) in [
        (AddressForm::Bits20, "I16HEX", 0xF_FFFF),
        (AddressForm::Bits32, "I32HEX", 0xFFFF_FFFF),
    ] {
        let how = WriteOptions {
            entry: EntryChoice::At(limit + 1),
            ..in_form(form)
        };
        let some = image(&[(0, &[1])]);
        let last = WriteOptions {
            entry: EntryChoice::At(limit),
            ..how.clone()
        };
        let (text, _) = written(&IntelHex, &some, &last);
        let entry = read(&IntelHex, text).clean().entry;
        assert_eq!(entry.map(Entry::address), Some(limit));
        match refused(&IntelHex, &some, &how) {
            WriteError::EntryTooLarge {
                form,
                entry,
                limit: l,
            } => {
                assert_eq!((form, entry, l), (name, limit + 1, limit));
            }
            other => panic!("{other}"),
        }
    }
}

#[test]
fn another_entry_point_or_none_is_written_where_asked_for() {
    let mut image = image(&[(0, &[1])]);
    image.entry = Some(Entry::Linear(0x8000));
    let with = |entry| WriteOptions {
        entry,
        ..in_form(AddressForm::Bits32)
    };
    let (text, _) = written(&IntelHex, &image, &with(EntryChoice::At(0x10)));
    let again = read_strictly(&IntelHex, text).clean();
    assert_eq!(again.entry, Some(Entry::Linear(0x10)));
    let (text, _) = written(&IntelHex, &image, &with(EntryChoice::None));
    assert_eq!(read_strictly(&IntelHex, text).clean().entry, None);
}

#[test]
fn the_form_is_told_by_the_kinds_of_records() {
    let form = |records: &[String]| read(&IntelHex, records.concat() + END).findings.facts.form;
    let (segment, linear) = (record(2, 0, &[0x10, 0]), record(4, 0, &[0, 1]));
    let (cs_ip, eip) = (record(3, 0, &[0, 0, 1, 0]), record(5, 0, &[0, 0, 1, 0]));
    let some = data(0, &[1]);
    assert_eq!(form(std::slice::from_ref(&some)), Some("I8HEX"));
    for (record, name) in [
        (&segment, "I16HEX"),
        (&cs_ip, "I16HEX"),
        (&linear, "I32HEX"),
        (&eip, "I32HEX"),
    ] {
        assert_eq!(
            form(&[record.clone(), some.clone()]),
            Some(name),
            "{record}"
        );
    }
    let all = [segment, some, cs_ip, linear, eip];
    assert_eq!(form(&all), Some("I16HEX and I32HEX mixed"));
    let others = read(&IntelHex, all.concat() + END).findings.facts.others;
    let counted: Vec<(&str, u64)> = others.iter().map(|(kind, n)| (&kind[..2], *n)).collect();
    assert_eq!(
        counted,
        [("02", 1), ("03", 1), ("04", 1), ("05", 1), ("01", 1)]
    );
}

#[test]
fn a_base_is_written_once_for_all_records_that_it_serves() {
    for (form, kind) in [(AddressForm::Bits20, "02"), (AddressForm::Bits32, "04")] {
        let image = image(&[(0x1_0000, &[1; 48]), (0x1_8000, &[2; 48])]);
        let (text, _) = written(&IntelHex, &image, &in_form(form));
        let bases = text.lines().filter(|line| &line[7..9] == kind);
        assert_eq!(bases.count(), 1, "{text}");
    }
}

#[test]
fn a_damaged_record_still_looks_like_one() {
    let looks = |bytes: &[u8]| IntelHex.likeness(&Head { bytes, whole: true });
    assert_eq!(looks(b":01000000AA55\n"), Likeness::Proven);
    for line in [":01000000AA54\n", ":01000000Ax55\n", ":0100000000x\n"] {
        assert_eq!(looks(line.as_bytes()), Likeness::Likely, "{line}");
    }
    for line in [
        ":0100000xAA55\n",
        "01000000AA55AA55\n",
        ":010000000\n",
        ";01000000AA55\n",
    ] {
        assert_eq!(looks(line.as_bytes()), Likeness::Possible, "{line}");
    }
}

// Salvage

#[test]
fn a_damaged_record_is_no_base_only_where_one_damage_could_not_have_made_it_of_one() {
    for (text, why) in [
        (":020000040001F8", "a base record with another checksum"),
        (":0200000400F9", "two digits short"),
        (":02000004000001F9A", "two characters too many"),
        (
            ":0200000012347A",
            "a digit short: not even its length tells",
        ),
        (":03000004112233F4", "three bytes in a base record's type"),
        (":030000001122337", "a digit short of its length"),
        (":0x00000411223344556677", "a length that can't be read"),
        (":02000004112233445566", "length and type of a base record"),
        (
            ":0x00000x11223344556677",
            "neither length nor type can be read",
        ),
        (
            ":020000x4zzzzzzzzzzzzz",
            "a mark in front of much that is no digit",
        ),
        (
            "0x20000x4z0000000000",
            "three characters that are no digits: the mark is lost",
        ),
    ] {
        assert!(super::may_be_base(text.as_bytes()), "{text}: {why}");
    }
    for (text, why) in [
        (":0300000011223398", "sound data but for its checksum"),
        (":03000000112X3397", "data with one wrong digit"),
        (
            ":0300000011223397A",
            "a character too many, and its length is not 02",
        ),
        (":040000041122334455", "too long, and its length is not 02"),
        (":0x00000011223344556677", "too long, and its type is 00"),
        (":02000000112233445566", "too long, and its type is 00"),
        ("; made by hand, no record", "a remark"),
        (
            "0x20000x4zz000000000",
            "four characters that are no digits, and no mark",
        ),
    ] {
        assert!(!super::may_be_base(text.as_bytes()), "{text}: {why}");
    }
}

#[test]
fn the_longest_record_may_have_blanks_behind_it() {
    let longest = data(0x100, &[0x5A; 255]);
    let longest = longest.trim_end();
    let damaged_one = longest.replacen("5A", "5B", 1);
    for blanks in [0, 1, 600] {
        let line = format!("{damaged_one}{}", " ".repeat(blanks));
        let (_, column, _, problem) = damaged(line);
        assert_eq!(column, longest.len() as u64 - 1);
        assert!(matches!(problem, Problem::Checksum { .. }), "{problem:?}");
    }
    let (_, column, _, problem) = damaged(format!("{longest}0"));
    assert_eq!(column, longest.len() as u64 + 1);
    let problem_of_length = Problem::LongLine {
        length: 522,
        most: 521,
    };
    assert_eq!(problem, problem_of_length);
}

#[test]
fn a_damaged_data_record_covers_what_its_digits_say_where_something_speaks_for_them() {
    let covers = |base: super::Base, unit: u64, text: &str| {
        let mut findings = Findings::new("a".into(), Strictness::Salvage);
        let mut builder = Builder::new(Source::File("a".into()));
        builder.push(0x100, &[1; 16], 1).unwrap();
        let reader = super::Reader {
            findings: &mut findings,
            builder,
            base,
            unit,
            entry: None,
            empty_record: None,
            lost: None,
            kinds: [false; 2],
            any: true,
            ended: false,
        };
        let range = reader.covered_by(text.as_bytes());
        range.map(|range| (range.first(), range.last()))
    };
    let flat = super::Base::Linear(0);
    let whole = ":0402000011223344FF";
    assert_eq!(covers(flat, 1, whole), Some((0x200, 0x203)));
    let goes_on = ":100110001122";
    assert_eq!(covers(flat, 1, goes_on), Some((0x110, 0x11F)));
    assert_eq!(
        covers(flat, 1, ":100120001122"),
        None,
        "nothing speaks for it"
    );
    assert_eq!(
        covers(flat, 1, ":0402000111223344FF"),
        None,
        "no data record"
    );
    assert_eq!(covers(flat, 1, ":0001100000"), None, "no bytes");
    assert_eq!(covers(flat, 1, ":0x02000011223344FF"), None, "no length");
    assert_eq!(covers(super::Base::Unknown, 1, whole), None, "no base");
    // Offsets count words; the record before ends at byte 0x10F, which is the end of word 0x87.
    assert_eq!(covers(flat, 2, whole), Some((0x400, 0x403)));
    assert_eq!(covers(flat, 2, ":100088001122"), Some((0x110, 0x11F)));
    assert_eq!(covers(flat, 2, goes_on), None);
    // In a segment it ends with the 64K: 2 addresses are left.
    let segment = || super::Base::Segment(0x1_0000);
    let last = ":08FFFE001122334455667788FF";
    assert_eq!(covers(segment(), 1, last), Some((0x1_FFFE, 0x1_FFFF)));
    assert_eq!(covers(segment(), 2, last), Some((0x3_FFFC, 0x3_FFFF)));
}
