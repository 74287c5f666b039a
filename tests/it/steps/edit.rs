//! `swap`, `patch`, `mark`, `stamp`.

use super::Bench;

fn chip(bytes: &[u8]) -> Bench {
    Bench::new().raw("chip.bin", bytes)
}

#[test]
fn swap_reverses_each_word() {
    let b = chip(&[1, 2, 3, 4]);
    assert_eq!(b.bytes("load chip.bin + swap 2"), [2, 1, 4, 3]);
    assert_eq!(b.bytes("load chip.bin + swap 4"), [4, 3, 2, 1]);
    assert_eq!(
        b.trouble("load chip.bin --at 1 + swap 2"),
        "swap: the word at 0x0000 has a hole at 0x0000: `fill` it first"
    );
    assert!(b.trouble("load chip.bin + swap 3").contains("use 2 or 4"));
    b.ok("load chip.bin + split lanes 2 --names a,b + swap 2 --on b + write {name}.bin");
    assert_eq!((b.read("a.bin"), b.read("b.bin")), (vec![1, 3], vec![4, 2]));
}

#[test]
fn a_patch_overwrites_if_the_old_bytes_are_as_expected() {
    let b = chip(&[1, 2, 3, 4]);
    assert_eq!(b.bytes("load chip.bin + patch 1 'A9 00'"), [1, 0xA9, 0, 4]);
    assert_eq!(
        b.bytes("load chip.bin + patch 1 text:HI --was '02 03'"),
        [1, b'H', b'I', 4]
    );
    assert_eq!(
        b.trouble("load chip.bin + patch 1 FF --was 03"),
        "patch: 0x0001 holds 02, not 03. Is this the right version?"
    );
    assert_eq!(
        b.told("load chip.bin + patch 3 'EA EA'"),
        "warning: 0x0004 was a hole before it was patched: is the address right?\n"
    );
    b.ok("load chip.bin + split lanes 2 --names a,b + patch 0 FF --on b + write {name}.bin");
    assert_eq!(
        (b.read("a.bin"), b.read("b.bin")),
        (vec![1, 3], vec![0xFF, 4])
    );
    assert!(b.trouble("load chip.bin + patch").contains("needs `ADDR`"));
    assert!(
        b.trouble("load chip.bin + patch 1")
            .contains("needs `BYTES`")
    );
}

#[test]
fn a_list_of_patches_lands_as_a_whole_or_not_at_all() {
    let b = chip(&[1, 2, 3, 4])
        .raw(
            "fix.txt",
            b"# Heron-8\n0 was 01 now A1 # first\n3 now text:#\n",
        )
        .raw("bad.txt", b"0 was 01 now A1\n\n3 to 05\n")
        .raw("other.txt", b"0 was 01 now A1\n3 was FF now 05\n")
        .raw("binary.txt", &[b'0', 0xFF]);
    assert_eq!(
        b.bytes("load chip.bin + patch --file fix.txt"),
        [0xA1, 2, 3, b'#']
    );
    assert_eq!(
        b.trouble("load chip.bin + patch --file bad.txt"),
        "patch: bad.txt: line 3: the word `now` is missing: write `0x7F10 was A9 00 now A9 01`"
    );
    assert_eq!(
        b.trouble("load chip.bin + patch --file other.txt"),
        "patch: other.txt: line 2: 0x0003 holds 04, not FF: is this the right version?"
    );
    assert_eq!(
        b.trouble("load chip.bin + patch --file none.txt"),
        "patch: none.txt: no such file or directory"
    );
    assert_eq!(
        b.trouble("load chip.bin + patch --file binary.txt"),
        "patch: binary.txt: byte 1 is not UTF-8 text"
    );
    assert!(
        b.trouble("load chip.bin + patch 0 FF --file fix.txt")
            .contains("don't go together")
    );
}

#[test]
fn a_mark_is_text_in_a_place_of_its_own() {
    let b = chip(&[0; 8]);
    assert_eq!(
        b.bytes("load chip.bin + mark 2 V1.0 --replace"),
        b"\0\0V1.0\0\0"
    );
    assert_eq!(
        b.bytes("load chip.bin + mark 0 V1 --replace --length 4"),
        b"V1  \0\0\0\0"
    );
    assert_eq!(
        b.bytes("load chip.bin + mark 0 'V\\x31\\n' --replace --length 5 --with FF"),
        b"V1\n\xFF\xFF\0\0\0"
    );
    assert_eq!(
        b.trouble("load chip.bin + mark 0 V1.0 --replace --length 3"),
        "mark: the text has 4 bytes, but its place has only 3: shorten it, or give it more --length"
    );
    assert_eq!(
        b.trouble("load chip.bin + mark 0 '' --replace"),
        "mark: the text is empty"
    );
    assert!(
        b.trouble("load chip.bin + mark 0 'a\\q' --replace")
            .contains("`\\q` in `a\\q` means nothing")
    );
    assert!(
        b.trouble("load chip.bin + mark 0 V --replace --with 00")
            .contains("--length")
    );
    assert_eq!(
        b.told("load chip.bin + mark 0 é --replace"),
        "warning: this text has characters outside ASCII; they are stored in UTF-8\n"
    );
    b.ok(
        "load chip.bin + split lanes 2 --names a,b + mark 0 X --replace --on b + write {name}.bin",
    );
    assert_eq!((b.read("a.bin")[0], b.read("b.bin")[0]), (0, b'X'));
}

#[test]
fn a_date_comes_from_outside_and_never_from_the_clock() {
    let b = chip(&[0; 12]);
    assert_eq!(
        b.bytes("load chip.bin + mark 0 {date} --replace --date 2026-03-01")[..10],
        *b"2026-03-01"
    );
    let line = "load chip.bin + mark 1 {date} --replace + write dated.bin";
    // 951782400 is 2000-02-29 00:00:00 UTC.
    let said = b.run_with(line, ("SOURCE_DATE_EPOCH", "951782400"));
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(b.read("dated.bin")[1..11], *b"2000-02-29");
    assert_eq!(
        b.trouble("load chip.bin + mark 0 {date} --replace"),
        "mark: {date} needs --date or the environment variable SOURCE_DATE_EPOCH: the date never comes from the clock, so that builds can be repeated"
    );
    for wrong in ["yesterday", "-1", "253402300800", ""] {
        let said = b.run_with(line, ("SOURCE_DATE_EPOCH", wrong));
        assert_eq!(said.code, 2, "{wrong}");
        assert!(
            said.err.contains(&format!(
                "SOURCE_DATE_EPOCH is `{wrong}`; it must be seconds since 1970-01-01"
            )),
            "{}",
            said.err
        );
    }
}

/// Finding A6: `{version}` and its like went into the chip as they were.
#[test]
fn words_in_braces_are_replaced_or_refused() {
    let b = chip(&[1, 2, 3, 4]);
    // 1 + 2 + 3 + 4 = 0A, whatever else the mark says, and holes don't count.
    let marked = |text: &str, to: usize| {
        let bytes = b.bytes(&format!("load chip.bin + mark 4 '{text}' + pad 64"));
        String::from_utf8(bytes[4..4 + to].to_vec()).unwrap()
    };
    assert_eq!(marked("sum {sum16}, {name} {n}", 16), "sum 000A, chip 0");
    assert_eq!(marked("{{{sum8}}}", 4), "{0A}");
    assert_eq!(marked("{crc-32/iso-hdlc}", 8), marked("{CRC32}", 8));
    // As `digest` prints them, one place in each of several pieces.
    let line = "load chip.bin + split lanes 2 --names a,b + mark 8 {n}{name}{xor8} + fill FF + write {name}.bin";
    b.ok(line);
    assert_eq!(b.read("a.bin")[8..], *b"0a02");
    assert_eq!(b.read("b.bin")[8..], *b"1b06");
    // What a word stands for is put in as it is.
    let bytes =
        b.bytes("load chip.bin --name 'a{b}' + mark 4 {name}{date} --date '\\x41{n}' + pad 64");
    assert_eq!(&bytes[4..15], b"a{b}\\x41{n}");
    assert_eq!(
        b.trouble("load chip.bin + mark 8 'V {version}'"),
        "mark: `{version}` in the text means nothing: use {date}, {name}, {bank}, {n} or a sum by its name, such as {sum16} or {crc32}; write {{ and }} for braces"
    );
    for lone in ["a{", "a}b", "{name", "{{}"] {
        let said = b.trouble(&format!("load chip.bin + mark 8 '{lone}'"));
        assert!(
            said.contains("in the text has no partner"),
            "{lone}: {said}"
        );
    }
    assert_eq!(
        b.trouble("load chip.bin + mark 8 {bank}"),
        "mark: {bank} is the bank of the address, but this address is not in a bank"
    );
    assert!(
        b.trouble("load chip.bin + keep 0-2 + mark 8 {sum16le}")
            .contains("1 of 3 bytes are left over")
    );
}

/// Finding A7: `mark` over loaded code was silent.
#[test]
fn a_mark_over_loaded_data_has_to_be_asked_for() {
    let b = chip(&[0; 4]);
    assert_eq!(
        b.trouble("load chip.bin + mark 3 V1 + write out.bin"),
        "mark: there is data at the mark's place 0x0003-0x0004 (chip.bin): choose another place, or allow it with --replace"
    );
    assert!(!b.has("out.bin"));
    assert_eq!(b.bytes("load chip.bin + mark 3 V1 --replace"), b"\0\0\0V1");
    assert_eq!(
        b.bytes("load chip.bin + pad 8 + mark 4 V1 + mark 5 V2"),
        b"\0\0\0\0VV2\xFF"
    );
}

#[test]
fn a_stamp_stores_a_sum_low_byte_first_unless_told() {
    // 80 + 90 + A0 = 01B0
    let b = chip(&[0x80, 0x90, 0xA0]);
    let stored = |options: &str| {
        let bytes = b.bytes(&format!(
            "load chip.bin + fill 00 0-15 + stamp {options} --at 4"
        ));
        bytes[4..6].to_vec()
    };
    let all = "--across 0-2";
    assert_eq!(stored(&format!("sum16 {all}")), [0xB0, 0x01]);
    assert_eq!(stored(&format!("sum16 {all} --order little")), [0xB0, 0x01]);
    assert_eq!(stored(&format!("sum16 {all} --order big")), [0x01, 0xB0]);
    assert_eq!(stored(&format!("sum16be {all} --across 3-3")), [0x20, 0x90]);
    assert_eq!(
        stored(&format!("sum16 {all} --order big --complement ones")),
        [0xFE, 0x4F]
    );
    assert_eq!(
        stored(&format!("sum16 {all} --order big --complement twos")),
        [0xFE, 0x50]
    );
    assert_eq!(
        stored(&format!("sum16 {all} --order big --init 0x1000")),
        [0x11, 0xB0]
    );
    assert_eq!(stored("sum8 --across 0-0 --across 2-2"), [0x20, 0x00]);
    assert_eq!(
        b.told("load chip.bin + stamp sum16 --across 0-2 --at 4"),
        "note: chip: sum16 is 01B0, stored at 0x0004-0x0005\n"
    );
}

#[test]
fn a_stamp_can_bring_the_whole_to_a_target() {
    // 80 + 90 + A0 = B0 in 8 bits; 100 - B0 = 50.
    let b = chip(&[0x80, 0x90, 0xA0]);
    assert_eq!(
        b.bytes("load chip.bin + stamp sum8 --across 0-3 --at 3 --zero-sum")[3],
        0x50
    );
    assert_eq!(
        b.bytes("load chip.bin + stamp sum8 --across 0-3 --at 3 --zero-sum --target 1")[3],
        0x51
    );
    assert_eq!(
        b.bytes("load chip.bin + stamp xor8 --across 0-3 --at 3 --zero-sum")[3],
        0xB0
    );
    for (options, said) in [
        ("sum8 --at 8 --zero-sum", "is not inside the range"),
        (
            "sum16 --at 3 --zero-sum",
            "no bytes can be chosen to bring sum16 to a target",
        ),
        (
            "sum16le --at 1 --zero-sum --replace",
            "is not on a 2-byte word",
        ),
        (
            "sum16le --at 2 --zero-sum --order big --replace",
            "so use `little`",
        ),
        (
            "sum8 --at 3 --zero-sum --blank-as FF",
            "leave out --blank-as or --zero-sum",
        ),
        (
            "sum8 --at 3 --zero-sum --target 256",
            "target 0x100 is too large",
        ),
        (
            "sum8 --at 3 --zero-sum --complement ones",
            "don't go together",
        ),
        ("sum8 --at 3 --target 1", "--zero-sum"),
        (
            "sum8 --at 3 --zero-sum --across 2-3",
            "so it would count twice",
        ),
    ] {
        let text = b.trouble(&format!("load chip.bin + stamp --across 0-3 {options}"));
        assert!(text.contains(said), "{options}: {text}");
    }
}

#[test]
fn the_stamps_place_counts_as_it_is_told() {
    let b = chip(&[1, 2, 3, 4]);
    let sum = |options: &str| {
        let told = b.told(&format!(
            "load chip.bin + stamp sum16 --across 0-3 --at 2 --replace {options}"
        ));
        told.split_once("is ").unwrap().1[..4].to_owned()
    };
    assert_eq!(sum(""), "0003");
    assert_eq!(sum("--blank-as FF"), "0201");
    assert_eq!(sum("--blank-as 1=10"), "0011");
    // Complement and sum side by side, both over all four bytes as FF FF 00 00: 1FE, complement FE01.
    let both = b.bytes(
        "load chip.bin + stamp sum16 --across 0-3 --at 0 --complement ones --replace --blank-as '0=FFFF 0000' \
         + stamp sum16 --across 0-3 --at 2 --replace --blank-as '0=FFFF 0000'",
    );
    assert_eq!(both, [0x01, 0xFE, 0xFE, 0x01]);
    assert!(
        b.trouble("load chip.bin + stamp sum8 --across 0-3 --at 4 --blank-as x=00")
            .contains("`x` is not a number")
    );
}

#[test]
fn a_stamp_replaces_filler_and_older_stamps_but_no_data_unasked() {
    let b = chip(&[1, 2, 3, 4]);
    assert_eq!(
        b.trouble("load chip.bin + stamp sum16 --across 0-3 --at 3"),
        "stamp: there is data at the stamp's place 0x0003-0x0004 (chip.bin): choose another place, or allow it with --replace"
    );
    let filler = "load chip.bin + pad 8";
    assert_eq!(
        b.bytes(&format!(
            "{filler} + stamp sum16 --across 0-3 --at 6 + stamp sum8 --across 0-3 --at 7"
        )),
        [1, 2, 3, 4, 0xFF, 0xFF, 10, 10]
    );
    assert_eq!(
        b.trouble("load chip.bin + stamp sum16 --across 0-7 --at 6"),
        "stamp: 0x0004-0x0005 is a hole, but a sum needs every byte: `fill` it first"
    );
    b.ok("load chip.bin + split lanes 2 --names a,b + stamp sum8 --across 0-1 --at 2 --on b + write {name}.bin");
    assert_eq!(
        (b.read("a.bin"), b.read("b.bin")),
        (vec![1, 3], vec![2, 4, 6])
    );
}

/// A change behind a stamp makes the stored sum wrong, and the chip fails its own test: that is said.
#[test]
fn a_stamp_that_does_not_fit_any_more_is_told() {
    let b = chip(&[1, 2, 3, 4, 5, 6, 7, 0]).raw("other.bin", &[9, 8]);
    let stale = |step: &str, place: &str, of: &str| {
        format!(
            "warning: `{step}` changed bytes that the sum8 at {place} of {of} covers, so the sum is now wrong: put `stamp` after all changes\n"
        )
    };
    let warned = |line: &str| {
        let told = b.told(&format!(
            "load chip.bin {line} + write {{name}}.out --as raw"
        ));
        let warnings = told.lines().filter(|l| l.starts_with("warning"));
        warnings.map(|l| format!("{l}\n")).collect::<String>()
    };
    let stamp = "stamp sum8 --across 0-6 --at 7 --replace";
    let own = |step: &str| stale(step, "0x0007", "chip");
    for (change, step) in [
        ("patch 0 FF", "patch"),
        ("mark 3 AB --replace", "mark"),
        ("copy 0-1 --to 2 --clash last", "copy"),
        // A hole for a while, and another byte in it: one of the two has done it.
        ("hollow 03 --least 1 + fill 09", "hollow` or `fill"),
        ("load other.bin --as raw --clash last", "load"),
        // All that moves the sum along with what it was made of.
        ("relocate --to 0 + patch 0 FF", "patch"),
    ] {
        assert_eq!(
            warned(&format!("+ {stamp} + {change}")),
            own(step),
            "{change}"
        );
    }
    let moved = warned(&format!("+ {stamp} + relocate --to 0x100 + patch 0x100 FF"));
    assert_eq!(moved, stale("patch", "0x0107", "chip"));
    // Once is enough, and not before anything leaves the bench.
    let twice = format!("+ {stamp} + patch 0 FF + patch 0 FE + write a.out --as raw");
    assert_eq!(warned(&twice), own("patch"));
    let shown = b.told(&format!("load chip.bin + {stamp} + patch 0 FF + show"));
    assert!(!shown.contains("warning"), "{shown}");
    // In the CPU's addresses, however the chips are changed.
    let seated = "--at 0x8000 + seat 28C16 --at 0x8000 + stamp sum8 --across cpu:0x8000-0x87FE --at cpu:0x87FF";
    for change in ["patch cpu:0x8000 FF", "patch 0 FF"] {
        let told = warned(&format!("{seated} + {change}"));
        assert_eq!(told, stale("patch", "0x87FF", "chip"));
    }
    let wide = "+ seat 28C16 --at 0 --lanes 2 + stamp sum8 --across cpu:0-0xFFE --at cpu:0xFFF";
    let told = warned(&format!("{wide} + patch 0 FF --on odd"));
    assert_eq!(told, stale("patch", "0x0FFF", "even+odd"));
    // Stamped before it is seated, changed behind.
    let before = format!("+ {stamp} + seat 28C16 --at 0 --lanes 2 + patch 0 FF --on even");
    assert_eq!(warned(&before), stale("patch", "0x0007", "even+odd"));
    // Two programs in one piece, joined at their own addresses.
    let joined = format!(
        "+ load other.bin --at 8 --apart --name more + {stamp} --on chip + join --name all + patch 0 FF"
    );
    assert_eq!(warned(&joined), stale("patch", "0x0007", "all"));
    // The piece that was stamped, and no other of a like name.
    let names = format!(
        "--name a + load chip.bin --apart --name a+b + {stamp} --on a+b + patch 0 FF --on a+b"
    );
    assert_eq!(warned(&names), stale("patch", "0x0007", "a+b"));
    // Another sum behind it that counts is a change like any other.
    let nested = format!("+ {stamp} + stamp sum8 --across 0-2 --at 3 --replace");
    assert_eq!(warned(&nested), own("stamp"));
    for fine in [
        // Outside of what was summed; the same again; over the stamp itself, by another and by hand.
        "+ stamp sum8 --across 0-2 --at 7 --replace + patch 4 FF".to_owned(),
        format!("+ {stamp} + patch 0 01"),
        format!("+ {stamp} + stamp sum8 --across 0-3 --at 7"),
        format!("+ {stamp} + patch 7 00"),
        // Stamped again behind the change, before anything is written.
        format!("+ {stamp} + patch 0 FF + {stamp}"),
        // Cut, moved and taken apart: what is left holds no sum of its own.
        format!("+ {stamp} + keep 2-7"),
        format!("+ {stamp} + relocate --to 8"),
        format!("+ {stamp} + swap 2 + patch 0 FF"),
        format!("+ {stamp} + split lanes 2"),
        format!("+ {stamp} + seat 28C16 --at 0 --lanes 2"),
        // A sum beside its own complement.
        "+ stamp sum16 --across 0-7 --at 6 --blank-as '4=FF FF 00 00' --replace \
         + stamp sum16 --complement ones --across 0-7 --at 4 --blank-as '4=FF FF 00 00' --replace"
            .to_owned(),
        // What brings the whole to a target.
        format!("+ stamp sum8 --zero-sum --across 0-7 --at 7 --replace + {stamp}"),
    ] {
        assert_eq!(warned(&fine), "", "{fine}");
    }
}

#[test]
fn sums_that_do_not_exist_are_told_the_nearest() {
    let b = chip(&[1]);
    assert_eq!(
        b.trouble("load chip.bin + stamp sum17 --across 0-0 --at 4"),
        "there is no sum `sum17`: romloom load chip.bin + stamp sum16 --across 0-0 --at 4 + write never.hex"
    );
    for (options, said) in [
        ("md5 --complement ones", "has no complement"),
        (
            "md5 --init 1",
            "only sums and CRCs can have an initial value",
        ),
        ("sum8 --init 256", "initial value 0x100 is too large"),
        ("sum16le", "sum16le adds words of 2 bytes"),
    ] {
        let text = b.trouble(&format!(
            "load chip.bin + stamp {options} --across 0-0 --at 4"
        ));
        assert!(text.contains(said), "{options}: {text}");
    }
    assert!(
        b.trouble("load chip.bin + stamp sum8 --at 4")
            .contains("--across RANGE")
    );
    assert!(
        b.trouble("load chip.bin + stamp sum8 --across 0-0")
            .contains("--at ADDR")
    );
}

#[test]
fn each_bank_gets_a_stamp_of_its_own() {
    let bank = |first: [u8; 4]| [first.as_slice(), &[0; 252]].concat();
    let b = Bench::new().raw("a.bin", &[bank([1, 2, 0, 0]), bank([3, 4, 0, 0])].concat());
    let one_by_one = "load a.bin + stamp sum16be --across 0-1 --at 2 --replace \
         + stamp sum16be --across 0x100-0x101 --at 0x102 --replace + write hand.bin";
    b.ok(one_by_one);
    let said = b.told(
        "load a.bin + stamp sum16be --across 0-1 --at 2 --replace --bank-size 256 + write a2.bin",
    );
    assert_eq!(
        said,
        "note: a: sum16be is 0102, stored at 0x0002-0x0003\nnote: a: sum16be is 0304, stored at 0x0102-0x0103\n"
    );
    assert_eq!(b.read("a2.bin"), b.read("hand.bin"));
    // The place that counts as something else moves along.
    b.ok("load a.bin + stamp sum8 --across 0-3 --at 3 --blank-as 2=FF --replace --bank-size 256 + write a3.bin");
    let stamped = [bank([1, 2, 0, 2]), bank([3, 4, 0, 6])].concat();
    assert_eq!(b.read("a3.bin"), stamped);
    for (line, said) in [
        (
            "--at 0x100 --bank-size 256",
            "0x0100-0x0101 is not in the first bank of --bank-size, 0x0000-0x00FF",
        ),
        (
            "--at 2 --bank-size 255",
            "a bank has at least 256 bytes, not 255",
        ),
    ] {
        let line = format!("load a.bin + stamp sum16 --across 0-1 {line} --replace");
        assert!(b.trouble(&line).contains(said));
    }
}

/// Source: RFC 1071, section 3: these bytes sum to DDF2; section 1 stores the ones' complement, high byte first.
#[test]
fn the_internet_sum_is_stored_as_rfc_1071_does() {
    let b = chip(&[0x00, 0x01, 0xF2, 0x03, 0xF4, 0xF5, 0xF6, 0xF7]);
    let stamp = "load chip.bin + stamp internet --complement ones --across 0-9 --at 8";
    assert_eq!(b.bytes(stamp)[8..], [0x22, 0x0D]);
    // With it in place the sum is all ones, which is how it is checked.
    b.ok(&format!("{stamp} + expect sum internet FFFF"));
    assert!(
        b.run("load chip.bin + digest internet")
            .out
            .contains("DDF2")
    );
    let said = b.trouble("load chip.bin + stamp internet --zero-sum --across 0-9 --at 8");
    assert!(said.contains("is 0 only when all bytes are 00"), "{said}");
    let stamp = "load chip.bin + stamp carry8 --complement ones --across 0-8 --at 8";
    b.ok(&format!("{stamp} + expect sum carry8 FF"));
}
