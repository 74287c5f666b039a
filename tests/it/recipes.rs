//! Recipes that romloom writes itself, and recipes that it explains.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use romloom::sums::{Algo, Order};

use crate::support::bench::{Folder, Ran};
use crate::support::thorough;

/// A folder with the files of a sample.
fn sample(name: &str) -> Folder {
    let folder = Folder::new();
    let from = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("samples")
        .join(name);
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            let name = path.file_name().unwrap().to_str().unwrap();
            folder.put(name, fs::read(&path).unwrap());
        }
    }
    folder
}

/// Prints a recipe, runs it, and holds its files against those of a pipeline typed by hand.
fn runs_as_typed(folder: &Folder, new: &str, typed: &str, files: &[(&str, &str)]) -> String {
    let recipe = folder.ok(&format!("new {new}")).out;
    folder.put("new.loom", &recipe);
    let ran = folder.ok("run new.loom");
    assert!(!ran.err.contains("warning"), "{}", ran.err);
    folder.ok(typed);
    for (made, by_hand) in files {
        assert_eq!(folder.get(made), folder.get(by_hand), "{new}: {made}");
    }
    assert!(recipe.contains("\nwrite "), "{recipe}");
    assert!(recipe.contains("\nsheet "), "{recipe}");
    // Every line that does something has a comment before it, or follows one that has.
    assert!(
        recipe
            .lines()
            .all(|line| !line.starts_with('#') || line.len() <= 80),
        "{recipe}"
    );
    for block in recipe.split("\n\n") {
        assert!(block.starts_with("# "), "{block}");
    }
    recipe
}

#[test]
fn a_new_recipe_for_one_chip_runs_as_it_stands() {
    let folder = sample("heron-8");
    let recipe = runs_as_typed(
        &folder,
        "--part 27C256 --at 0x8000 monitor.hex basic.s19 --name heron --stamp sum16",
        "load monitor.hex basic.s19 --entry none + seat 27C256 --at 0x8000 + stamp sum16 --across 0-0x7FF7 \
         --across 0x7FFA-0x7FFF --at 0x7FF8 + write hand.bin",
        &[("out/heron.bin", "hand.bin")],
    );
    insta::assert_snapshot!("new_recipe", recipe);
    // A size serves as well as a part.
    runs_as_typed(
        &folder,
        "--part 32K --at 0x8000 monitor.hex basic.s19",
        "load monitor.hex basic.s19 --entry none + fill FF + pad 32K --at 0x8000 + relocate --to 0 + write hand.bin",
        &[("out/monitor.bin", "hand.bin")],
    );
}

#[test]
fn a_new_recipe_for_lanes_and_rows_runs_as_it_stands() {
    let folder = sample("heron-16");
    runs_as_typed(
        &folder,
        "--part 27C256 --at 0 --lanes 2 selftest.s19 --stamp crc32",
        "load selftest.s19 --entry none + seat 27C256 --at 0 --lanes 2 + stamp crc32 --across cpu:0-0xFFFB \
         --at cpu:0xFFFC + write hand-{name}.bin",
        &[
            ("out/selftest-even.bin", "hand-even.bin"),
            ("out/selftest-odd.bin", "hand-odd.bin"),
        ],
    );
    runs_as_typed(
        &folder,
        "--part 16K --at 0 --lanes 2 --rows 2 selftest.s19 --name rom",
        "load selftest.s19 --entry none --name rom + fill FF + pad 64K --at 0 + split banks 32K + split lanes 2 \
         + write hand-{name}.bin",
        &[
            ("out/rom-bank0-lane0.bin", "hand-bank0-lane0.bin"),
            ("out/rom-bank1-lane1.bin", "hand-bank1-lane1.bin"),
        ],
    );
}

#[test]
fn a_new_recipe_says_where_raw_files_begin_and_quotes_odd_names() {
    let folder = Folder::new();
    folder.put("my data.bin", [1, 2]);
    folder.put("more.bin", [3]);
    runs_as_typed(
        &folder,
        "--part 2K --at 0x8000 'my data.bin' more.bin",
        "load 'my data.bin' more.bin --at 0x8000 --follow --entry none + pad 2K --at 0x8000 + write hand.bin",
        &[("out/my data.bin", "hand.bin")],
    );
    // Made on another day: a file that is not there yet is a warning.
    let ran = folder.run("new --part 27C256 --at 0x8000 later.hex");
    assert_eq!(ran.code, 0);
    assert_eq!(
        ran.err,
        "warning: later.hex: no such file or directory; the recipe names it all the same\n"
    );
    assert!(
        ran.out.contains("\nload later.hex --name later"),
        "{}",
        ran.out
    );
}

/// What a reader of a sum finds: the bytes of the CPU's view that it is made of, and those that are stored at `place`.
fn read_back(chip: &[u8], swapped: bool, place: std::ops::Range<usize>) -> (Vec<u8>, Vec<u8>) {
    let mut view = chip.to_vec();
    if swapped {
        view.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
    }
    let stored = view.drain(place).collect();
    (view, stored)
}

/// Of every sum that `stamp` takes the recipe runs, and what it stores is what a reader of that byte order reads back.
#[test]
fn a_new_recipe_stores_every_sum_as_its_reader_reads_it() {
    let folder = Folder::new();
    let mut sums: Vec<Algo> = Algo::all().collect();
    if !thorough() {
        // Of the CRCs one of each length.
        let mut lengths = Vec::new();
        sums.retain(|algo| {
            let crc = algo.name().starts_with("crc") && !algo.is_digest();
            let new = !lengths.contains(&algo.bytes());
            if crc {
                lengths.push(algo.bytes());
            }
            !crc || new
        });
    }
    assert!(sums.len() > 20);
    for (i, algo) in sums.into_iter().enumerate() {
        // Every sum with each order in turn, on a chip of bytes and on one of words.
        let (said, order) = [
            ("", None),
            (" --order little", Some(Order::Little)),
            (" --order big", Some(Order::Big)),
        ][i % 3];
        let (part, said, order) = match i % 2 {
            0 => ("27C64 --at 0x8000", said, order),
            _ => ("27C1024 --at 0", " --order big", Some(Order::Big)),
        };
        let words = part.starts_with("27C1024");
        folder.put("p.bin", [0x12, 0x34, 0x56, 0x78, 0x9A]);
        let line = format!("new --part {part} p.bin{said} --stamp {algo}");
        let recipe = folder.ok(&line).out;
        folder.put("new.loom", &recipe);
        let ran = folder.ok("--quiet run new.loom");
        assert!(!ran.err.contains("warning"), "{line}\n{}", ran.err);
        let (_, at) = recipe.split_once("--at cpu:0x").unwrap();
        let (at, _) = at.split_once([' ', '\n']).unwrap();
        let base = if words { 0 } else { 0x8000 };
        let at = usize::from_str_radix(at, 16).unwrap() - base;
        let place = at..at + algo.bytes();
        let (covered, stored) = read_back(&folder.get("out/p.bin"), words, place);
        let sum = algo.sum(&covered).unwrap();
        let shown: String = stored.iter().map(|byte| format!("{byte:02X}")).collect();
        let Some(value) = sum.value() else {
            assert_eq!(shown, sum.to_string().to_uppercase(), "{line}");
            continue;
        };
        let big = match algo.order().or(order) {
            None => algo == Algo::ADLER32,
            Some(order) => order == Order::Big,
        };
        let mut bytes = stored;
        if !big {
            bytes.reverse();
        }
        let read = bytes
            .iter()
            .fold(0u128, |read, byte| read << 8 | u128::from(*byte));
        // RFC 1071: the receiver's sum with the stored complement has all bits set.
        let wanted = match algo {
            Algo::INTERNET => 0xFFFF - value,
            _ => value,
        };
        assert_eq!(read, wanted, "{line}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    /// Whatever a file is called, its recipe runs as it stands, and writes a file of that name.
    #[test]
    fn a_new_recipe_runs_whatever_its_file_is_called(stem in prop_oneof![
        1 => Just("+".to_owned()),
        1 => Just("-".to_owned()),
        9 => r#"[-+a {}$'"\\#!~;&|<>()*?`=,é日${]{1,12}"#,
    ]) {
        let folder = Folder::new();
        let name = format!("{stem}.hex");
        prop_assume!(!stem.trim_matches('.').is_empty());
        folder.put(&name, folder.get("prog.hex"));
        let new = |file: &str| {
            let words = ["new", "--part", "27C64", "--at", "0x8000", "--", file];
            Ran::from(folder.command().args(words).output().unwrap())
        };
        let recipe = new(&name);
        prop_assert_eq!(recipe.code, 0, "{}", recipe.err);
        folder.put("new.loom", &recipe.out);
        let ran = folder.run("--quiet run new.loom");
        prop_assert_eq!(ran.code, 0, "{}\n{}", recipe.out, ran.err);
        prop_assert!(folder.has(&format!("out/{stem}.bin")), "{}", recipe.out);
        prop_assert!(folder.has(&format!("out/{stem}.html")), "{}", recipe.out);
    }
}

#[test]
fn a_new_recipe_that_can_not_work_is_not_printed() {
    let folder = Folder::new();
    for (line, said) in [
        ("--part 27C265 --at 0 prog.hex", "nearest: 27C256"),
        (
            "--part 27C256 --at 0x8001 prog.hex",
            "the next multiples are 0x8000 and 0x10000",
        ),
        (
            "--part 32K --at 0x8001 prog.hex",
            "the next multiples are 0x8000 and 0x10000",
        ),
        ("--part 27C256 --at 0x8000 --lanes 17 prog.hex", "--lanes"),
        (
            "--part 27C256 prog.hex",
            "romloom new --part 27C256 prog.hex --at BASE",
        ),
        ("--part 27C256 --at 0x8000", "`new` needs `FILE`"),
        (
            "--part 27C256 --at 0x8000 prog.hex --stamp sum17",
            "--stamp sum16",
        ),
        (
            "--part 27C256 --at 0x8000 'a\nb.hex'",
            "a recipe can't contain this name",
        ),
        (
            "--part 27C256 --at 0x8000 prog.hex --name 'a\nwrite b.bin'",
            "has a control character",
        ),
        (
            "--part 32K --at 0x8000 prog.hex --order big",
            "--order has nothing to order here",
        ),
    ] {
        let ran = folder.run(&format!("new {line}"));
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(said), "{line}\n{}", ran.err);
    }
}

#[test]
fn every_line_of_the_sample_recipes_is_explained() {
    for name in ["heron-8", "heron-16", "heron-16g", "kingfisher"] {
        let folder = sample(name);
        let ran = folder.ok("run board.loom --explain --dry-run");
        insta::assert_snapshot!(format!("explained_{name}"), ran.out);
        assert!(!folder.path("out").exists());
    }
    let folder = sample("heron-8");
    let ran = folder.ok("--explain run board.loom");
    assert!(
        ran.out
            .contains("(raw, 32,768 bytes), which takes its place when every step has succeeded."),
        "{}",
        ran.out
    );
}

#[test]
fn what_a_step_did_is_told_from_the_bytes() {
    let folder = Folder::new();
    let ran = folder.ok("--explain load prog.hex + patch 0x8001 FF + drop 0x8003-0x8003 + load prog.hex --clash first + relocate --to 0");
    insta::assert_snapshot!(ran.out);
    let ran = folder.ok("--json --explain load prog.hex + show");
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["reports"][0]["step"], "explain");
    assert_eq!(document["reports"][0]["words"], "load prog.hex");
    assert_eq!(document["reports"][0]["did"][0], "It read prog.hex.");
}
