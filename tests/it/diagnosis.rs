//! Proving a chip through the command: pattern, compare, vote, diagnose.

use std::path::Path;

use crate::support::bench::{Folder, Ran};
use insta::assert_snapshot;

/// A pattern as the command makes it.
fn pattern(words: &str) -> Vec<u8> {
    let folder = Folder::new();
    folder.ok(&format!("pattern {words} + write p.bin"));
    folder.get("p.bin")
}

/// What is read of `image` when the address goes through `wires`.
fn behind(image: &[u8], wires: impl Fn(usize) -> usize) -> Vec<u8> {
    (0..image.len()).map(|a| image[wires(a)]).collect()
}

/// A run that ends with exit code 1 and says nothing on standard error.
fn says_no(folder: &Folder, line: &str) -> Ran {
    let ran = folder.run(line);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""), "{line}\n{}", ran.out);
    ran
}

fn json(folder: &Folder, line: &str) -> serde_json::Value {
    serde_json::from_str(&folder.run(line).out).unwrap()
}

#[test]
fn patterns_are_what_their_names_say() {
    assert_eq!(pattern("zeros 3"), [0; 3]);
    assert_eq!(pattern("ones part:2716"), [0xFF; 2048]);
    assert_eq!(pattern("checker 4"), [0x55, 0xAA, 0x55, 0xAA]);
    assert_eq!(pattern("address 512")[255..258], [0xFF, 0, 1]);
    assert_eq!(pattern("walk 9"), [1, 2, 4, 8, 16, 32, 64, 128, 1]);
    let telltale = pattern("telltale 27C256");
    assert_eq!(telltale.len(), 32768);
    assert_eq!(telltale[0x4001], 0xA3 ^ 0x33);
    assert_ne!(pattern("random 64"), pattern("random 64 --seed 2"));
    let (first, second) = (pattern("telltale 256K"), pattern("telltale 256K --pass 2"));
    assert_eq!((first[1 << 17], second[1 << 17]), (0x33, 0xE8));
}

#[test]
fn patterns_refuse_what_makes_no_sense() {
    let folder = Folder::new();
    for (line, says) in [
        ("pattern zeros 0", "a size can't be 0"),
        ("pattern ones 17M", "a pattern has 1 byte to 16M"),
        ("pattern stripes 8", "`stripes` is not a pattern"),
        ("pattern ones 8 --pass 2", "--pass has no meaning for ones"),
        ("pattern walk 8 --seed 3", "--seed has no meaning for walk"),
        (
            "pattern random 8 --seed 8388608",
            "seed 8388608 is out of range: 1 to 8388607",
        ),
        ("pattern random 8 --seed 0", "out of range"),
        ("pattern telltale 2K --pass 2", "need no second pass"),
        (
            "pattern ones 8 + pattern ones 8",
            "two pieces would have the name ones",
        ),
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.err.contains(says), "{line}\n{}", ran.err);
    }
    folder.ok("pattern ones 8 + pattern ones 8 --name again");
}

#[test]
fn compare_counts_and_lists() {
    let folder = Folder::new();
    folder.put("chip.bin", [0x00, 0xFF, 0x10, 0x20, 0x30]);
    folder.put("read.bin", [0x01, 0xFF, 0x00, 0x00, 0x30]);
    assert_snapshot!(says_no(&folder, "load read.bin + compare chip.bin").out, @r"
    read against chip.bin: 5 bytes compared, 3 bytes with 3 bits different
      from chip.bin to read: 1 bit 0 to 1, 2 bits 1 to 0
      D0   1 bit 0 to 1
      D4   1 bit 1 to 0
      D5   1 bit 1 to 0
      0000
      0002-0003
    ");
    let out = says_no(&folder, "load read.bin + compare chip.bin --limit 1").out;
    assert!(out.ends_with("  0000\n  and 1 more range\n"), "{out}");
    assert_snapshot!(folder.ok("load chip.bin + compare chip.bin").out, @"chip against chip.bin: 5 bytes compared, all the same");
    let found = json(&folder, "load read.bin + compare chip.bin --json");
    assert_eq!(found["step"], "compare");
    let found = &found["pieces"][0];
    assert_eq!(
        found["bits"],
        serde_json::json!({ "to_one": 1, "to_zero": 2 })
    );
    assert_eq!(found["data_lines"][5]["to_zero"], 1);
    assert_eq!(
        found["ranges"][1],
        serde_json::json!({ "first": 2, "last": 3 })
    );
}

#[test]
fn a_hole_is_no_byte_unless_holes_are_ignored() {
    let folder = Folder::new();
    folder.put("more.bin", [0x10, 0x11, 0x12, 0x13, 0xFF]);
    let line = "load prog.hex + compare more.bin --at 0x8000";
    assert_snapshot!(says_no(&folder, line).out, @r"
    prog against more.bin: 4 bytes compared, all the same
      1 byte only in more.bin, a hole in the other
        8004
    ");
    folder.ok(&format!("{line} --ignore-holes"));
    // The run goes on, and what it makes stands.
    let ran = folder.run(&format!("{line} + write out.bin"));
    assert_eq!((ran.code, folder.get("out.bin").len()), (1, 4));
}

/// Finding 10 of the repairer: files named after sockets could not be references.
#[test]
fn a_reference_may_have_any_name() {
    let folder = Folder::new();
    folder.ok("pattern telltale 2K + write chip.bin");
    for name in ["chip.u7", "chip.ic12", "chip.7f", "chip"] {
        folder.put(name, folder.get("chip.bin"));
        for line in [
            "load chip.bin + compare NAME",
            "load chip.bin + burnable NAME",
            "load chip.bin + show changes NAME",
            "load chip.bin + diagnose --wanted NAME",
            "load chip.bin + diagnose --wanted chip.bin --old NAME",
            "load chip.bin + diagnose --wanted chip.bin --other NAME",
            "recognise chip.bin --among NAME",
            "recognise NAME --among NAME",
        ] {
            let line = line.replace("NAME", name);
            let said = format!(
                "note: {name}: the format can't be told from the content or the file name, so it is read as raw binary\n"
            );
            assert_eq!(folder.ok(&line).err, said, "{line}");
        }
        // What goes into a chip is not guessed at.
        let ran = folder.run(&format!("load {name}"));
        assert_eq!(ran.code, 2, "{name}");
        assert!(ran.err.contains("name it with --as"), "{}", ran.err);
    }
    // Content and known extensions go first.
    folder.put("prog.u1", folder.get("prog.hex"));
    assert_eq!(folder.ok("load prog.hex + compare prog.u1").err, "");
    folder.put("belied.hex", folder.get("chip.bin"));
    let ran = folder.run("load chip.bin + compare belied.hex");
    assert_eq!(ran.code, 2);
    let advice = "if it is raw binary, give it a name that ends in .bin";
    assert!(ran.err.contains(advice), "{}", ran.err);
    folder.put("own.loom", "load prog.hex\n");
    let ran = folder.run("load chip.bin + compare own.loom");
    assert!(ran.err.contains("a recipe needs no `load`"), "{}", ran.err);
}

#[test]
fn votes_by_bit_and_refuses_ties() {
    let folder = Folder::new();
    folder.put("a.bin", [0x0F, 0xF0, 0x55]);
    folder.put("b.bin", [0x1F, 0xF0, 0x55]);
    folder.put("c.bin", [0x0F, 0xF0, 0x54]);
    let ran = folder.ok("load a.bin b.bin c.bin --apart + vote --name chip + write {name}.bin");
    assert_snapshot!(ran.out.lines().take(9).collect::<Vec<_>>().join("\n"), @r"
    chip: 3 reads of 3 bytes; 2 bytes waver, in 2 bits
      this is open; these are about equally likely:
      - Other bits are wrong in each read: the reading is disturbed, not the cells
      - The same bits waver from read to read, like weak cells
      - What wavers shows the byte before it: the chip may be read too early
      by data line: D0 1 bit, D4 1 bit
      changed bits by read: a 0, b 1, c 1
      0000  D4
      0002  D0
    ");
    assert_eq!(folder.get("chip.bin"), [0x0F, 0xF0, 0x55]);
    let ran = folder.run("load a.bin b.bin --apart + vote");
    assert_eq!(ran.code, 2);
    assert!(ran.out.contains("0000  D4  tied: D4"), "{}", ran.out);
    assert!(
        ran.told()
            .contains("1 byte tied, the first at 0x0000: 1 of 2 reads say one thing and 1 the other: read the chip once more")
    );
    let out = folder
        .ok("load a.bin b.bin --apart + vote --tie hole + show hex")
        .out;
    assert!(out.contains("0001 > F0 55 < 0002  majority"), "{out}");
    let one = folder.run("load a.bin + vote");
    assert!(
        one.err
            .contains("2 to 99 reads of one chip, but there are 1")
    );
    let found = json(&folder, "load a.bin b.bin c.bin --apart + vote --json");
    assert_eq!(found["reads"], serde_json::json!(["a", "b", "c"]));
    assert_eq!(
        found["bytes"][0],
        serde_json::json!({ "address": 0, "data_lines": [4], "tied": [] })
    );
}

#[test]
fn tails_of_a_transfer_are_offered_for_trimming() {
    let folder = Folder::new();
    let mut read = vec![7; 100];
    folder.put("a.bin", &read);
    read.resize(128, 0x1A);
    folder.put("b.bin", &read);
    let ran = folder.run("load a.bin b.bin --apart + vote");
    assert_eq!(ran.code, 2);
    assert!(ran.told().contains("b ends in 28 bytes 1A more than the shortest read, like the padding of XMODEM: remove them with `vote --trim`"), "{}", ran.err);
    let out = folder.ok("load a.bin b.bin --apart + vote --trim").out;
    assert_eq!(out, "a: 2 reads of 100 bytes, all the same\n");
    folder.put("c.bin", [7; 90]);
    let ran = folder.run("load a.bin c.bin --apart + vote --trim");
    assert!(
        ran.err.contains("90 bytes, but the first has 100"),
        "{}",
        ran.err
    );
}

/// A folder with the pattern that every line leaves its mark in, in a small chip's size.
fn telltale() -> (Folder, Vec<u8>) {
    let folder = Folder::new();
    let image = pattern("telltale 2K");
    folder.put("wanted.bin", &image);
    (folder, image)
}

#[test]
fn a_dead_line_is_named_with_its_pin() {
    let (folder, image) = telltale();
    folder.put("read.bin", behind(&image, |a| a & !0x80));
    let line = "load read.bin + diagnose --wanted wanted.bin --part 2716";
    assert_snapshot!(says_no(&folder, line).out, @r"
    read against wanted.bin: 1,024 of 2,048 bytes differ, in 3,072 bits
    Finding
      The chip sees A7 as 0 everywhere.
      This is certain.
    Because
      That explains all 1,024 differences and contradicts none of the 1,024 equal
      bytes.
      The next story is 155 bits less likely: The read consists of 16 stretches:
      1,024 bytes are in their place, 1,024 from elsewhere in the image.
    Look next
      Check pin 1 and its socket contact. Read again: if the bytes change between
      reads, the pin has no contact.
    ");
    let found = json(&folder, &format!("{line} --json"));
    let keys: Vec<&String> = found.as_object().unwrap().keys().collect();
    assert_eq!(
        keys,
        [
            "bytes",
            "candidates",
            "differences",
            "differing_in_data",
            "lead_bits",
            "part",
            "reads",
            "remarks",
            "schema",
            "step",
            "to_settle",
            "verdict",
            "wanted",
            "wavering"
        ]
    );
    assert_eq!(found["verdict"], "certain");
    assert_eq!(
        found["candidates"][0]["equals"][0]["faults"][0],
        serde_json::json!({ "kind": "address-stuck-low", "when": "reading", "lines": ["A7"], "pins": [1] })
    );
    // The same by the pattern's name, and with the part known from the seat.
    let by_name = says_no(
        &folder,
        "load read.bin + seat 2716 --at 0 + diagnose --pattern telltale",
    );
    assert!(
        by_name.out.contains("Check pin 1 and its socket contact"),
        "{}",
        by_name.out
    );
}

#[test]
fn equals_are_named_together() {
    let (folder, image) = telltale();
    folder.put("read.bin", behind(&image, |a| a & !0x400));
    let out = says_no(
        &folder,
        "load read.bin + diagnose --wanted wanted.bin --part 2716",
    )
    .out;
    assert!(
        out.contains("usual cause is first:\n  - The chip repeats after 0x400"),
        "{out}"
    );
    assert!(out.contains("Check pin 19 and its socket contact"), "{out}");
}

#[test]
fn the_part_says_what_a_cell_holds_that_was_written_twice() {
    let (folder, image) = telltale();
    // Burnt and read with A3 at 0: an EEPROM keeps what was written last, an EPROM the AND.
    folder.put("eeprom.bin", behind(&image, |a| a | 8));
    let both: Vec<u8> = (0..2048).map(|a| image[a | 8] & image[a & !8]).collect();
    folder.put("eprom.bin", both);
    let found = |read: &str, part: &str| {
        says_no(
            &folder,
            &format!("load {read}.bin + diagnose --wanted wanted.bin --part {part}"),
        )
        .out
    };
    assert!(found("eprom", "2716").contains("While burning and reading the chip saw A3 as 0"));
    let eeprom = found("eeprom", "28C16");
    assert!(
        eeprom.contains("- The chip sees A3 as 1 everywhere"),
        "{eeprom}"
    );
    assert!(
        eeprom.contains("- While burning and reading the chip saw A3 as 0"),
        "{eeprom}"
    );
    assert!(!found("eeprom", "2716").contains("While burning"));
}

#[test]
fn several_reads_show_what_floats() {
    let (folder, image) = telltale();
    for n in 0..3usize {
        let floats = |a: usize| a.wrapping_mul(0x9E37_79B9) >> 9 & 3 == n;
        folder.put(
            &format!("r{n}.bin"),
            behind(&image, |a| if floats(a) { a ^ 0x20 } else { a }),
        );
    }
    let out = says_no(
        &folder,
        "load r0.bin r1.bin r2.bin --apart + diagnose --wanted wanted.bin --part 2716",
    )
    .out;
    assert!(out.starts_with("the majority of 3 reads, r0 to r2, against wanted.bin: 2,048 bytes compared, all the same\n  the reads differ among themselves: "), "{out}");
    assert!(
        out.contains("  A5 (pin 3) reaches the chip as 0 at one time and as 1 at another.\n"),
        "{out}"
    );
    assert!(
        out.contains("  Check pin 3 and its socket contact"),
        "{out}"
    );
    let found = json(
        &folder,
        "load r0.bin r1.bin r2.bin --apart + diagnose --on r0 --on r2 --json",
    );
    assert_eq!(
        (&found["verdict"], &found["wanted"]),
        (&"wavers".into(), &serde_json::Value::Null)
    );
    assert_eq!(found["reads"], serde_json::json!(["r0", "r2"]));
}

#[test]
fn a_read_alone_tells_something() {
    let (folder, image) = telltale();
    let stuck: Vec<u8> = behind(&image, |a| a | 0x10)
        .iter()
        .map(|b| b & !0x08)
        .collect();
    folder.put("read.bin", stuck);
    assert_snapshot!(says_no(&folder, "load read.bin + diagnose --part 2716").out, @r"
    read: 2,048 bytes, nothing to compare them with
    Finding
      A4 (pin 4) makes no difference.
      D3 (pin 13) never moves, it reads 0 everywhere.
    Because
      Blocks of 16 bytes come in equal pairs.
      It reads 0 in all 2,048 bytes.
    Look next
      Check pin 4 and its socket contact. Read again: if the bytes change between
      reads, the pin has no contact.
      Check pin 13 and its socket contact. Read in another socket to see whether
      the fault is in the chip. In a text of 7 bits D7 is always 0.
      Small, repeated and regular content looks the same as bad lines. Add the
      wanted image with --wanted, or burn the pattern `telltale` into a chip of
      the same kind and read it in the same socket.
    ");
    folder.put("blank.bin", [0xFF; 2048]);
    assert_snapshot!(says_no(&folder, "load blank.bin + diagnose").out, @r"
    blank: 2,048 bytes, nothing to compare them with
    Finding
      Every byte reads FF.
    Because
      All 2,048 bytes are the same.
    Look next
      The chip is blank, not selected, or not there: check its orientation, the
      select and output-enable pins, and the part chosen in the programmer.
    ");
    // Blank areas prove nothing, and a foreign program in a large chip is no fault.
    let mut note = vec![0xFF; 0x8000];
    note[0x1234..0x1240].copy_from_slice(b"HERON-8 NOTE");
    folder.put("note.bin", note);
    assert_snapshot!(folder.ok("load note.bin + diagnose").out, @r"
    note: 32,768 bytes, nothing to compare them with
    Finding
      Nothing in this read looks like a fault.
    Because
      From 1240 to the end everything is FF.
      The smallest chip with room for all of it has 8K bytes.
      0000-1233 is all FF.
      It shows no banks.
    ");
    let words = folder.ok("load note.bin + diagnose --part 27C1024");
    assert_snapshot!(words.out, @r"
    note: 32,768 bytes, nothing to compare them with
    Finding
      Nothing in this read looks like a fault.
    Because
      From 1240 to the end everything is FF.
      The smallest chip with room for all of it has 4K words.
      0000-1233 is all FF.
      It shows no banks.
    ");
    let sound = folder.ok("load wanted.bin + diagnose").out;
    assert!(
        sound.contains("Nothing in this read looks like a fault."),
        "{sound}"
    );
}

#[test]
fn the_wanted_image_clears_a_read_with_care() {
    let (folder, _) = telltale();
    assert_snapshot!(folder.ok("load wanted.bin + diagnose --wanted wanted.bin").out, @r"
    wanted against wanted.bin: 2,048 bytes compared, all the same
    Finding
      The read is the wanted image: the chip is right.
    Because
      All 2,048 bytes are as wanted.
    Look next
      Nothing is wrong in this read. A programmer that swaps or inverts lines
      hides this when it reads what it burned itself: only a read on the board, or
      in another programmer, clears the one that burned it.
    ");
}

#[test]
fn what_was_before_and_which_other_chip() {
    let (folder, image) = telltale();
    let old = pattern("random 2K --seed 5");
    folder.put("old.bin", &old);
    let and: Vec<u8> = image.iter().zip(&old).map(|(a, b)| a & b).collect();
    folder.put("read.bin", and);
    let found = |options: &str| {
        let line = format!("load read.bin + diagnose --wanted wanted.bin {options}");
        says_no(&folder, &line).out
    };
    assert!(found("--old old.bin").contains("Every byte is the wanted one AND the old one."));
    assert!(found("--other old.bin").contains("AND that of old.bin."));
    let swapped = says_no(
        &folder,
        "load old.bin + diagnose --wanted wanted.bin --other old.bin",
    )
    .out;
    assert!(swapped.contains("This read is old.bin."), "{swapped}");
    folder.put("large.bin", [0; 4096]);
    let ran = folder.run("load read.bin + diagnose --wanted wanted.bin --old large.bin");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err
            .contains("the old image has 4,096 bytes, but the wanted image has 2,048")
    );
}

#[test]
fn two_passes_tell_what_one_does_not() {
    let folder = Folder::new();
    let swap = |a: usize| {
        let differ = (a ^ a >> 17) & 1;
        a ^ (differ | differ << 17)
    };
    for pass in ["1", "2"] {
        folder.ok(&format!(
            "pattern telltale 256K --pass {pass} + write p{pass}.bin"
        ));
        let read = behind(&folder.get(&format!("p{pass}.bin")), swap);
        folder.put(&format!("r{pass}.bin"), read);
    }
    folder.ok("load r1.bin + diagnose --pattern telltale --singles");
    let line = "load r1.bin + diagnose --pattern telltale --second p2.bin r2.bin --singles";
    let out = says_no(&folder, line).out;
    assert!(out.contains("The chip sees A0 and A17 swapped"), "{out}");
}

#[test]
fn a_patched_stretch_is_another_version() {
    let (folder, _) = telltale();
    let out = says_no(
        &folder,
        "load wanted.bin + patch 0x100 00000000 + diagnose --wanted wanted.bin",
    )
    .out;
    assert!(
        out.contains("This is another version: some stretches are new"),
        "{out}"
    );
    assert!(out.contains("It differs at 0100-0103."), "{out}");
    assert!(out.contains("Read the chip twice more"), "{out}");
    for (options, says) in [
        ("--old old.bin", "--old needs what the chip should contain"),
        (
            "--picture p.svg",
            "--picture needs what the chip should contain",
        ),
        ("--seed 4", "--pass and --seed belong to --pattern"),
        ("--part 27Q99", "27Q99"),
    ] {
        let ran = folder.run(&format!("load wanted.bin + diagnose {options}"));
        assert_eq!(ran.code, 2, "{options}");
        assert!(ran.err.contains(says), "{options}\n{}", ran.err);
    }
}

#[test]
fn a_wanted_image_with_holes_is_taken_as_erased_there_and_says_so() {
    let folder = Folder::new();
    folder.ok("load prog.hex + pad 2K --with FF + write read.bin");
    let ran = folder.ok("load read.bin --at 0x8000 + diagnose --wanted prog.hex");
    assert!(
        ran.err.contains(
            "prog.hex says nothing about 2,044 bytes of the chip: they count as erased, FF"
        ),
        "{}",
        ran.err
    );
    let ran = folder.run("load read.bin + diagnose --wanted prog.hex");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err
            .contains("`relocate` the read to where the file begins"),
        "{}",
        ran.err
    );
}

#[test]
fn wiring_is_recovered_and_undone_by_the_step_it_prints() {
    let folder = Folder::new();
    folder.put(
        "chip.bin",
        crate::support::recipes::run_recipe("heron-8").file("out/heron-8.bin"),
    );
    folder.ok(
        "load chip.bin + rewire --address 3,1,2,0,4,5,8,7,6,9,10,12,11,14,13 \
         --data 7,1,5,0,3,2,6,4 --inverted A2,A14,D4 + write wired.bin",
    );
    let recover = "load wired.bin + diagnose --wanted chip.bin --recover-wiring";
    let step = folder.ok(&format!("{recover} --step-only")).out;
    assert!(
        step.starts_with("rewire --inverse --address 3,1,2,0,4,5,8,7,6,9,10,"),
        "{step}"
    );
    folder.ok(&format!(
        "load wired.bin + {} + compare chip.bin",
        step.trim_end()
    ));
    let out = folder.ok(recover).out;
    assert!(
        out.contains("  - A0 to A3\n") && out.contains("- D3 to D0\n"),
        "{out}"
    );
    assert!(
        out.contains("Undo it with this step:\n    rewire --inverse "),
        "{out}"
    );
    let found = json(&folder, &format!("{recover} --json"));
    assert_eq!(found["verdict"], "rewired");
    assert_eq!(found["data"], serde_json::json!([7, 1, 5, 0, 3, 2, 6, 4]));
    // A plain diagnosis points there.
    let plain = says_no(
        &folder,
        "load wired.bin + diagnose --wanted chip.bin --singles",
    )
    .out;
    assert!(plain.contains("--recover-wiring lists"), "{plain}");
    let wrong = says_no(
        &folder,
        "load wired.bin + patch 0 00 + diagnose --wanted chip.bin --recover-wiring",
    )
    .out;
    assert!(
        wrong.contains("1 of 32,768 bytes is also wrong.")
            && wrong.contains("What is left over is at 0000."),
        "{wrong}"
    );
    let emitted = folder.run(
        "load wired.bin + patch 0 00 + diagnose --wanted chip.bin --recover-wiring --step-only",
    );
    assert_eq!((emitted.code, &emitted.out), (1, &step));
    assert!(
        emitted.err.contains("1 byte is left over"),
        "{}",
        emitted.err
    );
    folder.ok("pattern random 32K --seed 7 + write other.bin");
    let none = "load other.bin + diagnose --wanted chip.bin --recover-wiring";
    let none = says_no(&folder, none).out;
    assert!(
        none.contains("No swap or inversion of lines turns"),
        "{none}"
    );
    let straight = folder
        .ok("load chip.bin + diagnose --wanted chip.bin --recover-wiring")
        .out;
    assert!(straight.contains("All lines are straight."), "{straight}");
}

/// What cannot be told apart is only what can be swapped by itself; what goes only together is said with an example.
#[test]
fn lines_that_are_swapped_only_together_are_said_so() {
    let folder = Folder::new();
    folder.ok("pattern address 8K + write chip.bin");
    let out = folder
        .ok("load chip.bin + diagnose --wanted chip.bin --recover-wiring")
        .out;
    assert_snapshot!(out, @r"
    chip against chip.bin: its wiring
    Finding
      All lines are straight.
    Because
      Image and read are the same in all 8,192 bytes.
      This image can't tell A8 to A12 apart: swapping any two of them changes no
      byte of it.
      A8 to A12 make no difference in this image: an inversion there can't be
      seen.
      A0 to A7 can be swapped, any two of them, only together with other lines:
      for example, swapping A0 with A1 and D0 with D1 changes no byte of it.
      A0 to A7 can be inverted, each of them, only together with other lines: for
      example, inverting A0 and D0 changes no byte of it.
      There may be another wiring that does this.
      To tell them apart, burn the pattern `random` and read that through the same
      wires.
    ");
    // A dead data line, with its pin.
    folder.ok("pattern random 8K + write chip.bin");
    folder.ok("load chip.bin + rewire --address 1,0 --data 1,2,0 + write wired.bin");
    let dead: Vec<u8> = folder
        .get("wired.bin")
        .iter()
        .map(|byte| byte | 0x10)
        .collect();
    folder.put("dead.bin", dead);
    let line = "load dead.bin + patch 0x100 000102 + diagnose --wanted chip.bin --recover-wiring --part 27C64";
    assert_snapshot!(says_no(&folder, line).out, @r"
    dead against chip.bin: its wiring
    Finding
      The chip's lines are wired to the image's lines like this, all others
      straight:
      - A0 to A1
      - A1 to A0
      - D0 to D1
      - D1 to D2
      - D2 to D0
      D4 (pin 16) never moves, it reads 1 everywhere.
      3 of 8,192 bytes are also wrong.
      This wiring is likely, but not certain.
    Because
      That turns the image into the read in 8,189 of 8,192 bytes, in the lines
      that move.
      What is left over is at 0100, 0101, 0102.
      It takes 64,038 bits less to say than a list of all bytes that differ.
    Look next
      Check pin 16 and its socket contact. Read in another socket to see whether
      the fault is in the chip. In a text of 7 bits D7 is always 0.
      Read the chip again. Then undo the wiring with this step, and `diagnose`
      what is left:
        rewire --inverse --address 1,0,2,3,4,5,6,7,8,9,10,11,12 --data 1,2,0,3,4,5,6,7
    ");
    let found = json(&folder, &format!("{line} --json"));
    assert_eq!(found["dead"][0]["line"], "D4");
    assert_eq!(found["dead"][0]["level"], 1);
    assert_eq!(found["left_over"], 3);
    assert_eq!(found["left_over_at"], serde_json::json!([256, 257, 258]));
    assert_eq!(found["certain"], false);
}

/// Eight banks of 4K: one blank, two the same, all with the same vectors, a sum before them, and one that reads wrong.
#[test]
fn banks_and_their_stored_sums_are_told() {
    let folder = Folder::new();
    folder.ok("pattern random 32K + write noise.bin");
    let noise = folder.get("noise.bin");
    let mut chip = vec![0xFF; 0x8000];
    for (n, bank) in chip.chunks_exact_mut(0x1000).enumerate() {
        if n == 3 {
            continue;
        }
        let from = if n == 6 { 1 } else { n };
        let used = 1500 + 211 * from;
        bank[..used].copy_from_slice(&noise[from * 0x1000..][..used]);
        bank[0xF80..0xFA0].copy_from_slice(&noise[..0x20]);
        let sum = bank[..0xFF8]
            .iter()
            .fold(0u16, |sum, byte| sum.wrapping_add((*byte).into()));
        bank[0xFF8..0xFFA].copy_from_slice(&sum.to_le_bytes());
        bank[0xFFA..].copy_from_slice(&[0x00, 0xE0, 0x40, 0xE1, 0x80, 0xE2]);
    }
    chip[0x5123] ^= 0x40;
    folder.put("game.bin", &chip);
    assert_snapshot!(says_no(&folder, "load game.bin + diagnose --sums-of-banks").out, @r"
    game: 32,768 bytes, nothing to compare them with
    Finding
      It looks like 8 banks of 4K bytes:
      Bank 3 is all FF.
      Banks 1 and 6 are the same.
      Banks 0-2, 4, 5 and 7 have 30 bytes in common, at 0F82-0F9F of each.
      Banks 0-2, 4, 5 and 7 have 6 bytes in common, at 0FFA-0FFF of each.
      A stored sum16 of all bytes before it fits, low byte first, at 0FF8-0FF9 of
      banks 0-2, 4 and 7, 66 bits better than chance; it does not fit in bank 5.
    Because
      05DC-0F81 is all FF, 16AF-1F81 is all FF, 2782-2F81 is all FF, 3000-3FFF is
      all FF, 4928-4F81 is all FF, 59FB-5F81 is all FF, 66AF-6F81 is all FF,
      7BA1-7F81 is all FF.
      With these banks the read takes 85 bits less to describe than without.
    Look next
      A bank whose stored sum does not fit was changed after it was stamped, was
      never stamped, or reads wrong: read it again before you trust it.
    ");
    // Without the option only the banks are told, and nothing is wrong.
    let banks = folder.ok("load game.bin + diagnose").out;
    assert!(
        banks.contains("8 banks of 4K bytes") && !banks.contains("stored"),
        "{banks}"
    );
    let given = folder.ok("load game.bin + diagnose --bank-size 16K").out;
    assert!(given.contains("In 2 banks of 16K bytes"), "{given}");
    let found = json(&folder, "load game.bin + diagnose --sums-of-banks --json");
    assert_eq!(found["sums"][0]["algo"], "sum16");
    assert_eq!(found["sums"][0]["fails"], serde_json::json!([5]));
    assert_eq!(found["banks"]["equal"], serde_json::json!([[1, 6]]));
    for (line, error) in [
        (
            "load game.bin + diagnose --bank-size 5K",
            "32,768 bytes is not a whole number of banks of 5,120 bytes: give the size of one bank",
        ),
        (
            "load game.bin + diagnose --wanted game.bin --sums-of-banks",
            "`--wanted` and `--sums-of-banks` don't go together",
        ),
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.told().contains(error), "{line}: {}", ran.err);
    }
}

#[test]
fn the_wiring_of_a_chip_16_bits_wide_is_recovered_in_words() {
    let folder = Folder::new();
    let wires =
        "--address 1,0,2,5,3,4 --data 8,1,2,3,4,5,6,7,0,9,10,15,12,13,14,11 --inverted A2,D9";
    folder.ok("pattern random 128K + write chip.bin");
    // Seated or told: either way lines are those of words.
    let seated = format!(
        "load chip.bin + seat 27C1024 --at 0 --order little + rewire {wires} + write wired.bin"
    );
    folder.ok(&seated);
    let told = format!("load chip.bin + rewire --words {wires} + compare wired.bin");
    folder.ok(&told);
    let recover = "load wired.bin + diagnose --wanted chip.bin --part 27C1024 --recover-wiring";
    let step = folder.ok(&format!("{recover} --step-only")).out;
    assert_eq!(
        step.trim_end(),
        "rewire --inverse --words --address 1,0,2,5,3,4,6,7,8,9,10,11,12,13,14,15 \
         --data 8,1,2,3,4,5,6,7,0,9,10,15,12,13,14,11 --inverted A2,D9"
    );
    folder.ok(&format!(
        "load wired.bin + {} + compare chip.bin",
        step.trim_end()
    ));
    let out = folder.ok(recover).out;
    assert!(out.contains("  - D0 to D8\n"), "{out}");
    // Read as bytes no exchange of lines explains it.
    let bytes = "load wired.bin + diagnose --wanted chip.bin --recover-wiring";
    says_no(&folder, bytes);
    // And a plain diagnosis of the part points there.
    let plain = "load wired.bin + diagnose --wanted chip.bin --part 27C1024 --singles";
    let plain = says_no(&folder, plain).out;
    assert!(plain.contains("--recover-wiring lists"), "{plain}");
    for (job, error) in [
        (
            "load chip.bin + seat 27C010 --at 0 + rewire --words --address 1,0",
            "--words is for parts 16 bits wide, but a 27C010 has 8 data lines",
        ),
        (
            "load chip.bin + rewire --data 8,1,2,3,4,5,6,7,0",
            "9 lines are too many: there can be at most 8 without --words",
        ),
        (
            "load chip.bin + rewire --inverted D9",
            "there is no D9: data lines are D0 to D7, or with --words D0 to D15",
        ),
        (
            "load chip.bin --skip 1 + rewire --words --address 1,0",
            "the word at 0x1FFFE has a hole at 0x1FFFF: `fill` it first",
        ),
    ] {
        let ran = folder.run(job);
        assert_eq!(ran.code, 2, "{job}");
        assert!(ran.told().contains(error), "{job}: {}", ran.err);
    }
}

/// The damaged reads of the docs, made from their description.
#[test]
fn the_examples_of_the_docs_are_what_they_say() {
    let image = pattern("telltale 2K");
    let mut files = vec![("a7-low.bin".to_owned(), behind(&image, |a| a & !0x80))];
    let old = pattern("random 2K");
    let and = image.iter().zip(&old).map(|(a, b)| a & b).collect();
    files.push(("not-blank.bin".to_owned(), and));
    for read in 0..3u64 {
        // D3 of some bytes, each in one read only.
        let wavers =
            |a: u64| ((a * 2_654_435_761) >> 7) % 70 == 0 && ((a * 40_503) >> 5) % 3 == read;
        let bytes = image.iter().zip(0..);
        let bytes = bytes.map(|(byte, a)| byte ^ u8::from(wavers(a)) << 3);
        files.push((format!("wavers-{}.bin", read + 1), bytes.collect()));
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples");
    for (name, bytes) in files {
        let path = folder.join(&name);
        if std::env::var_os("ROMLOOM_WRITE_DOCS").is_some() {
            std::fs::write(&path, &bytes).unwrap();
        }
        assert!(std::fs::read(&path).unwrap_or_default() == bytes, "{name}");
    }
}

/// Lines of the pattern `address` are swapped only in pairs; nothing is claimed of what was not tried.
#[test]
fn what_recovery_did_not_try_is_not_claimed() {
    let folder = Folder::new();
    folder.ok("pattern address 8K + write chip.bin");
    let recover = "load chip.bin + diagnose --wanted chip.bin --recover-wiring";
    let out = folder.ok(recover).out.replace("\n  ", " ");
    for said in [
        "This image can't tell A8 to A12 apart: swapping any two of them changes no byte of it.",
        "A0 to A7 can be swapped, any two of them, only together with other lines: for example, swapping A0 with A1 and D0 with D1 changes no byte of it.",
        "There may be another wiring that does this.",
    ] {
        assert!(out.contains(said), "{out}");
    }
    assert!(!out.contains("No other wiring"), "{out}");
    // What it says is so: the step that it names changes nothing.
    folder.ok("load chip.bin + rewire --address 1,0 --data 1,0 + compare chip.bin");
    let alone = folder.run("load chip.bin + rewire --address 1,0 + compare chip.bin");
    assert_eq!(alone.code, 1);
}
