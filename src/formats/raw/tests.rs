//! Common practice throughout, no source.

use super::Raw;
use crate::formats::tests::*;
use crate::image::{AddressRange, Entry, Image};

fn part(skip: u64, length: Option<u64>) -> ReadOptions {
    ReadOptions {
        skip,
        length,
        ..ReadOptions::default()
    }
}

/// More than one window of the reader, no two neighbours equal.
fn long_file() -> Vec<u8> {
    (0..600_000u32).map(|i| (i % 251) as u8).collect()
}

#[test]
fn byte_0_of_the_file_stands_at_address_0() {
    let file = long_file();
    let image = read(&Raw, &file).clean();
    assert_eq!(spans(&image), [(0, file)]);
    assert_eq!((image.entry, image.header.as_deref()), (None, None));
    let origin = image.origin_at(3).unwrap();
    assert_eq!(origin.to_string(), "a.hex");
}

#[test]
fn byte_0_stands_where_at_says() {
    let how = ReadOptions {
        at: 0xE000,
        ..ReadOptions::default()
    };
    let image = read_with(&Raw, [0x4C, 0x00], &how).clean();
    assert_eq!(spans(&image), [(0xE000, vec![0x4C, 0x00])]);
}

#[test]
fn part_of_a_file_can_be_taken() {
    let file = long_file();
    for (skip, length) in [
        (0, Some(5)),
        (3, Some(70_000)),
        (300_000, Some(299_999)),
        (300_000, Some(300_000)),
        (599_999, None),
        (1, None),
    ] {
        let image = read_with(&Raw, &file, &part(skip, length)).clean();
        let from = skip as usize;
        let to = length.map_or(file.len(), |l| from + l as usize);
        assert_eq!(spans(&image), [(0, file[from..to].to_vec())]);
    }
}

#[test]
fn a_part_beyond_the_end_of_the_file_is_an_error() {
    let has = 600_000;
    for (skip, length, wanted) in [
        (0, Some(600_001), 600_000),
        (599_999, Some(2), 600_000),
        (700_000, Some(1), 700_000),
        (600_001, None, 600_001),
        (1, Some(u64::MAX), u64::MAX),
    ] {
        let reading = read_with(&Raw, long_file(), &part(skip, length));
        let problem = Problem::FileTooShort { wanted, has };
        assert_eq!(reading.one_error(), seen(0, 0, "", problem));
    }
    let problem = Problem::FileTooShort { wanted: 5, has: 1 };
    assert_eq!(problem.label(), "byte 5 is asked for, the file has 1 byte");
}

#[test]
fn an_empty_file_is_an_error() {
    for how in [part(0, None), part(600_000, None), part(0, Some(0))] {
        let file = if how.skip > 0 { long_file() } else { vec![] };
        let reading = read_with(&Raw, file, &how);
        assert_eq!(reading.one_error(), seen(0, 0, "", Problem::NoData));
    }
}

#[test]
fn a_file_of_nuls_is_a_file_of_nuls() {
    let image = read(&Raw, [0; 100]).clean();
    assert_eq!(spans(&image), [(0, vec![0; 100])]);
}

#[test]
fn an_address_that_leaves_the_address_space_is_an_error() {
    let how = ReadOptions {
        at: u64::MAX - 1,
        ..ReadOptions::default()
    };
    let reading = read_with(&Raw, [1, 2, 3], &how);
    assert!(reading.image.is_empty());
    assert_eq!(reading.one_error(), seen(0, 0, "", Problem::OutOfSpace));
}

#[test]
fn records_read_as_raw_bytes_are_a_warning() {
    for (text, format) in [(":00000001FF\n", "intel-hex"), ("S9030000FC\n", "s-record")] {
        let (image, warning) = read(&Raw, text).one_warning();
        assert_eq!(warning, seen(0, 0, "", Problem::LooksLike { format }));
        assert_eq!(spans(&image), [(0, text.as_bytes().to_vec())]);
    }
}

#[test]
fn a_tail_as_xmodem_leaves_it_is_a_warning() {
    let file = |data: usize, filler: usize| {
        let mut file = vec![0x4C; data];
        file.resize(data + filler, 0x1A);
        file
    };
    let (image, warning) = read(&Raw, file(100, 28)).one_warning();
    let problem = Problem::TransferTail { run: 28 };
    assert_eq!(warning, seen(0, 0, "", problem));
    assert_eq!(image.len(), 128, "nothing is taken off unasked");
    // With blocks of 1024.
    read(&Raw, file(1, 1023)).one_warning();

    // No whole block; one 1A, which any program may end with; more than a transfer adds.
    for (data, filler) in [(100, 27), (127, 1), (1024, 1024)] {
        read(&Raw, file(data, filler)).clean();
    }
    // Asked for by length: what is taken is what is wanted.
    read_with(&Raw, file(100, 28), &part(0, Some(128))).clean();
}

#[test]
fn the_bytes_are_written_with_nothing_in_front() {
    let bytes = long_file();
    let image = image(&[(0xE000, &bytes)]);
    let mut out = Vec::new();
    let how = Raw.write(&image, &WriteOptions::default(), &mut out);
    assert_eq!(how.unwrap(), Written::default());
    assert_eq!(out, bytes);
}

#[test]
fn an_image_with_holes_is_refused_and_the_first_hole_named() {
    let image = image(&[(0x100, &[1]), (0x110, &[2]), (0x200, &[3])]);
    let error = refused(&Raw, &image, &WriteOptions::default());
    assert_eq!(
        error.to_string(),
        "0x0101-0x010F is a hole (2 in all), but a raw file can't contain holes"
    );
    match error {
        WriteError::Hole { hole, holes: 2, .. } => {
            assert_eq!(Some(hole), AddressRange::new(0x101, 0x10F));
        }
        other => panic!("{other}"),
    }
}

#[test]
fn an_image_without_a_byte_is_refused() {
    let error = refused(&Raw, &Image::new(), &WriteOptions::default());
    assert_eq!(
        error.to_string(),
        "the image is empty: there is nothing to write"
    );
}

#[test]
fn an_entry_point_asked_for_is_left_out_and_said_so() {
    let mut image = image(&[(0, &[1])]);
    let how = WriteOptions {
        entry: EntryChoice::At(0x8000),
        ..WriteOptions::default()
    };
    let left_out = left_out(&written(&Raw, &image, &how).1);
    assert_eq!(
        left_out,
        ["a raw file has no place for the entry point 0x8000"]
    );
    // The image's own goes without saying: no chip file carries one.
    image.entry = Some(Entry::Linear(0x8000));
    let written = written(&Raw, &image, &WriteOptions::default()).1;
    assert_eq!(written.left_out, []);
}
