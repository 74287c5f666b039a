//! Records, bases and entry points as the rules have them.

use super::*;

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
        // The word after the segment's last is its first.
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
