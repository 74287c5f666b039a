//! One source, one image: what an assembler writes as Intel HEX, S-record and raw must load as the same bytes, with
//! the same holes. The files are the sample computers', made by real assemblers; `samples/README.md` says which.

use std::path::Path;

use romloom::formats::{Findings, Head, Input, ReadOptions, Strictness, detect};
use romloom::image::{AddressRange, Clash, Entry, Image};

/// Reads a sample as `load` would: format told by content, then by extension; nothing may be said about it.
fn load(name: &str, at: u64) -> Image {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("samples")
        .join(name);
    let file = std::fs::read(&path).unwrap();
    let head = Head::new(&file, true);
    let extension = path.extension().and_then(|e| e.to_str());
    let format = detect(&head, extension).unwrap();
    let wanted = match extension {
        Some("hex") => "intel-hex",
        Some("s19") => "s-record",
        _ => "raw",
    };
    assert_eq!(format.name(), wanted, "{name}");
    let how = ReadOptions {
        at,
        // Assemblers of today keep to every rule.
        strictness: Strictness::Strict,
        ..ReadOptions::default()
    };
    let mut findings = Findings::new(name.into(), how.strictness);
    let image = (format.read(&mut Input::new(name, &file[..]), &how, &mut findings)).unwrap();
    assert!(findings.list().is_empty(), "{findings:?}");
    image
}

#[test]
fn the_heron_8_monitor_is_one_image_in_three_formats() {
    let hex = load("heron-8/monitor.hex", 0);
    let s = load("heron-8/monitor.s19", 0);
    let mut raw = load("heron-8/monitor.bin", 0xE000);
    let vectors = load("heron-8/vectors.bin", 0xFFFA);
    raw.merge(vectors, Clash::Refuse).unwrap();
    assert_eq!(hex.spans(), s.spans());
    assert_eq!(hex.spans(), raw.spans());
    // A hole stands between the program and its vectors, and is none of the three's 00 or FF.
    assert_eq!(hex.spans().len(), 2);
    let last = hex.extent().unwrap();
    assert_eq!(Some(last), AddressRange::new(0xE000, 0xFFFF));
    assert_eq!(hex.byte(0xFFF9), None);
    // The 8-bit form of Intel HEX has no place for an entry point, S9 always has one.
    assert_eq!(hex.entry, None);
    assert_eq!(s.entry, Some(Entry::Linear(0xE000)));
    assert_eq!(raw.entry, None);
}

#[test]
fn the_heron_8_basic_is_one_image_in_three_formats() {
    let hex = load("heron-8/basic.hex", 0);
    let s = load("heron-8/basic.s19", 0);
    assert_eq!(hex.spans(), s.spans());
    assert_eq!(hex.spans(), load("heron-8/basic.bin", 0x8000).spans());
    assert_eq!(hex.spans()[0].start(), 0x8000);
    assert_eq!(hex.entry, None);
    assert_eq!(s.entry, Some(Entry::Linear(0x8000)));
}

#[test]
fn the_heron_16_self_test_is_one_image_in_three_formats() {
    let hex = load("heron-16/selftest.hex", 0);
    let s = load("heron-16/selftest.s19", 0);
    assert_eq!(hex.spans(), s.spans());
    assert_eq!(hex.spans(), load("heron-16/selftest.bin", 0).spans());
    // The linker gives Intel HEX the start as segment and offset.
    assert_eq!(hex.entry, Some(Entry::Segmented { cs: 0, ip: 0x400 }));
    assert_eq!(s.entry, Some(Entry::Linear(0x400)));
    // The linker's header is the name of its own output.
    assert_eq!(s.header.as_deref(), Some(&b"selftest.s19"[..]));
}

#[test]
fn the_heron_16g_programs_are_one_image_in_three_formats() {
    for (name, at, start) in [
        ("monitor", 0xF80000, 0xF80008),
        ("draw", 0xF40000, 0xF40000),
        ("font", 0, 0),
    ] {
        let hex = load(&format!("heron-16g/{name}.hex"), 0);
        let s = load(&format!("heron-16g/{name}.s19"), 0);
        assert_eq!(hex.spans(), s.spans());
        let raw = load(&format!("heron-16g/{name}.bin"), at);
        assert_eq!(hex.spans(), raw.spans());
        assert_eq!(s.entry, Some(Entry::Linear(start)));
    }
}
