//! What a terminal shows fits it: lines are broken between words, tables stay aligned, and nothing of it reaches a pipe.

#![cfg(target_os = "linux")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::support::bench::{Folder, Ran};
use crate::support::terminal::{on_terminal, plain};

/// The files of three samples, their chips, and chips that went wrong.
fn folder() -> Folder {
    let folder = Folder::new();
    for sample in ["heron-8", "heron-16", "kingfisher"] {
        let from = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("samples")
            .join(sample);
        for entry in fs::read_dir(from).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            let to = if name == "board.loom" {
                format!("{sample}.loom")
            } else {
                name.to_owned()
            };
            if path.is_file() {
                folder.put(&to, fs::read(&path).unwrap());
            }
        }
    }
    for line in [
        "--quiet load monitor.hex basic.s19 --entry none --name chip + seat 27C256 --at 0x8000 + write chip.bin",
        "--quiet load chip.bin + rewire --address 1,0,2,3,4,5,6,7,8,9,10,11,12,13,14 + write swapped.bin",
        "--quiet load chip.bin + patch 0x100 5A + patch 0x6100 A5 + write patched.bin",
        "--quiet load selftest.s19 --entry none + seat --board heron-16.board + write 'read-{name}.bin'",
    ] {
        folder.ok(line);
    }
    folder.put(
        "bad.hex",
        ":10000000000102030405060708090A0B0C0D0E0F79\n:1000100000010203G405060708090A0B0C0D0E0F68\n:1000300000010203040506070\n",
    );
    folder.put("slip.loom", "load monitor.hex\nseat 27C265 --at 0x8000\n");
    folder.put("drive.loom", "load roms\\monitor.hex\n");
    folder
}

/// Every command, and every step that shows something or can go wrong in more words than a line has.
const LINES: &[&str] = &[
    "romloom run heron-8.loom --dry-run",
    "romloom run heron-8.loom --explain --dry-run",
    "romloom run heron-16.loom --explain --dry-run",
    "romloom run kingfisher.loom --dry-run",
    "romloom run slip.loom",
    "romloom run drive.loom",
    "romloom check monitor.hex basic.s19 monitor.bin bad.hex",
    "romloom board heron-8.board",
    "romloom board kingfisher.board",
    "romloom adapter 2364 27C64",
    "romloom adapter 27C256 27C512",
    "romloom new --board",
    "romloom new --board --part 27C256 --at 0x8000 --lanes 2 --rows 2",
    "romloom new --part 27C256 --at 0x8000 monitor.hex basic.s19 --stamp internet",
    "romloom new --part 32K --at 0x8000 monitor.hex 'no such.hex'",
    "romloom parts",
    "romloom parts 2716",
    "romloom formats",
    "romloom steps",
    "romloom recognise swapped.bin --among chip.bin basic.bin",
    "romloom load monitor.hex basic.s19 + show + digest",
    "romloom load monitor.hex + show hex 0xE000+64 + show changes basic.hex",
    "romloom load chip.bin + show changes patched.bin",
    "romloom load selftest.s19 + seat --board heron-16.board + show",
    "romloom load monitor.hex + find 4C",
    "romloom load chip.bin + compare patched.bin",
    "romloom load chip.bin + burnable swapped.bin",
    "romloom load swapped.bin + diagnose --wanted chip.bin",
    "romloom load patched.bin + diagnose --wanted chip.bin",
    "romloom load chip.bin + diagnose",
    "romloom load basic.bin + diagnose --wanted monitor.bin",
    "romloom load read-even.bin read-odd.bin --apart + diagnose --board heron-16.board --wanted 'read-{name}.bin'",
    "romloom load chip.bin patched.bin swapped.bin --apart + vote",
    "romloom load monitor.bin + write a.bin --dry-run",
    "romloom --dry-run load monitor.bin + write a.bin + write a-much-longer-name.bin",
    "romloom load bad.hex + show",
    "romloom load bad.hex --salvage + show",
    "romloom load nosuch.hex",
    "romloom load monitor.hex + seat 27C256 --at 0xC000",
    "romloom load monitor.hex + stamp sum16 --across 0xE000-0xFFFF --at 0xE000",
    "romloom load monitor.hex seat 27C256 --at 0x8000 write c1.bin",
    "romloom load monitor.hex + write out-{nosuch}.bin",
    "romloom load chip.bin + expect size 1",
    "romloom compare chip.bin patched.bin",
    "romloom pad 32K --fill FF",
    "romloom frobnicate",
];

/// No line is wider than the terminal, but for one word that has no blank to break it at.
fn fits(shown: &str, columns: usize, line: &str) {
    for row in plain(shown).lines() {
        let words = row.split_whitespace().count();
        // A board file is not ours to break inside its braces.
        let braces = line.contains("new --board") && row.starts_with("  ");
        assert!(
            row.chars().count() <= columns || words <= 1 || braces,
            "{line} at {columns}:\n{row}"
        );
    }
}

/// Words that are not addresses or bytes, of which a narrow picture shows others.
fn words(text: &str) -> BTreeSet<String> {
    let words = text
        .split_whitespace()
        .filter(|word| word.contains(|c: char| c.is_ascii_lowercase()));
    words.map(str::to_owned).collect()
}

fn fits_and_loses_nothing(columns: usize, lines: &[&str]) {
    let folder = folder();
    for (line, shown) in lines.iter().zip(on_terminal(&folder, columns, lines)) {
        fits(&shown, columns, line);
        let in_pipe = Ran::from(
            folder
                .command()
                .args(shlex::split(line).unwrap().into_iter().skip(1))
                .output()
                .unwrap(),
        );
        let piped = format!("{}{}", in_pipe.out, in_pipe.err);
        let shown = plain(&shown);
        let (ours, piped) = (words(&shown), words(&piped));
        // Of a line of the user's own that is too long, a part is shown.
        let cut = |word: &&String| !shown.contains("...") && !word.contains("...");
        let new: Vec<&String> = ours
            .difference(&piped)
            .filter(|word| !word.contains("..."))
            .collect();
        // Rows of letters are shorter in a narrow map.
        let new: Vec<&&String> = new
            .iter()
            .filter(|word| !piped.iter().any(|whole| whole.contains(word.as_str())))
            .collect();
        assert!(new.is_empty(), "{line} at {columns}: {new:?}\n{shown}");
        let lost: Vec<&String> = piped.difference(&ours).filter(cut).collect();
        assert!(lost.is_empty(), "{line} at {columns}: {lost:?}\n{shown}");
    }
}

#[test]
fn every_screen_fits_80_columns() {
    fits_and_loses_nothing(80, LINES);
}

#[test]
fn every_screen_fits_40_columns() {
    fits_and_loses_nothing(40, LINES);
}

#[test]
fn all_help_fits_40_columns() {
    let folder = Folder::new();
    let topics = folder.ok("help").out;
    let topics = topics
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.split_whitespace().next());
    let topics: BTreeSet<&str> = topics
        .filter(|topic| topic.chars().all(|c| c.is_ascii_lowercase()))
        .collect();
    assert!(topics.len() > 40, "{topics:?}");
    let topics = topics.into_iter().filter(|topic| *topic != "romloom");
    let topics = topics.chain([
        "sums",
        "values",
        "recipes",
        "lane",
        "27C256",
        "intel-hex",
        "crc32",
    ]);
    let lines: Vec<String> = topics
        .map(|topic| format!("romloom help {topic}"))
        .collect();
    let mut lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    lines.extend([
        "romloom",
        "romloom help",
        "romloom load -h",
        "romloom expect bytes --help",
    ]);
    for (line, shown) in lines.iter().zip(on_terminal(&folder, 40, &lines)) {
        assert!(shown.len() > 100, "{line}: {shown}");
        fits(&shown, 40, line);
    }
}

#[test]
fn colours_are_for_a_terminal_only() {
    let folder = Folder::new();
    let lines = [
        "romloom load prog.hex + show",
        "NO_COLOR= romloom load prog.hex + show",
        "CLICOLOR_FORCE=1 romloom load prog.hex + show | cat",
        "NO_COLOR=1 romloom load prog.hex + show",
        "NO_COLOR=0 romloom load prog.hex + show",
        "CLICOLOR_FORCE=1 NO_COLOR=1 romloom load prog.hex + show | cat",
        "romloom load prog.hex + show | cat",
    ];
    let shown = on_terminal(&folder, 80, &lines);
    let (coloured, bare) = shown.split_at(3);
    for shown in coloured {
        assert!(
            shown.contains("\u{1b}[38;5;28mp\u{1b}[0m prog.hex"),
            "{shown:?}"
        );
    }
    let piped = folder.ok("load prog.hex + show").out;
    for shown in bare {
        assert_eq!(shown, &piped);
    }
    assert_eq!(plain(&shown[0]), piped);
}

/// What goes into a file is the same whatever terminal the command is started from.
#[test]
fn a_narrow_terminal_changes_no_file() {
    let folder = folder();
    for (i, line) in LINES
        .iter()
        .step_by(3)
        .chain(&["romloom help load", "romloom man load"])
        .enumerate()
    {
        let words = shlex::split(line).unwrap();
        let from_pipe = folder.command().args(&words[1..]).output().unwrap();
        let redirected = format!("{line} >{i}.out 2>{i}.err");
        on_terminal(&folder, 40, &["COLUMNS=40", "export COLUMNS", &redirected]);
        assert_eq!(folder.get(&format!("{i}.out")), from_pipe.stdout, "{line}");
        assert_eq!(folder.get(&format!("{i}.err")), from_pipe.stderr, "{line}");
    }
}

/// A recipe that is shown on a narrow terminal is still one, to be copied from there.
#[test]
fn a_new_recipe_runs_as_a_narrow_terminal_shows_it() {
    let folder = folder();
    folder.put("a name of words.hex", folder.get("monitor.hex"));
    let line =
        "romloom new --part 27C256 --at 0x8000 'a name of words.hex' basic.s19 --stamp sum16";
    let shown = &on_terminal(&folder, 30, &[line])[0];
    assert!(shown.contains(" \\\n"), "{shown}");
    folder.put("shown.loom", shown);
    folder.ok("run shown.loom --quiet");
    let chip = folder.get("out/a name of words.bin");
    folder.put("whole.loom", folder.ok(&line["romloom ".len()..]).out);
    folder.ok("run whole.loom --quiet --always");
    assert_eq!(folder.get("out/a name of words.bin"), chip);
}
