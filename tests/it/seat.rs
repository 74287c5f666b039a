//! From CPU addresses to sockets and chip addresses, against tables worked out by hand and a plain formula.

use crate::support::bench::Folder;
use proptest::prelude::*;
use romloom::board::{Board, Placement, Socket};
use romloom::image::{AddressRange, Image, Source};
use romloom::ops::rewire;
use romloom::sums::Order;
use romloom::wiring::{Width, Wiring};

fn socket(row: u32, lane: u32) -> Socket {
    Socket { row, lane }
}

/// Worked by hand: one 27C256 at 0x8000. The chip's A0-A14 are the CPU's.
#[test]
fn one_chip_on_an_8_bit_bus() {
    let board = Board::builder(0x8000, 0x8000).build().unwrap();
    for (cpu, chip) in [(0x8000, 0), (0x8001, 1), (0xFFFC, 0x7FFC), (0xFFFF, 0x7FFF)] {
        assert_eq!(board.chip_of(cpu), Some((socket(0, 0), chip)));
        assert_eq!(board.cpu_of(socket(0, 0), chip), Some(cpu));
    }
    assert_eq!(board.chip_of(0x7FFF), None);
    assert_eq!(board.chip_of(0x1_0000), None);
}

/// Worked by hand: two 27C256 on a 68000, even bytes on D8-D15, at 0. The chips' A0 is the CPU's A1.
#[test]
fn two_chips_on_a_16_bit_big_endian_bus() {
    let board = Board::builder(0x8000, 0).lanes(2).build().unwrap();
    for (cpu, lane, chip) in [
        (0x0000, 0, 0x0000),
        (0x0001, 1, 0x0000),
        (0x0004, 0, 0x0002),
        (0x0007, 1, 0x0003),
        (0x0400, 0, 0x0200),
        (0xFFFE, 0, 0x7FFF),
        (0xFFFF, 1, 0x7FFF),
    ] {
        assert_eq!(board.chip_of(cpu), Some((socket(0, lane), chip)), "{cpu:X}");
    }
}

/// Worked by hand: two banks of four 27C512 on a 32-bit little-endian bus at 0x100000. A bank is 4 x 64K = 0x40000.
#[test]
fn two_banks_of_four_chips_on_a_32_bit_little_endian_bus() {
    let board = Board::builder(0x1_0000, 0x10_0000).lanes(4).rows(2);
    let board = board.build().unwrap();
    for (cpu, row, lane, chip) in [
        (0x10_0000, 0, 0, 0x0000),
        (0x10_0001, 0, 1, 0x0000),
        (0x10_0006, 0, 2, 0x0001),
        (0x13_FFFF, 0, 3, 0xFFFF),
        (0x14_0000, 1, 0, 0x0000),
        (0x17_FFFD, 1, 1, 0xFFFF),
    ] {
        assert_eq!(
            board.chip_of(cpu),
            Some((socket(row, lane), chip)),
            "{cpu:X}"
        );
    }
    assert_eq!(board.chip_of(0x18_0000), None);
}

/// Every byte of every board against a formula of three lines.
#[test]
fn every_byte_is_where_a_plain_formula_puts_it() {
    for (size, lanes, rows, base) in [
        (0x800u64, 1u32, 1u32, 0x8000u64),
        (0x800, 1, 4, 0x8000),
        (0x400, 2, 1, 0),
        (0x400, 2, 3, 0x1_8000),
        (0x200, 4, 2, 0x4_0000),
        (0x100, 8, 1, 0x4_0000),
    ] {
        let board = Board::builder(size, base).lanes(lanes).rows(rows);
        let board = board.build().unwrap();
        let n = u64::from(lanes);
        let total = size * n * u64::from(rows);
        let bytes: Vec<u8> = (0..total).map(|i| (i * 7 + i / 251) as u8).collect();
        let image = Image::from_bytes(base, bytes.clone(), Source::Patch).unwrap();
        let chips = board.distribute(&image).unwrap();
        for offset in 0..total {
            let row = offset / (size * n);
            let lane = offset % n;
            let chip = offset % (size * n) / n;
            let place = (socket(row as u32, lane as u32), chip);
            assert_eq!(board.chip_of(base + offset), Some(place));
            let seated = &chips[(row * n + lane) as usize];
            assert_eq!(seated.byte(chip), Some(bytes[offset as usize]));
        }
    }
}

/// As programmers take them: chip word n is file bytes 2n (D0-D7) and 2n+1 (D8-D15) (common practice).
#[test]
fn a_16_bit_part_takes_words_low_byte_first_whatever_the_cpu() {
    let word = [0x12, 0x34, 0x56, 0x78];
    let image = Image::from_bytes(0, word.to_vec(), Source::Patch).unwrap();
    let board = |order| {
        let board = Board::builder(4, 0).word_bytes(2).order(order);
        board.build().unwrap()
    };
    // Little-endian: the byte at the even address is D0-D7.
    assert_eq!(
        board(Order::Little).seat(&image, 0xFF).unwrap()[0].spans()[0].bytes(),
        [0x12, 0x34, 0x56, 0x78]
    );
    // Big-endian: the byte at the even address is D8-D15.
    assert_eq!(
        board(Order::Big).seat(&image, 0xFF).unwrap()[0].spans()[0].bytes(),
        [0x34, 0x12, 0x78, 0x56]
    );
    // Two of them on a 32-bit bus are two lanes of two bytes.
    let wide = Board::builder(2, 0).word_bytes(2).lanes(2).build().unwrap();
    let chips = wide.seat(&image, 0xFF).unwrap();
    assert_eq!(chips[0].spans()[0].bytes(), [0x12, 0x34]);
    assert_eq!(chips[1].spans()[0].bytes(), [0x56, 0x78]);
}

/// A 27C512 in a socket that ties A15 high shows its upper half (common practice); A0 held shows every other byte.
#[test]
fn held_lines_say_where_in_the_chip() {
    let image = Image::from_bytes(0x8000, (0..=255).collect(), Source::Patch).unwrap();
    let board = |placement| {
        let board = Board::builder(512, 0x8000).window(256);
        board.placement(placement).build().unwrap()
    };
    let high = board(Placement::Tied(vec![(8, true)]));
    let upper = high.distribute(&image).unwrap().remove(0);
    assert_eq!(upper.extent(), AddressRange::new(256, 511));
    assert_eq!(high.seen_in_chip(), [AddressRange::new(256, 511).unwrap()]);
    let every_other = board(Placement::Tied(vec![(0, true)]));
    let odd = every_other.distribute(&image).unwrap().remove(0);
    for i in 0..256u64 {
        assert_eq!(
            (odd.byte(2 * i), odd.byte(2 * i + 1)),
            (None, Some(i as u8))
        );
    }
    assert_eq!(every_other.cpu_of(socket(0, 0), 5), Some(0x8002));
    assert_eq!(every_other.cpu_of(socket(0, 0), 4), None);
    let both = board(Placement::Repeated)
        .distribute(&image)
        .unwrap()
        .remove(0);
    assert_eq!((both.byte(3), both.byte(256 + 3)), (Some(3), Some(3)));
}

fn boards() -> impl Strategy<Value = Board> {
    let counts = (0u32..3, 1u32..4, any::<bool>(), any::<bool>());
    let held = prop::collection::vec((0u8..9, any::<bool>()), 0..3);
    (counts, held, 0u64..4).prop_map(|((lanes, rows, wide, big), mut held, base)| {
        held.sort();
        held.dedup_by_key(|(line, _)| *line);
        let unit = if wide { 2 } else { 1 };
        let chip = 512 * unit;
        let window = chip >> held.len();
        let lanes = 1 << lanes;
        let base = base * window * u64::from(lanes);
        let board = Board::builder(chip, base).word_bytes(unit).window(window);
        let board = board.lanes(lanes).rows(rows).placement(match held.len() {
            0 => Placement::Whole,
            _ => Placement::Tied(held),
        });
        let order = if big { Order::Big } else { Order::Little };
        board.order(order).build().unwrap()
    })
}

proptest! {
    #[test]
    fn chips_put_together_again_are_the_program(board in boards(), seed in any::<u64>(), holes in prop::collection::vec((0u64..4000, 1u64..300), 0..4)) {
        let whole = board.addresses();
        let bytes = (0..whole.len()).map(|i| (i.wrapping_mul(seed | 1) >> 5) as u8).collect();
        let mut image = Image::from_bytes(whole.first(), bytes, Source::Patch).unwrap();
        for (at, len) in holes {
            image.remove(AddressRange::from_len(whole.first() + at, len).unwrap());
        }
        let chips = board.distribute(&image).unwrap();
        for (socket, chip) in board.sockets().zip(&chips) {
            for span in chip.spans() {
                for at in span.range().first()..=span.range().last() {
                    let cpu = board.cpu_of(socket, at).unwrap();
                    prop_assert_eq!(board.chip_of(cpu), Some((socket, at)));
                    prop_assert_eq!(chip.byte(at), image.byte(cpu));
                }
            }
        }
        let total: u64 = chips.iter().map(Image::len).sum();
        prop_assert_eq!(total, image.len());
        let pairs: Vec<_> = board.sockets().zip(&chips).collect();
        prop_assert!(board.unseat(&pairs).unwrap().same_bytes(&image));
    }

    #[test]
    fn rewiring_and_its_inverse_cancel(
        address in Just((0u8..9).collect::<Vec<_>>()).prop_shuffle(),
        data in Just((0u8..8).collect::<Vec<_>>()).prop_shuffle(),
        address_inverted in 0u32..2048,
        data_inverted in any::<u8>(),
        start in 0u64..700,
        bytes in prop::collection::vec(any::<u8>(), 1..900),
    ) {
        let wiring = Wiring::new(Width::Eight, address, data).unwrap();
        let wiring = wiring.inverting(address_inverted, data_inverted.into()).unwrap();
        let image = Image::from_bytes(start, bytes, Source::Patch).unwrap();
        let mut wired = image.clone();
        rewire(&mut wired, &wiring, romloom::ops::Large::Refuse).unwrap();
        // Line by line, as a meter would follow the wires.
        for at in start..start + image.len() {
            let inside = at % 2048;
            let chip: u64 = (0..9).map(|i| (inside >> wiring.address()[i] & 1) << i).sum();
            let chip = (chip | inside >> 9 << 9) ^ u64::from(address_inverted);
            let byte = image.byte(at).unwrap();
            let bits: u8 = (0..8).map(|i| (byte >> wiring.data()[i] & 1) << i).sum();
            let bits = bits ^ data_inverted;
            prop_assert_eq!(wired.byte(at / 2048 * 2048 + chip), Some(bits));
        }
        rewire(&mut wired, &wiring.inverse(), romloom::ops::Large::Refuse).unwrap();
        prop_assert!(wired.same_bytes(&image));
    }
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
         + expect pointer cpu:4 --in 0x400-0xFFBF --width 4 --order big \
         + digest sum16 --on even + digest sum16 --on odd");
    assert!(
        ran.out.contains("  sum16  A089") && ran.out.contains("  sum16  1DD6"),
        "{}",
        ran.out
    );
}

#[test]
fn what_does_not_fit_a_board_is_told_with_what_would() {
    let folder = Folder::new();
    let error = |line: &str| {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        ran.error().to_owned()
    };
    for (line, message) in [
        (
            "load prog.hex + seat 27C256 --at 0x1000",
            "error: seat: 0x1000 is no multiple of the window of 32768 bytes, so the address lines would not agree: the next multiples are 0x0000 and 0x8000",
        ),
        (
            "load prog.hex + seat 27C256 --at 0",
            "error: seat: prog: 4 bytes lie outside 0x0000-0x7FFF, the first at 0x8000 (prog.hex line 1): all of it would fit a window of 65536 bytes at 0x0000; --shed leaves it out",
        ),
        (
            "load prog.hex + seat 27C512 --at 0x8000 --window 32K",
            "error: seat: the chip has 65536 bytes and the window 32768: say with --tied which address lines are held at which level, with --switch and --position or --bank which part this is, or with --repeat that the same bytes stand everywhere",
        ),
        (
            "load prog.hex + seat 27C512 --at 0x8000 --window 32K --tied A15=1,A14=0",
            "error: seat: a window of 32768 bytes needs 15 of the chip's 16 address lines to follow the CPU, so 1 must be held, and 2 are: A15 A14",
        ),
        (
            "load prog.hex + seat 27C512 --at 0x8000 --window 32K --bank 2",
            "error: seat: there are 2, numbered 0 to 1, so --bank 2 is none of them",
        ),
        (
            "load prog.hex + seat 27C256 --at 0x8000 --except 0x8002-0x8003",
            "error: seat: prog: 0x8002 (prog.hex line 1) lies in 0x8002-0x8003, which --except says the chips don't answer: move it, or correct --except",
        ),
        (
            "load prog.hex + seat 23256 --at 0x8000",
            "error: seat: a 23256 has no erased value of its own: say with --with what unused places shall hold",
        ),
        (
            "load prog.hex + seat 27C265 --at 0x8000",
            "error: seat: `27C265` is no part of the table; nearest: 27C256, 27C16, 27C64, 27256; `romloom parts` lists them, and `--parts FILE` adds your own",
        ),
        (
            "load prog.hex + seat 27C256 --at 0x8000 + seat 27C256 --at 0",
            "error: seat: prog is seated already",
        ),
        (
            "load prog.hex + seat 27C256 --at 0 --lanes 3",
            "error: seat: --lanes must be 1, 2, 4, 8 or 16, not 3",
        ),
        (
            "load prog.hex + seat 27C256 --at 0 --lanes 2 --names even",
            "error: seat: there are 2 sockets and 1 names: give one name for each",
        ),
        (
            "load prog.hex + rewire --address 0,1,1",
            "error: rewire: A1 stands twice and A2 is missing: each line goes to one place",
        ),
        (
            "load prog.hex + rewire --data 0,1,9",
            "error: rewire: D9 is outside D0-D2, the lines this list of 3 names: list every line up to the highest",
        ),
    ] {
        assert_eq!(error(line), message);
    }
    let ran = folder.ok("load prog.hex + load prog.hex --as raw --at 0 + seat 27C256 --at 0x8000 --shed + expect size 32K");
    assert!(ran.err.contains("left out"), "{}", ran.err);
}

#[test]
fn cpu_addresses_are_refused_once_the_bytes_have_moved() {
    let folder = Folder::new();
    let seated = "load prog.hex + seat 27C64 --at 0x8000 +";
    for (step, moves) in [
        ("rewire", "rewire --address 1,0"),
        ("swap", "swap 2"),
        ("relocate", "relocate --to 0x2000"),
    ] {
        for job in [
            "show hex cpu:0x8000-0x8003",
            "stamp sum8 --across cpu:0x8000-0x8003 --at cpu:0x8008",
            "expect pointer cpu:0x8000 --in 0-0xFFFF",
            "patch cpu:0x8000 00",
        ] {
            let ran = folder.run(&format!("{seated} {moves} + {job} + write no.bin"));
            let moved = format!(
                "`{step}` has rearranged prog since it was seated, so no cpu: address leads to its bytes"
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
        let ran = folder.run(&format!("{wide} {job} + write {{label}}.bin"));
        let error =
            "0x0001 stands in another chip of the board than even: give --on that one too, or none";
        assert!(
            ran.code == 2 && ran.err.contains(error),
            "{job}: {}",
            ran.err
        );
    }
    folder.ok(&format!(
        "{wide} patch cpu:1 EE --on even --on odd + write {{label}}.bin"
    ));
    assert_eq!(folder.get("odd.bin")[0], 0xEE);
}

#[test]
fn two_programs_seated_alike_are_two_sets_of_chips() {
    let folder = Folder::new();
    folder.put("two.hex", ":02800000AABB19\n:00000001FF\n");
    let both = "load prog.hex --name m + load two.hex --apart --name b + seat 27C64 --at 0x8000 +";
    folder.ok(&format!("{both} patch cpu:0x8001 EE + write {{label}}.bin"));
    assert_eq!(folder.get("m.bin")[..3], [0x10, 0xEE, 0x12]);
    assert_eq!(folder.get("b.bin")[..3], [0xAA, 0xEE, 0xFF]);
}

#[test]
fn the_sheet_of_rewired_banks_says_nothing_of_their_places() {
    let folder = Folder::new();
    folder.put("two.hex", ":02800000AABB19\n:00000001FF\n");
    let banks = "load prog.hex + load two.hex --apart \
         + seat 27C128 --at 0x8000 --window 8K --bank 0 --on prog \
         + seat 27C128 --at 0x8000 --window 8K --bank 1 --on two + join --name chip + pad 27C128";
    folder.ok(&format!("{banks} + sheet plain.html"));
    folder.ok(&format!(
        "{banks} + rewire --inverted A13 + sheet rewired.html"
    ));
    let page = |name: &str| String::from_utf8(folder.get(name)).unwrap();
    assert!(page("plain.html").contains("<h3>Switch</h3>"));
    assert!(!page("rewired.html").contains("<h3>Switch</h3>"));
    assert!(page("rewired.html").contains("as <code>rewire</code> left it"));
}

#[test]
fn programs_for_one_switched_chip_are_seated_one_by_one() {
    let folder = Folder::new();
    folder.put("two.hex", ":02800000AABB19\n:00000001FF\n");
    folder.ok("load prog.hex + load two.hex --apart \
         + seat 27C128 --at 0x8000 --window 8K --switch A13 --position 0 --on prog \
         + seat 27C128 --at 0x8000 --window 8K --switch A13 --position 1 --on two \
         + join --name chip + pad 27C128 + expect full + expect size 16K + write chip.bin");
    let chip = folder.get("chip.bin");
    assert_eq!(chip[..5], [0x10, 0x11, 0x12, 0x13, 0xFF]);
    assert_eq!(chip[0x2000..0x2003], [0xAA, 0xBB, 0xFF]);
}

#[test]
fn an_empty_bank_and_two_banks_alike_are_pointed_out() {
    let folder = Folder::new();
    folder.put("twin.hex", folder.get("prog.hex"));
    folder.put("none.bin", [0xFF; 8]);
    let seat = |label: &str, bank: u32| {
        format!(" + seat 27C256 --at 0x8000 --window 8K --bank {bank} --on {label}")
    };
    let ran = folder.ok(&format!(
        "load prog.hex twin.hex --apart + load none.bin --apart + hollow FF --least 1 --on none{}{}{} + join --name cart",
        seat("prog", 0),
        seat("twin", 1),
        seat("none", 2),
    ));
    assert_eq!(
        ran.err,
        "warning: prog and twin hold the same bytes: is one of them the wrong file?\n\
         warning: none is empty: is a file missing?\n"
    );
}

#[test]
fn a_reset_overlay_shows_the_chip_at_two_places() {
    let folder = Folder::new();
    // The reset vectors are linked at 0, the program at 0x8000; the board shows the chip at both after reset.
    folder.put(
        "vectors.hex",
        ":0200000010 11 DD\n:00000001FF\n".replace(' ', ""),
    );
    folder
        .ok("load prog.hex vectors.hex + seat 27C64 --at 0x8000 --also 0-0x1FFF + write chip.bin");
    assert_eq!(folder.get("chip.bin")[..4], [0x10, 0x11, 0x12, 0x13]);
    // Different bytes for one cell can't both be there.
    folder.put(
        "other.hex",
        ":0200000010 99 55\n:00000001FF\n".replace(' ', ""),
    );
    let ran = folder.run("load prog.hex other.hex + seat 27C64 --at 0x8000 --also 0-0x1FFF");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("0x8000 is wanted twice"), "{}", ran.err);
}

#[test]
fn a_4_bit_pair_holds_the_halves_of_each_byte() {
    let folder = Folder::new();
    folder.ok(
        "load prog.hex + pad prom-256x4 --with 00 --at 0x8000 + split nibbles + write {label}.bin",
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
        "11 12 13 stands in 1 place\n  even+odd = CPU 8001  prog.hex\n"
    );
    let ran = folder.ok("load prog.hex + seat 27C64 --at 0x8000 + find 12");
    assert_eq!(
        ran.out,
        "12 stands in 1 place\n  prog 0002 = CPU 8002  prog.hex line 1\n"
    );
    let ran = folder.run("load prog.hex + find 99");
    assert_eq!((ran.code, ran.out.as_str()), (1, "99 stands nowhere\n"));
}

#[test]
fn whether_a_chip_can_be_programmed_over_is_told_by_the_part() {
    let folder = Folder::new();
    folder.put("old.bin", [0xFF, 0x11, 0xF0, 0x13]);
    folder.put("blocked.bin", [0xFF, 0x01, 0xF0, 0x13]);
    let ask = |old: &str, part: &str| {
        let ran = folder.run(&format!(
            "load prog.hex + burnable {old} --part {part} + write after.bin"
        ));
        assert_eq!(folder.get("after.bin").len(), 4, "the run goes on");
        (ran.code, ran.out.lines().next().unwrap().to_owned())
    };
    // 10 over FF, 11 over 11, 12 over F0 needs bit 1 back from 0: no.
    assert_eq!(
        ask("old.bin", "27C256"),
        (
            1,
            "prog can't be programmed over old.bin in a 27C256".into()
        )
    );
    folder.put("old.bin", [0xFF, 0x11, 0xF2, 0x13]);
    assert_eq!(
        ask("old.bin", "27C256"),
        (0, "prog can be programmed over old.bin in a 27C256".into())
    );
    assert_eq!(
        ask("blocked.bin", "28C256"),
        (
            0,
            "prog can be programmed over blocked.bin in a 28C256".into()
        )
    );
    assert_eq!(
        ask("old.bin", "23256"),
        (1, "prog can't be programmed over old.bin in a 23256".into())
    );
}

#[test]
fn the_sectors_to_erase_are_those_of_the_part_be_they_equal_or_not() {
    let folder = Folder::new();
    folder.put("old.bin", vec![0; 512 << 10]);
    // Two bytes to a word: the sectors are counted in the file's bytes.
    let own = "[[part]]\nname = \"KF-400T\"\nwords = 262_144\nwidth = 16\nkind = \"sector-flash\"\nerased = 0xFF\n\
               sectors = [\"7 x 64K\", \"32K\", \"2 x 8K\", \"16K\"]\npins = 44\n";
    folder.put("own.toml", own);
    let steps = "load old.bin --name new + patch 0x6FFFF FF + patch 0x70000 FF + patch 0x7A010 FF";
    for part in ["29F400T", "KF-400T"] {
        let ran = folder.run(&format!(
            "--parts own.toml {steps} + burnable old.bin --part {part}"
        ));
        assert_eq!(ran.code, 1, "{}", ran.err);
        let said = "  sectors to erase begin at 060000 070000 07A000\n  3 of 11 sectors must be erased first\n";
        assert!(ran.out.ends_with(said), "{}", ran.out);
    }
    let ran = folder.run(&format!("{steps} + burnable old.bin --part 29F400BB"));
    let said =
        "  sectors to erase begin at 060000 070000\n  2 of 11 sectors must be erased first\n";
    assert!(ran.out.ends_with(said), "{}", ran.out);
}
