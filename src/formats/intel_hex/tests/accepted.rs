//! What the rules do not have and real tools write.

use super::*;

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
    let what = "there is something before the record";
    let wanted = seen(1, 1, " \t", Problem::Untidy { what });
    assert_eq!(strict_only(" \t:01000000AA55\n:00000001FF\n"), wanted);
    let what = "there is something after the record";
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
        let image = read(&IntelHex, format!("{HEX}{tail}")).clean();
        assert_eq!(image.len(), 1, "{tail:?}");
        // Nor do they count as an end record.
        let reading = read(&IntelHex, data(0, &[1]) + tail);
        let example = ":00000001FF";
        let (_, warning) = reading.one_warning();
        assert_eq!(warning, seen(0, 0, "", Problem::NoEnd { example }));
    }
    let long = format!("{HEX}{}", "\0".repeat(1_000_000));
    assert_eq!(read(&IntelHex, long).clean().len(), 1);
    let long = format!(":01000000AA55{}\n{END}", "\x1A".repeat(1_000_000));
    assert_eq!(read(&IntelHex, long).clean().len(), 1);
}

#[test]
fn padding_between_records_is_refused_under_strict() {
    let what = "bytes 1A or 00 between or after the records";
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
    let text = format!("{HEX}\nend of listing\nlast page\n");
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
    let text = format!("{HEX}{}{END}junk\n", data(0x100, &[1]));
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
