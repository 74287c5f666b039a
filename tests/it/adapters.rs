//! `adapter`: the plan as people and scripts get it, and the bytes that a CPU reads through its wires.

use insta::assert_snapshot;
use serde_json::Value;

use crate::support::bench::Folder;

fn document(folder: &Folder, words: &str) -> Value {
    let ran = folder.run(&format!("adapter {words} --json"));
    serde_json::from_str(&ran.out)
        .unwrap_or_else(|e| panic!("{words}: {e}\n{}{}", ran.out, ran.err))
}

/// What is on a line of the chip.
#[derive(Clone, Copy)]
enum On {
    Line(usize),
    Switch(usize),
    Level(usize),
}

/// What the plan's wires bring to the chip's address lines, and to which lines of the bus its data lines go.
struct Wires {
    address: Vec<(usize, On)>,
    data: Vec<(usize, usize)>,
}

impl Wires {
    fn of(plan: &Value) -> Wires {
        let mut wires = Wires {
            address: Vec::new(),
            data: Vec::new(),
        };
        for pin in plan["pins"].as_array().unwrap() {
            let (function, gets) = (
                pin["function"].as_str().unwrap(),
                pin["gets"].as_str().unwrap(),
            );
            let number = |text: &str| text[1..].parse::<usize>();
            let Ok(line) = number(function) else { continue };
            let on = match (gets, gets.strip_prefix("switch ")) {
                ("nothing", _) => continue,
                ("VCC", _) => On::Level(1),
                ("GND", _) => On::Level(0),
                (_, Some(switch)) => On::Switch(switch.parse::<usize>().unwrap() - 1),
                _ => On::Line(number(gets).unwrap()),
            };
            match (&function[..1], on, &gets[..1]) {
                ("D", On::Line(bus), "D") => wires.data.push((line, bus)),
                ("A", On::Line(_), "A") | ("A", On::Level(_) | On::Switch(_), _) => {
                    wires.address.push((line, on))
                }
                _ => panic!("{gets} is on {function}"),
            }
        }
        wires
    }

    /// The word that the bus reads of a chip with these bytes, while the switches are at `bank`.
    fn read(&self, chip: &[u8], word: usize, bank: usize) -> usize {
        let address = self.address.iter().fold(0, |so_far, &(line, on)| {
            let level = match on {
                On::Line(bus) => word >> bus & 1,
                On::Switch(number) => bank >> number & 1,
                On::Level(level) => level,
            };
            so_far | level << line
        });
        let stored = match self.data.len() {
            16 => usize::from(chip[2 * address]) | usize::from(chip[2 * address + 1]) << 8,
            _ => usize::from(chip[address]),
        };
        let lines = self.data.iter();
        lines.fold(0, |out, &(line, bus)| out | (stored >> line & 1) << bus)
    }
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
        let (chip, wires) = (folder.get("chip.bin"), Wires::of(&plan));
        for at in (0..socket).step_by(unit) {
            let bytes = &prog[at % program..][..unit];
            let wanted = match unit {
                // The entry says that D8-D15 are at the lower address.
                2 => usize::from(bytes[1]) | usize::from(bytes[0]) << 8,
                _ => usize::from(bytes[0]),
            };
            assert_eq!(wires.read(&chip, at / unit, 0), wanted, "{words}: {at:X}");
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
    let (chip, wires) = (folder.get("a.bin"), Wires::of(&plan));
    assert_eq!(folder.get("b.bin"), chip);
    for (bank, game) in [(0, "game0.bin"), (1, "game1.bin"), (3, "game3.bin")] {
        let game = folder.get(game);
        for (at, byte) in game.iter().enumerate() {
            assert_eq!(
                wires.read(&chip, at, bank),
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
    assert_snapshot!(folder.ok("adapter 2364 27C64 --select 20=low --at 0xE000").out, @r#"
    needs wiring
    27C64 (28 pins, 8Kx8) in a socket wired for a 2364 (24 pins, 8Kx8)

    chip pin     gets
     1  VPP      VCC      pin 24 of the socket
     2  A12      A12      pin 21 of the socket
    20  CE       GND      pin 12 of the socket
    23  A11      A11      pin 18 of the socket
    27  PGM      VCC      pin 24 of the socket
    28  VCC      VCC      pin 24 of the socket
    Straight into the socket (pin 3 of the chip is in pin 1 of the socket): 3-19,
    21, 22, 24, 25.
    Keep out of the socket, or insulate: pins 20, 23 and 26 of the chip.
    Left open: pin 26 of the chip.

    Content
    The chip takes what `seat 27C64 --at 0xE000` makes, or a board with this
    entry:
    [[sockets]]
    names = ["U1"]                # as on the board
    part  = "27C64"
    at    = 0xE000                # where the bus sees the socket

    What decides
    - Compare the socket with this plan, with a meter and without power: what is
      printed on a board or on the old chip does not say how a socket is wired.
    - VPP (pin 1 of the chip) is at VCC while it is read. No programming voltage
      may ever reach it here.
    - Pin 27 (PGM) of the chip must be high all the time, so that nothing is
      written here: use a wire to VCC.
    - The board's select is on OE (pin 22 of the chip), and CE (pin 20) is held
      enabled. Like this the time from select to data is mostly shorter, but the
      chip draws its full current all the time. The other way round it draws less
      between reads and answers later.
    - Access time: from address to data, and from select to data, the chip must
      not be slower than the board allows. The times of the old chip were fast
      enough for the board.
    - Supply current: compare the highest in the chip's data sheet with what the
      board can give this socket.
    - A ceramic capacitor of about 100 nF (common practice) between VCC (pin 28)
      and GND (pin 14) of the chip, as close to it as possible.
    - Height: what is put between socket and chip must leave room for covers, for
      what is beside it, and for the board above.

    Careful
    - For reading in this board only. Program the chip in a programmer, out of the
      board and out of any adapter like this.
    - Power off, and wait until the supply is down, before a chip or a wire goes
      in or out. A chip turned round, or one pin off, is destroyed. The chip's pin
      1 is not always at the socket's pin 1.
    - Mains and picture-tube voltages inside old machines can kill, long after the
      plug is out. Measuring with the power on is for qualified people where local
      rules say so.
    - Earth yourself first: static destroys chips and leaves no trace. The makers'
      data sheets come before everything said here.
    "#);
    assert_snapshot!(folder.ok("adapter 27128 27C64").out.split("\nContent").next().unwrap(), @r#"
    fits if pin 1 is at VCC and pin 27 is high (measure without the chip), and pin
    26 of the chip is not connected inside it (see its data sheet)
    27C64 (28 pins, 8Kx8) in a socket wired for a 27128 (28 pins, 16Kx8)

    If one of these is not true, keep that pin out of the socket, and wire it:
    chip pin     gets
     1  VPP      VCC      pin 28 of the socket
    26  NC       -        left open
    27  PGM      VCC      pin 28 of the socket
    "#);
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
            "refused: the socket has 8 data lines, but the chip has 16\n",
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
        ("27C64 28C64 --picture plan.png", "end it with .svg"),
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
