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
    let peak: u64 = String::from_utf8_lossy(&run.stdout).trim().parse().unwrap();
    let (peak, limit) = (peak as f64 / 1024.0, 1.5 * size as f64 + 16.0);
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

/// Runs the command and prints the most memory it had, in KiB.
pub fn work(words: impl Iterator<Item = String>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_romloom"));
    let status = command
        .args(words)
        .stdout(std::process::Stdio::null())
        .status()
        .unwrap();
    assert!(status.success());
    println!(
        "{}",
        getrusage(UsageWho::RUSAGE_CHILDREN).unwrap().max_rss()
    );
}
