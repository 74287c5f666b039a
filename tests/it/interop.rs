//! Other people's readers and writers against ours.
//!
//! The crates `ihex` and `srec` are general-purpose libraries that know nothing of this one. What they give are
//! records; where the bytes of a record belong is worked out here, byte by byte, by the formula in the standard.
//!
//! The PyPI library `intelhex` is asked by `interop_python.py`, which talks to the two ignored tests below through a
//! folder. `.ci/run` calls them one after the other, with a Python that has `intelhex` 2.3.0:
//!
//! ```text
//! export ROMLOOM_EXCHANGE=$(mktemp -d)
//! cargo test --test it -- --ignored --exact interop::write_files_for_other_readers
//! python3 tests/interop_python.py "$ROMLOOM_EXCHANGE"
//! cargo test --test it -- --ignored --exact interop::read_files_of_other_writers
//! ```

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, TestRunner};
use romloom::formats::{
    AddressForm, EntryChoice, FORMATS, Findings, Format, Input, ReadOptions, WriteOptions, by_name,
};
use romloom::image::{Clash, Entry, Image, Source};

type Bytes = BTreeMap<u64, u8>;

fn format(name: &str) -> &'static dyn Format {
    by_name(name).unwrap()
}

/// Reads `text`, about which nothing may be said.
fn read(format: &dyn Format, text: &[u8], how: &ReadOptions) -> Image {
    let mut findings = Findings::new("theirs".into(), how.strictness);
    let image = (format.read(&mut Input::new("theirs", text), how, &mut findings)).unwrap();
    assert!(findings.list().is_empty(), "{findings:?}");
    image
}

fn write(format: &dyn Format, image: &Image, how: &WriteOptions) -> Vec<u8> {
    let mut out = Vec::new();
    format.write(image, how, &mut out).unwrap();
    out
}

fn bytes_of(image: &Image) -> Bytes {
    (image.spans().iter())
        .flat_map(|s| (s.start()..).zip(s.bytes().iter().copied()))
        .collect()
}

/// The bytes that `ihex` finds, by section 3 of Intel's specification: under an 02 record
/// `SBA + ((offset + index) mod 64K)`, else `(LBA + offset + index) mod 4G`.
fn by_ihex(text: &str) -> (Bytes, Option<Entry>) {
    let mut bytes = Bytes::new();
    let mut entry = None;
    let (mut segment, mut base) = (false, 0);
    for record in ihex::Reader::new(text) {
        match record.unwrap() {
            ihex::Record::Data { offset, value } => {
                for (index, byte) in (0..).zip(value) {
                    let moved = u64::from(offset) + index;
                    let address = match segment {
                        true => base + moved % 0x1_0000,
                        false => (base + moved) % 0x1_0000_0000,
                    };
                    bytes.insert(address, byte);
                }
            }
            ihex::Record::EndOfFile => {}
            ihex::Record::ExtendedSegmentAddress(value) => {
                (segment, base) = (true, u64::from(value) * 16);
            }
            ihex::Record::ExtendedLinearAddress(value) => {
                (segment, base) = (false, u64::from(value) * 65536);
            }
            ihex::Record::StartSegmentAddress { cs, ip } => {
                entry = Some(Entry::Segmented { cs, ip })
            }
            ihex::Record::StartLinearAddress(address) => {
                entry = Some(Entry::Linear(address.into()))
            }
        }
    }
    (bytes, entry)
}

struct BySrec {
    bytes: Bytes,
    entry: Option<u64>,
    header: Option<String>,
    data_records: u32,
    count: Option<u32>,
}

/// What `srec` finds.
fn by_srec(text: &str) -> BySrec {
    let mut found = BySrec {
        bytes: Bytes::new(),
        entry: None,
        header: None,
        data_records: 0,
        count: None,
    };
    let mut data = |address: u32, data: Vec<u8>| {
        found.data_records += 1;
        found.bytes.extend((u64::from(address)..).zip(data));
    };
    for record in srec::read_records(text) {
        match record.unwrap() {
            srec::Record::S0(text) => found.header = Some(text),
            srec::Record::S1(d) => data(d.address.into(), d.data),
            srec::Record::S2(d) => data(d.address.into(), d.data),
            srec::Record::S3(d) => data(d.address.into(), d.data),
            srec::Record::S5(n) => found.count = Some(n.into()),
            srec::Record::S6(n) => found.count = Some(n.into()),
            srec::Record::S7(a) => found.entry = Some(u32::from(a).into()),
            srec::Record::S8(a) => found.entry = Some(u32::from(a).into()),
            srec::Record::S9(a) => found.entry = Some(u32::from(a).into()),
        }
    }
    found
}

/// Images with holes below `end`; some begin or end at a 64 K boundary or at `end`, some are empty.
fn images(end: u64) -> impl Strategy<Value = Image> {
    let address = prop_oneof![
        4 => 0..end,
        2 => (0..end.div_ceil(0x1_0000), 0..64u64).prop_map(|(k, below)| (k << 16).saturating_sub(below)),
        1 => (0..64u64).prop_map(move |below| end - 1 - below),
        1 => 0..64u64,
    ];
    let piece = (address, prop::collection::vec(any::<u8>(), 1..200));
    prop::collection::vec(piece, 0..12).prop_map(move |pieces| {
        let mut image = Image::new();
        for (start, mut bytes) in pieces {
            bytes.truncate((end - start) as usize);
            image.put(start, bytes, Source::Patch).unwrap();
        }
        image
    })
}

/// Each form of Intel HEX and S-record with what its addresses end at.
const FORMS: [(&str, AddressForm, u64); 8] = [
    ("intel-hex", AddressForm::Bits16, 1 << 16),
    ("intel-hex", AddressForm::Bits20, 1 << 20),
    ("intel-hex", AddressForm::Bits32, 1 << 32),
    ("intel-hex", AddressForm::Smallest, 1 << 32),
    ("s-record", AddressForm::Bits16, 1 << 16),
    ("s-record", AddressForm::Bits24, 1 << 24),
    ("s-record", AddressForm::Bits32, 1 << 32),
    ("s-record", AddressForm::Smallest, 1 << 32),
];

/// A form, an image that fits it, and any options that the form takes.
fn writings() -> impl Strategy<Value = (&'static str, Image, WriteOptions)> {
    prop::sample::select(&FORMS[..]).prop_flat_map(|(name, address, end)| {
        let options = (
            prop::option::of(1..=250u16),
            prop::option::of("[ -~]{1,60}"),
            prop::option::of(0..end),
            any::<bool>(),
            any::<bool>(),
        );
        (images(end), options).prop_map(move |(mut image, (width, header, entry, crlf, count))| {
            image.entry = entry.map(Entry::Linear);
            let how = WriteOptions {
                address,
                width,
                header: header.map(String::into_bytes),
                entry: EntryChoice::Own,
                crlf,
                count,
                ..WriteOptions::default()
            };
            (name, image, how)
        })
    })
}

/// The entry point of a file in this form, for an image with this entry point.
fn carried(name: &str, form: Option<&str>, entry: Option<Entry>) -> Option<u64> {
    match (name, form) {
        ("intel-hex", Some("I8HEX")) => None,
        ("intel-hex", _) => entry.map(Entry::address),
        _ => Some(entry.map_or(0, Entry::address)),
    }
}

proptest! {
    #[test]
    fn what_we_write_other_libraries_read_alike((name, image, how) in writings()) {
        let mut text = Vec::new();
        let written = format(name).write(&image, &how, &mut text).unwrap();
        let text = String::from_utf8(text).unwrap();
        let wanted = carried(name, written.form, image.entry);
        if name == "intel-hex" {
            let (bytes, entry) = by_ihex(&text);
            prop_assert_eq!(bytes, bytes_of(&image));
            prop_assert_eq!(entry.map(Entry::address), wanted);
        } else {
            let found = by_srec(&text);
            prop_assert_eq!(&found.bytes, &bytes_of(&image));
            prop_assert_eq!(found.entry, wanted);
            let header = how.header.unwrap_or_default();
            prop_assert_eq!(found.header.unwrap().into_bytes(), header);
            prop_assert_eq!(found.count, how.count.then_some(found.data_records));
        }
    }

    #[test]
    fn what_is_written_reads_back_as_the_same_image((name, image, how) in writings()) {
        let mut text = Vec::new();
        let written = format(name).write(&image, &how, &mut text).unwrap();
        let strictly = ReadOptions {
            strictness: romloom::formats::Strictness::Strict,
            ..ReadOptions::default()
        };
        let again = read(format(name), &text, &strictly);
        prop_assert_eq!(again.spans(), image.spans());
        let wanted = carried(name, written.form, image.entry);
        prop_assert_eq!(again.entry.map(Entry::address), wanted);
        if name == "s-record" {
            prop_assert_eq!(&again.header, &how.header);
        }
        // Written once more, from what was read, it is the same text.
        let same = write(format(name), &again, &WriteOptions { header: None, ..how });
        prop_assert_eq!(same, text);
    }

    #[test]
    fn raw_bytes_read_back_as_the_same_image(
        start in 0..1u64 << 40,
        bytes in prop::collection::vec(any::<u8>(), 1..2000),
    ) {
        let image = Image::from_bytes(start, bytes, Source::Patch).unwrap();
        let out = write(format("raw"), &image, &WriteOptions::default());
        let mut findings = Findings::new("raw".into(), Default::default());
        let how = ReadOptions { at: start, ..ReadOptions::default() };
        let again = format("raw").read(&mut Input::new("raw", &out[..]), &how, &mut findings);
        prop_assert_eq!(findings.errors(), 0);
        let again = again.unwrap();
        prop_assert_eq!(again.spans(), image.spans());
    }

    #[test]
    fn what_ihex_writes_we_read_alike(records in prop::collection::vec(ihex_records(), 0..40)) {
        let mut records = records;
        records.push(ihex::Record::EndOfFile);
        let text = ihex::create_object_file_representation(&records).unwrap();
        let how = ReadOptions { clash: Clash::Last, ..ReadOptions::default() };
        let image = read(format("intel-hex"), text.as_bytes(), &how);
        prop_assert_eq!(bytes_of(&image), by_ihex(&text).0);
        // Every byte remembers the line that brought it.
        for (address, byte) in bytes_of(&image) {
            let line = image.origin_at(address).unwrap().line.unwrap();
            let record = text.lines().nth(line as usize - 1).unwrap();
            let hex = format!("{byte:02X}");
            let mut pairs = record.as_bytes()[9..record.len() - 2].chunks(2);
            prop_assert!(pairs.any(|pair| pair == hex.as_bytes()), "{address:X} {record}");
        }
    }

    #[test]
    fn what_srec_writes_we_read_alike(
        kind in 1..=3,
        pieces in prop::collection::vec((any::<u32>(), prop::collection::vec(any::<u8>(), 0..200)), 0..40),
        entry in any::<u16>(),
        header in "[ -~]{0,60}",
    ) {
        let mut records = vec![srec::Record::S0(header)];
        for (address, mut data) in pieces {
            // A record ends where its kind's addresses do; past that it is refused.
            let (address, top) = match kind {
                1 => (address & 0xFFFF, 0xFFFF),
                2 => (address >> 8, 0xFF_FFFF),
                _ => (address, u32::MAX),
            };
            data.truncate((u64::from(top - address) + 1) as usize);
            records.push(match kind {
                1 => srec::Record::S1(srec::Data { address: srec::Address16(address as u16), data }),
                2 => srec::Record::S2(srec::Data { address: srec::Address24(address), data }),
                _ => srec::Record::S3(srec::Data { address: srec::Address32(address), data }),
            });
        }
        records.push(srec::Record::S5(srec::Count16(records.len() as u16 - 1)));
        records.push(match kind {
            1 => srec::Record::S9(srec::Address16(entry)),
            2 => srec::Record::S8(srec::Address24(entry.into())),
            _ => srec::Record::S7(srec::Address32(entry.into())),
        });
        let text = srec::generate_srec_file(&records);
        let how = ReadOptions { clash: Clash::Last, ..ReadOptions::default() };
        let image = read(format("s-record"), text.as_bytes(), &how);
        let found = by_srec(&text);
        prop_assert_eq!(bytes_of(&image), found.bytes);
        prop_assert_eq!(image.entry.map(Entry::address), found.entry);
        prop_assert_eq!(image.header.unwrap_or_default(), found.header.unwrap().into_bytes());
    }

    #[test]
    fn no_file_makes_a_reader_panic(
        bytes in prop::collection::vec(prop_oneof![any::<u8>(), prop::sample::select(&b":S0123456789ABCDEF\n\r"[..])], 0..300),
    ) {
        for format in FORMATS {
            let mut findings = Findings::new("junk".into(), Default::default());
            let _ = format.read(&mut Input::new("junk", &bytes[..]), &ReadOptions::default(), &mut findings);
            for finding in findings.list() {
                prop_assert!(!finding.to_string().is_empty());
            }
        }
    }
}

fn ihex_records() -> impl Strategy<Value = ihex::Record> {
    let offset = prop_oneof![any::<u16>(), 0xFF00..=0xFFFFu16];
    prop_oneof![
        6 => (offset, prop::collection::vec(any::<u8>(), 1..=255))
            .prop_map(|(offset, value)| ihex::Record::Data { offset, value }),
        1 => any::<u16>().prop_map(ihex::Record::ExtendedSegmentAddress),
        1 => any::<u16>().prop_map(ihex::Record::ExtendedLinearAddress),
        1 => Just(ihex::Record::ExtendedLinearAddress(0xFFFF)),
    ]
}

// Through a folder, for readers and writers in other languages. Beside each NAME.hex stand its twins: one raw file
// NAME.ADDRESS.bin for each span, address in hex, and NAME.entry with the entry point in hex where there is one.

fn exchange(part: &str) -> PathBuf {
    let folder = std::env::var_os("ROMLOOM_EXCHANGE").expect("ROMLOOM_EXCHANGE names a folder");
    Path::new(&folder).join(part)
}

#[test]
#[ignore = "takes its folder from ROMLOOM_EXCHANGE; see the top of this file"]
fn write_files_for_other_readers() {
    let folder = exchange("ours");
    fs::create_dir_all(&folder).unwrap();
    let mut runner = TestRunner::new_with_rng(
        Config::default(),
        // The same files every time.
        proptest::test_runner::TestRng::deterministic_rng(Config::default().rng_algorithm),
    );
    let mut n = 0;
    while n < 100 {
        let (name, image, how) = writings().new_tree(&mut runner).unwrap().current();
        if name != "intel-hex" {
            continue;
        }
        n += 1;
        let file = |end: String| folder.join(format!("{n:03}.{end}"));
        let mut text = Vec::new();
        let written = format(name).write(&image, &how, &mut text).unwrap();
        fs::write(file("hex".into()), text).unwrap();
        for span in image.spans() {
            fs::write(file(format!("{:X}.bin", span.start())), span.bytes()).unwrap();
        }
        if let Some(entry) = carried(name, written.form, image.entry) {
            fs::write(file("entry".into()), format!("{entry:X}\n")).unwrap();
        }
    }
}

#[test]
#[ignore = "takes its folder from ROMLOOM_EXCHANGE; see the top of this file"]
fn read_files_of_other_writers() {
    let folder = exchange("theirs");
    let mut wanted: BTreeMap<String, Bytes> = BTreeMap::new();
    for file in fs::read_dir(&folder).unwrap() {
        let path = file.unwrap().path();
        let file_name = path.file_name().unwrap().to_str().unwrap();
        let [name, address, "bin"] = file_name.split('.').collect::<Vec<_>>()[..] else {
            continue;
        };
        let start = u64::from_str_radix(address, 16).unwrap();
        let bytes = fs::read(&path).unwrap();
        let all = wanted.entry(name.into()).or_default();
        all.extend((start..).zip(bytes));
    }
    assert!(!wanted.is_empty(), "no files in {}", folder.display());
    for (name, bytes) in wanted {
        let text = fs::read(folder.join(format!("{name}.hex"))).unwrap();
        let image = read(format("intel-hex"), &text, &ReadOptions::default());
        assert_eq!(bytes_of(&image), bytes, "{name}");
        let entry = fs::read_to_string(folder.join(format!("{name}.entry"))).ok();
        let entry = entry.map(|e| u64::from_str_radix(e.trim(), 16).unwrap());
        assert_eq!(image.entry.map(Entry::address), entry, "{name}");
    }
}
