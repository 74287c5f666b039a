//! A user's own parts: what is taken, and what is refused where.

use crate::parts::*;

/// A file with one sound part, all digits in its name.
const SOUND: &str = r#"
[[part]]
name = "2816"
also = ["KF-16"]
words = 2_048
width = 8
kind = "eeprom"
erased = 0xFF
pins = 24
pinout = [
    "A7", "A6", "A5", "A4", "A3", "A2", "A1", "A0", "D0", "D1", "D2", "GND",
    "D3", "D4", "D5", "D6", "D7", "CE", "A10", "OE", "WE", "A9", "A8", "VCC",
]
write_us = 10_000
program_volts = 21
note = "out of the Kingfisher"
"#;

fn refused(text: &str) -> (usize, usize, String) {
    let mut catalogue = Catalogue::built_in();
    let error = catalogue.add_own("own.toml", text).unwrap_err();
    assert_eq!(catalogue.all().count(), all().len(), "nothing was added");
    assert!(error.to_string().starts_with("own.toml:"), "{error}");
    (error.line, error.column, error.message)
}

/// The sound file with one text in the place of another.
fn but(from: &str, to: &str) -> (usize, usize, String) {
    assert!(SOUND.contains(from), "{from}");
    refused(&SOUND.replacen(from, to, 1))
}

#[test]
fn a_sound_file_is_taken() {
    for end in ["\n", "\r\n"] {
        let mut catalogue = Catalogue::built_in();
        let text = SOUND.replace('\n', end);
        catalogue.add_own("own.toml", &text).unwrap();
        assert_eq!(catalogue.find("2816").unwrap().bytes(), 2048, "{end:?}");
    }
    let mut catalogue = Catalogue::built_in();
    catalogue.add_own("own.toml", SOUND).unwrap();
    let part = catalogue.find("2816").unwrap();
    assert_eq!((part.name.as_str(), part.bytes()), ("2816", 2048));
    assert_eq!(part.program_volts, Some(21.0));
    assert_eq!(part.source, "own.toml");
    assert_eq!(part.pin_of_address(10), Some(19));
    assert_eq!(catalogue.find("kf-16").unwrap().name, "2816");
    assert_eq!(catalogue.filter(&["KF"]).len(), 1);
    assert!(find("2816").is_err(), "the built-in table stays as it is");
    let second = catalogue.add_own("more.toml", SOUND).unwrap_err();
    assert!(
        second.message.contains("is already in the table"),
        "{second}"
    );
}

// What `parts --json` prints has the same columns, so it is the pattern for a file.
#[test]
fn every_built_in_row_could_be_a_users_own() {
    for part in all() {
        let mut text = String::from("[[part]]\n");
        let serde_json::Value::Object(columns) = serde_json::to_value(part).unwrap() else {
            panic!("a row is an object")
        };
        for (column, value) in columns {
            let value = match (column.as_str(), value) {
                ("bytes", _) | (_, serde_json::Value::Null) => continue,
                ("name", _) => format!("\"own-{}\"", part.name),
                ("also", _) => "[]".to_owned(),
                (_, value) => value.to_string(),
            };
            text += &format!("{column} = {value}\n");
        }
        let mut catalogue = Catalogue::built_in();
        catalogue.add_own("own.toml", &text).unwrap();
        let mut own = catalogue
            .find(&format!("own-{}", part.name))
            .unwrap()
            .clone();
        own.name = part.name.clone();
        own.also = part.also.clone();
        assert_eq!(&own, part);
    }
}

#[test]
fn a_name_without_quotes_is_refused_with_advice() {
    let (line, column, message) = but("\"2816\"", "2816");
    assert_eq!((line, column), (3, 8), "{message}");
    assert!(message.contains("expected a text in quotes"), "{message}");
}

#[test]
fn errors_name_the_line_the_column_and_what_to_do() {
    for (from, to, place, said) in [
        ("width = 8", "width = 9", (6, 9), "expected 4, 8 or 16"),
        ("2_048", "2000", (5, 9), "expected a power of two"),
        ("2_048", "1099511627776", (5, 9), "1099511627776"),
        ("2_048", "-1", (5, 9), "-1"),
        ("erased = 0xFF", "erased = 0xAA", (8, 10), "all ones"),
        ("erased = 0xFF\n", "", (3, 8), "write `erased = 0xFF`"),
        (
            "erased = 0xFF",
            "page = 3000\nerased = 0xFF",
            (8, 8),
            "power of two",
        ),
        (
            "erased = 0xFF",
            "sector = 64\nerased = 0xFF",
            (8, 10),
            "does not have them; leave it out",
        ),
        ("pins = 24", "pins = 25", (9, 8), "even number"),
        (
            "pins = 24",
            "pins = 28",
            (10, 10),
            "24 pins listed for a part with 28",
        ),
        ("\"A7\"", "\"A6\"", (10, 10), "A6 is there 2 times"),
        ("\"WE\"", "\"A11\"", (10, 10), "pin 21 carries A11"),
        ("\"VCC\"", "\"NC\"", (10, 10), "no pin carries VCC"),
        (
            "\"OE\"",
            "\"XE\"",
            (12, 48),
            "`XE`: expected a pin's function",
        ),
        ("10_000", "0", (14, 12), "0 microseconds"),
        ("= 21", "= nan", (15, 17), "NaN V"),
        ("= 21", "= 210", (15, 17), "expected 1 to 60"),
        ("\"2816\"", "\"2716\"", (3, 8), "another name"),
        ("\"KF-16\"", "\"27c256\"", (4, 9), "another name"),
        ("\"KF-16\"", "\"2816\"", (4, 9), "another name"),
        ("\"2816\"", "\"32K\"", (3, 8), "could be read as a number"),
        (
            "\"2816\"",
            "\"0x10-8000h\"",
            (3, 8),
            "could be read as a number",
        ),
        ("\"2816\"", "\"../x\"", (3, 8), "expected up to 32 letters"),
        ("\"2816\"", "\"\"", (3, 8), "expected up to 32 letters"),
        (
            "\"KF-16\"",
            "\"KF 16\"",
            (4, 9),
            "expected up to 32 letters",
        ),
        ("out of", "out\\nof", (16, 8), "one line"),
        ("\"eeprom\"", "\"eprom\"", (7, 8), "`uv-eprom`"),
        ("width", "wide", (6, 1), "unknown field `wide`"),
    ] {
        let (line, column, message) = but(from, to);
        assert_eq!((line, column), place, "{from} -> {to}: {message}");
        assert!(message.contains(said), "{from} -> {to}: {message}");
        assert!(!message.contains('\n'), "{message}");
    }
}

#[test]
fn files_that_are_no_list_of_parts_are_refused() {
    assert!(refused("").2.contains("`[[part]]`"));
    assert!(
        refused("[part]\nname = \"x\"\n")
            .2
            .contains("double brackets")
    );
    assert_eq!(refused("[[part]]\nname = \"x").0, 2);
    assert!(
        refused("[[part]]\nname = \"x\"\n")
            .2
            .contains("missing field `words`")
    );
    assert!(refused(&"#".repeat((1 << 20) + 1)).2.contains("at most"));
    assert!(!but("\"eeprom\"", "\"\\u001b[2J\"").2.contains('\u{1b}'));
    refused(&"[".repeat(100_000));
    refused(&format!("part = {}", "[".repeat(100_000)));
}

#[test]
fn a_mask_rom_has_nothing_to_write() {
    for column in ["erased = 0xFF", "write_us = 5", "program_volts = 21"] {
        let text = format!(
            "[[part]]\nname = \"x1\"\nwords = 16\nwidth = 8\nkind = \"mask-rom\"\npins = 24\n{column}\n"
        );
        let (line, _, message) = refused(&text);
        assert_eq!(line, 7);
        assert!(message.contains("leave it out"), "{message}");
    }
}
