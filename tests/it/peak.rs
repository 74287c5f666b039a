//! How much memory the steps take that make new pieces from old ones: the pieces, and little beside them.
//!
//! Memory in use is what the system says of a process that has ended. Each line runs in a process of its own, whose only
//! child it is.

use std::path::Path;
use std::process::{Command, Stdio};

use assert_cmd::cargo::cargo_bin;
use nix::sys::resource::{UsageWho, getrusage};

/// The line that the process is to run; set for it alone.
const LINE: &str = "ROMLOOM_PEAK_LINE";
/// MiB of the image, and of what a step may take beside it. docs/performance.md has the same for 64 MiB.
const IMAGE: u64 = 24;
const BESIDE: u64 = 12;

#[test]
fn a_step_has_its_pieces_once() {
    let folder = tempfile::tempdir().unwrap();
    let bytes: Vec<u8> = (0..IMAGE << 20).map(|i| (i >> 8) as u8).collect();
    let (low, high) = bytes.split_at(bytes.len() / 2);
    std::fs::write(folder.path().join("a.bin"), &bytes).unwrap();
    std::fs::write(folder.path().join("low.bin"), low).unwrap();
    std::fs::write(folder.path().join("high.bin"), high).unwrap();
    std::fs::write(folder.path().join("part.bin"), &bytes[..8 << 20]).unwrap();
    let nothing = peak(folder.path(), "pattern zeros 1");
    for (line, pieces) in [
        ("load a.bin", IMAGE),
        ("load a.bin + split lanes 2", IMAGE),
        ("load a.bin + split banks 8M", IMAGE),
        ("load a.bin + split nibbles", 2 * IMAGE),
        ("load low.bin high.bin --apart + join lanes", IMAGE),
        ("load low.bin high.bin --apart + join banks 12M", IMAGE),
        ("load low.bin + copy 0+12M --to 12M", IMAGE),
        ("load part.bin + repeat 32M", 32),
        ("load a.bin + rewire --address 1,0 --data 1,0", IMAGE),
        ("load a.bin + seat 27C080 --at 0 --rows 24", IMAGE),
        ("load a.bin + seat 27C080 --at 0 --rows 12 --lanes 2", IMAGE),
        ("load a.bin + seat 27C080 --at 0 --rows 24 + unseat", IMAGE),
        ("load low.bin low.bin low.bin --apart + vote", 2 * IMAGE),
    ] {
        let most = nothing + (pieces + BESIDE) * 1024;
        let peak = peak(folder.path(), line);
        assert!(peak <= most, "{line}: {peak} KiB, at most {most}");
    }
}

/// KiB that a line takes.
fn peak(at: &Path, line: &str) -> u64 {
    let output = Command::new(std::env::current_exe().unwrap())
        .args(["peak::of_one_line", "--exact", "--ignored", "--nocapture"])
        .env(LINE, line)
        .current_dir(at)
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let said = text.lines().find_map(|line| line.strip_prefix("peak "));
    said.unwrap_or_else(|| panic!("{line}: {text}"))
        .parse()
        .unwrap()
}

/// Not a test by itself: the other one calls it.
#[test]
#[ignore = "run by the test above"]
fn of_one_line() {
    let Ok(line) = std::env::var(LINE) else {
        return;
    };
    let mut command = Command::new(cargo_bin("romloom"));
    let command = command.args(line.split(' ')).stdout(Stdio::null());
    assert!(command.status().unwrap().success(), "{line}");
    let used = getrusage(UsageWho::RUSAGE_CHILDREN).unwrap().max_rss();
    println!("\npeak {used}");
}
