//! Writing.

use super::*;

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
    let looks = |bytes: &[u8]| SRecords.likeness(&Head::new(bytes, true));
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
