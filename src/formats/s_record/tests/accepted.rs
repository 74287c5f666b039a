//! What the rules do not have and real tools write.

use super::*;

#[test]
fn line_ends_of_every_kind_and_blank_lines_are_fine() {
    let text = s1(0, &[1]) + "\n" + &s1(1, &[2]) + S9;
    for end in ["\n", "\r\n", "\r"] {
        let image = read(&SRecords, text.replace('\n', end)).clean();
        assert_eq!(spans(&image), [(0, vec![1, 2])], "{end:?}");
        assert_eq!(image.origin_at(1).unwrap().line, Some(3), "{end:?}");
    }
}

#[test]
fn lower_case_is_fine_and_refused_under_strict() {
    let text = "s1040000ab50\ns9030000fc\n";
    assert_eq!(spans(&read(&SRecords, text).clean()), [(0, vec![0xAB])]);
    let what = "a letter in lower case";
    let problem = Problem::Untidy { what };
    let wanted = [seen(1, 1, "s", problem.clone()), seen(2, 1, "s", problem)];
    assert_eq!(read_strictly(&SRecords, text).errors(), wanted);
}

#[test]
fn what_surrounds_a_record_is_fine_and_refused_under_strict() {
    for (text, place, what) in [
        (
            format!("  {}{S9}", s1(0, &[1])),
            (1, 1, "  "),
            "there is something before the record",
        ),
        (
            format!("S104000001FA \t\n{S9}"),
            (1, 13, " \t"),
            "there is something after the record",
        ),
        (
            format!("S104000001FA\n\0\0\n{S9}"),
            (2, 1, "\0\0"),
            "bytes 1A or 00 between or after the records",
        ),
    ] {
        assert_eq!(read(&SRecords, &text).clean().len(), 1, "{text:?}");
        let wanted = seen(place.0, place.1, place.2, Problem::Untidy { what });
        assert_eq!(read_strictly(&SRecords, &text).one_error(), wanted);
    }
}

#[test]
fn trailing_1a_and_nuls_are_fine_however_many() {
    for tail in ["\x1A".to_owned(), "\0".repeat(3), "\0".repeat(500_000)] {
        let image = read(&SRecords, format!("{EXAMPLE}{tail}")).clean();
        assert_eq!(image.len(), 0x34);
    }
}

#[test]
fn no_end_record_is_a_warning_with_the_fitting_example() {
    for (text, example) in [
        (s1(0, &[1]), "S9030000FC"),
        (s2(0, &[1]), "S804000000FB"),
        (s3(0, &[1]), "S70500000000FA"),
    ] {
        let (image, warning) = odd(&text);
        assert_eq!(warning, seen(0, 0, "", Problem::NoEnd { example }));
        assert_eq!(image.entry, None);
        // The example is a record that works.
        read_strictly(&SRecords, text + example).clean();
    }
}

#[test]
fn what_stands_behind_the_end_record_is_ignored_with_a_warning() {
    let (image, warning) = odd(&format!("{EXAMPLE}\nlast page\n{}", s1(0x100, &[1])));
    let problem = Problem::AfterEnd {
        lines: 2,
        records: 1,
    };
    assert_eq!(warning, seen(8, 1, "last page", problem));
    assert_eq!(image.len(), 0x34);
}
