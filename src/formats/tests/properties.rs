//! What holds for every format: files come back as they were written, and no file does harm.

use proptest::collection::{btree_map, vec};
use proptest::prelude::*;

use super::*;
use crate::image::Entry;

/// Formats that can be read and written.
fn both_ways() -> Vec<&'static dyn Format> {
    let all = FORMATS.iter().copied();
    all.filter(|f| f.can_read() && f.can_write()).collect()
}

/// Images of whole `unit`s up to the address `last`, in as many parts: close together or far apart.
fn images(last: u64, unit: u64, parts: std::ops::Range<usize>) -> impl Strategy<Value = Image> {
    let start = prop_oneof![0..200u64, 0xFF00..=0xFFFFu64, 0..=last, last - 200..=last];
    let spans = btree_map(start, vec(any::<u8>(), 1..70), parts);
    spans.prop_map(move |spans| {
        let mut image = Image::new();
        for (start, mut bytes) in spans {
            let start = start.min(last) / unit * unit;
            let room = (last - start + 1).min(bytes.len() as u64);
            bytes.truncate((room - room % unit) as usize);
            // A later part may lie over an earlier one.
            let put = image.put(start, bytes, crate::image::Source::Patch);
            assert!(put.is_ok());
        }
        image
    })
}

/// A format, options for it, and an image it can carry, all by what the format says of itself.
fn cases() -> impl Strategy<Value = (&'static dyn Format, WriteOptions, Image)> {
    (prop::sample::select(both_ways()), 1..=8u8).prop_flat_map(|(format, unit)| {
        let meta = format.meta();
        let by_words = meta.reading.contains(&ReadOption::Word);
        let by_units = meta.reading.contains(&ReadOption::Unit);
        let unit = if by_words || by_units { unit } else { 1 };
        let last = meta.last_address - meta.last_address % u64::from(unit);
        let parts = if meta.has_holes { 1..8 } else { 1..2 };
        let options = (prop::option::of(1..=14u16), any::<bool>(), any::<bool>());
        (images(last.saturating_sub(1), unit.into(), parts), options).prop_map(
            move |(image, (width, crlf, big))| {
                let mut how = WriteOptions {
                    width: width.map(|w| w * u16::from(unit)),
                    crlf,
                    order: if big { Order::Big } else { Order::Little },
                    ..WriteOptions::default()
                };
                match by_words {
                    true => how.word = unit,
                    false => how.unit = unit,
                }
                (format, how, image)
            },
        )
    })
}

fn matching(how: &WriteOptions, image: &Image) -> ReadOptions {
    ReadOptions {
        at: image.extent().map_or(0, |e| e.first()),
        strictness: Strictness::Strict,
        unit: how.unit,
        word: how.word,
        order: how.order,
        ..ReadOptions::default()
    }
}

fn write(format: &dyn Format, image: &Image, how: &WriteOptions) -> Result<Vec<u8>, WriteError> {
    let mut out = Vec::new();
    format.write(image, how, &mut out).map(|_| out)
}

/// Files of every format that is read and written, to be damaged.
fn sound_files() -> impl Strategy<Value = (&'static dyn Format, Vec<u8>)> {
    cases()
        .prop_map(|(format, how, image)| (format, write(format, &image, &how).unwrap_or_default()))
}

proptest! {
    #[test]
    fn a_written_file_read_by_the_book_is_the_same_image((format, how, image) in cases()) {
        prop_assume!(!image.is_empty());
        let file = match write(format, &image, &how) {
            // The address of the last word need not fit.
            Err(WriteError::AddressTooLarge { .. }) => return Ok(()),
            file => file.unwrap(),
        };
        let reading = read_with(format, &file, &matching(&how, &image));
        // Strictly, a ti-txt section starts at an even address and its lines have 16 bytes.
        let harmless = |p: &Problem| matches!(p, Problem::OddStart { .. } | Problem::Untidy { .. });
        let errors = reading.errors();
        prop_assert!(
            errors.iter().all(|e| format.name() == "ti-txt" && harmless(&e.3)),
            "{}: {errors:?}", format.name()
        );
        prop_assert_eq!(spans(&reading.image), spans(&image), "{}", format.name());
    }

    #[test]
    fn an_entry_point_that_the_form_carries_comes_back(
        entry in any::<u32>(), unit in 1..=8u8, tek in any::<bool>(),
    ) {
        let name = if tek { "tek-hex" } else { "s-record" };
        let format = by_name(name).unwrap();
        let mut image = image(&[(0, &[0; 840])]);
        let entry = u64::from(entry) / u64::from(unit) * u64::from(unit);
        image.entry = Some(Entry::Linear(entry));
        let how = WriteOptions { unit, ..WriteOptions::default() };
        let file = write(format, &image, &how).unwrap();
        let back = read_with(format, file, &matching(&how, &image)).clean();
        prop_assert_eq!(back.entry, image.entry);
    }

    #[test]
    fn a_written_file_is_recognised_by_its_content((format, how, image) in cases()) {
        // Bytes alone can be anything; what tells holes from bytes has marks to be known by.
        prop_assume!(!image.is_empty() && format.meta().has_holes);
        let Ok(file) = write(format, &image, &how) else { return Ok(()) };
        let found = told(&file, None);
        // A word of one byte without comments, short addresses: nothing proves readmem then.
        let both = Err(Undetected::Several(vec!["ti-txt", "readmem"]));
        let unsure = format.name() == "readmem" && how.word == 1 && found == both;
        prop_assert!(found == Ok(format.name()) || unsure, "{}: {found:?}", format.name());
    }

    #[test]
    fn random_bytes_are_never_taken_for_a_text_format(
        bytes in vec(any::<u8>(), 0..2000), short in vec(any::<u8>(), 0..12),
    ) {
        prop_assert_eq!(told(bytes, None), Err(Undetected::Nothing));
        prop_assert_eq!(told(short, None), Err(Undetected::Nothing));
    }

    #[test]
    fn no_garbage_does_harm(
        bytes in prop_oneof![
            vec(any::<u8>(), 0..500),
            "[@qQ0-9A-Fa-fxzXZ_;%/* \\t\\r\\n\\x00\\x13\\x1AgG+-]{0,300}".prop_map(String::into_bytes),
            "[;%@:S][0-9A-F]{0,80}([\\r\\n]{1,2}[;%@:S][0-9A-F]{0,80}){0,8}".prop_map(String::into_bytes),
        ],
        unit in 0..=9u8, word in 0..=9u8, sections in any::<bool>(),
        strictness in prop::sample::select(&[
            Strictness::Usual, Strictness::Strict, Strictness::Salvage,
        ][..]),
    ) {
        for format in FORMATS {
            let how = ReadOptions { strictness, unit, word, sections, ..ReadOptions::default() };
            let reading = read_with(*format, &bytes, &how);
            // Places are well formed too, and memory grows with the file.
            let _ = (reading.errors(), reading.warnings());
            let words = bytes.len() as u64 * 8;
            prop_assert!(reading.image.len() <= words, "{}", format.name());
            let _ = format.likeness(&Head::new(&bytes, false));
        }
    }

    #[test]
    fn no_damage_to_a_sound_file_does_harm(
        (format, mut file) in sound_files(),
        at in any::<prop::sample::Index>(), byte in any::<u8>(), cut in any::<bool>(),
    ) {
        prop_assume!(!file.is_empty());
        let at = at.index(file.len());
        match cut {
            true => file.truncate(at),
            false => file[at] = byte,
        }
        let reading = read(format, &file);
        let _ = (reading.errors(), reading.warnings());
        for finding in reading.findings.list() {
            prop_assert!(!finding.to_string().is_empty());
        }
    }

    #[test]
    fn where_a_pipe_pauses_makes_no_difference((format, file) in sound_files(), step in 1..50usize) {
        let how = ReadOptions::default();
        let whole = read_with(format, &file, &how);
        let mut findings = Findings::new("a.hex".into(), how.strictness);
        let mut input = Input::new("a.hex", Drip(&file, step));
        let image = format.read(&mut input, &how, &mut findings).unwrap();
        prop_assert_eq!(spans(&image), spans(&whole.image));
        prop_assert_eq!(findings.errors(), whole.findings.errors());
    }
}

/// Hands out `step` bytes at a time, as a slow pipe would.
struct Drip<'a>(&'a [u8], usize);

impl std::io::Read for Drip<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let n = self.1.min(self.0.len()).min(to.len());
        to[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        Ok(n)
    }
}

/// Gives one option another value.
type Change<How> = fn(&mut How);
type Changes<How> = &'static [Change<How>];

/// The options of writing, each with values that are not the usual ones.
const WRITING: [(WriteOption, Changes<WriteOptions>); 9] = [
    (
        WriteOption::Address,
        &[
            |how| how.address = AddressForm::Bits16,
            |how| how.address = AddressForm::Bits32,
        ],
    ),
    (WriteOption::Width, &[|how| how.width = Some(4)]),
    (WriteOption::Header, &[|how| how.header = Some(b"A".into())]),
    (WriteOption::Crlf, &[|how| how.crlf = true]),
    (WriteOption::Count, &[|how| how.count = true]),
    (WriteOption::Unit, &[|how| how.unit = 2]),
    (WriteOption::Word, &[|how| how.word = 2]),
    (WriteOption::Order, &[|how| how.order = Order::Big]),
    (WriteOption::Name, &[|how| how.name = Some("heron".into())]),
];

/// The same of reading.
const READING: [(ReadOption, Change<ReadOptions>); 8] = [
    (ReadOption::At, |how| how.at = 0x40),
    (ReadOption::Skip, |how| how.skip = 2),
    (ReadOption::Length, |how| how.length = Some(4)),
    (ReadOption::Unit, |how| how.unit = 2),
    (ReadOption::Word, |how| how.word = 2),
    (ReadOption::Order, |how| how.order = Order::Big),
    (ReadOption::VirtualAddresses, |how| {
        how.virtual_addresses = true
    }),
    (ReadOption::Sections, |how| how.sections = true),
];

/// Only a word of several bytes has an order.
fn word_for(is_order: bool) -> u8 {
    if is_order { 2 } else { 1 }
}

fn some_image() -> Image {
    image(&[(0x100, &(0..32).collect::<Vec<u8>>())])
}

#[test]
fn a_format_heeds_the_options_of_writing_that_it_names_and_no_others() {
    for format in FORMATS.iter().filter(|format| format.can_write()) {
        let write = |how: &WriteOptions| {
            let mut out = Vec::new();
            let written = format.write(&some_image(), how, &mut out);
            written.is_ok().then_some(out)
        };
        for (option, changes) in WRITING {
            let usual = WriteOptions {
                word: word_for(option == WriteOption::Order),
                name: Some("rom".into()),
                ..WriteOptions::default()
            };
            let made = changes.iter().map(|change| {
                let mut how = usual.clone();
                change(&mut how);
                write(&how)
            });
            let usual = write(&usual);
            let differing: Vec<Option<Vec<u8>>> = made.filter(|made| *made != usual).collect();
            let what = format!("{}: {option}", format.name());
            match format.meta().writing.contains(&option) {
                true => assert!(!differing.is_empty(), "{what}"),
                // What means nothing may be refused, as an address unit is in a format of words.
                false => assert!(differing.iter().all(Option::is_none), "{what}"),
            }
        }
    }
}

#[test]
fn a_format_heeds_the_options_of_reading_that_it_names_and_no_others() {
    // An ELF file can't be written; its own tests have some to read.
    for format in FORMATS.iter().filter(|f| f.can_write() && f.can_read()) {
        let mut text = Vec::new();
        format
            .write(&some_image(), &WriteOptions::default(), &mut text)
            .unwrap();
        let read = |how: &ReadOptions| {
            let reading = read_with(*format, &text, how);
            (spans(&reading.image), reading.errors())
        };
        for (option, change) in READING {
            let usual = ReadOptions {
                word: word_for(option == ReadOption::Order),
                ..ReadOptions::default()
            };
            let mut how = usual.clone();
            change(&mut how);
            let (usual, made) = (read(&usual), read(&how));
            let what = format!("{}: {option}", format.name());
            match format.meta().reading.contains(&option) {
                true => assert_ne!(made, usual, "{what}"),
                false => assert!(made == usual || !made.1.is_empty(), "{what}"),
            }
        }
        let kept = if format.meta().has_addresses {
            0x100
        } else {
            0
        };
        let (spans, _) = read(&ReadOptions::default());
        assert_eq!(spans[0].0, kept, "{}", format.name());
    }
}

#[test]
fn the_last_address_that_a_format_names_is_its_last() {
    for format in both_ways() {
        let last = format.meta().last_address;
        let at_the_end = image(&[(last, &[0x5A])]);
        let how = WriteOptions::default();
        let file = write(format, &at_the_end, &how).unwrap();
        let back = read_with(format, file, &matching(&how, &at_the_end)).image;
        assert_eq!(spans(&back), spans(&at_the_end), "{}", format.name());
        if last < u64::MAX - 1 {
            let error = refused(format, &image(&[(last + 1, &[0x5A])]), &how);
            let told = matches!(error, WriteError::AddressTooLarge { .. });
            assert!(told, "{}: {error}", format.name());
        }
    }
}
