//! From CPU addresses to sockets and chip addresses, against tables worked out by hand, and what the command makes of it.

use crate::support::bench::Folder;
use romloom::board::{Answer, Board, SocketsSpec, WindowSpec};
use romloom::image::{Image, Source};
use romloom::parts;
use romloom::sums::Order;

/// A board with one entry.
fn board(part: &str, names: &[&str], lanes: u32, at: u64) -> Board {
    let part = parts::find(part).unwrap().clone();
    let mut spec = SocketsSpec::new(part, names.iter().copied()).at(at);
    spec.lanes = lanes;
    Board::new("", [spec]).unwrap()
}

/// The chip and its address behind an address of the CPU.
fn cell(board: &Board, cpu: u64) -> Option<(String, u64)> {
    match board.at("cpu", None, cpu) {
        Answer::Cells(cells) => {
            let cell = cells.first()?;
            Some((board.name(cell.socket)?.to_owned(), cell.address))
        }
        _ => None,
    }
}

fn named(name: &str, address: u64) -> Option<(String, u64)> {
    Some((name.to_owned(), address))
}

/// `-` leaves a bank out, and several open pins are told in one line.
#[test]
fn a_bank_is_left_out_and_open_pins_are_listed() {
    let folder = Folder::new();
    folder.put("menu.bin", [7; 0x2000]);
    let menu = "load menu.bin --at 0xA000 + seat 27C256 --at 0xA000";
    folder.ok(&format!(
        "{menu} --size 8K --banks 4 --in-banks -,menu --names chip + write {{name}}.bin"
    ));
    let chip = folder.get("chip.bin");
    let places: Vec<usize> = (0..chip.len()).filter(|at| chip[*at] == 7).collect();
    assert_eq!(places, (0x2000..0x4000).collect::<Vec<usize>>());
    let out = folder
        .ok(&format!("{menu} --size 8K --tied A13=any,A14=any + show"))
        .out;
    assert!(
        out.contains("the same for both levels of A13 and A14"),
        "{out}"
    );
}

/// A name that says another lane than the chip's is told of; the chips are made as they were named.
#[test]
fn a_name_against_its_lane_is_warned_of() {
    let folder = Folder::new();
    folder.put("m.bin", [1, 2].repeat(0x2000));
    for (options, said) in [
        (
            "--names odd,even",
            "odd comes before even, but lane 0 has the even addresses",
        ),
        (
            "--names hi,lo --order little",
            "hi comes before lo, but lane 0 has the low byte",
        ),
        (
            "--names U1lo,U1hi --order big",
            "U1lo comes before U1hi, but lane 0 has the high byte",
        ),
        ("--names even,odd", ""),
        ("--names chip,slot --order little", ""),
        ("--names hi,lo", ""),
        ("--names hi,lo --order big", ""),
    ] {
        let ran = folder.ok(&format!(
            "load m.bin + seat 27C64 --at 0 --lanes 2 {options} + expect full"
        ));
        let told = ran.err.lines().find(|line| line.starts_with("warning"));
        assert!(
            told.unwrap_or_default().contains(said),
            "{options}: {}",
            ran.err
        );
        assert_eq!(told.is_some(), !said.is_empty(), "{options}: {}", ran.err);
    }
}

/// Worked by hand: one 27C256 at 0x8000. The chip's A0-A14 are the CPU's.
#[test]
fn one_chip_on_an_8_bit_bus() {
    let board = board("27C256", &["U7"], 1, 0x8000);
    for (cpu, chip) in [(0x8000, 0), (0x8001, 1), (0xFFFC, 0x7FFC), (0xFFFF, 0x7FFF)] {
        assert_eq!(cell(&board, cpu), named("U7", chip));
        let seen = board.seen(board.socket("u7").unwrap(), chip);
        assert_eq!(seen.len(), 1);
        assert_eq!((seen[0].space, seen[0].address), ("cpu", cpu));
    }
    assert_eq!(cell(&board, 0x7FFF), None);
    assert_eq!(cell(&board, 0x1_0000), None);
}

/// Worked by hand: two 27C256 on a 68000, even bytes on D8-D15, at 0. The chips' A0 is the CPU's A1.
#[test]
fn two_chips_on_a_16_bit_big_endian_bus() {
    let board = board("27C256", &["even", "odd"], 2, 0);
    for (cpu, name, chip) in [
        (0x0000, "even", 0x0000),
        (0x0001, "odd", 0x0000),
        (0x0004, "even", 0x0002),
        (0x0007, "odd", 0x0003),
        (0x0400, "even", 0x0200),
        (0xFFFE, "even", 0x7FFF),
        (0xFFFF, "odd", 0x7FFF),
    ] {
        assert_eq!(cell(&board, cpu), named(name, chip), "{cpu:X}");
    }
}

/// Worked by hand: two rows of four 27C512 on a 32-bit little-endian bus at 0x100000. A row is 4 x 64K = 0x40000.
#[test]
fn two_rows_of_four_chips_on_a_32_bit_little_endian_bus() {
    let names = ["a0", "a1", "a2", "a3", "b0", "b1", "b2", "b3"];
    let board = board("27C512", &names, 4, 0x10_0000);
    for (cpu, name, chip) in [
        (0x10_0000, "a0", 0x0000),
        (0x10_0001, "a1", 0x0000),
        (0x10_0006, "a2", 0x0001),
        (0x13_FFFF, "a3", 0xFFFF),
        (0x14_0000, "b0", 0x0000),
        (0x17_FFFD, "b1", 0xFFFF),
    ] {
        assert_eq!(cell(&board, cpu), named(name, chip), "{cpu:X}");
    }
    assert_eq!(cell(&board, 0x18_0000), None);
}

/// As programmers take them: chip word n is file bytes 2n (D0-D7) and 2n+1 (D8-D15) (common practice).
#[test]
fn a_16_bit_part_takes_words_low_byte_first_whatever_the_cpu() {
    let image = Image::from_bytes(0, vec![0x12, 0x34, 0x56, 0x78], Source::Patch).unwrap();
    let first_bytes = |order| {
        let part = parts::find("27C1024").unwrap().clone();
        let mut spec = SocketsSpec::new(part, ["U1"]).at(0);
        spec.order = Some(order);
        let chips = Board::new("", [spec]).unwrap().seat(&image).unwrap();
        chips[0].spans()[0].bytes()[..4].to_vec()
    };
    // Little-endian: the byte at the even address is D0-D7. Big-endian: it is D8-D15.
    assert_eq!(first_bytes(Order::Little), [0x12, 0x34, 0x56, 0x78]);
    assert_eq!(first_bytes(Order::Big), [0x34, 0x12, 0x78, 0x56]);
}

/// A 27C512 in a socket that ties A15 high shows its upper half (common practice); A0 tied shows every other byte.
#[test]
fn held_pins_say_where_in_the_chip() {
    use romloom::board::Level;
    let image = Image::from_bytes(0x8000, (0..=255).collect(), Source::Patch).unwrap();
    let chip = |pin: u8, level: Level| {
        let part = parts::find("27C512").unwrap().clone();
        let mut spec = SocketsSpec::new(part, ["U1"]).window(WindowSpec {
            at: 0x8000,
            ..WindowSpec::default()
        });
        spec.tied = vec![(pin, level)];
        Board::new("", [spec])
            .unwrap()
            .seat(&image)
            .unwrap()
            .remove(0)
    };
    let upper = chip(15, Level::High);
    assert_eq!((upper.byte(0x8003), upper.byte(3)), (Some(3), Some(0xFF)));
    let odd = chip(0, Level::High);
    assert_eq!((odd.byte(7), odd.byte(6)), (Some(3), Some(0xFF)));
    let both = chip(15, Level::Any);
    assert_eq!((both.byte(3), both.byte(0x8003)), (Some(3), Some(3)));
}

/// The recipe splits lanes by hand, `seat` knows the board: both make the same two chips.
#[test]
fn seating_makes_the_chips_that_the_recipe_makes() {
    let folder = Folder::new();
    let sample = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/heron-16/selftest.s19");
    folder.put("selftest.s19", std::fs::read(sample).unwrap());
    let ran = folder.ok("load selftest.s19 + seat 27C256 --at 0 --lanes 2 \
         + mark cpu:0xFFC0 'HERON-16 ROM 1.0' --length 32 --with 00 \
         + stamp sum16be --across cpu:0-0xFFFD --at cpu:0xFFFE \
         + expect pointer cpu:4 --in 0x400-0xFFBF --bytes 4 --order big \
         + digest sum16 --on even + digest sum16 --on odd");
    assert!(
        ran.out.contains("  sum16  8DC1") && ran.out.contains("  sum16  0704"),
        "{}",
        ran.out
    );
}

#[test]
fn what_does_not_fit_a_board_is_told() {
    let folder = Folder::new();
    let error = |line: &str| {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        ran.told()
    };
    for (line, message) in [
        (
            "load prog.hex + seat 27C256 --at 0x1000",
            "error: seat: 0x1000 is not a multiple of the window size (32,768 bytes)",
        ),
        (
            "load prog.hex + seat 27C256 --at 0",
            "error: seat: prog: nothing on the bus `cpu` shows 4 bytes; the first is at 0x8000 (prog.hex line 1)",
        ),
        (
            "load prog.hex + seat 27C512 --at 0x8000 --size 32K",
            "error: seat: the window has 32,768 bytes and the chips 65,536, and nothing says which part of them it shows",
        ),
        (
            "load prog.hex + seat 27C512 --at 0x8000 --size 32K --tied A15=1,A14=0",
            "error: seat: the window has 32,768 bytes, but there are only 16,384 to show",
        ),
        (
            "load prog.hex + seat 27C256 --at 0x8000 --except 0x8002-0x8003",
            "error: seat: prog: 0x8002 (prog.hex line 1) is in 0x8002-0x8003, where something else answers",
        ),
        (
            "load prog.hex + seat 23256 --at 0x8000",
            "error: seat: a 23256 has no erased value of its own: add --with FF, or another byte for the unused places",
        ),
        (
            "load prog.hex + seat 27C1024 --at 0",
            "error: seat: a 27C1024 is 16 bits wide, so the order of its bytes must be said: little or big",
        ),
        (
            "load prog.hex + seat 27C265 --at 0x8000",
            "error: seat: `27C265` is not in the part table; nearest: 27C256, 27C16, 27C64, 27256: `romloom parts` lists all, and `--parts FILE` adds your own",
        ),
        (
            "load prog.hex + seat 27C256 --at 0x8000 + seat 27C256 --at 0",
            "error: seat: prog is already seated",
        ),
        (
            "load prog.hex + seat 27C256 --at 0 --lanes 17",
            "error: seat: a bus has 1 to 16 lanes, not 17",
        ),
        (
            "load prog.hex + seat 27C256 --at 0 --lanes 2 --names even",
            "error: seat: 1 names don't make whole rows of 2 lanes",
        ),
        (
            "load prog.hex + seat 27C256",
            "error: seat: nothing says where the CPU sees this part: add --at BASE",
        ),
        (
            "load prog.hex + rewire --address 0,1,1",
            "error: rewire: A1 is there twice and A2 is missing: each line goes to one place",
        ),
        (
            "load prog.hex + rewire --data 0,1,9",
            "error: rewire: D9 is outside D0-D2, the lines that a list of 3 names: list every line up to the highest",
        ),
    ] {
        let said = error(line);
        assert!(said.starts_with(message), "{line}\n{said}\n{message}");
    }
    let ran = folder.ok("load prog.hex + load prog.hex --as raw --at 0 + seat 27C256 --at 0x8000 --drop-outside + expect size 32K");
    assert!(
        ran.err
            .contains("that nothing on the board shows; the first was at"),
        "{}",
        ran.err
    );
}

#[test]
fn cpu_addresses_are_refused_once_the_bytes_have_moved() {
    let folder = Folder::new();
    let seated = "load prog.hex + seat 27C64 --at 0x8000 +";
    for (step, moves) in [
        ("rewire", "rewire --address 1,0"),
        ("swap", "swap 2"),
        ("relocate", "keep 0-0xFF + relocate --to 0x100"),
    ] {
        for job in [
            "show hex cpu:0x8000-0x8003",
            "stamp sum8 --across cpu:0x8000-0x8003 --at cpu:0x8008",
            "expect pointer cpu:0x8000 --in 0-0xFFFF",
            "patch cpu:0x8000 00",
        ] {
            let ran = folder.run(&format!("{seated} {moves} + {job} + write no.bin"));
            let moved = format!(
                "`{step}` has rearranged prog since it was seated, so cpu: addresses no longer apply to it"
            );
            assert!(
                ran.code == 2 && ran.err.contains(&moved),
                "{job}: {}",
                ran.err
            );
        }
        // The map shows the chip's own addresses, and what is found has no other.
        let map = folder.ok(&format!("{seated} {moves} + show")).out;
        assert!(
            map.contains(&format!("prog  27C64   as `{step}` left it   one cell")),
            "{map}"
        );
        assert!(!map.contains("CPU"), "{map}");
        let json = folder.ok(&format!("{seated} {moves} + show --json")).out;
        let json = json.replace([' ', '\n'], "");
        let by = format!("\"rearranged_by\":\"{step}\"");
        assert!(json.contains(&by) && json.contains("\"cpu\":[]"), "{json}");
        let found = folder.ok(&format!("{seated} {moves} + find 10")).out;
        assert!(!found.contains("CPU"), "{found}");
        folder.ok(&format!(
            "{seated} {moves} + write {step}.bin + sheet {step}.html"
        ));
        let sheet = String::from_utf8(folder.get(&format!("{step}.html"))).unwrap();
        assert!(sheet.contains(&format!("as <code>{step}</code> left it")));
    }
    // Where nothing moves they lead on.
    let there = folder
        .ok(&format!(
            "{seated} relocate --to 0 + show hex cpu:0x8000-0x8003"
        ))
        .out;
    assert!(there.contains("8000 > 10 11 12 13"), "{there}");
}

#[test]
fn a_byte_for_a_chip_that_is_not_worked_on_is_refused() {
    let folder = Folder::new();
    let wide = "load prog.hex --entry none + relocate --to 0 + seat 27C64 --at 0 --lanes 2 +";
    for job in [
        "patch cpu:1 EE --on even",
        "stamp sum8 --across cpu:0-0 --at cpu:1 --replace --on even",
    ] {
        let ran = folder.run(&format!("{wide} {job} + write {{name}}.bin"));
        let error = "0x0001 is in the chip odd, which this step does not work on: add --on for that chip too, or leave --on out";
        assert!(
            ran.code == 2 && ran.told().contains(error),
            "{job}: {}",
            ran.err
        );
    }
    folder.ok(&format!(
        "{wide} patch cpu:1 EE --on even --on odd + write {{name}}.bin"
    ));
    assert_eq!(folder.get("odd.bin")[0], 0xEE);
}

#[test]
fn two_programs_on_one_chip_are_refused_with_both_named() {
    let folder = Folder::new();
    folder.put("two.hex", ":02800000AABB19\n:00000001FF\n");
    let both = "load prog.hex --name m + load two.hex --apart --name b + seat 27C64 --at 0x8000";
    let ran = folder.run(&format!("{both} + write no.bin"));
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("m and b want the same cells of m"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("prog.hex line 1"), "{}", ran.err);
    assert!(ran.err.contains("two.hex line 1"), "{}", ran.err);
    folder.ok(&format!("{both} --clash last + write last.bin"));
    assert_eq!(folder.get("last.bin")[..3], [0xAA, 0xBB, 0x12]);
}

#[test]
fn programs_for_one_switched_chip_are_seated_together() {
    let folder = Folder::new();
    folder.put("two.hex", ":02800000AABB19\n:00000001FF\n");
    folder.ok("load prog.hex + load two.hex --apart \
         + seat 27C128 --at 0x8000 --size 8K --banks 2 --in-banks prog,two --names chip + expect full + expect size 16K + write chip.bin");
    let chip = folder.get("chip.bin");
    assert_eq!(chip[..5], [0x10, 0x11, 0x12, 0x13, 0xFF]);
    assert_eq!(chip[0x2000..0x2003], [0xAA, 0xBB, 0xFF]);
    // By their numbers, by their places, and from one program that has all banks.
    folder.put("p0.hex", folder.get("prog.hex"));
    folder.put("p1.hex", folder.get("two.hex"));
    folder.ok("load p0.hex p1.hex --apart + seat 27C128 --at 0x8000 --size 8K --banks 2 --in-banks 'p*' --names chip + write numbered.bin");
    folder.ok("load p0.hex --for bank0 + load p1.hex --for bank1 + seat 27C128 --at 0x8000 --size 8K --banks 2 --names chip + write placed.bin");
    folder.put(
        "far.hex",
        ":0480000010111213 36\n:020000040001F9\n:02800000AABB19\n:00000001FF\n".replace(' ', ""),
    );
    folder.ok("load far.hex + seat 27C128 --at 0x8000 --size 8K --banks 2 --far 64K --names chip + write far.bin");
    for name in ["numbered.bin", "placed.bin", "far.bin"] {
        assert_eq!(folder.get(name), chip, "{name}");
    }
    let ran = folder.run("load prog.hex + seat 27C128 --at 0x8000 --size 8K --banks 2");
    assert!(
        ran.err
            .contains("0x8000 (prog.hex line 1) is in a switched window, but no bank is given"),
        "{}",
        ran.err
    );
}

/// A chip that is seen after reset at 0, where its vectors are linked, and at 0x8000, where its program is.
#[test]
fn a_reset_overlay_shows_the_chip_at_two_places() {
    let folder = Folder::new();
    folder.put(
        "heron.board",
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C64\"\n\
         window = [{ at = 0x8000 }, { at = 0 }]\n",
    );
    let hex = |bytes: &str, sum: &str| format!(":02000000{bytes}{sum}\n:00000001FF\n");
    folder.put("vectors.hex", hex("1011", "DD"));
    folder.ok("load prog.hex vectors.hex + seat --board heron.board + write chip.bin");
    assert_eq!(folder.get("chip.bin")[..4], [0x10, 0x11, 0x12, 0x13]);
    // Both places lead to the same cells, for reading, patching and marking.
    folder.ok("load prog.hex + seat --board heron.board + patch cpu:0 C4 --was 10 + mark cpu:0x10 HI \
         + expect bytes cpu:0x8000 C411 + expect pointer cpu:0x8002 --in 0x1300-0x13FF + expect bytes cpu:0x8010 text:HI");
    // Different bytes for one cell can't both be there.
    folder.put("other.hex", hex("1099", "55"));
    let ran = folder.run("load prog.hex other.hex + seat --board heron.board");
    assert_eq!(ran.code, 2);
    let error = "0x8001 and 0x0001 are one cell of U1, but the program has 11 and 99 there";
    assert!(ran.err.contains(error), "{}", ran.err);
}

/// Nothing that a later step does makes a chip longer than its part.
#[test]
fn a_seated_chip_stays_a_chip() {
    let folder = Folder::new();
    folder.put("low.bin", [1, 2, 3, 4]);
    let seated = "load prog.hex --name o + seat 27C256 --at 0x8000";
    for (line, at) in [
        ("mark 0x7FFE hello", 0x8000),
        ("stamp sum16 --across 0-0x7FFE --at 0x7FFF", 0x8000),
        ("stamp sum16 --across 0-0x7FFE --at 0x8000", 0x8000),
        ("patch 0x8000 FF", 0x8000),
        ("repeat 27C512", 0x8000),
        ("pad 27C512", 0x8000),
        ("load low.bin --at 0x8000", 0x8000),
        ("copy 0-3 --to 0x9000", 0x9000),
        ("relocate --by +1", 0x8000),
        ("fill FF 0x8000-0x80FF", 0x8000),
        ("rewire --inverted A15", 0x8000),
    ] {
        let ran = folder.run(&format!("{seated} + {line} + write x.bin"));
        assert_eq!(ran.code, 2, "{line}: {}", ran.err);
        let error = format!("o is a 27C256 with 32,768 bytes, but this puts one at 0x{at:04X}");
        assert!(ran.err.contains(&error), "{line}: {}", ran.err);
        assert!(!folder.has("x.bin"), "{line}");
    }
}

/// Cells that the board can't tell apart stay the same.
#[test]
fn equal_cells_never_differ() {
    let folder = Folder::new();
    let seated = "load prog.hex + seat 27C64 --at 0x8000 --size 2K --tied A11=any,A12=any";
    for line in [
        "stamp sum8 --zero-sum --across 0-0x7FF --at 0x7F0",
        "patch 0x0001 AA",
        "mark 0x10 HI",
        "fill 00 + hollow FF --tail --least 1 + fill 00 0x1FFF-0x1FFF",
    ] {
        let ran = folder.run(&format!("{seated} + {line} + write x.bin"));
        assert_eq!(ran.code, 2, "{line}: {}", ran.err);
        assert!(
            ran.err.contains("are one cell for its board, but differ"),
            "{line}: {}",
            ran.err
        );
        assert!(!folder.has("x.bin"), "{line}");
    }
    folder.ok(&format!("{seated} + patch cpu:0x8001 AA + write x.bin"));
    let chip = folder.get("x.bin");
    for copy in 0..4 {
        assert_eq!(chip[copy * 0x800..][..3], [0x10, 0xAA, 0x12], "copy {copy}");
    }
}

#[test]
fn chips_of_one_board_are_put_together_by_unseat_only() {
    let folder = Folder::new();
    let wide = "load prog.hex --entry none + relocate --to 0 + seat 27C64 --at 0 --lanes 2";
    let ran = folder.run(&format!("{wide} + join --name both"));
    assert!(
        ran.told().contains(
            "even and odd are chips of one board: `unseat` puts together what the CPU sees of them"
        ),
        "{}",
        ran.err
    );
    folder.ok(&format!("{wide} + unseat + expect bytes 0 10111213 + seat 27C64 --at 0 --lanes 2 + write again-{{name}}.bin"));
    folder.ok(&format!("{wide} + write {{name}}.bin"));
    assert_eq!(folder.get("again-odd.bin"), folder.get("odd.bin"));
    // Chips that were read, under other names.
    folder.put(
        "w.board",
        "[[sockets]]\nnames = [\"even\", \"odd\"]\nlanes = 2\npart = \"27C64\"\nat = 0\n",
    );
    folder.put("r1.bin", folder.get("odd.bin"));
    folder.put("r2.bin", folder.get("even.bin"));
    folder.ok("load r1.bin r2.bin --apart + unseat --board w.board --names odd,even + expect bytes 0 10111213");
    let ran = folder.run("load r1.bin + unseat --board w.board");
    assert!(
        ran.err.contains("the board has no socket called `r1`"),
        "{}",
        ran.err
    );
}

/// Two cells of a chip that the board shows as one: where they differ, one of them would be lost.
#[test]
fn unseat_loses_nothing_of_a_chip_without_a_word() {
    let folder = Folder::new();
    folder.put(
        "any.board",
        "[[sockets]]\nnames = [\"U7\"]\npart = \"27C512\"\nat = 0x8000\nsize = \"32K\"\ntied = { A15 = \"any\" }\n",
    );
    let mut chip = vec![0xFF; 0x1_0000];
    (chip[3], chip[0x8003]) = (0x12, 0x12);
    folder.put("U7.bin", &chip);
    folder.ok("load U7.bin + unseat --board any.board + expect bytes 0x8003 12 + expect size 32K");
    chip[0x8003] = 0x34;
    folder.put("U7.bin", &chip);
    let ran = folder.run("load U7.bin + unseat --board any.board + write no.bin");
    let wanted = "error: unseat: 0x0003 and 0x8003 of U7 are one cell for the board, but contain 12 and 34: read the chip again; if one of them is right, `copy` makes the other equal before `unseat`";
    assert_eq!((ran.code, folder.has("no.bin")), (2, false));
    assert!(ran.told().contains(wanted), "{}", ran.err);
    // The advice helps.
    folder.ok("load U7.bin + copy 0x8000-0xFFFF --to 0 --clash last + unseat --board any.board + expect bytes 0x8003 34");
    // Of the half that no bus shows it is said that it is left out.
    folder.put(
        "upper.board",
        "[[sockets]]\nnames = [\"U7\"]\npart = \"27C512\"\nat = 0x8000\nsize = \"32K\"\ntied = { A15 = 1 }\n",
    );
    let ran = folder.ok("load U7.bin + unseat --board upper.board + expect bytes 0x8003 34");
    let left = "U7: left out 1 byte that no bus shows in full; the first is at 0x0003";
    assert!(ran.err.contains(left), "{}", ran.err);
    // And of what is longer than the part, whatever it contains.
    chip.extend([0xFF; 12]);
    folder.put("U7.bin", &chip);
    let ran = folder.ok("load U7.bin + unseat --board upper.board");
    assert!(ran.err.contains(left), "{}", ran.err);
    let beyond = "U7: left out 12 bytes past the end of the 27C512; the first is at 0x10000";
    assert!(ran.err.contains(beyond), "{}", ran.err);
    // A reader of chips with four data lines may give anything for the others.
    folder.put(
        "n.board",
        "[[sockets]]\nnames = [\"N0\", \"N1\"]\nlanes = 2\npart = \"prom-256x4\"\nat = 0\nwith = 0\n",
    );
    folder.put("N0.bin", [[0xF3, 2].as_slice(), &[0; 254]].concat());
    folder.put("N1.bin", [[4, 5].as_slice(), &[0; 254]].concat());
    let ran =
        folder.ok("load N0.bin N1.bin --apart + unseat --board n.board + expect bytes 0 4352");
    let upper = "N0: the upper four bits of 1 byte are left out: the part has four data lines";
    assert!(ran.err.contains(upper), "{}", ran.err);
    assert!(!ran.err.contains("N1"), "{}", ran.err);
}

/// What only needs a name in front: buses, banks and sockets, in every step with addresses.
#[test]
fn places_lead_to_banks_sockets_and_other_buses() {
    let folder = Folder::new();
    folder.put(
        "k.board",
        "[[sockets]]\nnames = [\"U7\"]\npart = \"27C64\"\nat = 0xE000\n\
         [[sockets]]\nnames = [\"slot\"]\npart = \"27C256\"\n\
         window = [{ at = 0x4000, size = \"8K\", banks = 4 }]\n\
         [[sockets]]\nnames = [\"font\"]\npart = \"27C16\"\nat = 0\nspace = \"video\"\n",
    );
    folder.put("tiles.bin", [0x18, 0x24]);
    let seated =
        "load prog.hex + relocate --to 0xE000 + load tiles.bin --for video + seat --board k.board";
    let ran = folder.ok(&format!(
        "{seated} + patch bank3:0x4007 33 + mark bank0,2:0x4010 'bank {{bank}}' + stamp bank-number --at bank:0x5FFF \
         + patch video:1 25 + patch U7:0x10 77 + stamp sum16 --across bank:0x4000-0x5FFC --at bank:0x5FFD \
         + patch bank0:0x5000 0102 + spread bank0:0x5000-0x5001 --to bank1-3 \
         + expect bytes bank2:0x4010 'text:bank 2' + expect bytes bank3:0x5000 0102 + expect bytes cpu:0xE010 77 \
         + write k-{{name}}.bin"
    ));
    assert!(
        ran.err.contains("slot bank 3: sum16 is") || ran.err.contains("bank 3: sum16 is"),
        "{}",
        ran.err
    );
    let slot = folder.get("k-slot.bin");
    assert_eq!((slot[0x6007], slot[7]), (0x33, 0xFF));
    assert_eq!(&slot[0x4010..0x4016], b"bank 2");
    assert_eq!(
        [0x1FFF, 0x3FFF, 0x5FFF, 0x7FFF].map(|at| slot[at]),
        [0, 1, 2, 3]
    );
    for bank in 0..4 {
        let own = &slot[bank * 0x2000..][..0x2000];
        let sum: u32 = own[..0x1FFD].iter().map(|b| u32::from(*b)).sum();
        // The block came after the sums.
        let without = sum - 3 + 2 * 0xFF;
        assert_eq!(
            [own[0x1FFD], own[0x1FFE]],
            (without as u16).to_le_bytes(),
            "bank {bank}"
        );
        assert_eq!(own[0x1000..0x1002], [1, 2], "bank {bank}");
    }
    assert_eq!(folder.get("k-font.bin")[..2], [0x18, 0x25]);
    assert_eq!(folder.get("k-U7.bin")[0x10], 0x77);
    for (line, error) in [
        (
            "patch cpu:0x4007 33",
            "0x4007 is in a switched window, but no bank is named",
        ),
        (
            "patch bank9:0x4007 33",
            "there is no bank 9 at these addresses",
        ),
        ("patch cpu:0x9000 33", "nothing answers at cpu:0x9000"),
        (
            "patch sound:0 33",
            "the board has no bus or socket called `sound`",
        ),
        (
            "stamp sum8 --across cpu:0xE000-0xE003 --at video:0x10",
            "these addresses are in cpu: and in video:",
        ),
        (
            "stamp bank-number --at cpu:0x4000",
            "nothing says which banks get their numbers",
        ),
        (
            "stamp bank-number --at bank3:0x4000 --across 0-3",
            "bank-number is not a sum, so it has no range",
        ),
        (
            "mark 0 '{version}'",
            "`{version}` in the text means nothing",
        ),
    ] {
        let ran = folder.run(&format!("{seated} + {line} + write no-{{name}}.bin"));
        assert_eq!(ran.code, 2, "{line}: {}", ran.err);
        assert!(ran.err.contains(error), "{line}: {}", ran.err);
        assert!(!folder.has("no-U7.bin"), "{line}");
    }
}

#[test]
fn a_patch_list_names_places_and_tells_every_line_that_does_not_fit() {
    let folder = Folder::new();
    let seated = "load prog.hex + seat 27C64 --at 0x8000";
    folder.put("good.txt", "cpu:0x8000 was 10 now 20\n2 was 12 now 22\n");
    folder.ok(&format!("{seated} + patch --file good.txt + write x.bin"));
    assert_eq!(folder.get("x.bin")[..4], [0x20, 0x11, 0x22, 0x13]);
    folder.put(
        "bad.txt",
        "0 was 99 now 20\n1 was 11 now 21\ncpu:0x8002 was 98 now 22\n",
    );
    let ran = folder.run(&format!("{seated} + patch --file bad.txt + write no.bin"));
    assert_eq!(ran.code, 2);
    let error = "bad.txt: line 1: 0x0000 holds 10, not 99; line 3: 0x8002 holds 12, not 98";
    assert!(ran.err.contains(error), "{}", ran.err);
    assert!(!folder.has("no.bin"));
    folder.put("unlike.txt", "0 was A9 01 now EA\n");
    let ran = folder.run(&format!("{seated} + patch --file unlike.txt"));
    assert!(
        ran.err
            .contains("line 1: there are 2 old bytes and 1 new ones"),
        "{}",
        ran.err
    );
}

/// A chip that no program has a byte for is not a file that somebody burns.
#[test]
fn an_erased_chip_is_left_out_unless_it_is_asked_for() {
    let folder = Folder::new();
    folder.put(
        "two.board",
        "[[sockets]]\nnames = [\"U1\", \"U2\"]\npart = \"27C64\"\nat = 0x8000\n",
    );
    let ran = folder.ok("load prog.hex + seat --board two.board + write {name}.bin");
    assert!(
        ran.err.contains("U2 is erased: nothing to burn"),
        "{}",
        ran.err
    );
    assert!(folder.has("U1.bin") && !folder.has("U2.bin"));
    folder.ok("load prog.hex + seat --board two.board + write {name}.bin --erased-too");
    assert_eq!(folder.get("U2.bin"), vec![0xFF; 8192]);
    // A board file is something that outputs depend on.
    folder.ok("--depfile d.mk load prog.hex + seat --board two.board + write {name}.bin");
    let depfile = String::from_utf8(folder.get("d.mk")).unwrap();
    assert!(depfile.contains("two.board"), "{depfile}");
}

#[test]
fn a_4_bit_pair_holds_the_halves_of_each_byte() {
    let folder = Folder::new();
    folder.ok(
        "load prog.hex + pad prom-256x4 --with 00 --at 0x8000 + split nibbles + write {name}.bin",
    );
    assert_eq!(folder.get("low.bin")[..5], [0, 1, 2, 3, 0]);
    assert_eq!(folder.get("high.bin")[..5], [1, 1, 1, 1, 0]);
    folder.ok("load low.bin high.bin --apart + join nibbles + write back.bin");
    assert_eq!(folder.get("back.bin")[..4], [0x10, 0x11, 0x12, 0x13]);
    folder.put("bad.bin", [0x1F]);
    let ran = folder.run("load bad.bin bad.bin --apart + join nibbles");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("a 4-bit chip gives 00 to 0F"),
        "{}",
        ran.err
    );
}

#[test]
fn what_runs_across_lanes_is_found_by_its_cpu_address() {
    let folder = Folder::new();
    let ran = folder.ok("load prog.hex + seat 27C64 --at 0x8000 --lanes 2 + find '11 12 13'");
    assert_eq!(
        ran.out,
        "11 12 13 found in 1 place\n  even+odd = CPU 8001  prog.hex\n"
    );
    let ran = folder.ok("load prog.hex + seat 27C64 --at 0x8000 + find 12");
    assert_eq!(
        ran.out,
        "12 found in 1 place\n  prog 0002 = CPU 8002  prog.hex line 1\n"
    );
    let ran = folder.run("load prog.hex + find 99");
    assert_eq!((ran.code, ran.out.as_str()), (1, "99 not found\n"));
}
