//! `load`.

use super::Bench;

fn two_raws() -> Bench {
    Bench::new().raw("a.bin", &[1, 2]).raw("b.bin", &[3, 4, 5])
}

#[test]
fn files_with_addresses_land_at_their_own() {
    let b = Bench::new()
        .hex("a.hex", &[(0x8000, &[1, 2])])
        .hex("b.hex", &[(0x8004, &[3])]);
    assert_eq!(
        b.rows("load a.hex b.hex"),
        ["8000 > 01 02 __ __ . 03 < 8004"]
    );
    // One load behind another adds to the same piece.
    assert_eq!(
        b.rows("load a.hex + load b.hex"),
        ["8000 > 01 02 __ __ . 03 < 8004"]
    );
}

#[test]
fn a_raw_file_begins_where_it_is_told_or_at_0() {
    let b = two_raws();
    assert_eq!(b.rows("load a.bin"), ["0000 > 01 02 < 0001"]);
    assert_eq!(b.rows("load a.bin --at 0x8000"), ["8000 > 01 02 < 8001"]);
    assert_eq!(
        b.rows("load a.bin b.bin --follow --at 32K"),
        ["8000 > 01 02 03 04 . 05 < 8004"]
    );
    assert_eq!(
        b.trouble("load a.bin b.bin --at 0x8000"),
        "load: a.bin and b.bin are both raw and would both begin at 0x8000: put the second after the first with --follow, make two pieces with --apart, or give each its own `load --at`"
    );
}

#[test]
fn part_of_a_raw_file_is_taken_exactly_or_not_at_all() {
    let b = Bench::new().raw("a.bin", &[1, 2, 3, 4, 5]);
    assert_eq!(b.bytes("load a.bin --skip 1 --length 3"), [2, 3, 4]);
    assert_eq!(b.bytes("load a.bin --skip 3"), [4, 5]);
    assert_eq!(b.bytes("load a.bin --length 2"), [1, 2]);
    let said = b.run("load a.bin --skip 3 --length 3");
    assert_eq!(said.code, 2);
    assert!(
        said.err.contains("the file is shorter than asked for"),
        "{}",
        said.err
    );
    assert_eq!(
        b.trouble("load a.bin a.bin --follow --skip 1"),
        "load: --skip and --length concern one file: give each file its own `load`"
    );
}

#[test]
fn options_for_raw_files_are_refused_for_others_with_what_to_do() {
    let b = Bench::new().hex("a.hex", &[(0, &[1])]);
    for (option, instead) in [
        (
            "--at 0x8000",
            ", which have addresses of their own: `relocate` moves them",
        ),
        ("--skip 1", ": `drop` takes bytes out"),
        ("--length 1", ": `keep` cuts them down"),
    ] {
        let word = option.split(' ').next().unwrap();
        assert_eq!(
            b.trouble(&format!("load a.hex {option}")),
            format!("load: a.hex: {word} has no meaning for intel-hex files{instead}")
        );
    }
}

#[test]
fn the_format_can_be_named() {
    let b = Bench::new()
        .raw("x.dat", &[1, 2])
        .hex("a.hex", &[(0, &[0xA5])]);
    assert_eq!(b.bytes("load x.dat --as raw"), [1, 2]);
    assert!(
        b.trouble("load x.dat")
            .starts_with("load: x.dat: the format can't be told from the content or the file name")
    );
    // A record file read as raw is what the user said, and odd enough for a warning.
    let told = b.told("load a.hex --as raw + write a.bin");
    assert!(told.contains("the content is intel-hex records"), "{told}");
    assert_eq!(
        b.trouble("load x.dat --as intelhex"),
        "--as: there is no format `intelhex`: romloom load x.dat --as intel-hex + write never.hex"
    );
}

#[test]
fn two_files_for_one_address_are_settled_only_as_asked() {
    let b = Bench::new()
        .hex("a.hex", &[(0, &[1, 2])])
        .hex("b.hex", &[(1, &[9, 3])])
        .hex("c.hex", &[(1, &[2, 3])]);
    assert_eq!(
        b.trouble("load a.hex b.hex"),
        "load: 0x0001 is wanted twice: a.hex line 1 puts 02 there, b.hex line 1 puts 09; 1 byte overlaps, \
         1 of them different, the first at 0x0001: settle it with --clash same, first or last, or keep the programs apart with --apart"
    );
    assert!(
        b.trouble("load a.hex + load c.hex")
            .contains("equal on both sides")
    );
    assert_eq!(b.bytes("load a.hex b.hex --clash first"), [1, 2, 3]);
    assert_eq!(b.bytes("load a.hex b.hex --clash last"), [1, 9, 3]);
    assert_eq!(b.bytes("load a.hex c.hex --clash same"), [1, 2, 3]);
    assert!(
        b.trouble("load a.hex b.hex --clash same")
            .contains("0x0001 is wanted twice")
    );
}

#[test]
fn each_file_can_be_a_piece_called_by_its_stem() {
    let b = two_raws().raw("a.rom", &[9]);
    let out = b.ok("load a.bin b.bin a.rom --apart + digest sum8");
    let pieces: Vec<&str> = out.lines().filter(|l| !l.starts_with(' ')).collect();
    assert_eq!(
        pieces,
        [
            "a   0000-0001   2 bytes",
            "b   0000-0002   3 bytes",
            "a-2   0000-0000   1 byte"
        ]
    );
    assert_eq!(
        b.trouble("load a.bin b.bin --apart --follow"),
        "load: --follow puts files into one piece, --apart makes several: use one of them"
    );
    assert!(
        b.trouble("load a.bin b.bin --apart + load a.rom")
            .starts_with(
                "load: there are 2 pieces on the bench, but nothing says to which this belongs"
            )
    );
    assert_eq!(
        b.trouble("load a.bin --name x + load b.bin --apart --name x"),
        "load: two pieces would have the name x: --name gives them other names"
    );
}

#[test]
fn a_piece_is_called_by_its_first_file_or_as_asked() {
    let b = two_raws();
    let first = |line: &str| b.ok(line).split("   ").next().unwrap().to_owned();
    assert_eq!(first("load a.bin b.bin --follow + digest"), "a");
    assert_eq!(first("load a.bin --name heron + digest"), "heron");
    assert_eq!(
        first("load a.bin + load b.bin --at 2 --name heron + digest"),
        "heron"
    );
}

#[test]
fn addresses_in_a_file_may_count_words() {
    let b = Bench::new().hex("a.hex", &[(0x10, &[1, 2, 3, 4])]);
    assert_eq!(b.rows("load a.hex --unit 2"), ["0020 > 01 02 03 04 < 0023"]);
    assert!(b.trouble("load a.hex --unit 9").contains("use 1 to 8"));
}

#[test]
fn a_different_entry_point_is_settled_or_warned_about() {
    let b = Bench::new()
        .hex_with_entry("a.hex", &[(0, &[1])], Some(0x100))
        .hex_with_entry("b.hex", &[(1, &[2])], Some(0x200));
    let entry = |line: &str| {
        let out = b.ok(&format!("{line} + show"));
        out.split_once("entry point ")
            .map(|(_, n)| n.trim().to_owned())
    };
    let kept = |n: &str| Some(n.to_owned());
    let said = b.run("load a.hex b.hex + show");
    assert_eq!(
        said.err,
        "warning: a names the entry point 0x0100, b names 0x0200: the first is kept; choose one with --entry\n"
    );
    assert_eq!(entry("load a.hex b.hex"), kept("0100"));
    assert_eq!(entry("load a.hex b.hex --entry first"), kept("0100"));
    assert_eq!(entry("load a.hex b.hex --entry last"), kept("0200"));
    assert_eq!(entry("load a.hex b.hex --entry 0x300"), kept("0300"));
    assert_eq!(entry("load a.hex b.hex --entry none"), None);
    for line in [
        "load a.hex b.hex --entry last",
        "load a.hex b.hex --entry none",
    ] {
        assert_eq!(b.told(&format!("{line} + digest")), "");
    }
    // The same for what is on the bench already, and for pieces apart.
    assert_eq!(entry("load a.hex + load b.hex --entry 0x300"), kept("0300"));
    assert_eq!(entry("load a.hex + load b.hex --entry none"), None);
    assert_eq!(entry("load a.hex + load b.hex --entry last"), kept("0200"));
    assert!(
        !b.ok("load a.hex b.hex --apart --entry none + show")
            .contains("entry")
    );
}

#[test]
fn an_entry_point_of_0_in_an_s_record_counts_as_none() {
    // An S-record file has an end record with an address whether it means one or not; sums worked by hand:
    // 04+00+10+AA = BE, complement 41; 03+00+00 = 03, complement FC.
    let b = Bench::new()
        .raw("a.s19", b"S1040010AA41\nS9030000FC\n")
        .hex_with_entry("b.hex", &[(0, &[1])], Some(0x200));
    let said = b.run("load a.s19 b.hex + show");
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    assert!(said.out.contains("entry point 0200"), "{}", said.out);
}

#[test]
fn a_damaged_file_is_refused_with_its_line_or_salvaged() {
    let damaged = ":0300200001X203D7\n:0100100005EA\n:00000001FF\n";
    let b = Bench::new().raw("a.hex", damaged.as_bytes());
    let said = b.run("load a.hex + write x.hex");
    assert_eq!(said.code, 2);
    assert!(said.err.contains("--> a.hex:1:12"), "{}", said.err);
    assert!(
        said.err
            .contains("\nerror: load: a.hex could not be read: 1 error\n"),
        "{}",
        said.err
    );
    // What is sound is used, and the exit code says that something was not.
    let said = b.run("load a.hex --salvage + write x.hex");
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(
        said.out.contains(
            "salvaged from a.hex: 1 byte in 1 record, 1 line damaged\nmissing 0020-0022, 3 bytes"
        ),
        "{}",
        said.out
    );
    assert_eq!(b.rows("load x.hex"), ["0010 > 05 < 0010"]);
}

#[test]
fn strict_reading_refuses_what_is_only_odd() {
    let b = Bench::new().raw("a.hex", b":0100100005EA\n");
    let told = b.told("load a.hex + digest");
    assert!(
        told.contains("warning: a.hex: the file has no end record"),
        "{told}"
    );
    let said = b.run("load a.hex --strict + digest");
    assert_eq!(said.code, 2);
    assert!(
        said.err
            .contains("error: a.hex: the file has no end record"),
        "{}",
        said.err
    );
    assert!(
        b.trouble("load a.hex --strict --salvage")
            .contains("don't go together")
    );
}

#[test]
fn standard_input_is_a_file_like_any_other() {
    let b = Bench::new();
    let said = b.run_reading("load - --as raw --at 0x10 + show hex", &[1, 2]);
    assert_eq!(said.out, "input\n0010 > 01 02 < 0011  standard input\n");
    assert_eq!(
        b.trouble("load - - --follow"),
        "load: standard input can be read only once"
    );
}

#[test]
fn slips_are_told_what_to_type() {
    let b = two_raws();
    assert_eq!(
        b.trouble("load c.bin"),
        "load: c.bin: no such file or directory"
    );
    assert_eq!(b.trouble("load ."), "load: .: this is a folder, not a file");
    for slip in ["show", "+show"] {
        let said = b.trouble(&format!("load a.bin {slip} --json"));
        let line = "romloom load a.bin + show --json";
        assert!(said.contains(line), "{said}");
    }
    assert_eq!(
        b.trouble("show"),
        "`show` works on what is loaded, and nothing is loaded: romloom load FILE + show + write never.hex"
    );
    assert_eq!(
        b.trouble("load"),
        "`load` needs `FILE`: romloom load FILE + show"
    );
    assert!(
        b.trouble("load a.bin --at 8000X")
            .contains("`8000X` is not a number")
    );
}
