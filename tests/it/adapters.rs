//! `adapter`: the plan as people and scripts get it, and the bytes that a CPU reads through its wires.

use insta::assert_snapshot;
use serde_json::Value;

use crate::support::bench::Folder;

fn document(folder: &Folder, words: &str) -> Value {
    let ran = folder.run(&format!("adapter {words} --json"));
    serde_json::from_str(&ran.out)
        .unwrap_or_else(|e| panic!("{words}: {e}\n{}{}", ran.out, ran.err))
}

/// A level at a pin of the chip while the bus asks for `word` and the switches are at `bank`.
fn level(gets: &str, word: usize, bank: usize) -> usize {
    if let Some(number) = gets.strip_prefix("switch ") {
        return bank >> (number.parse::<usize>().unwrap() - 1) & 1;
    }
    match gets {
        "VCC" => 1,
        "GND" => 0,
        line => {
            let line = line
                .strip_prefix('A')
                .unwrap_or_else(|| panic!("{line} is on an address pin"));
            word >> line.parse::<usize>().unwrap() & 1
        }
    }
}

/// The word that the bus reads through the plan's wires, of a chip with these bytes.
fn read(plan: &Value, chip: &[u8], word: usize, bank: usize) -> usize {
    let pins = plan["pins"].as_array().unwrap();
    let of = |letter: char| {
        pins.iter().filter_map(move |pin| {
            let function = pin["function"].as_str().unwrap().strip_prefix(letter)?;
            let line: usize = function.parse().ok()?;
            Some((line, pin["gets"].as_str().unwrap()))
        })
    };
    let address = of('A').fold(0, |so_far, (line, gets)| {
        so_far | level(gets, word, bank) << line
    });
    let lines = of('D').filter(|(_, gets)| *gets != "nothing");
    let lines: Vec<(usize, &str)> = lines.collect();
    let stored = match lines.len() {
        16 => usize::from(chip[2 * address]) | usize::from(chip[2 * address + 1]) << 8,
        _ => usize::from(chip[address]),
    };
    lines.iter().fold(0, |out, (line, gets)| {
        let bus: usize = gets[1..].parse().unwrap();
        out | (stored >> line & 1) << bus
    })
}

/// The content that the plan names, laid out by `seat`, is read through the wires of the plan as the program that was
/// loaded: all of it, at every address of the socket.
#[test]
fn the_cpu_reads_through_the_wires_what_was_seated() {
    let cases = [
        // Words of the command, bytes of the socket, of the program, bytes in a word.
        ("2364 27C64 --select 20=low", 8 << 10, 8 << 10, 1),
        ("2332 2732 --select 20=low,21=low", 4 << 10, 4 << 10, 1),
        (
            "2316 27C256 --select 18=low,20=low,21=always",
            2 << 10,
            2 << 10,
            1,
        ),
        ("2532 2732", 4 << 10, 4 << 10, 1),
        ("2732 2532 --select 18=always", 4 << 10, 4 << 10, 1),
        ("27C256 28C256", 32 << 10, 32 << 10, 1),
        ("28C256 27C256", 32 << 10, 32 << 10, 1),
        ("27C512 39SF010", 64 << 10, 64 << 10, 1),
        ("27C64 27C256", 8 << 10, 8 << 10, 1),
        ("27128 27C256", 16 << 10, 16 << 10, 1),
        ("27128 27C256 --upper any", 16 << 10, 16 << 10, 1),
        ("27C64 27C512 --upper high", 8 << 10, 8 << 10, 1),
        // The chip is smaller: the bus sees it again.
        ("27C512 27C128", 64 << 10, 16 << 10, 1),
        ("27C256 27C400-x8", 32 << 10, 32 << 10, 1),
        ("27C1024 27C2048", 128 << 10, 128 << 10, 2),
    ];
    let folder = Folder::new();
    for (words, socket, program, unit) in cases {
        folder.ok(&format!(
            "--always pattern random {program} --seed 7 + write prog.bin"
        ));
        let prog = folder.get("prog.bin");
        let plan = document(&folder, &format!("{words} --at 0x40000"));
        let board = plan["content"]["board"].as_str().unwrap();
        folder.put("plan.board", board.replace("# order", "order"));
        folder.ok("--always load prog.bin --at 0x40000 + seat --board plan.board + write chip.bin");
        let chip = folder.get("chip.bin");
        for at in (0..socket).step_by(unit) {
            let bytes = &prog[at % program..][..unit];
            let wanted = match unit {
                // The entry says that D8-D15 are at the lower address.
                2 => usize::from(bytes[1]) | usize::from(bytes[0]) << 8,
                _ => usize::from(bytes[0]),
            };
            assert_eq!(read(&plan, &chip, at / unit, 0), wanted, "{words}: {at:X}");
        }
        // The step does the same.
        if let Some(seat) = plan["content"]["seat"].as_str() {
            folder.ok(&format!(
                "--always load prog.bin --at 0x40000 + {seat} + write step.bin"
            ));
            assert_eq!(folder.get("step.bin"), chip, "{words}");
        }
    }
}

#[test]
fn upper_lines_on_switches_read_one_program_at_each_position() {
    let folder = Folder::new();
    folder.ok("pattern random 8K --seed 1 + write game0.bin");
    folder.ok("pattern random 8K --seed 2 + write game1.bin");
    folder.ok("pattern random 8K --seed 3 + write game3.bin");
    let plan = document(&folder, "27C64 27C256 --upper switch --at 0xE000");
    let seat = plan["content"]["seat"].as_str().unwrap();
    assert_eq!(seat, "seat 27C256 --at 0xE000 --size 8K --banks 4");
    folder.put("plan.board", plan["content"]["board"].as_str().unwrap());
    for (step, out) in [(seat, "a.bin"), ("seat --board plan.board", "b.bin")] {
        folder.ok(&format!(
            "load game0.bin game1.bin game3.bin --apart --at 0xE000 + {step} --in-banks game0,game1,-,game3 + write {out}"
        ));
    }
    let chip = folder.get("a.bin");
    assert_eq!(folder.get("b.bin"), chip);
    for (bank, game) in [(0, "game0.bin"), (1, "game1.bin"), (3, "game3.bin")] {
        let game = folder.get(game);
        for (at, byte) in game.iter().enumerate() {
            assert_eq!(
                read(&plan, &chip, at, bank),
                usize::from(*byte),
                "bank {bank}: {at:X}"
            );
        }
    }
}

/// What the whole plan says of a pair, from the verdict to the cautions.
#[test]
fn the_verdict_is_the_first_line_and_cautions_come_last() {
    let folder = Folder::new();
    assert_snapshot!(folder.ok("adapter 2364 27C64 --select 20=low --at 0xE000").out, @"");
    assert_snapshot!(folder.ok("adapter 27128 27C64").out.split("\nContent").next().unwrap(), @"");
}

#[test]
fn a_plan_that_is_not_whole_ends_with_1_and_a_slip_with_2() {
    let folder = Folder::new();
    for (words, code, start) in [
        (
            "27256 27C256",
            0,
            "fits if pin 1 is at VCC (measure without the chip)\n",
        ),
        ("27C512 27C512", 0, "fits as it is\n"),
        ("27C256 28C256", 0, "needs wiring\n"),
        (
            "2364 27C64",
            1,
            "undecided: which level selects at pin 20 of the socket?\n",
        ),
        ("2732 2532", 1, "refused: it needs a gate: "),
        (
            "2364 27C64 --select 20=high",
            1,
            "refused: it needs an inverter: ",
        ),
        (
            "2716 2708",
            1,
            "refused: the chip needs the supplies VDD and VBB",
        ),
        (
            "prom-32x8-oc 27C64",
            1,
            "refused: the socket is wired for open-collector outputs",
        ),
        (
            "27C64 27C1024",
            1,
            "refused: the socket takes 8 data lines, and the chip gives 16\n",
        ),
    ] {
        let ran = folder.run(&format!("adapter {words}"));
        assert_eq!(ran.code, code, "{words}\n{}{}", ran.out, ran.err);
        assert!(ran.out.starts_with(start), "{words}\n{}", ran.out);
    }
    for (words, said) in [
        ("27C64 28C65", "`28C65` is not in the part table"),
        (
            "27C64 28C64 --select 7=low",
            "pin 7 of a 27C64 carries A3, which selects nothing",
        ),
        (
            "27C64 28C64 --select 40=low",
            "pin 40 of a 27C64 is not there",
        ),
        (
            "27C64 28C64 --select 20=high",
            "pin 20 of a 27C64 carries CE, which selects when it is low",
        ),
        ("27C64 28C64 --select 20", "`20` is not a pin and its level"),
        ("2364 27C64 --select 20=lo", "`20=lo` does not say a level"),
        (
            "27C64 28C64 --chip-select 20=always",
            "`20=always` does not say a level",
        ),
        ("27C64 28C64 --picture plan.png", "end the name with .svg"),
    ] {
        let ran = folder.run(&format!("adapter {words}"));
        assert_eq!(
            (ran.code, ran.out.as_str()),
            (2, ""),
            "{words}\n{}",
            ran.err
        );
        assert!(ran.err.contains(said), "{words}\n{}", ran.err);
    }
    assert!(!folder.has("plan.png"));
}

/// Nobody can promise these from two pin tables.
#[test]
fn a_plan_promises_nothing() {
    let folder = Folder::new();
    for words in [
        "2364 27C64",
        "2364 27C64 --select 20=low",
        "27C64 28C64",
        "27C512 27C512",
        "2732 2532",
        "2716-three-supply 2716-three-supply",
    ] {
        let told = folder.run(&format!("adapter {words}")).out.to_lowercase();
        for word in [
            "works",
            "safe",
            "compatible",
            "guarantee",
            "active low",
            "active high",
        ] {
            assert!(!told.contains(word), "{words}: {word}\n{told}");
        }
    }
}

#[test]
fn the_picture_shows_each_pin_with_what_it_gets() {
    let folder = Folder::new();
    let ran = folder.ok("adapter 2364 27C64 --select 20=low --picture plan.svg");
    assert!(ran.out.contains("needs wiring"), "{}", ran.out);
    let told = format!("{}{}", ran.out, ran.err);
    assert!(told.contains("wrote plan.svg"), "{told}");
    let picture = String::from_utf8(folder.get("plan.svg")).unwrap();
    for text in [
        "A11, 18",
        "VCC, 24",
        "GND, 12",
        "keep out",
        "in 20",
        "Never program here",
    ] {
        assert!(picture.contains(text), "{text}");
    }
    assert_eq!(picture.matches("class=\"tag").count(), 28);
    folder.ok("adapter 27C64 28C64 --picture dry.svg --dry-run");
    assert!(!folder.has("dry.svg"));
}

#[test]
fn own_parts_have_adapters_too_and_need_their_pins() {
    let folder = Folder::new();
    folder.put(
        "own.toml",
        "[[part]]\nname = \"KF-8\"\nwords = 8192\nwidth = 8\nkind = \"eeprom\"\nerased = 0xFF\npins = 28\n",
    );
    let ran = folder.run("adapter KF-8 27C64 --parts own.toml");
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(
        ran.out
            .starts_with("refused: the table does not have the pins of a KF-8"),
        "{}",
        ran.out
    );
}
