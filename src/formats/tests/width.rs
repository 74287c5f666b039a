//! Records that run past the last address that their form has are refused, and salvage leaves them out. What wraps by the
//! book (Intel, *Hexadecimal Object File Format Specification*, revision A, 1988) does so.

use super::*;

/// A data record, its address as wide as its type has it.
fn s_data(kind: u8, address: u32, data: &[u8]) -> String {
    s_record(kind, &address.to_be_bytes()[3 - usize::from(kind)..], data)
}

fn tape(address: u16, data: &[u8]) -> String {
    let mut bytes = vec![data.len() as u8];
    bytes.extend(address.to_be_bytes());
    bytes.extend(data);
    let sum: u16 = bytes.iter().map(|b| u16::from(*b)).sum();
    bytes.extend(sum.to_be_bytes());
    format!(";{}\n", digits(&bytes))
}

/// A file whose second record runs past the end, by bytes; where it is shown, and the problem.
struct Case {
    format: &'static str,
    text: String,
    place: (u64, u64, &'static str),
    problem: Problem,
}

fn cases() -> Vec<Case> {
    let s = |kind: u8, top: u32, end: &str, column, marked| Case {
        format: "s-record",
        text: s_data(kind, 0x10, &[9]) + &s_data(kind, top, b"ab") + end,
        place: (2, column, marked),
        problem: Problem::PastLast { last: top.into() },
    };
    let top = "@FFFFFFFFFFFFFFFF";
    let mut cases = vec![
        s(1, 0xFFFF, "S9030000FC\n", 11, "62"),
        s(2, 0xFF_FFFF, "S804000000FB\n", 13, "62"),
        s(3, 0xFFFF_FFFF, "S70500000000FA\n", 15, "62"),
        Case {
            format: "mos-tape",
            text: tape(0x10, &[9]) + &tape(0xFFFF, b"ab") + ";0000020002\n",
            place: (2, 10, "62"),
            problem: Problem::PastLast { last: 0xFFFF },
        },
        Case {
            format: "tek-hex",
            text: "%0A6342109\n%196F40FFFFFFFFFFFFFFFF61\n%0781010\n".into(),
            place: (2, 7, "0FFFFFFFFFFFFFFFF"),
            problem: Problem::OutOfSpace,
        },
        Case {
            format: "ti-txt",
            text: format!("@10\n09\n{top}\n61 62\nq\n"),
            place: (4, 1, "61 62"),
            problem: Problem::OutOfSpace,
        },
        Case {
            format: "readmem",
            text: format!("@10\n09\n{top}\n61 62\n"),
            place: (4, 1, "61 62"),
            problem: Problem::OutOfSpace,
        },
    ];
    // The sums of the two records of tek-hex.
    let tek = cases.iter_mut().find(|case| case.format == "tek-hex");
    if let Some(case) = tek {
        let sound = |body: &str| {
            let head = format!("{:02X}6", body.len() + 5);
            let value = |c: char| c.to_digit(16).unwrap_or(0);
            let sum: u32 = head.chars().chain(body.chars()).map(value).sum();
            format!("%{head}{:02X}{body}\n", sum % 256)
        };
        case.text = sound("21009") + &sound("0FFFFFFFFFFFFFFFF6162") + "%0781010\n";
    }
    cases
}

#[test]
fn a_record_past_the_last_address_is_refused_and_left_out_by_salvage() {
    for case in cases() {
        let Case {
            format,
            text,
            place: (line, column, marked),
            problem,
        } = case;
        let wanted = seen(line, column, marked, problem);
        let format = by_name(format).unwrap();
        for strictness in [Strictness::Usual, Strictness::Strict, Strictness::Salvage] {
            let how = ReadOptions {
                strictness,
                ..ReadOptions::default()
            };
            let reading = read_with(format, &text, &how);
            let errors = reading.errors();
            assert!(
                errors.contains(&wanted),
                "{strictness:?}: {errors:?} in {text}"
            );
            let taken = |at: u64| reading.image.byte(at);
            assert_eq!(taken(0), None, "nothing wraps: {text}");
            if strictness == Strictness::Salvage {
                assert_eq!(spans(&reading.image)[0].1, [9], "{text}");
                assert_eq!(reading.image.len(), 1, "{text}");
                assert!(reading.findings.facts.left_out_bytes > 0, "{text}");
            }
        }
    }
}

/// The example of an attacker.
#[test]
fn the_last_byte_of_the_space_is_one_and_the_next_is_none() {
    let wrong = "S307FFFFFFFF616239\nS70500000000FA\n";
    let problem = Problem::PastLast { last: 0xFFFF_FFFF };
    assert_eq!(
        read(&s_record::SRecords, wrong).one_error(),
        seen(1, 15, "62", problem)
    );
    let last = s_data(3, 0xFFFF_FFFF, b"a") + "S70500000000FA\n";
    let image = read_strictly(&s_record::SRecords, last).clean();
    assert_eq!(spans(&image), [(0xFFFF_FFFF, b"a".to_vec())]);
    // Where an address counts words, the last one has several bytes.
    let words = |data: &[u8]| {
        let text = s_data(1, 0xFFFF, data) + "S9030000FC\n";
        let how = ReadOptions {
            unit: 2,
            ..ReadOptions::default()
        };
        read_with(&s_record::SRecords, text, &how)
    };
    assert_eq!(spans(&words(b"ab").clean()), [(0x1_FFFE, b"ab".to_vec())]);
    assert_eq!(words(b"abc").one_error().2, "63");
}

#[test]
fn what_wraps_by_the_book_is_taken() {
    // After 02 inside the segment, after 04 at 4 G; both with 61 62 at offset FFFF.
    for (base, at, next) in [
        (":020000021000EC\n", 0x1_FFFF, 0x1_0000),
        (":02000004FFFFFC\n", 0xFFFF_FFFF, 0),
    ] {
        let text = format!("{base}:02FFFF0061623D\n:00000001FF\n");
        let image = read_strictly(&intel_hex::IntelHex, text).clean();
        assert_eq!((image.byte(at), image.byte(next)), (Some(0x61), Some(0x62)));
    }
}
