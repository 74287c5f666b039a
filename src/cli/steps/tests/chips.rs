//! Whatever a step after `seat` is given: it is refused, or each chip is still one that its socket takes.

use std::collections::BTreeMap;
use std::fs;

use clap::Command;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::support::bench;
use crate::cli::bench::Bench;
use crate::cli::steps::STEPS;

/// A board, and what is known of its chips without asking it.
#[derive(Clone, Copy, Debug)]
struct Case {
    /// Its sockets, as in a file.
    board: &'static str,
    /// Where its program is for.
    place: &'static str,
    /// Bytes of each chip.
    size: u64,
    /// Bits of an address in the chip's file that no bus tells apart.
    open: u64,
}

/// Worked out by hand: address pin n of a part 8 bits wide is bit n of an address in its file; of one 16 bits wide it is
/// bit n + 1.
const CASES: [Case; 8] = [
    Case {
        board: "names = [\"U1\"]\npart = \"27C64\"\nat = 0x8000",
        place: "cpu",
        size: 0x2000,
        open: 0,
    },
    Case {
        board: "names = [\"U1\", \"U2\"]\npart = \"27C64\"\nlanes = 2\nat = 0x8000",
        place: "cpu",
        size: 0x2000,
        open: 0,
    },
    Case {
        board: "names = [\"U1\"]\npart = \"27C64\"\nat = 0x8000\nsize = \"2K\"\ntied = { A11 = \"any\", A12 = \"any\" }",
        place: "cpu",
        size: 0x2000,
        open: 0x1800,
    },
    Case {
        board: "names = [\"U1\"]\npart = \"27C512\"\nat = 0x8000\nsize = \"32K\"\ntied = { A15 = \"any\" }",
        place: "cpu",
        size: 0x1_0000,
        open: 0x8000,
    },
    Case {
        board: "names = [\"U1\"]\npart = \"27C64\"\nwindow = [{ at = 0x8000 }, { at = 0 }]",
        place: "cpu",
        size: 0x2000,
        open: 0,
    },
    Case {
        board: "names = [\"U1\"]\npart = \"27C512\"\nat = 0x8000\nsize = \"8K\"\nbanks = 4\nswitch = [\"A13\", \"A14\"]\ntied = { A15 = \"any\" }",
        place: "bank1",
        size: 0x1_0000,
        open: 0x8000,
    },
    Case {
        board: "names = [\"U1\"]\npart = \"27C1024\"\norder = \"big\"\nat = 0x8000\nsize = \"32K\"\ntied = { A14 = \"any\", A15 = \"any\" }",
        place: "cpu",
        size: 0x2_0000,
        open: 0x1_8000,
    },
    Case {
        board: "names = [\"U1\", \"U2\"]\npart = \"27C64\"\nlanes = 2\nat = 0x8000\nsize = \"8K\"\ntied = { A0 = \"any\" }\nwires = { A1 = \"A2\", A2 = \"/A1\", D0 = \"D7\", D7 = \"D0\" }",
        place: "cpu",
        size: 0x2000,
        open: 1,
    },
];

/// Lines with `P` for a place before an address, `A`-`C` for addresses and `S` for a size.
const STEPS_AFTER: &[&str] = &[
    "patch P:A E1E2",
    "patch P:A 00",
    "mark P:A text",
    "mark P:A text --replace",
    "stamp crc32 --across P:A-B --at P:C --replace",
    "stamp sum8 --zero-sum --across P:A-B --at P:A --replace",
    "stamp sum16 --across A-B --at C",
    "fill EE P:A-B",
    "fill EE A-B",
    "fill EE",
    "hollow FF --least 1",
    "hollow FF --tail --least 1",
    "hollow FF --least 1 + fill 00 A-B",
    "keep A-B",
    "drop A-B",
    "copy A-B --to C --clash last",
    "copy P:A-B --to P:C --clash last",
    "spread A-B --bank-size 1K --replace",
    "spread P:A-B --to bank1-3 --replace",
    "repeat S",
    "pad S --with 00",
    "pad S --at A",
    "keep 0-0xFF + relocate --to A",
    "relocate --by +A",
    "relocate --to 0",
    "rewire --address 1,0",
    "rewire --inverted A11",
    "swap 2",
    "load more.bin --at A --as raw --clash last",
    "load more.bin --at A --as raw --clash first",
    "split lanes 2 + join lanes",
    "split banks 1K + join banks",
];

const ADDRESSES: &[u64] = &[
    0, 0, 1, 2, 0x10, 0x20, 0x40, 0x80, 0x100, 0x200, 0x3F0, 0x400, 0x7F0, 0x7FF, 0x800, 0xFFF,
    0x1000, 0x17FF, 0x1FFF, 0x2000, 0x3FFF, 0x7FFF, 0x8000, 0x8001, 0x8010, 0x87FF, 0x9000, 0x9FFF,
    0xFFFF, 0x1_0000, 0x1_7FFF, 0x1_FFFF, 0x2_0000,
];

/// One of the lines, filled in.
fn line() -> impl Strategy<Value = String> {
    let place = select(&["", "", "cpu:", "cpu:", "U1:", "U2:", "bank1:", "bank:"][..]);
    let address = || select(ADDRESSES);
    let size = select(&["1K", "2K", "8K", "64K", "128K", "256K", "100"][..]);
    let on = select(&["", "", "", " --on U1"][..]);
    // Most lines shall be sensible: short ranges, and on a bus inside the window.
    let (short, inside) = (any::<bool>(), select(&[0x8000, 0x8000, 0][..]));
    let all = (
        select(STEPS_AFTER),
        place,
        (address(), address(), address()),
        (short, inside),
        size,
        on,
    );
    all.prop_map(|(line, place, (a, b, c), (short, inside), size, on)| {
        let by = match place {
            "cpu:" | "bank1:" | "bank:" => inside,
            _ => 0,
        };
        let (a, b, c) = (a.min(b), a.max(b), c);
        let b = if short { a + 15 } else { b };
        let (p, q, r) = (a | by, b | by, c | by);
        let words = line.split(' ').map(|word| {
            let range = format!("{a:#x}-{b:#x}");
            match word {
                "P:A-B" => format!("{place}{p:#x}-{q:#x}"),
                "A-B" => range,
                "P:A" => format!("{place}{p:#x}"),
                "P:C" => format!("{place}{r:#x}"),
                "A" => format!("{a:#x}"),
                "+A" => format!("+{a:#x}"),
                "C" => format!("{c:#x}"),
                "S" => size.to_owned(),
                other => other.to_owned(),
            }
        });
        words.collect::<Vec<_>>().join(" ") + on
    })
}

/// Runs a step as a pipeline does; a refusal ends that without a file.
fn run(bench: &mut Bench, line: &str) -> Result<(), String> {
    let words: Vec<&str> = line.split(' ').collect();
    let entry = STEPS.iter().find(|step| step.name == words[0]).unwrap();
    let root = Command::new("romloom").subcommand(entry.command());
    let words = std::iter::once("romloom").chain(words);
    let mut matches = root
        .try_get_matches_from(words)
        .map_err(|e| e.to_string())?;
    let (_, mut matches) = matches.remove_subcommand().unwrap();
    let planned = entry.plan(&mut matches).map_err(|e| e.to_string())?;
    planned.check(&bench.parts).map_err(|stop| stop.text())?;
    planned.run(bench).map_err(|stop| stop.text())?;
    bench.ran(entry.name).map_err(|stop| stop.text())
}

/// What a programmer gets: no more than the part has, and the same in cells that no bus tells apart.
fn check(case: Case, bench: &Bench, lines: &[String]) {
    for piece in bench.pieces.iter().filter(|piece| piece.seat().is_some()) {
        let image = piece.image();
        let last = image.extent().map_or(0, |extent| extent.last());
        assert!(last < case.size, "{case:?}\n{lines:?}\n{last:#x}");
        if piece.rearranged_by().is_some() {
            continue;
        }
        let mut cells = vec![None; case.size as usize];
        for span in image.spans() {
            let own = &mut cells[span.start() as usize..][..span.bytes().len()];
            for (cell, byte) in own.iter_mut().zip(span.bytes()) {
                *cell = Some(*byte);
            }
        }
        let mut places = (0..).zip(&cells);
        let differs = places.find(|(at, cell)| **cell != cells[(at & !case.open) as usize]);
        assert_eq!(differs, None, "{case:?}\n{lines:?}");
    }
}

#[test]
fn after_any_step_each_chip_is_still_one_that_its_socket_takes() {
    let folder = tempfile::TempDir::new().unwrap();
    let bytes: Vec<u8> = (0..64).map(|n| n * 3 + 1).collect();
    fs::write(folder.path().join("prog.bin"), bytes).unwrap();
    fs::write(folder.path().join("more.bin"), [0xEE; 16]).unwrap();
    for (n, case) in CASES.iter().enumerate() {
        let text = format!("[[sockets]]\n{}\n", case.board);
        fs::write(folder.path().join(format!("{n}.board")), text).unwrap();
    }
    let config = Config {
        cases: 400,
        failure_persistence: None,
        ..Config::default()
    };
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[41; 32]);
    let accepted = std::cell::RefCell::new(BTreeMap::<String, u32>::new());
    let values = (0..CASES.len(), vec(line(), 1..4));
    let ran = TestRunner::new_with_rng(config, rng).run(&values, |(n, lines)| {
        let case = CASES[n];
        let mut bench = bench(folder.path());
        let load = format!("load prog.bin --as raw --at 0x8000 --for {}", case.place);
        run(&mut bench, &load).unwrap();
        run(&mut bench, &format!("seat --board {n}.board")).unwrap();
        check(case, &bench, &[]);
        for line in lines.iter().flat_map(|line| line.split(" + ")) {
            match run(&mut bench, line) {
                Ok(()) => check(case, &bench, &lines),
                Err(_) => break,
            }
            let step = line.split(' ').next().unwrap_or_default().to_owned();
            *accepted.borrow_mut().entry(step).or_default() += 1;
        }
        Ok(())
    });
    ran.unwrap();
    // None of them is always refused, or nothing would have been tried.
    let accepted = accepted.into_inner();
    for line in STEPS_AFTER.iter().flat_map(|line| line.split(" + ")) {
        let step = line.split(' ').next().unwrap();
        assert!(accepted.contains_key(step), "{step}: {accepted:?}");
    }
}
