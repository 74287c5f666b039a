//! One source, one image: what real assemblers and linkers write in every format must load as the same bytes, with
//! the same holes. `tests/fixtures/make.sh` says how each file was made; the programs serve only as sources of input.

use std::path::Path;

use romloom::formats::{
    Findings, Format, Head, Input, Problem, ReadOptions, Strictness, by_name, detect,
};
use romloom::image::{AddressRange, Entry, Image};

/// The program that all `chime` files hold, byte by byte from the 6502's instruction table.
const CHIME: &[u8] = b"\xD8\xA2\xFF\x9A\x2C\x02\x7F\x10\xFB\xAD\x01\x7F\xA9\x07\x8D\x00\x7F\x4C\x04\x80HERON 8 CHIME\0\x40";
/// Its vectors at 0xFFFA.
const VECTORS: &[u8] = &[0x22, 0x80, 0x00, 0x80, 0x22, 0x80];

fn file(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures");
    std::fs::read(path.join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn format_of(name: &str, bytes: &[u8]) -> &'static dyn Format {
    let head = Head::new(bytes, true);
    let extension = name.rsplit_once('.').map(|(_, extension)| extension);
    detect(&head, extension).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn read(name: &str, how: &ReadOptions) -> (Image, Findings) {
    let bytes = file(name);
    let mut findings = Findings::new(name.into(), how.strictness);
    let mut input = Input::new(name, &bytes[..]);
    let image = format_of(name, &bytes).read(&mut input, how, &mut findings);
    (image.unwrap_or_else(|e| panic!("{name}: {e}")), findings)
}

/// Reads a file by the letter of its format's rules; nothing may be said about it.
fn load(name: &str) -> Image {
    let how = ReadOptions {
        strictness: Strictness::Strict,
        ..ReadOptions::default()
    };
    let (image, findings) = read(name, &how);
    assert!(findings.list().is_empty(), "{name}: {findings:?}");
    image
}

fn spans(image: &Image) -> Vec<(u64, &[u8])> {
    let spans = image.spans().iter();
    spans.map(|s| (s.start(), s.bytes())).collect()
}

#[test]
fn the_content_tells_the_format_of_every_fixture_under_any_name() {
    for (name, format) in [
        ("chime.tass.hex", "intel-hex"),
        ("chime.crasm.hex", "intel-hex"),
        ("chime.nasm.hex", "intel-hex"),
        ("panel.avra.hex", "intel-hex"),
        ("chime.tass.s19", "s-record"),
        ("chime.crasm.s19", "s-record"),
        ("chime.nasm.s19", "s-record"),
        ("bell.s19", "s-record"),
        ("chime.tass.ptp", "mos-tape"),
        ("chime.32le.elf", "elf"),
        ("chime.64le.elf", "elf"),
        ("bell.32be.elf", "elf"),
        ("chime.o", "elf"),
    ] {
        let bytes = file(name);
        for other in [name, "a", "a.bin", "a.txt", "a.hex", "a.ptp", "a.prg"] {
            assert_eq!(format_of(other, &bytes).name(), format, "{name} as {other}");
        }
    }
    assert_eq!(
        format_of("a.prg", &file("chime.tass.prg")).name(),
        "raw-le16"
    );
    assert_eq!(format_of("a.bin", &file("chime.nasm.bin")).name(), "raw");
}

#[test]
fn every_form_of_the_chime_is_one_image() {
    let whole = [(0x8000, CHIME), (0xFFFA, VECTORS)];
    for name in [
        "chime.tass.hex",
        "chime.tass.s19",
        "chime.tass.ptp",
        "chime.crasm.hex",
    ] {
        assert_eq!(spans(&load(name)), whole, "{name}");
    }
    // One piece: the program without its vectors.
    for name in [
        "chime.tass.prg",
        "chime.nasm.hex",
        "chime.nasm.s19",
        "chime.32le.elf",
        "chime.64le.elf",
    ] {
        assert_eq!(spans(&load(name)), whole[..1], "{name}");
    }
    let how = ReadOptions {
        at: 0x8000,
        ..ReadOptions::default()
    };
    let (raw, _) = read("chime.nasm.bin", &how);
    assert_eq!(spans(&raw), whole[..1]);
}

#[test]
fn an_s_record_file_without_a_header_is_read_as_it_is() {
    let (image, findings) = read("chime.crasm.s19", &ReadOptions::default());
    assert_eq!(spans(&image), [(0x8000, CHIME), (0xFFFA, VECTORS)]);
    assert_eq!(findings.errors(), 0);
}

#[test]
fn memory_that_the_elf_file_has_no_bytes_for_is_a_hole() {
    // Behind the program come 32 bytes of memory without bytes in the file.
    for name in ["chime.32le.elf", "chime.64le.elf"] {
        let image = load(name);
        let range = AddressRange::new(0x8000, 0x8022);
        assert_eq!(image.extent(), range, "{name}");
        assert_eq!(image.entry, Some(Entry::Linear(0x8000)), "{name}");
    }
}

#[test]
fn a_big_endian_elf_file_and_its_s_records_are_one_image() {
    let elf = load("bell.32be.elf");
    let records = load("bell.s19");
    assert_eq!(spans(&elf), spans(&records));
    assert_eq!(elf.entry, Some(Entry::Linear(8)));
    assert_eq!(records.entry, Some(Entry::Linear(8)));
    // The stack pointer and the start: the high byte first, as the 68000 reads them.
    assert_eq!(
        elf.contiguous(AddressRange::new(0, 7).unwrap()),
        Ok(&[0, 0x11, 0, 0, 0, 0, 0, 8][..])
    );
}

#[test]
fn a_linker_that_aligns_pages_puts_headers_into_the_image_and_sections_leave_them_out() {
    let (image, findings) = read("headers.32le.elf", &ReadOptions::default());
    let [found] = findings.list() else {
        panic!("{findings:?}")
    };
    // Two program headers of 32 bytes behind a file header of 52 (System V ABI, ELF).
    let at = AddressRange::new(0x8000, 0x8073).unwrap();
    assert_eq!(found.problem, Problem::OwnHeaders { number: 0, at });
    assert_eq!(image.byte(0x8000), Some(0x7F));
    assert_eq!(image.byte(0x80A0), Some(CHIME[0]));

    let how = ReadOptions {
        sections: true,
        ..ReadOptions::default()
    };
    let (image, findings) = read("headers.32le.elf", &how);
    assert!(findings.list().is_empty(), "{findings:?}");
    assert_eq!(spans(&image), [(0x80A0, CHIME)]);
}

#[test]
fn an_object_file_is_refused_and_says_that_it_needs_a_linker() {
    for sections in [false, true] {
        let how = ReadOptions {
            sections,
            ..ReadOptions::default()
        };
        let (image, findings) = read("chime.o", &how);
        assert!(image.is_empty());
        let [found] = findings.list() else {
            panic!("{findings:?}")
        };
        let kind = "a relocatable object file";
        assert_eq!(found.problem, Problem::NotExecutable { kind });
    }
}

#[test]
fn an_02_record_in_front_of_everything_changes_nothing() {
    let image = load("panel.avra.hex");
    let program = &[0x05, 0xE5, 0x08, 0xBB, 0xFD, 0xCF];
    let name = b"HERON 8 PANEL\0";
    // The assembler counts words, its file counts bytes.
    assert_eq!(spans(&image), [(0, &program[..]), (0x80, &name[..])]);
}

#[test]
fn what_other_tools_wrote_comes_back_from_every_format_of_ours() {
    let image = load("chime.tass.hex");
    for name in [
        "intel-hex",
        "s-record",
        "ti-txt",
        "mos-tape",
        "tek-hex",
        "readmem",
    ] {
        let format = by_name(name).unwrap_or_else(|| panic!("{name}"));
        let mut text = Vec::new();
        let wrote = format.write(&image, &Default::default(), &mut text);
        wrote.unwrap_or_else(|e| panic!("{name}: {e}"));
        let mut findings = Findings::new("a".into(), Strictness::Strict);
        let how = ReadOptions::default();
        let back = format.read(&mut Input::new("a", &text[..]), &how, &mut findings);
        let back = back.unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(findings.errors(), 0, "{name}: {findings:?}");
        assert_eq!(spans(&back), spans(&image), "{name}");
    }
}
