//! Images to show, and screens checked in colour and without.

use crate::cli::report::{ChangesReport, DumpReport, MapReport, Report, Style};
use crate::image::{AddressRange, Builder, Clash, Image, Source};

pub fn r(first: u64, last: u64) -> AddressRange {
    AddressRange::new(first, last).unwrap()
}

pub fn file(name: &str) -> Source {
    Source::File(name.into())
}

/// An image as a record file makes it: sixteen bytes a line, the first line of each stretch as given.
pub fn records(name: &str, stretches: &[(u64, u64, u64)]) -> Image {
    let mut builder = Builder::new(file(name));
    for (start, len, first_line) in stretches {
        for (line, at) in (*start..start + len).step_by(16).enumerate() {
            let n = (start + len - at).min(16);
            let bytes: Vec<u8> = (at..at + n).map(|a| (a ^ (a >> 8)) as u8).collect();
            builder.push(at, &bytes, first_line + line as u64).unwrap();
        }
    }
    builder.finish(Clash::Refuse).unwrap()
}

pub fn put(image: &mut Image, at: u64, bytes: &[u8], source: Source) {
    image.put(at, bytes.to_vec(), source).unwrap();
}

pub fn without_colour(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

/// The plain text, after making sure that the coloured one says the same.
pub fn text<R: Report>(report: &R) -> String {
    let plain = report.text(Style::PLAIN);
    assert_eq!(without_colour(&report.text(Style::COLOUR)), plain);
    assert!(!plain.contains('\u{1b}'));
    plain
}

pub fn map(image: &Image) -> String {
    text(&MapReport::new("chip", image, None, None))
}

pub fn widest(text: &str) -> usize {
    text.lines().map(|l| l.chars().count()).max().unwrap_or(0)
}

pub fn dump(image: &Image, range: AddressRange) -> String {
    text(&DumpReport::new(
        "chip",
        std::borrow::Cow::Borrowed(image),
        range,
    ))
}

pub fn changes(was: &Image, now: &Image) -> String {
    text(&ChangesReport::new("chip", "old.bin", was, now, 64))
}
