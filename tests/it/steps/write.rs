//! `write`: names, forms and refusals. How files are put in place is the run's business.

use super::Bench;

fn chip() -> Bench {
    Bench::new().hex_with_entry("chip.hex", &[(0x10, &[1, 2, 3, 4])], Some(0x12))
}

#[test]
fn names_are_made_of_name_part_number_and_sums() {
    let b = Bench::new().raw("u1.bin", b"123456789").raw("u2.bin", &[1]);
    let out = b.ok("load u1.bin u2.bin --apart + write out/{n}-{name}-{sum16}-{crc32}.rom");
    // The check value of CRC-32 in the RevEng catalogue; 31h + ... + 39h = 1DDh.
    assert!(b.has("out/0-u1-01DD-CBF43926.rom"), "{out}");
    assert!(b.has("out/1-u2-0001-A505DF1B.rom"), "{out}");
    assert_eq!(
        b.trouble("load u1.bin u2.bin --apart + write x.rom"),
        "write: there are 2 pieces (u1, u2) but one name: put {name} into it, or choose one with --on"
    );
    b.ok("load u1.bin u2.bin --apart + write only.rom --on u2");
    assert_eq!(b.read("only.rom"), [1]);
    assert_eq!(
        b.trouble("load u1.bin + write {label}.rom"),
        "write: `{label}` in `{label}.rom` means nothing: use {name} {part} {n} {sum16} {crc32}; write {{ and }} for braces"
    );
    b.ok("load u2.bin + pad part:2716 + write {name}-{part}.rom");
    assert!(b.has("u2-2716.rom"));
    assert_eq!(
        b.trouble("load u2.bin + write {part}.rom"),
        "write: {part} needs a part, but u2 has none: `seat` gives it one, or `pad PART`; {name} needs none"
    );
    // Finding: a name that comes from data wrote outside of the folder that was asked for.
    assert_eq!(
        b.trouble("load u1.bin --name ../up + write out/{name}.rom"),
        "write: `../up` can't be part of a file's name: give the piece another name, with `load --name` or `--names`"
    );
    // What a name brings in is not replaced again.
    b.ok("load u1.bin --name '{n}' + write {name}.rom");
    assert!(b.has("{n}.rom"));
    let help = b.ok("help write");
    assert!(help.contains("{name} {part} {n} {sum16} {crc32}"), "{help}");
}

#[test]
fn the_format_goes_by_the_name_or_as_told() {
    let b = chip();
    let told = b.told(
        "load chip.hex + write x.bin + write x.s19 + write x.hex + write y.dat --as s-record",
    );
    let lost = "so the entry point 0x0012 is not in the file";
    assert!(
        told.contains(&format!(
            "warning: x.hex: I8HEX has no start address record, {lost}"
        )),
        "{told}"
    );
    assert_eq!(b.read("x.bin"), [1, 2, 3, 4]);
    // An empty header, 03 -> FC; 07+00+10+1+2+3+4 = 21, complement DE; 03+00+12 = 15, complement EA.
    assert_eq!(
        b.read_text("x.s19"),
        "S0030000FC\nS107001001020304DE\nS9030012EA\n"
    );
    assert_eq!(b.read_text("y.dat"), b.read_text("x.s19"));
    // 04+10+0A = 1E and so 100 - 1E = E2. The smallest form has no record for an entry point.
    assert_eq!(b.read_text("x.hex"), ":0400100001020304E2\n:00000001FF\n");
    assert!(b.trouble("load chip.hex + write noname").starts_with(
        "write: the name noname does not say the format: name it noname.bin, or name one with --as (intel-hex"
    ));
    assert!(
        b.trouble("load chip.hex + write x.bin --as rom")
            .contains("there is no format `rom`")
    );
}

#[test]
fn the_form_of_records_is_as_told() {
    let b = chip();
    b.ok("load chip.hex + write x.s --as s-record --address-bits 32 --per-record 2 --header HERON --entry 0x10 --count --proof");
    assert_eq!(
        b.read_text("x.s"),
        // Sums worked by hand, ones' complement of the low byte: 08+48+45+52+4F+4E = 184 -> 7B; 07+10+1+2 = 1A -> E5;
        // 07+12+3+4 = 20 -> DF; 03+00+02 = 05 -> FA; 05+10 = 15 -> EA.
        "S00800004845524F4E7B\nS307000000100102E5\nS307000000120304DF\nS5030002FA\nS70500000010EA\n"
    );
    b.ok("load chip.hex + write x.hex --entry none --line-end crlf");
    assert_eq!(
        b.read_text("x.hex"),
        ":0400100001020304E2\r\n:00000001FF\r\n"
    );
    b.ok("load chip.hex + write y.hex --entry none --line-end lf");
    assert_eq!(b.read_text("y.hex"), ":0400100001020304E2\n:00000001FF\n");
    for (form, wanted) in [("16", "\nS107"), ("24", "\nS208"), ("32", "\nS309")] {
        b.ok(&format!(
            "load chip.hex + write z.s19 --address-bits {form}"
        ));
        assert!(b.read_text("z.s19").contains(wanted), "{form}");
    }
    b.ok("load chip.hex + write s.hex --address-bits 20 --entry none --proof");
    assert!(b.has("s.hex"));
}

#[test]
fn what_a_form_can_not_hold_is_refused_and_never_cut() {
    let b = chip();
    for (line, said) in [
        (
            "relocate --to 0x1FFFF + write x.s19 --address-bits 16",
            "but S1 addresses end at 0xFFFF",
        ),
        ("write x.hex --address-bits 24", "has no 24-bit addresses"),
        (
            "write x.hex --per-record 256",
            "a record has 1 to 255 data bytes",
        ),
        ("write x.hex --per-record 0", "a size can't be 0"),
        (
            "write x.s19 --per-record 255",
            "255 data bytes don't fit a record",
        ),
        ("write x.hex --address-bits 8", "use 16, 20, 24 or 32"),
        ("write x.hex --entry x", "`x` is not a number"),
        ("write x.hex --line-end cr", "use lf or crlf"),
        (
            "keep 0-0 + write x.bin",
            "the image is empty: there is nothing to write",
        ),
    ] {
        let text = b.trouble(&format!("load chip.hex + {line}"));
        assert!(text.contains(said), "{line}: {text}");
    }
    assert_eq!(
        b.trouble("load chip.hex + patch 0x18 00 + write x.bin"),
        "write: chip: x.bin: 0x0014-0x0017 is a hole (1 in all), but a raw file can't contain holes: \
         `fill 0xFF` closes them, `keep` cuts down to one part"
    );
    assert!(!b.has("x.bin") && !b.has("x.hex") && !b.has("x.s19"));
}

#[test]
fn a_file_is_reported_with_the_sums_a_programmer_shows() {
    assert_eq!(
        chip().ok("load chip.hex + write x.bin"),
        "wrote x.bin  raw, 4 bytes, sum16 000A sum32 0000000A crc32 B63CFBCD\n"
    );
}
