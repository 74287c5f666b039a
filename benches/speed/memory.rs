//! How much memory the whole command takes at its peak, beside the size of the image.
//!
//! The program runs itself for each row, so that the largest child is the one that was measured.

use std::path::Path;
use std::process::Command;

use nix::sys::resource::{UsageWho, getrusage};
use romloom::formats::intel_hex::IntelHex;

use crate::table::{heading, row};
use crate::work::{M, bytes, image, write};

pub const WORD: &str = "measure-memory";

pub fn rows() {
    heading(
        "Peak memory of the whole command, MiB: share of the limit, 1.5 times the image and 16 MiB (at most 1)",
    );
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let size = 64;
    std::fs::write(at.join("a.bin"), bytes(size * M)).unwrap();
    std::fs::write(at.join("a.hex"), write(&IntelHex, &image(size * M))).unwrap();
    std::fs::write(at.join("a.elf"), elf(size * M)).unwrap();
    for line in [
        "load a.elf + write out.bin",
        "load a.hex + write out.s37",
        "load out.s37 + write out.tek",
        "load out.tek + write out.txt --as ti-txt",
        "load out.txt + write out.mem",
        "load out.mem + write out.bin",
        "load a.bin + write out.hex",
        "load a.bin + write out.c --as c-bytes --name rom",
        "load a.bin + write out.rs --as rust-bytes --name ROM",
        "load a.bin + write out.s --as asm-bytes --name rom",
    ] {
        measured(at, line, size);
    }
    // A gigabyte, sparse on the disk.
    let giga = std::fs::File::create(at.join("giga.bin")).unwrap();
    giga.set_len(1024 * M).unwrap();
    measured(
        at,
        "load giga.bin + relocate --to 0x10000000 + write giga.s37",
        1024,
    );
    steps(at);
}

/// Every step on 64 MiB; the figure behind each line is what is on the bench when it is done, and the files that it read
/// beside that.
fn steps(at: &Path) {
    heading(
        "Peak memory of each step, MiB: share of what it has in the end and 16 MiB (at most 1)",
    );
    let all = bytes(64 * M);
    let (low, high) = all.split_at(32 << 20);
    std::fs::write(at.join("low.bin"), low).unwrap();
    std::fs::write(at.join("high.bin"), high).unwrap();
    let nibbles: Vec<u8> = low.iter().map(|byte| byte & 15).collect();
    std::fs::write(at.join("nibbles.bin"), nibbles).unwrap();
    let mut other = all;
    other[1000] ^= 1;
    std::fs::write(at.join("b.bin"), other).unwrap();
    let drops: Vec<String> = (0..50).map(|i| format!("{}+10", i * 1_000_000)).collect();
    let drops = drops.join(" ");
    for (line, held) in [
        ("pattern random 16M", 16),
        ("load a.bin + fill FF 64M+1M", 65),
        ("load a.bin + hollow FF --least 2", 64),
        (&format!("load a.bin + keep {drops}"), 64),
        (&format!("load a.bin + drop {drops}"), 64),
        ("load a.bin + relocate --to 0x1000", 64),
        ("load a.bin --at 0x1000 + pad 128M --at 0", 128),
        ("load low.bin + repeat 64M", 64),
        ("load low.bin + copy 0+32M --to 32M", 64),
        ("load a.bin + find EAEA", 64),
        ("load a.bin + split lanes 2", 64),
        ("load a.bin + split banks 8M", 64),
        ("load a.bin + split nibbles", 128),
        ("load low.bin high.bin --apart + join lanes", 64),
        ("load low.bin high.bin --apart + join banks 32M", 64),
        ("load nibbles.bin nibbles.bin --apart + join nibbles", 64),
        ("load a.bin + swap 2", 64),
        ("load a.bin + rewire --address 1,0 --data 1,0", 64),
        ("load a.bin + patch 0x100 FF", 64),
        ("load a.bin + mark 0x100 HERON --replace", 64),
        (
            "load a.bin + stamp crc32 --across 0-0x3FFFFFB --at 0x3FFFFFC --replace",
            64,
        ),
        ("load a.bin + spread 0-0xFF --bank-size 64K --replace", 64),
        ("load a.bin + expect full", 64),
        ("load a.bin + digest", 64),
        ("load a.bin + show", 64),
        ("load a.bin + show hex", 64),
        ("load a.bin + show hex --json", 64),
        ("load a.bin + show changes b.bin", 128),
        ("load a.bin + compare b.bin", 128),
        ("load a.bin + burnable b.bin", 128),
        ("load a.bin b.bin b.bin --apart + vote", 256),
        ("load a.bin + seat 27C080 --at 0 --rows 64", 64),
        ("load a.bin + seat 27C080 --at 0 --rows 64 + unseat", 64),
        ("load a.bin + sheet out.html", 64),
        ("load a.bin + write out.bin", 64),
        ("load a.bin + write out.bin --proof", 128),
    ] {
        let kib = peak(at, line);
        let (peak, limit) = (kib as f64 / 1024.0, (held + 16) as f64);
        let short = line.split(" 1000000+10").next().unwrap_or(line);
        let figure = format!("{peak:.1}");
        row(
            short,
            &figure,
            "limit",
            &format!("{limit:.0}"),
            peak / limit,
            "at most 1",
        );
    }
}

/// A 32-bit executable with one segment of so many bytes, behind its headers.
fn elf(size: u64) -> Vec<u8> {
    const HEADERS: u32 = 52 + 32;
    let mut file = b"\x7FELF\x01\x01\x01\0\0\0\0\0\0\0\0\0\x02\0\x28\0".to_vec();
    let size = size as u32;
    // Version, entry point, where the tables stand, flags; sizes of headers, one segment, no section.
    let header = [1, 0, 52, 0, 0, 52 | 32 << 16, 1, 0];
    // Loadable: offset in the file, both addresses, both sizes, readable, alignment.
    let segment = [1, HEADERS, 0, 0, size, size, 4, 1];
    file.extend(header.into_iter().chain(segment).flat_map(u32::to_le_bytes));
    file.extend(bytes(size.into()));
    file
}

fn measured(at: &Path, line: &str, size: u64) {
    let (peak, limit) = (peak(at, line) as f64 / 1024.0, 1.5 * size as f64 + 16.0);
    let (figure, its) = (format!("{peak:.1}"), format!("{limit:.0}"));
    row(
        line,
        &figure,
        &format!("limit for {size} MiB"),
        &its,
        peak / limit,
        "at most 1",
    );
}

/// The most memory that a line takes, in KiB.
fn peak(at: &Path, line: &str) -> u64 {
    let mut own = Command::new(std::env::current_exe().unwrap());
    let run = own
        .arg(WORD)
        .args(line.split(' '))
        .current_dir(at)
        .output()
        .unwrap();
    assert!(
        run.status.success(),
        "{line}: {}",
        String::from_utf8_lossy(&run.stderr)
    );
    String::from_utf8_lossy(&run.stdout).trim().parse().unwrap()
}

/// Runs the command and prints the most memory it had, in KiB.
pub fn work(words: impl Iterator<Item = String>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_romloom"));
    let status = command
        .args(words)
        .stdout(std::process::Stdio::null())
        .status()
        .unwrap();
    // A comparison may well say no.
    assert!(matches!(status.code(), Some(0 | 1)));
    println!(
        "{}",
        getrusage(UsageWho::RUSAGE_CHILDREN).unwrap().max_rss()
    );
}
