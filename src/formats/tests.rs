//! Telling formats apart, and what the tests of every format share.

mod detection;
mod explanations;
mod in_two;
mod properties;
mod salvage;
mod units;
mod width;

use std::io;

pub(super) use super::*;
pub(super) use crate::image::{AddressRange, Clash, Image, Source};
pub(super) use crate::sums::Order;

/// An Intel HEX record by section 3 of the specification, checksum worked out here.
pub(super) fn intel_record(kind: u8, offset: u16, data: &[u8]) -> String {
    let mut bytes = vec![data.len() as u8];
    bytes.extend(offset.to_be_bytes());
    bytes.push(kind);
    bytes.extend(data);
    let sum: u32 = bytes.iter().map(|b| u32::from(*b)).sum();
    bytes.push(((256 - sum % 256) % 256) as u8);
    format!(":{}\n", digits(&bytes))
}

/// An S-record of type `kind`, `address` already as wide as the type has it; checksum worked out here.
pub(super) fn s_record(kind: u8, address: &[u8], data: &[u8]) -> String {
    let mut bytes = vec![(address.len() + data.len() + 1) as u8];
    bytes.extend(address);
    bytes.extend(data);
    let sum: u32 = bytes.iter().map(|b| u32::from(*b)).sum();
    bytes.push(255 - (sum % 256) as u8);
    format!("S{kind}{}\n", digits(&bytes))
}

/// What reading one file gave.
pub(super) struct Reading {
    pub image: Image,
    pub findings: Findings,
}

/// One finding, without its prose: line and column (0 for the file as a whole), the characters marked, the problem.
pub(super) type Seen = (u64, u64, String, Problem);

/// Reads `text` as the file `a.hex`.
pub(super) fn read_with(
    format: &'static dyn Format,
    text: impl AsRef<[u8]>,
    how: &ReadOptions,
) -> Reading {
    let mut input = Input::new("a.hex", text.as_ref());
    let loaded = read_as(format, &mut input, how).unwrap();
    Reading {
        image: loaded.image,
        findings: loaded.findings,
    }
}

pub(super) fn read(format: &'static dyn Format, text: impl AsRef<[u8]>) -> Reading {
    read_with(format, text, &ReadOptions::default())
}

pub(super) fn read_strictly(format: &'static dyn Format, text: impl AsRef<[u8]>) -> Reading {
    let how = ReadOptions {
        strictness: Strictness::Strict,
        ..ReadOptions::default()
    };
    read_with(format, text, &how)
}

pub(super) fn salvage(format: &'static dyn Format, text: impl AsRef<[u8]>) -> Reading {
    let how = ReadOptions {
        strictness: Strictness::Salvage,
        ..ReadOptions::default()
    };
    read_with(format, text, &how)
}

impl Reading {
    fn seen(&self, severity: Severity) -> Vec<Seen> {
        let of_this_kind = |f: &&Finding| f.severity == severity;
        (self.findings.list().iter().filter(of_this_kind))
            .map(|f| match &f.place {
                None => (0, 0, String::new(), f.problem.clone()),
                Some(p) => {
                    // A mark that cuts a character fails here.
                    let marked = String::from_utf8(p.text[p.mark.clone()].to_vec())
                        .unwrap_or_else(|e| format!("{:X?}", e.as_bytes()));
                    (p.line, p.column, marked, f.problem.clone())
                }
            })
            .collect()
    }

    pub fn errors(&self) -> Vec<Seen> {
        self.seen(Severity::Error)
    }

    pub fn warnings(&self) -> Vec<Seen> {
        self.seen(Severity::Warning)
    }

    /// What a salvage says is missing, and why.
    pub fn missing(&self) -> Vec<(u64, u64, String)> {
        let salvaged = Salvaged::of(&self.findings, &self.image);
        let missing = salvaged.missing.iter();
        missing
            .map(|m| (m.range.first(), m.range.last(), m.why.to_string()))
            .collect()
    }

    /// The image, with nothing to be said about the file.
    #[track_caller]
    pub fn clean(self) -> Image {
        assert!(self.findings.list().is_empty(), "{:?}", self.findings);
        self.image
    }

    /// The image, and the one warning.
    #[track_caller]
    pub fn one_warning(self) -> (Image, Seen) {
        assert_eq!(self.errors(), []);
        let [warning] = <[Seen; 1]>::try_from(self.warnings()).unwrap();
        (self.image, warning)
    }

    /// The one error.
    #[track_caller]
    pub fn one_error(self) -> Seen {
        assert_eq!(self.findings.errors(), 1);
        let [error] = <[Seen; 1]>::try_from(self.errors()).unwrap();
        error
    }
}

/// Reads a damaged line between two sound ones, of which the first has bytes 1 and 2 at 0, the second byte 3 at 0x10: the
/// error; what is sound must have been read.
#[track_caller]
pub(super) fn damaged_between(
    format: &'static dyn Format,
    first: &str,
    line: &[u8],
    second: &str,
) -> Seen {
    let text = [first.as_bytes(), line, b"\n", second.as_bytes()].concat();
    let reading = read(format, text);
    let both = [(0, vec![1, 2]), (0x10, vec![3])];
    assert_eq!(spans(&reading.image), both);
    reading.one_error()
}

/// Bytes as pairs of digits.
pub(super) fn digits(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02X}")).collect()
}

/// To be written with addresses of this width.
pub(super) fn in_form(address: AddressForm) -> WriteOptions {
    WriteOptions {
        address,
        ..WriteOptions::default()
    }
}

pub(super) fn seen(line: u64, column: u64, marked: &str, problem: Problem) -> Seen {
    (line, column, marked.into(), problem)
}

/// A field of a damaged record that says one thing and should say another.
pub(super) fn field(
    name: &'static str,
    says: &str,
    wanted: &str,
    because: &'static str,
) -> Explanation {
    Explanation::Field {
        name,
        says: says.into(),
        wanted: wanted.into(),
        because,
    }
}

/// The spans of an image.
pub(super) fn spans(image: &Image) -> Vec<(u64, Vec<u8>)> {
    (image.spans().iter())
        .map(|s| (s.start(), s.bytes().to_vec()))
        .collect()
}

/// An image of these spans.
pub(super) fn image(spans: &[(u64, &[u8])]) -> Image {
    let mut image = Image::new();
    for (start, bytes) in spans {
        image.put(*start, bytes.to_vec(), Source::Patch).unwrap();
    }
    image
}

/// What `format` writes, as text.
pub(super) fn written(format: &dyn Format, image: &Image, how: &WriteOptions) -> (String, Written) {
    let mut out = Vec::new();
    let written = format.write(image, how, &mut out).unwrap();
    (String::from_utf8(out).unwrap(), written)
}

/// What a file does not carry, as sentences.
pub(super) fn left_out(written: &Written) -> Vec<String> {
    written.left_out.iter().map(ToString::to_string).collect()
}

/// Why `format` does not write the image; nothing must have been written by then.
#[track_caller]
pub(super) fn refused(format: &dyn Format, image: &Image, how: &WriteOptions) -> WriteError {
    let mut out = Vec::new();
    let error = format.write(image, how, &mut out).unwrap_err();
    assert_eq!(out, b"");
    error
}

pub(super) const HEX: &str = ":01000000AA55\n:00000001FF\n";
pub(super) const S: &str = "S1040000AA51\nS9030000FC\n";

fn told(bytes: impl AsRef<[u8]>, extension: Option<&str>) -> Result<&'static str, Undetected> {
    let head = Head::new(bytes.as_ref(), true);
    detect(&head, extension).map(|f| f.name())
}

#[test]
fn a_sound_record_tells_the_format_whatever_the_name_says() {
    for extension in [None, Some("hex"), Some("s19"), Some("bin"), Some("txt")] {
        assert_eq!(told(HEX, extension), Ok("intel-hex"), "{extension:?}");
        assert_eq!(told(S, extension), Ok("s-record"), "{extension:?}");
    }
}

#[test]
fn records_are_found_behind_other_lines_and_line_ends_of_any_kind() {
    for end in ["\n", "\r\n", "\r"] {
        let text = format!("Heron-8{end}{end}  {HEX}").replace('\n', end);
        assert_eq!(told(text, None), Ok("intel-hex"), "{end:?}");
    }
}

#[test]
fn a_damaged_record_is_still_taken_for_one() {
    assert_eq!(told(":01000000AA54\n", None), Ok("intel-hex"));
    assert_eq!(told(":01000000AA54\n", Some("bin")), Ok("intel-hex"));
    assert_eq!(told("S1040000AA52\n", None), Ok("s-record"));
    // One sound record outweighs a damaged one of the other kind.
    let both = format!("S1040000AA52\n{HEX}");
    assert_eq!(told(both, Some("s19")), Ok("intel-hex"));
}

#[test]
fn two_formats_in_one_file_are_told_by_the_name_or_not_at_all() {
    let both = format!("{HEX}{S}");
    assert_eq!(told(&both, Some("S19")), Ok("s-record"));
    assert_eq!(told(&both, Some("hex")), Ok("intel-hex"));
    let error = told(&both, Some("bin")).unwrap_err();
    assert_eq!(
        error,
        Undetected::Several(vec!["intel-hex", "s-record"]),
        "raw can be anything and is no answer here"
    );
    assert_eq!(error.to_string(), "could be intel-hex or s-record");
}

#[test]
fn where_content_says_nothing_the_extension_does() {
    for (extension, name) in [
        ("hex", "intel-hex"),
        ("IHX", "intel-hex"),
        ("ihex", "intel-hex"),
        ("h86", "intel-hex"),
        ("mcs", "intel-hex"),
        ("s19", "s-record"),
        ("s28", "s-record"),
        ("s37", "s-record"),
        ("srec", "s-record"),
        ("sre", "s-record"),
        ("mot", "s-record"),
        ("bin", "raw"),
        ("rom", "raw"),
        ("img", "raw"),
    ] {
        assert_eq!(told("", Some(extension)), Ok(name), "{extension}, empty");
        let nuls = [0; 100];
        assert_eq!(told(nuls, Some(extension)), Ok(name), "{extension}, NULs");
    }
}

#[test]
fn bytes_that_are_no_text_are_no_record_file() {
    let bytes = [0x4C, 0x00, 0xE0, 0xFF];
    assert_eq!(told(bytes, Some("bin")), Ok("raw"));
    assert_eq!(told(bytes, Some("hex")), Err(Undetected::Nothing));
}

#[test]
fn nothing_to_go_by_is_an_error() {
    let error = told("10 PRINT", None).unwrap_err();
    assert_eq!(error, Undetected::Nothing);
    assert_eq!(
        error.to_string(),
        "the format can't be told from the content or the file name"
    );
    assert_eq!(told("10 PRINT", Some("doc")), Err(Undetected::Nothing));
}

#[test]
fn the_last_line_of_a_cut_head_is_not_looked_at() {
    let text = b"one\n two\t\r\n\nthr";
    assert_eq!(Head::new(text, false).lines(), [&b"one"[..], b"two"]);
    let whole = Head::new(text, true);
    assert_eq!(whole.lines().last(), Some(&&b"thr"[..]));
}

#[test]
fn every_format_is_found_by_its_name() {
    for format in FORMATS {
        assert_eq!(by_name(format.name()).unwrap().name(), format.name());
        assert!(!format.meta().about.is_empty() && !format.meta().rules.is_empty());
    }
    assert!(by_name("Intel-Hex").is_none());
}

#[test]
fn errors_beyond_twenty_are_counted_and_not_kept() {
    let text = "x\n".repeat(1000);
    let reading = read(&intel_hex::IntelHex, text);
    // 1000 lines, and no data in the file.
    assert_eq!(reading.findings.errors(), 1001);
    assert_eq!(reading.findings.list().len(), 20);
    assert_eq!(reading.findings.errors_not_shown(), 981);
}

#[test]
fn a_repeated_warning_is_kept_once_and_counted() {
    let record = ":020001020000FB\n";
    let reading = read(&intel_hex::IntelHex, record.repeat(5) + HEX);
    let (_, warning) = (reading.image, &reading.findings.list()[0]);
    assert_eq!(warning.repeats, 4);
    assert_eq!(reading.findings.list().len(), 1);
}

#[test]
fn neither_mark_nor_cut_goes_through_a_character() {
    let text = "é".repeat(400);
    let line = TextLine {
        number: 1,
        bytes: text.as_bytes(),
        length: 800,
        end: LineEnd::Lf,
    };
    for start in 0..800 {
        for len in 0..4 {
            let place = TextPlace::new(&line, start..start + len);
            let text = std::str::from_utf8(&place.text).unwrap();
            let marked = text.get(place.mark.clone()).unwrap();
            assert_eq!(place.column, start as u64 / 2 + 1, "{start} {len}");
            assert_eq!(marked.is_empty(), len == 0 && start % 2 == 0);
            assert!(place.text.len() <= 240);
        }
    }
}

#[test]
fn what_is_no_utf8_is_marked_byte_by_byte() {
    let line = TextLine {
        number: 1,
        bytes: b":\xC3\xE9\xF0\x9F",
        length: 5,
        end: LineEnd::Lf,
    };
    for i in 0..5 {
        assert_eq!(TextPlace::new(&line, i..i + 1).mark, i..i + 1);
    }
}

/// Hands out an odd number of bytes at a time, so that lines are cut anywhere.
struct Drip<'a>(&'a [u8]);

impl io::Read for Drip<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let n = to.len().min(4093);
        self.0.read(&mut to[..n])
    }
}

#[test]
fn a_file_of_many_windows_loses_no_line() {
    let bytes: Vec<u8> = (0..300_000u32).map(|i| (i % 251) as u8).collect();
    let image = image(&[(0x1000, &bytes)]);
    for format in [by_name("intel-hex"), by_name("s-record")] {
        let format = format.unwrap();
        let (text, _) = written(format, &image, &WriteOptions::default());
        for end in ["\n", "\r\n", "\r"] {
            let text = text.replace('\n', end);
            let mut findings = Findings::new("a.hex".into(), Strictness::Strict);
            let mut input = Input::new("a.hex", Drip(text.as_bytes()));
            let again = format.read(&mut input, &ReadOptions::default(), &mut findings);
            let reading = Reading {
                image: again.unwrap(),
                findings,
            };
            let again = reading.clean();
            assert_eq!(again.spans(), image.spans());
            let last = image.extent().unwrap().last();
            let line = again.origin_at(last).unwrap().line.unwrap();
            let record = text.split(end).nth(line as usize - 1).unwrap();
            assert!(record.contains(&format!("{:02X}", bytes[299_999])));
            assert_eq!(
                text.split(end).count() as u64,
                line + 2,
                "then the end record"
            );
        }
    }
}
