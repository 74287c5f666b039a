//! Lines with carets.

use insta::assert_snapshot;
use proptest::prelude::*;

use super::helpers::*;
use crate::cli::report::{Style, carets};
use crate::formats::{Findings, Input, ReadOptions, Strictness, by_name};

/// What reading these bytes shows, coloured text checked against the plain.
fn findings(format: &str, bytes: &[u8], strictness: Strictness) -> String {
    let mut findings = Findings::new("demo.hex".into(), strictness);
    let how = ReadOptions {
        strictness,
        ..ReadOptions::default()
    };
    let mut input = Input::new("demo.hex", bytes);
    let format = by_name(format).unwrap();
    format.read(&mut input, &how, &mut findings).unwrap();
    let plain = carets(&findings, Style::PLAIN);
    assert_eq!(without_colour(&carets(&findings, Style::COLOUR)), plain);
    for c in plain.chars() {
        assert!(c == '\n' || !c.is_control(), "{c:?} in {plain}");
    }
    plain
}

fn usual(bytes: &[u8]) -> String {
    findings("intel-hex", bytes, Strictness::Usual)
}

const END: &str = ":00000001FF\n";

#[test]
fn a_wrong_checksum_is_underlined_with_both_values() {
    assert_snapshot!(usual(format!(":0300300002337A1F\n{END}").as_bytes()), @r#"
    error: the checksum is wrong
     --> demo.hex:1:16
      |
    1 | :0300300002337A1F
      |                ^^ says 1F, the record's bytes give 1E
      |
      = note: one changed digit would explain it, in any of 4 places
      = help: a character of this line is damaged or lost: make the file again, or send it again
    "#);
}

#[test]
fn a_character_that_is_no_digit_is_pointed_at() {
    assert_snapshot!(usual(format!(":0300300002O37A1E\n{END}").as_bytes()), @r#"
    error: not a hex digit
     --> demo.hex:1:12
      |
    1 | :0300300002O37A1E
      |            ^ expected one of 0-9, A-F
      |
      = note: only the digit 3 in column 12 makes the record sound: one damaged character would explain it
      = help: a character of this line is damaged or lost: make the file again, or send it again
    "#);
    // A character of two bytes is one column wide.
    assert_snapshot!(usual(format!(":03003000é2337A1E\n{END}").as_bytes()), @r#"
    error: not a hex digit
     --> demo.hex:1:10
      |
    1 | :03003000é2337A1E
      |          ^ expected one of 0-9, A-F
      |
      = help: a character of this line is damaged or lost: make the file again, or send it again
    "#);
}

#[test]
fn control_characters_and_broken_text_do_no_harm_to_the_screen() {
    assert_snapshot!(usual(b":0300\x1B[2J\x07\n:03\xFF\xFE\x7F\n:00000001FF\n"), @r#"
    error: not a hex digit
     --> demo.hex:1:6
      |
    1 | :0300␛[2J␇
      |      ^ expected one of 0-9, A-F
      |
      = help: a character of this line is damaged or lost: make the file again, or send it again

    error: not a hex digit
     --> demo.hex:2:4
      |
    2 | :03��␡
      |    ^ expected one of 0-9, A-F
      |
      = help: a character of this line is damaged or lost: make the file again, or send it again
    "#);
}

#[test]
fn a_long_line_is_cut_on_both_sides_around_the_place() {
    let line = format!(":FF000000{}?{}\n{END}", "00".repeat(150), "00".repeat(150));
    let shown = usual(line.as_bytes());
    assert!(widest(&shown) <= 130, "{shown}");
    assert_snapshot!(shown, @r#"
    error: this line is longer than any record
     --> demo.hex:1:522
      |
    1 | ...0000000000000000000000000000000000000000000000000000000000000000000000...
      |               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ 610 characters, a record has at most 521
    "#);
}

#[test]
fn a_place_past_the_end_of_a_line_still_has_its_caret() {
    assert_snapshot!(usual(format!(":030030000233\n{END}").as_bytes()), @r#"
    error: the record's length is wrong
     --> demo.hex:1:2
      |
    1 | :030030000233
      |  ^^ says 3, but 1 follow
      |
      = help: the end of the line is lost: make the file again, or send it again
    "#);
    assert_snapshot!(usual(format!(":\n{END}").as_bytes()), @r#"
    error: the record stops too early
     --> demo.hex:1:2
      |
    1 | : 
      |  ^ 0 digits here, a record has at least 10
      |
      = help: a character of this line is damaged or lost: make the file again, or send it again
    "#);
}

#[test]
fn a_warning_about_the_whole_file_has_no_line() {
    assert_snapshot!(usual(b":0300300002337A1E\n"), @r#"
    warning: demo.hex: the file has no end record: expected `:00000001FF` as the last record
      = help: the file may have been cut off: compare its last line with the source
    "#);
    assert_snapshot!(findings("raw", &[vec![1; 100], vec![0x1A; 28]].concat(), Strictness::Usual), @r#"
    warning: demo.hex: the file ends in 28 bytes of 1A, the padding of XMODEM transfers
      = help: if the padding does not belong to the image, `hollow 0x1A --tail` takes it off
    "#);
}

#[test]
fn the_same_oddity_is_said_once_with_a_count() {
    let header = "S00600004844521B\n";
    let text = format!(
        "{header}S1130000285F245F2212226A000424290008237C2A\n{}S9030000FC\n",
        header.repeat(3)
    );
    assert_snapshot!(findings("s-record", text.as_bytes(), Strictness::Usual), @r#"
    warning: a header record comes after other records
     --> demo.hex:3:2
      |
    3 | S00600004844521B
      |  ^ expected in the first line
      |
      = note: 2 more places like this
      = help: the type digit is not under the checksum, so it may be damaged: compare with the source
    "#);
}

#[test]
fn twenty_errors_are_shown_and_the_rest_counted() {
    let text = format!("{}{END}", ":0300300002337A00\n".repeat(23));
    let shown = usual(text.as_bytes());
    assert_eq!(shown.matches("the checksum is wrong").count(), 20);
    assert!(
        shown.ends_with("\ndemo.hex: and 3 more errors not shown\n"),
        "{shown}"
    );
    let text = format!("{}{END}", ":0300300002337A00\n".repeat(20));
    assert!(!usual(text.as_bytes()).contains("not shown"));
}

#[test]
fn nothing_found_shows_nothing() {
    assert_eq!(usual(format!(":0300300002337A1E\n{END}").as_bytes()), "");
}

proptest! {
    #[test]
    fn no_file_however_broken_upsets_the_screen(
        lines in prop::collection::vec(
            prop::collection::vec(prop_oneof![
                Just(b':'), Just(b'0'), Just(b'A'), Just(0xC3), Just(0xA9), any::<u8>()
            ], 0..40),
            0..6,
        ),
        salvage in any::<bool>(),
    ) {
        let bytes = lines.join(&b'\n');
        let strictness = if salvage { Strictness::Salvage } else { Strictness::Usual };
        findings("intel-hex", &bytes, strictness);
        findings("s-record", &bytes, strictness);
    }
}
