//! What is refused always, and clashes.

use super::*;

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
