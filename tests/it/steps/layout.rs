//! `fill`, `hollow`, `keep`, `drop`, `relocate`, `pad`, `repeat`.

use super::Bench;

fn sparse() -> Bench {
    Bench::new().hex("a.hex", &[(0x8000, &[1, 2]), (0x8006, &[3])])
}

#[test]
fn fill_closes_holes_and_never_touches_data() {
    let b = sparse();
    assert_eq!(
        b.bytes("load a.hex + fill FF"),
        [1, 2, 0xFF, 0xFF, 0xFF, 0xFF, 3]
    );
    // A pattern is aligned to address 0: 0x8002 gets its third byte.
    assert_eq!(
        b.bytes("load a.hex + fill 'A0 A1 A2 A3'"),
        [1, 2, 0xA2, 0xA3, 0xA0, 0xA1, 3]
    );
    assert_eq!(
        b.rows("load a.hex + fill text:HI 0x7FFE-0x8003"),
        [
            "7FFE > 48 49 < 7FFF",
            "8000 > 01 02 48 49 . __ __ 03 < 8006"
        ]
    );
}

#[test]
fn too_large_a_hole_has_to_be_allowed() {
    let b = sparse();
    assert_eq!(
        b.trouble("load a.hex + fill FF 0-0x20000000"),
        "fill: this makes 536,870,910 bytes, more than 268,435,456: is an address wrong? `show` says where the bytes are; --allow-large allows it"
    );
    // The option itself, on sizes a test can afford.
    assert_eq!(
        b.bytes("load a.hex + fill 00 0x8002+4 --allow-large").len(),
        7
    );
    assert_eq!(
        b.bytes("load a.hex + fill 00 + pad 8 --allow-large").len(),
        8
    );
    assert_eq!(
        b.bytes("load a.hex + fill 00 + pad 8 + repeat 16 --allow-large")
            .len(),
        16
    );
    for step in [
        "pad 1024M --at 0",
        "fill 00 + pad 8 + repeat 1024M --at 0x8000",
    ] {
        let said = b.trouble(&format!("load a.hex + {step}"));
        assert!(said.contains("--allow-large allows it"), "{said}");
    }
}

#[test]
fn several_bytes_without_quotes_are_told_of_quotes() {
    let b = sparse();
    assert_eq!(
        b.trouble("load a.hex + fill EA EA"),
        "`EA` is not a range: romloom load a.hex + fill 'EA EA' + write never.hex"
    );
    assert_eq!(
        b.trouble("load a.hex + patch 0x8000 EA EB"),
        "unexpected word `EB` after `patch 0x8000 EA`: romloom load a.hex + patch 0x8000 'EA EB' + write never.hex"
    );
    assert!(
        b.trouble("load a.hex + fill F")
            .contains("`F` has a hex digit without a partner: romloom load a.hex + fill 0F")
    );
    assert!(
        b.trouble("load a.hex + fill FF 0x8000").contains(
            "`0x8000` is not a range: write 0x8000-LAST (both included) or 0x8000+LENGTH"
        )
    );
}

#[test]
fn hollow_turns_runs_back_into_holes() {
    let mut chip = vec![1];
    chip.extend([0xFF; 16]);
    chip.extend([2, 0xFF, 0xFF]);
    let b = Bench::new().raw("chip.bin", &chip);
    let holes = |steps: &str| {
        let out = b.ok(&format!("load chip.bin + {steps} + show"));
        out.trim_end().rsplit(' ').next().unwrap().to_owned()
    };
    assert_eq!(holes("hollow FF"), "16");
    assert_eq!(holes("hollow FF --least 17"), "0");
    // Holes behind the last byte are no holes of the image any more.
    assert_eq!(b.bytes("load chip.bin + hollow FF --tail").len(), 18);
    assert_eq!(
        b.bytes("load chip.bin + hollow FF --tail --least 3").len(),
        20
    );
    assert_eq!(
        b.told("load chip.bin + hollow 00"),
        "note: chip has no run of at least 16 bytes 00\n"
    );
    assert_eq!(
        b.told("load chip.bin + hollow 1A --tail"),
        "note: chip does not end in 1A\n"
    );
    assert_eq!(b.told("--quiet load chip.bin + hollow 00"), "");
    assert!(
        b.trouble("load chip.bin + hollow 'FF FF'")
            .contains("`FF FF` is 2 bytes: one byte is needed here")
    );
}

#[test]
fn keep_and_drop_are_opposites() {
    let b = sparse();
    assert_eq!(
        b.rows("load a.hex + keep 0x8001-0x8002 0x8006+1"),
        ["8001 > 02 __ __ . __ __ 03 < 8006"]
    );
    assert_eq!(
        b.rows("load a.hex + drop 0x8001-0x8002 0x8006+1"),
        ["8000 > 01 < 8000"]
    );
    for steps in ["keep 0-0x7FFF", "drop 0x8000-0xFFFF"] {
        assert_eq!(
            b.told(&format!("load a.hex + {steps} + show")),
            "warning: nothing is left of a\n"
        );
    }
    assert!(
        b.trouble("load a.hex + keep 0x9000-0x8000")
            .contains("back to front: romloom load a.hex + keep 0x8000-0x9000")
    );
}

#[test]
fn relocate_moves_everything_alike() {
    let b = sparse();
    assert_eq!(
        b.rows("load a.hex + relocate --to 0x10"),
        ["0010 > 01 02 __ __ . __ __ 03 < 0016"]
    );
    assert_eq!(
        b.rows("load a.hex + relocate --by -0x7000"),
        ["1000 > 01 02 __ __ . __ __ 03 < 1006"]
    );
    assert_eq!(
        b.rows("load a.hex + relocate --by +32K"),
        ["010000 > 01 02 __ __ . __ __ 03 < 010006"]
    );
    assert_eq!(
        b.trouble("load a.hex + relocate --by -0x8001"),
        "relocate: 0x8000-0x8006 moved down by 0x8001 would begin below address 0: choose another address"
    );
    assert!(
        b.trouble("load a.hex + relocate --by 0x10")
            .contains("`0x10` has no sign: write +0x10 to move up, -0x10 to move down")
    );
    assert!(
        b.trouble("load a.hex + relocate --to 0 --by +1")
            .contains("don't go together")
    );
    assert!(b.trouble("load a.hex + relocate").contains("--to ADDR"));
    // An option behind --by is not swallowed as its value.
    assert!(
        b.trouble("load a.hex + relocate --by --on=a")
            .contains("`-on=a` is not a number")
    );
}

#[test]
fn an_entry_point_moves_along_or_is_dropped_with_a_word() {
    let b = Bench::new()
        .hex_with_entry("in.hex", &[(0x8000, &[1, 2])], Some(0x8001))
        .hex_with_entry("out.hex", &[(0x8000, &[1, 2])], Some(0x9000));
    assert!(
        b.ok("load in.hex + relocate --to 0 + show")
            .contains("entry point 0001")
    );
    assert_eq!(
        b.told("load out.hex + relocate --to 0"),
        "warning: the entry point 0x9000 of out is outside it and can't move along: it is dropped\n"
    );
}

#[test]
fn pad_fills_both_ends_and_no_hole_between() {
    let b = sparse();
    assert_eq!(
        b.rows("load a.hex + pad 8"),
        ["8000 > 01 02 __ __ . __ __ 03 FF < 8007"]
    );
    assert_eq!(
        b.rows("load a.hex + pad 16 --at 0x7FFC --with 00"),
        [
            "7FFC > 00 00 00 00 < 7FFF",
            "8000 > 01 02 __ __ . __ __ 03 00 . 00 00 00 00 < 800B"
        ]
    );
    assert_eq!(
        b.trouble("load a.hex + pad 4"),
        "pad: the image is 3 bytes too long for 0x8000-0x8003; the last byte is at 0x8006 (a.hex line 2): \
         cut it down with `keep`, or use a larger part"
    );
    assert_eq!(
        b.trouble("load a.hex + pad 64K"),
        "pad: the image begins at 0x8000, which is not a multiple of the size (65,536 bytes): say where the part begins with --at"
    );
    assert_eq!(
        b.trouble("load a.hex + pad 16 --at 0x8001"),
        "pad: there is 1 byte before 0x8001; the first is at 0x8000 (a.hex line 1): `drop` or `relocate` them"
    );
    assert!(
        b.trouble("load a.hex + pad 0")
            .contains("a size can't be 0: give at least 1 byte")
    );
}

#[test]
fn repeat_answers_the_same_in_every_block() {
    let b = Bench::new().raw("a.bin", &[1, 2, 3, 4]);
    assert_eq!(
        b.bytes("load a.bin + repeat 16"),
        [1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4]
    );
    // Measured from --at, the hole in front belongs to what is repeated.
    assert_eq!(
        b.rows("load a.bin --at 0x14 + repeat 16 --at 0x10"),
        ["0014 > 01 02 03 04 . __ __ __ __ . 01 02 03 04 < 001F"]
    );
    assert_eq!(
        b.trouble("load a.bin + keep 0-2 + repeat 16"),
        "repeat: the image has 3 bytes, which is not a power of two: `pad` it to one first"
    );
    assert_eq!(
        b.trouble("load a.bin + repeat 12"),
        "repeat: the part has 12 bytes, which is not a power of two"
    );
}

#[test]
fn every_layout_step_can_be_narrowed_to_one_piece() {
    let b = Bench::new()
        .raw("a.bin", &[1, 0xFF])
        .raw("b.bin", &[1, 0xFF]);
    for (step, wanted) in [
        ("fill 00 0-2", &[1, 0xFF, 0][..]),
        ("hollow FF --least 1", &[1]),
        ("keep 0-0", &[1]),
        ("drop 1-1", &[1]),
        ("pad 4", &[1, 0xFF, 0xFF, 0xFF]),
        ("repeat 4", &[1, 0xFF, 1, 0xFF]),
    ] {
        b.ok(&format!(
            "load a.bin b.bin --apart + {step} --on b + write {{name}}.out --as raw"
        ));
        assert_eq!(b.read("b.out"), wanted, "{step}");
        assert_eq!(b.read("a.out"), [1, 0xFF], "{step}");
    }
    let out = b.ok("load a.bin b.bin --apart + relocate --to 0x10 --on b + digest sum8");
    assert!(out.contains("b   0010-0011") && out.contains("a   0000-0001"));
    assert_eq!(
        b.trouble("load a.bin b.bin --apart + pad 4 --on c"),
        "pad: there is no piece called `c`; the pieces are a, b"
    );
    // What goes wrong with one of several pieces names it.
    assert!(
        b.trouble("load a.bin b.bin --apart + relocate --to 4 --on b + pad 8 --at 2 --on b --on a")
            .starts_with("pad: a: there are 2 bytes before 0x0002")
    );
}
