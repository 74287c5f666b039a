//! The texts are compared here letter for letter and parsed; that compilers take them is shown by
//! `tests/it/source_text.rs`.

use super::*;
use crate::formats::tests::*;
use crate::image::Entry;

const ALL: [&SourceText; 3] = [&C_BYTES, &RUST_BYTES, &ASM_BYTES];

fn named(name: &str) -> WriteOptions {
    WriteOptions {
        name: Some(name.into()),
        ..WriteOptions::default()
    }
}

fn monitor() -> Image {
    image(&[(0x8000, b"\xA9\x00HERON 8")])
}

#[test]
fn c_text_is_a_sized_array_with_an_address_on_each_line() {
    let (text, _) = written(&C_BYTES, &monitor(), &named("monitor"));
    assert_eq!(
        text,
        "const unsigned char monitor[9] = {\n    \
         0xA9, 0x00, 0x48, 0x45, 0x52, 0x4F, 0x4E, 0x20, /* 8000 */\n    \
         0x38, /* 8008 */\n\
         };\n"
    );
}

#[test]
fn rust_text_is_a_sized_array_with_an_address_on_each_line() {
    let (text, _) = written(&RUST_BYTES, &monitor(), &named("MONITOR"));
    assert_eq!(
        text,
        "#[rustfmt::skip]\n\
         pub static MONITOR: [u8; 9] = [\n    \
         0xA9, 0x00, 0x48, 0x45, 0x52, 0x4F, 0x4E, 0x20, // 8000\n    \
         0x38, // 8008\n\
         ];\n"
    );
    let (text, _) = written(&RUST_BYTES, &monitor(), &named("monitor"));
    assert!(text.contains("#[allow(non_upper_case_globals)]\n"));
}

#[test]
fn assembler_text_is_a_size_and_lines_of_bytes_with_addresses() {
    let (text, _) = written(&ASM_BYTES, &monitor(), &named("monitor"));
    assert_eq!(
        text,
        "monitor_size = 9\n\
         monitor:\n    \
         .byte $A9, $00, $48, $45, $52, $4F, $4E, $20 ; 8000\n    \
         .byte $38 ; 8008\n"
    );
}

#[test]
fn every_byte_value_stands_in_the_text_in_order() {
    let all: Vec<u8> = (0..=255).collect();
    for format in ALL {
        for width in [None, Some(1), Some(7), Some(255)] {
            let how = WriteOptions {
                width,
                ..named("all_bytes")
            };
            let (text, _) = written(format, &image(&[(0xFFF8, &all)]), &how);
            let mark = if text.contains('$') { "$" } else { "0x" };
            let values: Vec<u8> = text
                .split(mark)
                .skip(1)
                .map(|t| u8::from_str_radix(&t[..2], 16).unwrap())
                .collect();
            assert_eq!(values, all, "{}", format.name());
            assert!(text.contains("256"));
        }
    }
}

#[test]
fn line_ends_are_as_asked() {
    for format in ALL {
        let how = WriteOptions {
            crlf: true,
            ..named("rom")
        };
        let (text, _) = written(format, &monitor(), &how);
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        let (plain, _) = written(format, &monitor(), &named("rom"));
        assert_eq!(text.replace("\r\n", "\n"), plain);
    }
}

#[test]
fn the_name_is_required() {
    for format in ALL {
        let error = refused(format, &monitor(), &WriteOptions::default());
        let wanted = format!("{} needs a name for its array", format.name());
        assert_eq!(error.to_string(), wanted);
    }
}

#[test]
fn what_is_no_identifier_is_refused() {
    for format in ALL {
        for name in ["", "8bit", "my rom", "rom-1", "rom\n", "röm", "a;b", "x{y"] {
            let error = refused(format, &monitor(), &named(name));
            assert!(matches!(error, WriteError::BadName { .. }), "{name:?}");
        }
        for name in ["rom", "ROM_2", "_rom", "r2d"] {
            written(format, &monitor(), &named(name));
        }
    }
}

#[test]
fn keywords_and_reserved_names_of_each_language_are_refused() {
    for (format, names) in [
        (
            &C_BYTES,
            &["char", "static", "nullptr", "__rom", "_Bool"][..],
        ),
        (&RUST_BYTES, &["static", "Self", "gen", "_"]),
        (&ASM_BYTES, &["a", "X"]),
    ] {
        for name in names {
            let error = refused(format, &monitor(), &named(name));
            assert!(matches!(error, WriteError::BadName { .. }), "{name}");
        }
    }
    // What is a keyword in one language may be a name in another.
    written(&C_BYTES, &monitor(), &named("fn"));
    written(&RUST_BYTES, &monitor(), &named("char"));
}

#[test]
fn a_hole_is_refused_and_named() {
    for format in ALL {
        let error = refused(format, &image(&[(0, &[1]), (9, &[2])]), &named("rom"));
        let text = error.to_string();
        assert!(
            text.starts_with("0x0001-0x0008 is a hole (1 in all)"),
            "{text}"
        );
        let error = refused(format, &Image::new(), &named("rom"));
        assert!(matches!(error, WriteError::Empty));
    }
}

#[test]
fn a_line_holds_1_to_255_bytes() {
    for width in [0, 256] {
        let how = WriteOptions {
            width: Some(width),
            ..named("rom")
        };
        let error = refused(&C_BYTES, &monitor(), &how);
        assert!(matches!(error, WriteError::Width { most: 255, .. }));
    }
}

#[test]
fn text_for_source_code_is_not_read() {
    for format in ALL {
        let name = format.name();
        assert!(!format.can_read());
        let error = read(format, "const unsigned char rom[1] = {0};").one_error();
        assert_eq!(error.3, Problem::WriteOnly { format: name });
    }
}

#[test]
fn an_entry_point_has_no_place_and_that_is_said() {
    let mut image = monitor();
    image.entry = Some(Entry::Linear(0x8000));
    let (_, written) = written(&C_BYTES, &image, &named("rom"));
    assert_eq!(
        left_out(&written),
        ["a c-bytes file has no place for the entry point 0x8000"]
    );
}
