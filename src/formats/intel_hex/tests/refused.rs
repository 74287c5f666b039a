//! What is refused always, and clashes.

use super::*;

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
        let text = line + HEX;
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
