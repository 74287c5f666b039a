//! Extended Tektronix hex records.
//!
//! Rules: those in Texas Instruments, *ARM Assembly Language Tools User's Guide* (SPNU118), Tektronix object format.

use std::io::{self, Write};
use std::ops::Range;

use super::address::{self, Counting};
use super::explain::RecordField;
use super::findings::Findings;
use super::format::{Format, Sealed};
use super::hex::{self, HexText, SCRATCH, Scratch};
use super::input::Input;
use super::layout;
use super::likeness::{Head, Likeness};
use super::line::TextLine;
use super::meta::{Metadata, ReadOption, WriteOption};
use super::options::{ReadOptions, WriteOptions};
use super::place::TextPlace;
use super::problem::Problem;
use super::record::{self, LineReader};
use super::words::digit;
use super::written::{WriteError, Written};
use crate::image::{AddressRange, Builder, Entry, Image, Source};

/// The format `tek-hex`.
pub struct TekHex;

/// What is known of `tek-hex` files.
const META: Metadata = Metadata {
    name: "tek-hex",
    about: "extended Tektronix hex records, addresses up to 64 bits",
    rules: "as in Texas Instruments, ARM Assembly Language Tools User's Guide (SPNU118), Tektronix object format",
    extensions: &["tek"],
    reading: &[ReadOption::Unit],
    writing: &[
        WriteOption::Address,
        WriteOption::Width,
        WriteOption::Crlf,
        WriteOption::Unit,
    ],
    ..Metadata::USUAL
};

/// Characters of a record before its address: length, type, checksum.
const HEAD: usize = 5;
/// The most characters that the length counts.
const LONGEST: usize = 255;
/// The end record of a file without an entry point.
const END: &str = "%0781010";

/// A record whose length and checksum are right.
#[derive(Clone, Copy)]
struct TekHexRecord<'t> {
    kind: u8,
    /// What follows the checksum.
    body: &'t [u8],
}

/// A character's value in the checksum; `None` for one that is not allowed in a record.
fn value(byte: u8) -> Option<u8> {
    Some(match byte {
        b'0'..=b'9' => byte - b'0',
        b'A'..=b'Z' => byte - b'A' + 10,
        b'$' => 36,
        b'%' => 37,
        b'.' => 38,
        b'_' => 39,
        b'a'..=b'z' => byte - b'a' + 40,
        _ => return None,
    })
}

/// Sum of the characters' values; `None` where one is not allowed.
fn sum(text: &[u8]) -> Option<u8> {
    text.iter()
        .try_fold(0u8, |sum, b| Some(sum.wrapping_add(value(*b)?)))
}

fn pair(text: &[u8]) -> Option<u8> {
    match *text {
        [high, low] => Some(digit(high)? << 4 | digit(low)?),
        _ => None,
    }
}

/// The way from text to record; `None` leaves it to [`explain`] to say why.
fn decode(text: &[u8]) -> Option<TekHexRecord<'_>> {
    let (b'%', counted) = text.split_first()? else {
        return None;
    };
    let body = counted.get(HEAD..)?;
    let says = pair(&counted[..2])?;
    let gives = sum(&counted[..3])?.wrapping_add(sum(body)?);
    (usize::from(says) == counted.len() && pair(&counted[3..5])? == gives).then_some(TekHexRecord {
        kind: counted[2],
        body,
    })
}

/// The address at the start of a record's body, and how many characters it takes.
fn address_of(body: &[u8]) -> Option<(u64, usize)> {
    let (count, rest) = body.split_first()?;
    let count = match digit(*count)? {
        0 => 16,
        n => usize::from(n),
    };
    let digits = rest.get(..count)?;
    let address = digits
        .iter()
        .try_fold(0u64, |n, b| Some(n << 4 | u64::from(digit(*b)?)))?;
    Some((address, 1 + count))
}

/// Why `line.bytes[text]` is not a record: the characters meant, and the problem.
fn explain(line: &TextLine<'_>, text: Range<usize>) -> (Range<usize>, Problem) {
    if text.len() > 1 + LONGEST {
        let problem = Problem::LongLine {
            length: line.length,
            most: 1 + LONGEST as u64,
        };
        return (text.start + 1 + LONGEST..text.end, problem);
    }
    if line.bytes[text.start] != b'%' {
        return (
            text.start..text.start + 1,
            Problem::NoMark { expected: '%' },
        );
    }
    let counted = text.start + 1..text.end;
    let digits = |range: Range<usize>| record::bad_digits(line, range, 0);
    let head = counted.start..counted.end.min(counted.start + HEAD);
    if let Some(bad) = digits(head).filter(|(_, problem)| *problem == Problem::NotHex) {
        return bad;
    }
    if counted.len() <= HEAD {
        let problem = Problem::TooShort {
            least: HEAD + 2,
            digits: counted.len(),
        };
        return (counted, problem);
    }
    let body = counted.start + HEAD..counted.end;
    if let Some(i) = line.bytes[body.clone()]
        .iter()
        .position(|b| value(*b).is_none())
    {
        // Marks the whole character, which may have several bytes.
        let bad = digits(body.start + i..body.end);
        return (bad.map_or(body, |(mark, _)| mark), Problem::NotHex);
    }
    let says = pair(&line.bytes[counted.start..counted.start + 2]).unwrap_or(0);
    if usize::from(says) != counted.len() {
        let problem = Problem::Length {
            says: says.into(),
            has: counted.len() as u64,
        };
        return (counted.start..counted.start + 2, problem);
    }
    let checksum = counted.start + 3..counted.start + HEAD;
    let gives = sum(&line.bytes[counted.start..counted.start + 3])
        .unwrap_or(0)
        .wrapping_add(sum(&line.bytes[body]).unwrap_or(0));
    let problem = Problem::Checksum {
        says: pair(&line.bytes[checksum.clone()]).unwrap_or(0).into(),
        gives: gives.into(),
        digits: 2,
    };
    (checksum, problem)
}

struct TekHexReader<'f> {
    findings: &'f mut Findings,
    builder: Builder,
    unit: u64,
    entry: Option<Entry>,
    any: bool,
    ended: bool,
}

/// Length of a record, mark included, by its length field.
fn whole(text: &[u8]) -> Option<usize> {
    Some(1 + usize::from(pair(text.get(1..3)?)?))
}

impl TekHexReader<'_> {
    /// The addresses a damaged record would cover, where its own digits are plausible.
    fn covered_by(&self, text: &[u8]) -> Option<AddressRange> {
        let body = text.get(1 + HEAD..).filter(|_| text[3] == b'6')?;
        let (address, len) = address_of(body)?;
        let address = address.checked_mul(self.unit)?;
        let whole = whole(text)?;
        let plausible = whole == text.len() || self.builder.next_address() == Some(address);
        let digits = whole.checked_sub(1 + HEAD + len).filter(|_| plausible)?;
        AddressRange::from_len(address, digits as u64 / 2)
    }

    fn take(&mut self, line: &TextLine<'_>, record: &TekHexRecord<'_>, text: &Range<usize>) {
        self.any = true;
        let mut scratch: Scratch = [0; SCRATCH];
        let body = text.start + 1 + HEAD..text.end;
        match record.kind {
            // Symbols, which are not bytes of the image.
            b'3' => return self.findings.facts.count("3 (symbols)"),
            b'8' => self.findings.facts.count("8 (end)"),
            b'6' => {}
            _ => {
                let place = TextPlace::new(line, text.start + 3..text.start + 4);
                let known = "6 (data), 8 (end) and 3 (symbols)";
                self.findings
                    .error(Some(place), Problem::UnknownType { known });
                return self.lost(line, text.start, &line.bytes[text.clone()]);
            }
        }
        // Symbols may have lower case letters, with other values; fields in hex may not.
        let lower = record.body.iter().position(u8::is_ascii_lowercase);
        if let Some(i) = lower {
            let what = "a hex digit in lower case";
            let place = TextPlace::new(line, body.start + i..body.start + i + 1);
            self.findings
                .strictly(Some(place), Problem::Untidy { what });
        }
        let Some((address, len)) = address_of(record.body) else {
            let least = match record.body.first().and_then(|b| digit(*b)) {
                Some(0) => HEAD + 17,
                Some(n) => HEAD + 1 + usize::from(n),
                None => HEAD + 2,
            };
            let digits = record.body.len() + HEAD;
            let (mark, problem) = record::bad_digits(line, body.clone(), 0)
                .filter(|(_, problem)| *problem == Problem::NotHex)
                .unwrap_or((body, Problem::TooShort { least, digits }));
            self.findings
                .error(Some(TextPlace::new(line, mark)), problem);
            return self.lost(line, text.start, &line.bytes[text.clone()]);
        };
        let data_at = body.start + len..body.end;
        let Some(data) = hex::decode(&record.body[len..], &mut scratch) else {
            let (mark, problem) =
                record::bad_digits(line, data_at.clone(), 0).unwrap_or((data_at, Problem::NotHex));
            self.findings
                .error(Some(TextPlace::new(line, mark)), problem);
            return self.lost(line, text.start, &line.bytes[text.clone()]);
        };
        let address_at = TextPlace::new(line, body.start..body.start + len);
        let Some(address) = address.checked_mul(self.unit) else {
            return self.findings.error(Some(address_at), Problem::OutOfSpace);
        };
        if record.kind == b'8' {
            self.ended = true;
            self.entry = Some(Entry::Linear(address));
            if !data.is_empty() {
                let problem = Problem::FixedLength {
                    what: "end",
                    wanted: 0,
                    has: data.len() as u64,
                };
                self.findings
                    .error(Some(TextPlace::new(line, data_at)), problem);
            }
        } else if self.builder.push(address, data, line.number).is_err() {
            self.findings.error(Some(address_at), Problem::OutOfSpace);
            self.findings.leave_out_record(line.number, data.len());
        }
    }
}

impl LineReader for TekHexReader<'_> {
    type Record<'t> = TekHexRecord<'t>;

    const MARK: u8 = b'%';

    fn decode<'t>(text: &'t [u8], _: &'t mut Scratch) -> Option<TekHexRecord<'t>> {
        decode(text)
    }

    fn length(ahead: &[u8]) -> Option<usize> {
        whole(ahead)
    }

    fn is_end(record: &TekHexRecord<'_>) -> bool {
        record.kind == b'8'
    }

    fn record(
        &mut self,
        line: &TextLine<'_>,
        record: &TekHexRecord<'_>,
        text: &Range<usize>,
    ) -> bool {
        self.take(line, record, text);
        self.ended
    }

    fn explain(line: &TextLine<'_>, text: Range<usize>) -> (Range<usize>, Problem) {
        explain(line, text)
    }

    fn fields(&self, record: &[u8]) -> Vec<RecordField> {
        let mut fields = Vec::new();
        if record.len() > HEAD && record.len() <= 1 + LONGEST {
            fields.push(RecordField::length(
                1..3,
                format!("{:02X}", record.len() - 1),
            ));
        }
        if let Some(next) = self.builder.next_address() {
            if let Some((_, len)) = record.get(1 + HEAD..).and_then(address_of) {
                let (next, digits) = (next / self.unit, len - 1);
                let at = 2 + HEAD..2 + HEAD + digits;
                fields.push(RecordField::address(at, format!("{next:0digits$X}")));
            }
        }
        if let Some(kind) = record.get(3).filter(|k| !matches!(k, b'3' | b'6' | b'8')) {
            if kind.is_ascii_alphanumeric() {
                fields.push(RecordField::kind(3..4, "6", "there is no type in it"));
            }
        }
        fields
    }

    #[cold]
    fn lost(&mut self, line: &TextLine<'_>, _: usize, record: &[u8]) {
        if self.findings.is_salvage() {
            let covers = self.covered_by(record);
            self.findings.facts.damaged_line(line.number, covers);
        }
    }

    fn findings(&mut self) -> &mut Findings {
        self.findings
    }
}

impl Sealed for TekHex {}

impl Format for TekHex {
    fn meta(&self) -> &'static Metadata {
        &META
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        record::likeness::<TekHexReader>(head, |_| false)
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let unit = address::unit(how, findings);
        let mut reader = TekHexReader {
            findings,
            builder: Builder::new(Source::File(input.name().clone())),
            unit,
            entry: None,
            any: false,
            ended: false,
        };
        let ended = record::read_lines(&mut reader, input)?;
        if !ended && reader.any {
            reader
                .findings
                .suspect(None, Problem::NoEnd { example: END });
        } else if !ended {
            reader.findings.error(None, Problem::NoData);
        }
        Ok(layout::finished(
            reader.builder,
            how.clash,
            reader.findings,
            |image| image.entry = reader.entry,
        ))
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let count = Counting::new(image, how)?;
        let last = count.last(image);
        address::check_limit(how.address, last)?;
        let digits = address::digits(how.address).unwrap_or_else(|| digits_for(last));
        let most = (LONGEST - HEAD - 1 - digits) / 2;
        let width = count.width(how.width, META.name, 16, most as u16)?;
        let entry = match how.entry_of(image) {
            Some(entry) => count.entry(entry)?.address(),
            None => 0,
        };
        if let Some(limit) = address::limit(how.address).filter(|limit| entry > *limit) {
            return Err(WriteError::EntryTooLarge {
                form: address::form_name(how.address),
                entry,
                limit,
            });
        }
        let mut text = HexText::new();
        let mut body = Vec::new();
        for span in image.spans() {
            let mut address = span.start() / count.unit;
            for data in span.bytes().chunks(width) {
                put(&mut text, b'6', (address, digits), data, &mut body);
                text.plain(how.line_end());
                text.pour(out, false)?;
                address += data.len() as u64 / count.unit;
            }
        }
        put(&mut text, b'8', (entry, digits_for(entry)), &[], &mut body);
        text.plain(how.line_end());
        text.pour(out, true)?;
        Ok(Written::default())
    }
}

/// Hex digits that a number needs, at least 1.
fn digits_for(number: u64) -> usize {
    (16 - number.leading_zeros() as usize / 4).max(1)
}

fn hex_pair(byte: u8) -> [u8; 2] {
    const DIGITS: &[u8; 16] = b"0123456789ABCDEF";
    [byte >> 4, byte & 0xF].map(|d| DIGITS[usize::from(d)])
}

/// One record without its line end; `body` is a buffer to work in.
fn put(
    text: &mut HexText,
    kind: u8,
    (address, digits): (u64, usize),
    data: &[u8],
    body: &mut Vec<u8>,
) {
    body.clear();
    let count = digits % 16;
    // Writing to a Vec can't fail.
    let _ = write!(body, "{count:X}{address:0digits$X}");
    body.extend(data.iter().flat_map(|b| hex_pair(*b)));
    // At most 255: the width was checked.
    let length = (HEAD + body.len()) as u8;
    let [high, low] = hex_pair(length);
    let head = [high, low, kind];
    let sum = sum(&head).unwrap_or(0).wrapping_add(sum(body).unwrap_or(0));
    text.plain(b"%");
    text.plain(&head);
    text.hex(&[sum]);
    text.plain(body);
}

#[cfg(test)]
mod tests;
