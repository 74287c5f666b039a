//! Writing.

use super::*;

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
        "the image goes up to 0x10000, but I8HEX addresses end at 0xFFFF"
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
    assert_eq!(text, HEX.replace('\n', "\r\n"));
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
    assert_eq!(text, HEX);
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
    let looks = |bytes: &[u8]| IntelHex.likeness(&Head::new(bytes, true));
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
