//! The whole command, file to file, beside `cp` of the same files; everything lies in the page cache.

use std::fs::File;
use std::hint::black_box;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use romloom::formats::intel_hex::IntelHex;
use romloom::formats::{Findings, Format, Input, ReadOptions, Strictness};

use crate::table::{heading, in_prepared_turns, in_turns, milliseconds, row};
use crate::work::{K, M, bytes, image, write};

/// The word with which the program runs itself: see [`work`].
pub const WORD: &str = "measure-parts";

/// Turns with large files, and with small ones.
const TURNS: usize = 21;
const SMALL_TURNS: usize = 301;
/// The program's name in the folder of the bench.
const OURS: &str = "romloom";

pub fn rows() {
    heading(
        "The whole command, file to file: times as long as `cp --reflink=never` of the same files",
    );
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    // A copy, as an installed program is: of a file that the linker has just written, the system maps less at a time.
    std::fs::copy(env!("CARGO_BIN_EXE_romloom"), at.join(OURS)).unwrap();
    std::fs::write(at.join("large.hex"), write(&IntelHex, &image(16 * M))).unwrap();
    std::fs::write(at.join("large.bin"), bytes(16 * M)).unwrap();
    std::fs::write(at.join("small.bin"), bytes(32 * K)).unwrap();
    std::fs::write(at.join("small.hex"), write(&IntelHex, &image(32 * K))).unwrap();
    // Else the system would write them to the disk during the first row.
    for file in std::fs::read_dir(at).unwrap() {
        File::open(file.unwrap().path())
            .unwrap()
            .sync_all()
            .unwrap();
    }
    let both = ["large.hex", "large.bin"];
    for (what, line, files, wanted) in [
        (
            "46 MB of Intel HEX to 16 MiB raw",
            "load large.hex + write out.bin",
            &both[..],
            "at most 1.5",
        ),
        (
            "16 MiB raw to 46 MB of Intel HEX",
            "load large.bin + write out.hex --address-bits 32",
            &both,
            "at most 1.5",
        ),
        (
            "46 MB of Intel HEX, two lanes, stamped",
            "load large.hex + split lanes 2 + stamp crc32 --across 0-0x7FFFFB --at 0x7FFFFC --replace + write {name}.bin",
            &both,
            "at most 2.2",
        ),
        (
            "32 KiB raw to raw",
            "load small.bin + write out.bin",
            &["small.bin"],
            "at most 1.4",
        ),
        (
            "32 KiB of Intel HEX to raw",
            "load small.hex + write out.bin",
            &["small.hex"],
            "at most 1.4",
        ),
    ] {
        let (ours, cp) = compared(at, line, files);
        let ratio = ours.as_secs_f64() / cp.as_secs_f64();
        row(
            what,
            &milliseconds(ours),
            "cp",
            &milliseconds(cp),
            ratio,
            wanted,
        );
    }
    parts(at);
    let (ours, none) = in_turns(
        SMALL_TURNS,
        || run(at, &ours_in(at), &["--version"]),
        || run(at, "true", &[]),
    );
    let ratio = ours.as_secs_f64() / none.as_secs_f64();
    row(
        "romloom --version",
        &milliseconds(ours),
        "the command `true`",
        &milliseconds(none),
        ratio,
        "",
    );
}

/// What the first row is made of: what the system does for it, and the decoding, alone and on two cores at once.
fn parts(at: &Path) {
    let cp = || copy(at, &["large.hex", "large.bin"]);
    let beside_cp = |work: &dyn Fn()| in_prepared_turns(TURNS, || clear(at), work, cp);
    let own = std::env::current_exe().unwrap();
    let own = own.to_str().unwrap();
    let part = |word: &str| run(at, own, &[WORD, word]);
    let (system, copied) = beside_cp(&|| part("system"));
    let (one, again) = beside_cp(&|| part("decode"));
    let (both, after) = beside_cp(&|| part("decode-in-two"));
    let twice = || {
        let start = || {
            let mut child = Command::new(own);
            let child = child.args([WORD, "decode"]).current_dir(at);
            child.stdout(Stdio::null()).spawn().unwrap()
        };
        for mut child in [start(), start()] {
            assert!(child.wait().unwrap().success());
        }
    };
    let (two, once_more) = beside_cp(&twice);
    for (what, time, copied) in [
        ("reading, memory and writing of it alone", system, copied),
        ("reading and decoding of it alone, on one core", one, again),
        ("the same, twice at once", two, once_more),
        ("the same, once, on two cores", both, after),
    ] {
        let ratio = time.as_secs_f64() / copied.as_secs_f64();
        let (time, copied) = (milliseconds(time), milliseconds(copied));
        row(what, &time, "cp", &copied, ratio, "");
    }
}

/// A part of the first row: `system` reads the file in windows, fills the memory of an image, and writes it; `decode` reads the
/// file into an image, `decode-in-two` on two cores.
pub fn work(mut words: impl Iterator<Item = String>) {
    let file = File::open("large.hex").unwrap();
    let what = words.next().unwrap_or_default();
    if what.starts_with("decode") {
        let mut input = match &what[..] {
            "decode" => Input::new("large.hex", file),
            _ => Input::in_two("large.hex", file),
        };
        let mut findings = Findings::new("large.hex".into(), Strictness::Usual);
        let how = ReadOptions::default();
        let image = IntelHex.read(&mut input, &how, &mut findings);
        assert_eq!(black_box(image).unwrap().len(), 16 * M);
        return;
    }
    let (mut file, mut window) = (file, vec![0; 256 << 10]);
    while file.read(&mut window).unwrap() > 0 {}
    let mut image = Vec::new();
    while image.len() < 16 << 20 {
        image.extend_from_slice(black_box(&window[..64]));
    }
    let mut out = File::create("out.bin").unwrap();
    image
        .chunks(64 << 10)
        .for_each(|part| out.write_all(part).unwrap());
}

fn compared(at: &Path, line: &str, files: &[&str]) -> (Duration, Duration) {
    let words: Vec<&str> = line.split(' ').collect();
    let turns = match line.contains("small") {
        true => SMALL_TURNS,
        false => TURNS,
    };
    let ours = ours_in(at);
    in_prepared_turns(
        turns,
        || clear(at),
        || run(at, &ours, &words),
        || copy(at, files),
    )
}

fn ours_in(at: &Path) -> String {
    at.join(OURS).to_str().unwrap().to_owned()
}

/// Files are new every time, on both sides.
fn clear(at: &Path) {
    for name in [
        "out.bin", "out.hex", "even.bin", "odd.bin", "copy0", "copy1",
    ] {
        let _ = std::fs::remove_file(at.join(name));
    }
}

fn copy(at: &Path, files: &[&str]) {
    for (i, file) in files.iter().enumerate() {
        run(at, "cp", &["--reflink=never", file, &format!("copy{i}")]);
    }
}

fn run(at: &Path, program: &str, words: &[&str]) {
    let mut command = Command::new(program);
    let command = command.args(words).current_dir(at);
    // What a stamp stored is said there.
    command.stdout(Stdio::null()).stderr(Stdio::null());
    assert!(command.status().unwrap().success(), "{program} {words:?}");
}
