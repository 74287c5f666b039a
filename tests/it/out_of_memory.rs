//! Memory that is not there is an error like any other: it says how much was asked for, and nothing is left behind.

#![cfg(target_os = "linux")]

use std::process::Command;

use romloom::formats::intel_hex::IntelHex;
use romloom::formats::{Format, WriteOptions};
use romloom::image::{Image, Source};

use crate::support::bench::{Folder, Ran};
use crate::support::{share, thorough};

/// Runs a line in an address space of so many MiB.
fn run(folder: &Folder, mib: u64, line: &str) -> Ran {
    run_in_kib(folder, mib * 1024, line)
}

fn run_in_kib(folder: &Folder, kib: u64, line: &str) -> Ran {
    let romloom = assert_cmd::cargo::cargo_bin("romloom");
    let line = format!("ulimit -v {kib}; exec \"$R\" {line}");
    let out = Command::new("sh")
        .args(["-c", &line])
        .env("R", romloom)
        // Each thread's share of the address space would hide what the images take.
        .env("MALLOC_ARENA_MAX", "1")
        // Symbols for a backtrace take more memory than the images.
        .env_remove("RUST_BACKTRACE")
        .current_dir(folder.path(""))
        .output()
        .unwrap();
    assert!(
        out.status.code().is_some(),
        "{line}: {}\n{}",
        out.status,
        String::from_utf8_lossy(&out.stderr)
    );
    Ran::from(out)
}

#[test]
fn memory_that_is_not_there_is_an_error_and_nothing_is_left_behind() {
    let folder = Folder::new();
    folder.put("a.bin", vec![0x5A; 12 << 20]);
    folder.put("turns.bin", [0x5A, 1].repeat(1 << 20));
    // Records that lie apart, in no order: each is a place of its own.
    let mut far = String::new();
    for i in 0..150_000u32 {
        let address = i.wrapping_mul(0x9E37_79B1) & 0xFFFF_FFFC;
        let bytes = [[6], [0]].concat();
        let sum = bytes.iter().copied().chain(address.to_be_bytes());
        let sum = !sum.fold(0u8, u8::wrapping_add);
        far += &format!("S306{address:08X}00{sum:02X}\n");
    }
    folder.put("far.s37", far);
    for name in ["p1", "p2", "p3", "p4"] {
        folder.put(&format!("{name}.bin"), vec![0x5A; 3 << 20]);
    }
    let mut lines = vec![
        ("load a.bin + write new/b.bin", [30, 33, 200]),
        (
            "load a.bin + write new/b.bin + fill FF 12M+100M",
            [48, 100, 400],
        ),
        (
            "load a.bin + write new/b.bin + pad 128M --at 0",
            [48, 100, 400],
        ),
        (
            "load a.bin + write new/b.bin + pad 0xFFFFFFFFFFFFFFFE --at 0 --allow-large",
            [48, 100, 400],
        ),
        (
            "load a.bin + write new/b.bin + keep 0+8M + repeat 128M",
            [48, 100, 400],
        ),
        (
            "load a.bin + write new/b.bin + copy 0+12M --to 64M",
            [48, 56, 400],
        ),
        (
            "load a.bin + write new/b.bin + split lanes 2",
            [40, 44, 400],
        ),
        (
            "load a.bin + write new/b.bin + split banks 1M",
            [40, 44, 400],
        ),
        (
            "load a.bin + write new/b.bin + mark 0 x --length 100M --replace",
            [52, 100, 500],
        ),
        (
            "load a.bin + write new/b.bin + compare a.bin",
            [40, 46, 400],
        ),
        (
            "load a.bin + write new/b.bin + seat 27C080 --at 0 --rows 64",
            [52, 100, 800],
        ),
        // What banks have in common is there once, until one of them is changed.
        (
            "load p1.bin p2.bin p3.bin p4.bin --apart + write 'new/{name}.bin' + patch 0x3FFFFFE 0000 \
             + spread 0-0x2FFFFF --bank-size 4M + swap 2",
            [120, 150, 500],
        ),
        // A million holes.
        (
            "load turns.bin + write new/b.bin + hollow 5A --least 1",
            [60, 120, 600],
        ),
        // Many places take more than their bytes.
        (
            "load turns.bin --length 256K + write new/b.bin + hollow 01 --least 1 + seat 27C020 --at 0",
            [64, 100, 400],
        ),
        (
            "load turns.bin --length 256K + write new/b.bin + hollow 01 --least 1 + fill FF",
            [62, 66, 400],
        ),
        ("load far.s37 + write new/b.s37", [40, 48, 400]),
    ];
    if thorough() {
        // Large enough for two cores.
        let image = Image::from_bytes(0, vec![0xA5; 16 << 20], Source::Patch).unwrap();
        let mut large = Vec::new();
        let written = IntelHex.write(&image, &WriteOptions::default(), &mut large);
        assert!(written.is_ok());
        folder.put("large.hex", large);
        lines.push(("load large.hex + write new/b.bin", [29, 31, 200]));
    }
    let before = folder.list();
    for (line, limits) in lines {
        let [too_little, little, enough] = limits;
        let limits = [too_little, little, (too_little + little) / 2];
        for mib in &limits[..share(limits.len(), 3)] {
            let mib = *mib;
            let ran = run(&folder, mib, line);
            assert_eq!(ran.code, 2, "{mib} MiB: {line}\n{}", ran.err);
            assert!(
                ran.err.contains("MiB of memory are not there"),
                "{mib} MiB: {line}\n{}",
                ran.err
            );
            assert_eq!(folder.list(), before, "{mib} MiB: {line}");
        }
        if thorough() && !line.contains("--allow-large") {
            // So it was the memory.
            let ran = run(&folder, enough, &format!("--dry-run {line}"));
            assert_eq!(ran.code, 0, "{enough} MiB: {line}\n{}", ran.err);
        }
    }
}

/// Each record is a chunk of its own, with memory of its own: whatever the memory lacks for, it is an error.
#[test]
fn memory_that_ends_while_many_small_things_are_made_is_an_error() {
    let folder = Folder::new();
    let mut image = Image::new();
    for i in 0..20_000u32 {
        let bytes = (0..24).map(|n| (i + n) as u8).collect();
        image.put(u64::from(i) * 64, bytes, Source::Patch).unwrap();
    }
    let how = WriteOptions {
        width: Some(24),
        ..WriteOptions::default()
    };
    let mut text = Vec::new();
    IntelHex.write(&image, &how, &mut text).unwrap();
    folder.put("holes.hex", text);
    // Not optimized the program is larger.
    let limits: Vec<u64> = match thorough() {
        true => (20_000..36_000).step_by(50).collect(),
        false => (30_000..48_000).step_by(1000).collect(),
    };
    let mut ended = [0, 0];
    for kib in limits.iter().step_by(limits.len() / share(limits.len(), 6)) {
        let ran = run_in_kib(&folder, *kib, "load holes.hex + digest crc32");
        assert!(
            matches!(ran.code, 0 | 2),
            "{kib} KiB: {} {}",
            ran.code,
            ran.err
        );
        ended[usize::from(ran.code == 0)] += 1;
    }
    assert!(ended.iter().all(|n| *n > 0), "{ended:?}");
}

/// Whether another thread finds what it needs or not, a run ends well or with the error.
#[test]
fn work_is_shared_only_where_there_is_memory_for_it() {
    let folder = Folder::new();
    // The optimized program is smaller, and sooner done.
    let mib = if thorough() { 24 } else { 5 };
    folder.put("a.bin", vec![0x5A; mib << 20]);
    let before = folder.list();
    let limits: Vec<u64> = (30..=150).step_by(2).collect();
    let mut ended = [0, 0];
    for mib in limits.iter().step_by(limits.len() / share(limits.len(), 8)) {
        let ran = run(&folder, *mib, "load a.bin + write new/b.hex");
        ended[usize::from(ran.code == 0)] += 1;
        if ran.code != 0 {
            assert_eq!(ran.code, 2, "{mib} MiB: {}", ran.err);
            assert!(ran.err.contains("memory"), "{mib} MiB: {}", ran.err);
            assert_eq!(folder.list(), before, "{mib} MiB");
        }
        let _ = std::fs::remove_dir_all(folder.path("new"));
    }
    assert!(ended.iter().all(|n| *n > 0), "{ended:?}");
}
