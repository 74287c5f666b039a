//! Images to work on, and the calls that are measured.

use std::io::Write;

use romloom::formats::{
    AddressForm, Findings, Format, Input, ReadAhead, ReadOptions, Strictness, WriteOptions,
};
use romloom::image::{Image, Source};

pub const K: u64 = 1024;
pub const M: u64 = 1024 * K;

/// Bytes without a pattern, by a multiplicative generator.
pub fn bytes(size: u64) -> Vec<u8> {
    let mut state = 1u64;
    let next = |_| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (state >> 56) as u8
    };
    (0..size).map(next).collect()
}

pub fn image(size: u64) -> Image {
    Image::from_bytes(0, bytes(size), Source::Patch).unwrap()
}

/// The file, in records of 16 bytes with 32-bit addresses.
pub fn write(format: &dyn Format, image: &Image) -> Vec<u8> {
    let mut out = Vec::new();
    write_to(format, image, &mut out);
    out
}

pub fn write_to(format: &dyn Format, image: &Image, out: &mut dyn Write) {
    let how = WriteOptions {
        address: AddressForm::Bits32,
        ..WriteOptions::default()
    };
    format.write(image, &how, out).unwrap();
}

/// The finished image, with every check a reader does by default.
pub fn read<'a>(format: &dyn Format, text: impl ReadAhead<'a> + 'a) -> Image {
    let mut findings = Findings::new("bench".into(), Strictness::Usual);
    let mut input = Input::in_two("bench", text);
    let image = format
        .read(&mut input, &ReadOptions::default(), &mut findings)
        .unwrap();
    assert_eq!(findings.list().len(), 0);
    image
}
