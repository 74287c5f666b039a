//! Several chips against several files, each against the one that is named after it.

use crate::support::bench::{Folder, Ran};
use insta::assert_snapshot;
use serde_json::{Value, json};

/// A program on two chips side by side, and the reads `rd-even.bin` and `rd-odd.bin`.
const PAIR: &str = "load prog.hex + seat 27C64 --at 0x8000 --lanes 2";

fn with_reads() -> Folder {
    let folder = Folder::new();
    folder.ok(&format!("{PAIR} + write rd-{{name}}.bin"));
    folder
}

/// Changes a byte of a file.
fn spoil(folder: &Folder, name: &str, at: usize) {
    let mut bytes = folder.get(name);
    bytes[at] ^= 0x41;
    folder.put(name, bytes);
}

fn no(folder: &Folder, line: &str) -> Ran {
    let ran = folder.run(line);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""), "{line}\n{}", ran.out);
    ran
}

fn document(ran: &Ran) -> Value {
    serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("{e}\n{}", ran.out))
}

/// What the repairer missed: `compare 'rd-{label}.bin'` behind `seat`, and one verdict for a set.
#[test]
fn each_chip_is_compared_with_the_file_that_is_named_after_it() {
    let folder = with_reads();
    assert_snapshot!(folder.ok(&format!("{PAIR} + compare rd-{{name}}.bin")).out, @r"
    even against rd-even.bin: 8,192 bytes compared, all the same
    odd against rd-odd.bin: 8,192 bytes compared, all the same
    2 chips compared: all the same
    ");
    spoil(&folder, "rd-odd.bin", 1);
    assert_snapshot!(no(&folder, &format!("{PAIR} + compare rd-{{name}}.bin")).out, @r"
    even against rd-even.bin: 8,192 bytes compared, all the same
    odd against rd-odd.bin: 8,192 bytes compared, 1 byte with 2 bits different
      from rd-odd.bin to odd: 1 bit 0 to 1, 1 bit 1 to 0
      D0   1 bit 0 to 1
      D6   1 bit 1 to 0
      0001
    2 chips compared: 1 the same, 1 differs
    ");
    // The same pieces without their sockets, by number, and from folders of their own.
    folder.ok("load rd-even.bin rd-odd.bin --apart + write want/{n}/chip.bin");
    let out = folder
        .ok("load rd-even.bin rd-odd.bin --apart + compare want/{n}/chip.bin")
        .out;
    assert!(
        out.ends_with("\n2 pieces compared: all the same\n"),
        "{out}"
    );
    folder.ok(&format!("{PAIR} + write {{part}}-{{name}}.out --as raw"));
    folder.ok(&format!("{PAIR} + compare {{part}}-{{name}}.out"));
}

#[test]
fn a_chip_without_a_file_and_a_file_without_a_chip_are_named() {
    let folder = with_reads();
    folder.put("rd-third.bin", [0xFF]);
    std::fs::remove_file(folder.path("rd-odd.bin")).unwrap();
    let line = format!("{PAIR} + compare rd-{{name}}.bin");
    assert_snapshot!(no(&folder, &line).out, @r"
    even against rd-even.bin: 8,192 bytes compared, all the same
    odd: there is no file rd-odd.bin
    rd-third.bin: no chip on the bench belongs to it
    1 chip compared: all the same; 1 chip without a file, 1 file without a chip
    ");
    let found = document(&no(&folder, &format!("{line} --json")));
    assert_eq!(
        found["missing"],
        json!([{ "piece": "odd", "file": "rd-odd.bin" }])
    );
    assert_eq!(found["surplus"], json!(["rd-third.bin"]));
    assert_eq!(
        (&found["same"], found["pieces"].as_array().unwrap().len()),
        (&json!(false), 1)
    );
    // Nobody has asked for the others.
    folder.ok(&format!("{line} --on even"));
    // Only one of the two is enough for a no.
    std::fs::remove_file(folder.path("rd-third.bin")).unwrap();
    let out = no(&folder, &line).out;
    assert!(
        out.ends_with("1 chip compared: all the same; 1 chip without a file\n"),
        "{out}"
    );
    // Nothing at all is not the same as all the same.
    let out = no(
        &folder,
        &format!("{PAIR} + compare nowhere/rd-{{name}}.bin"),
    )
    .out;
    assert!(
        out.ends_with("0 chips compared; 2 chips without a file\n"),
        "{out}"
    );
    let out = no(&folder, &format!("{PAIR} + burnable rd-{{name}}.bin")).out;
    assert!(
        out.ends_with("1 chip looked at: all can be programmed over; 1 chip without a file\n"),
        "{out}"
    );
    // What only shows something has nothing to say no to.
    let ran = folder.run(&format!("{PAIR} + show changes rd-{{name}}.bin"));
    assert_eq!(
        (ran.code, ran.out.as_str()),
        (2, "even against rd-even.bin: no change\n")
    );
    assert!(ran.err.contains("there is no rd-odd.bin"), "{}", ran.err);
}

#[test]
fn files_of_the_run_itself_are_no_forgotten_chips() {
    let folder = Folder::new();
    folder.put("a.bin", [1]);
    folder.put("b.bin", [2]);
    folder.put("a2.bin", [1]);
    folder.put("b2.bin", [2]);
    folder.ok("load a.bin b.bin --apart + compare {name}2.bin");
    folder.put("x/a.bin", [1]);
    folder.put("x/b.bin", [2]);
    folder.put("x/c.bin", [3]);
    folder.ok("load x/a.bin x/b.bin --apart + write x/c.bin --on a + compare x/{name}.bin");
    folder.put("x/d.bin", [3]);
    no(
        &folder,
        "load x/a.bin x/b.bin --apart + compare x/{name}.bin",
    );
    // A folder of such a name is no file.
    std::fs::create_dir(folder.path("d2.bin")).unwrap();
    folder.ok("load a.bin b.bin --apart + compare {name}2.bin");
}

/// Nobody burns an erased chip, and `write` makes no file of it.
#[test]
fn an_erased_chip_needs_no_file() {
    let folder = Folder::new();
    let rows = "load prog.hex + seat 27C64 --at 0x8000 --rows 2 --names low,high";
    folder.ok(&format!("{rows} + write rd-{{name}}.bin"));
    assert!(!folder.has("rd-high.bin"));
    let ran = folder.ok(&format!("{rows} + compare rd-{{name}}.bin"));
    assert_eq!(
        ran.err,
        "note: high is erased, and there is no rd-high.bin\n"
    );
    // When it was read all the same, it is compared.
    folder.put("rd-high.bin", [0xFF; 8192]);
    let out = folder.ok(&format!("{rows} + compare rd-{{name}}.bin")).out;
    assert!(out.ends_with("2 chips compared: all the same\n"), "{out}");
    // And a set of which nothing was compared is not the same.
    let ran = folder.run(&format!("{rows} + compare no-{{name}}.bin --on high"));
    assert_eq!((ran.code, ran.out.as_str()), (1, "0 chips compared\n"));
}

#[test]
fn one_file_for_several_chips_is_rarely_meant() {
    let folder = with_reads();
    let ran = folder.run(&format!("{PAIR} + compare rd-even.bin"));
    let hint = "note: 2 chips are compared with one file: put {name} into it, such as 'read-{name}.bin', to give each its own\n";
    assert_eq!((ran.code, ran.err.as_str()), (1, hint));
    assert!(
        ran.out
            .ends_with("2 chips compared: 1 the same, 1 differs\n"),
        "{}",
        ran.out
    );
    // Several reads of one chip are.
    let ran = folder.ok("load rd-even.bin rd-even.bin --apart + compare rd-even.bin");
    assert_eq!(ran.err, "");
}

/// Names of sockets are matched without regard to case, and so are files, on every system.
#[test]
fn the_case_of_letters_decides_nothing_unless_it_must() {
    let folder = with_reads();
    std::fs::rename(folder.path("rd-even.bin"), folder.path("rd-EVEN.bin")).unwrap();
    let out = folder.ok(&format!("{PAIR} + compare rd-{{name}}.bin")).out;
    assert!(out.starts_with("even against rd-EVEN.bin: 8,192"), "{out}");
}

#[test]
fn names_that_lead_nowhere_are_refused_before_anything_is_read() {
    let folder = with_reads();
    for (line, says) in [
        (
            format!("{PAIR} + compare rd-{{lable}}.bin"),
            "`{lable}` in `rd-{lable}.bin` means nothing: use {name} {part} {n}",
        ),
        (
            format!("{PAIR} + compare rd-{{sum16}}.bin"),
            "use {name} {part} {n}",
        ),
        (
            format!("{PAIR} + burnable rd-{{name.bin"),
            "a brace in `rd-{name.bin` has no partner",
        ),
        (
            format!("{PAIR} + compare {{part}}.bin"),
            "even and odd would both have 27C64.bin: put {name} or {n} into the file's name",
        ),
        (
            "load prog.hex + compare {part}.bin".into(),
            "{part} needs a part, but prog has none",
        ),
        (
            "load prog.hex --name ../x + compare in/{name}.bin".into(),
            "`../x` can't be part of a file's name",
        ),
    ] {
        let ran = folder.run(&line);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.told().contains(says), "{line}\n{}", ran.err);
    }
    // A brace that is part of the name is written twice.
    folder.put("rd-{x}.bin", folder.get("rd-even.bin"));
    folder.ok(&format!("{PAIR} + compare rd-{{{{x}}}}.bin --on even"));
}

/// What was found before a file turned out to be broken is not lost, and is no yes.
#[test]
fn a_set_that_is_cut_short_by_a_broken_file_is_not_the_same() {
    let folder = Folder::new();
    folder.ok(&format!("{PAIR} + write rd-{{name}}.hex"));
    folder.put("rd-odd.hex", ":zz\n");
    let line = format!("{PAIR} + compare rd-{{name}}.hex");
    let ran = folder.run(&line);
    assert_eq!(ran.code, 2);
    assert_eq!(
        ran.out,
        "even against rd-even.hex: 8,192 bytes compared, all the same\n"
    );
    let found = document(&folder.run(&format!("{line} --json")));
    assert_eq!(found["same"], json!(false));
}

/// A chip's file begins at chip address 0, also where the first bytes of the piece are holes.
#[test]
fn a_raw_file_of_a_chip_begins_at_its_first_cell() {
    let folder = with_reads();
    let ran = no(
        &folder,
        &format!("{PAIR} + drop 0-0xF + compare rd-{{name}}.bin"),
    );
    assert!(ran.out.starts_with("even against rd-even.bin: 8,176 bytes compared, all the same\n  16 bytes only in rd-even.bin"), "{}", ran.out);
}

/// The two reads in each other's place, from both sides: reads on the bench, and the program on the bench.
#[test]
fn a_set_of_chips_has_one_verdict() {
    let folder = with_reads();
    folder.ok(&format!("{PAIR} + write want-{{name}}.bin"));
    let same = folder
        .ok(&format!("{PAIR} + diagnose --read rd-{{name}}.bin"))
        .out;
    assert!(same.contains("Every chip is as wanted."), "{same}");
    let (even, odd) = (folder.get("rd-even.bin"), folder.get("rd-odd.bin"));
    folder.put("rd-even.bin", &odd);
    folder.put("rd-odd.bin", &even);
    let from_program = no(
        &folder,
        &format!("{PAIR} + diagnose --read rd-{{name}}.bin --json"),
    );
    assert_eq!(document(&from_program)["verdict"], "swapped");
    folder.put("even.bin", &odd);
    folder.put("odd.bin", &even);
    let reads = "load even.bin odd.bin --apart + diagnose --wanted want-{name}.bin";
    let told = no(&folder, reads).out;
    assert!(
        told.contains("even contains what belongs in odd."),
        "{told}"
    );
    assert!(
        told.contains("odd contains what belongs in even."),
        "{told}"
    );
}

#[test]
fn what_is_about_one_chip_is_refused_for_a_set() {
    let folder = with_reads();
    let set = "load rd-even.bin rd-odd.bin --apart + diagnose --wanted w-{name}.bin";
    for (option, more) in [
        ("--other", "rd-odd.bin"),
        ("--second", "rd-odd.bin rd-even.bin"),
        ("--recover-wiring", ""),
    ] {
        let ran = folder.run(&format!("{set} {option} {more}"));
        assert_eq!(ran.code, 2, "{option}");
        let fact = format!("{option} is about one chip, but this is a set");
        assert!(ran.err.contains(&fact), "{}", ran.err);
    }
}
