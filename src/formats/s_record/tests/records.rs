//! Records, headers, types and counts as the rules have them.

use super::*;

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
