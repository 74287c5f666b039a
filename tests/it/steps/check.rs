//! `expect`: exit code 1 and nothing written when the answer is no.

use super::Bench;

fn chip() -> Bench {
    Bench::new().hex("chip.hex", &[(0x10, &[1, 2, 0xFF, 0xFF]), (0x18, &[3])])
}

/// Lines that hold, and lines that do not with what is said.
fn check(b: &Bench, holds: &[&str], fails: &[(&str, &str)]) {
    for line in holds {
        b.ok(&format!("load chip.hex + expect {line}"));
    }
    for (line, said) in fails {
        assert_eq!(
            b.no(&format!("load chip.hex + expect {line}")),
            format!("expect: {said}")
        );
    }
}

#[test]
fn blank_is_erased_or_never_loaded() {
    check(
        &chip(),
        &[
            "blank 0x12-0x17",
            "blank 0-0xF",
            "blank 0x10-0x10 --erased 01",
        ],
        &[
            (
                "blank 0-0x17",
                "0x0000-0x0017 is not blank: 0x0010 holds 01 (chip.hex line 1)",
            ),
            (
                "blank 0x12-0x13 --erased 00",
                "0x0012-0x0013 is not blank: 0x0012 holds FF (chip.hex line 1)",
            ),
        ],
    );
}

#[test]
fn bytes_stand_where_they_should() {
    check(
        &chip(),
        &["bytes 0x10 '01 02'", "bytes 0x18 0x03"],
        &[
            ("bytes 0x11 text:AB", "0x0011 holds 02 FF, expected 41 42"),
            ("bytes 0x18 '03 04'", "0x0018 holds 03 __, expected 03 04"),
        ],
    );
}

#[test]
fn sums_are_compared_as_people_copy_them() {
    // 1 + 2 + FF + FF = 201; the MD5 of the one byte 03 as any MD5 tool gives it.
    check(
        &chip(),
        &[
            "sum sum16 0201 --across 0x10-0x13",
            "sum sum16 0x201 --across 0x10-0x13",
            "sum sum16 ' 201 ' --across 0x10-0x11 --across 0x12-0x13",
            "sum md5 8666683506aacd900bbd5a74ac4edf68 --across 0x18-0x18 --on chip",
        ],
        &[
            (
                "sum sum16 0202 --across 0x10-0x13",
                "sum16 is 0201, expected 0202",
            ),
            (
                "sum sum16 0201",
                "0x0014-0x0017 is a hole, but a sum needs every byte: `fill` it first",
            ),
        ],
    );
    let b = chip();
    for value in ["12345", "xyz", "''"] {
        let said = b.trouble(&format!("load chip.hex + expect sum sum16 {value}"));
        assert!(
            said.ends_with("is not a value of sum16: write it in hex, at most 4 digits"),
            "{said}"
        );
    }
    assert!(
        b.trouble("load chip.hex + expect sum md5 12")
            .ends_with("is not a value of md5: write it in hex, exactly 32 digits")
    );
}

#[test]
fn size_and_fullness_are_measured_from_the_first_byte_to_the_last() {
    check(
        &chip(),
        &["size 9", "size 0x9 --on chip"],
        &[
            ("size 8", "the image is 9 bytes long, expected 8 bytes"),
            ("full", "0x0014-0x0017 is a hole: `fill` closes it"),
        ],
    );
    let b = chip();
    b.ok("load chip.hex + fill FF + expect full --on chip");
    assert_eq!(
        b.trouble("load chip.hex + keep 0-0 + expect full"),
        "expect: the image is empty: `load` something first"
    );
}

#[test]
fn a_vector_points_where_it_should() {
    let b = Bench::new().hex("chip.hex", &[(0xFFFC, &[0x00, 0x80, 0x01, 0x02])]);
    check(
        &b,
        &[
            "pointer 0xFFFC --in 0x8000-0xFFFF",
            "pointer 0xFFFC --in 0x80-0x80 --order big",
            "pointer 0xFFFC --in 0x18000-0x18000 --bytes 3",
            "pointer 0xFFFC --in 0x00800102+1 --bytes 4 --order big --on chip",
        ],
        &[
            (
                "pointer 0xFFFC --in 0xE000-0xFFDF",
                "the vector at 0xFFFC points to 0x8000, which is not in 0xE000-0xFFDF",
            ),
            (
                "pointer 0xFFFF --in 0xE000-0xFFDF",
                "0x10000 is a hole, but a vector needs every byte: `fill` it first",
            ),
        ],
    );
    assert!(
        b.trouble("load chip.hex + expect pointer 0xFFFC --in 0-1 --bytes 5")
            .contains("use 2 to 4")
    );
    assert!(
        b.trouble("load chip.hex + expect pointer 0xFFFC")
            .contains("--in RANGE")
    );
}

#[test]
fn one_piece_of_several_is_named_when_it_fails() {
    let b = Bench::new().raw("a.bin", &[1, 2]).raw("b.bin", &[1, 2, 3]);
    let pieces = "load a.bin b.bin --apart";
    assert_eq!(
        b.no(&format!("{pieces} + expect size 2")),
        "expect: b: the image is 3 bytes long, expected 2 bytes"
    );
    for check in [
        "size 2",
        "bytes 0 '01 02'",
        "blank 2-2",
        "full",
        "sum sum8 03",
        "pointer 0 --in 0x201+1",
    ] {
        b.ok(&format!("{pieces} + expect {check} --on a"));
    }
    assert!(b.run("load a.bin + expect").err.contains("full, pointer"));
    assert!(b.trouble("expect full").contains("nothing is loaded"));
}

#[test]
fn each_bank_is_asked_for_itself() {
    let mut bytes = [1, 2, 3, 4].repeat(128);
    bytes[0x103] = 5;
    let b = Bench::new().raw("a.bin", &bytes);
    b.ok("load a.bin + expect bytes 0 0102 --bank-size 256");
    assert_eq!(
        b.no("load a.bin + expect bytes 3 04 --bank-size 256"),
        "expect: 0x0103 holds 05, expected 04"
    );
    b.ok("load a.bin + expect pointer 0 --in 0x201+1 --bank-size 256");
    b.ok("load a.bin + expect sum sum8 03 --across 0-1 --bank-size 256");
    assert_eq!(
        b.no("load a.bin + drop 0x102-0x102 + expect sum sum8 06 --across 0-2 --bank-size 256"),
        "expect: 0x0102 is a hole, but a sum needs every byte: `fill` it first"
    );
    b.ok(
        "load a.bin + relocate --to 0x1000 + relocate --by -0x800 + expect bytes 0 0102 --bank-size 2K",
    );
    for (line, said) in [
        (
            "bytes 0xFF 0401 --bank-size 256",
            "0x00FF-0x0100 is not in the first bank",
        ),
        ("sum sum8 0A --bank-size 256", "--bank-size needs --across"),
        ("bytes cpu:0 01 --bank-size 256", "leave cpu: out"),
        ("bytes 0 01 --bank-size 27C999", "is not in the part table"),
    ] {
        let text = b.trouble(&format!("load a.bin + expect {line}"));
        assert!(text.contains(said), "{line}: {text}");
    }
}
