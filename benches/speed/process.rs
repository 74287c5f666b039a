//! The whole command, file to file, beside `cp` of the same files; everything lies in the page cache.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use romloom::formats::intel_hex::IntelHex;

use crate::table::{heading, in_turns, milliseconds, row};
use crate::work::{K, M, bytes, image, write};

pub fn rows() {
    heading(
        "The whole command, file to file: times as long as `cp --reflink=never` of the same files",
    );
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    std::fs::write(at.join("large.hex"), write(&IntelHex, &image(16 * M))).unwrap();
    std::fs::write(at.join("large.bin"), bytes(16 * M)).unwrap();
    std::fs::write(at.join("small.bin"), bytes(32 * K)).unwrap();
    std::fs::write(at.join("small.hex"), write(&IntelHex, &image(32 * K))).unwrap();
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
    let (ours, none) = in_turns(
        101,
        || run(at, env!("CARGO_BIN_EXE_romloom"), &["--version"]),
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

fn compared(at: &Path, line: &str, files: &[&str]) -> (Duration, Duration) {
    let words: Vec<&str> = line.split(' ').collect();
    // New files every time, on both sides.
    let clear = || {
        for name in [
            "out.bin", "out.hex", "even.bin", "odd.bin", "copy0", "copy1",
        ] {
            let _ = std::fs::remove_file(at.join(name));
        }
    };
    let turns = if line.contains("small") { 101 } else { 9 };
    in_turns(
        turns,
        || {
            clear();
            run(at, env!("CARGO_BIN_EXE_romloom"), &words);
        },
        || {
            clear();
            for (i, file) in files.iter().enumerate() {
                run(at, "cp", &["--reflink=never", file, &format!("copy{i}")]);
            }
        },
    )
}

fn run(at: &Path, program: &str, words: &[&str]) {
    let mut command = Command::new(program);
    let command = command.args(words).current_dir(at);
    // What a stamp stored is said there.
    command.stdout(Stdio::null()).stderr(Stdio::null());
    assert!(command.status().unwrap().success(), "{program} {words:?}");
}
