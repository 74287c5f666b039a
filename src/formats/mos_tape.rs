//! MOS Technology paper tape records.
//!
//! Rules: MOS Technology, *KIM-1 Microcomputer Module User Manual*, August 1976, appendix on the paper tape format.
//! What is before a `;` is ignored, so a record may begin anywhere in a line; XOFF (0x13) may end the file.

use std::io::{self, Write};
use std::ops::Range;

// For a look at a beginning, as in `likeness`.
use memchr::arch::all::memchr::One;

use super::address::{self, Counting};
use super::explain::{RecordField, RecordRules};
use super::findings::Findings;
use super::format::{Format, Sealed};
use super::hex::{self, HexText, SCRATCH, Scratch};
use super::input::Input;
use super::layout;
use super::likeness::{Head, Likeness};
use super::line::{LONGEST_LINE, TextLine};
use super::meta::{Metadata, ReadOption, WriteOption};
use super::options::{AddressForm, ReadOptions, WriteOptions};
use super::place::TextPlace;
use super::problem::Problem;
use super::record;
use super::written::{WriteError, Written};
use crate::image::{AddressRange, Builder, Image, Source};

/// The format `mos-tape`.
pub struct MosTape;

/// What is known of `mos-tape` files.
const META: Metadata = Metadata {
    name: "mos-tape",
    about: "MOS Technology paper tape records, 16-bit addresses and sums",
    rules: "MOS Technology, KIM-1 Microcomputer Module User Manual, August 1976, appendix on the paper tape format",
    extensions: &["ptp"],
    last_address: LAST,
    reading: &[ReadOption::Unit],
    writing: &[
        WriteOption::Address,
        WriteOption::Width,
        WriteOption::Crlf,
        WriteOption::Unit,
    ],
    ..Metadata::USUAL
};

/// Hex digits of the end record: 00, records, checksum.
const END_DIGITS: usize = 10;
/// Hex digits of a data record around its data: count, address, checksum.
const FRAME_DIGITS: usize = 10;
/// Last address and largest record count: 16 bits.
const LAST: u64 = 0xFFFF;
/// Data bytes in a record of the manual's computer.
const USUAL_WIDTH: u16 = 24;

/// A record whose checksum is right. Without data it is the end record, and `address` the number of records.
struct TapeRecord<'a> {
    address: u16,
    data: &'a [u8],
}

/// Hex digits after the `;` of a record that begins with this count.
fn digits_of(count: u8) -> usize {
    FRAME_DIGITS + 2 * usize::from(count)
}

/// Length of a record, `;` included, by its count.
fn whole(text: &[u8]) -> Option<usize> {
    let count = hex::pair(*text.get(1)?, *text.get(2)?)?;
    Some(1 + digits_of(count))
}

fn sum16(bytes: &[u8]) -> u16 {
    bytes
        .iter()
        .fold(0, |sum, b| sum.wrapping_add(u16::from(*b)))
}

/// The record at the start of `text`, which begins with its `;`, and how many characters it takes.
fn decode<'s>(text: &[u8], scratch: &'s mut Scratch) -> Option<(TapeRecord<'s>, usize)> {
    let (b';', digits) = text.split_first()? else {
        return None;
    };
    let mut count: Scratch = [0; SCRATCH];
    let &[count] = hex::decode(digits.get(..2)?, &mut count)? else {
        return None;
    };
    let len = digits_of(count);
    let bytes = hex::decode(digits.get(..len)?, scratch)?;
    let (body, sum) = bytes.split_at_checked(bytes.len().checked_sub(2)?)?;
    let &[_, high, low, ref data @ ..] = body else {
        return None;
    };
    (sum == sum16(body).to_be_bytes()).then_some((
        TapeRecord {
            address: u16::from_be_bytes([high, low]),
            data,
        },
        1 + len,
    ))
}

/// Why the text from the `;` at `from` on is not a record: the characters meant, and the problem.
fn explain(line: &TextLine<'_>, from: usize) -> (Range<usize>, Problem) {
    let text = &line.bytes[from + 1..];
    // What comes after a record is ignored, so only its own characters count.
    let hex = text.iter().take_while(|b| b.is_ascii_hexdigit()).count();
    let end = text
        .iter()
        .position(|b| b.is_ascii_whitespace() || matches!(b, b';' | 0 | 0x13 | 0x1A));
    let digits = from + 1..end.map_or(line.bytes.len(), |n| from + 1 + n);
    let count = match text.get(..2) {
        Some(&[h, l]) => super::words::digit(h).zip(super::words::digit(l)),
        _ => None,
    };
    let wanted = count.map_or(END_DIGITS, |(h, l)| digits_of(h << 4 | l));
    if hex < wanted.min(digits.len()) {
        let all = record::bad_digits(line, digits.clone(), 0);
        return all.unwrap_or((digits, Problem::NotHex));
    }
    if digits.len() < END_DIGITS {
        let problem = Problem::TooShort {
            least: END_DIGITS,
            digits: digits.len(),
        };
        return (digits, problem);
    }
    if digits.len() % 2 != 0 && digits.len() < wanted {
        let problem = Problem::OddDigits {
            digits: digits.len(),
        };
        return (digits.end - 1..digits.end, problem);
    }
    if digits.len() != wanted {
        let problem = Problem::Length {
            says: (wanted - FRAME_DIGITS) as u64 / 2,
            has: (digits.len() - FRAME_DIGITS) as u64 / 2,
        };
        return (digits.start..digits.start + 2, problem);
    }
    let mut scratch: Scratch = [0; SCRATCH];
    let bytes = hex::decode(&line.bytes[digits.clone()], &mut scratch).unwrap_or(&[]);
    let (body, sum) = bytes.split_at(bytes.len().saturating_sub(2));
    let problem = Problem::Checksum {
        says: hex::big_endian(sum) as u32,
        gives: sum16(body).into(),
        digits: 4,
    };
    (digits.end - 4..digits.end, problem)
}

/// Whether a byte between records is ignored silently: blanks, NULs, the marks that end a file.
fn is_gap(byte: u8) -> bool {
    byte.is_ascii_whitespace() || matches!(byte, 0 | 0x13 | 0x1A)
}

struct MosTapeReader<'f> {
    findings: &'f mut Findings,
    builder: Builder,
    unit: u64,
    records: u64,
    any: bool,
    ended: bool,
    /// The first line after the end record; how many lines there are, sound records in them, and end records among these.
    behind: Option<(TextPlace, (u64, u64, u64))>,
}

impl MosTapeReader<'_> {
    fn line(&mut self, line: &TextLine<'_>, scratch: &mut Scratch) {
        let mut at = 0;
        while !self.ended {
            let Some(from) = memchr::memchr(b';', &line.bytes[at..]).map(|n| at + n) else {
                break;
            };
            self.outside(line, at..from);
            let Some((record, len)) = decode(&line.bytes[from..], scratch) else {
                self.any = true;
                // Up to the next `;` this is the same broken record.
                at = memchr::memchr(b';', &line.bytes[from + 1..])
                    .map_or(line.bytes.len(), |n| from + 1 + n);
                self.damaged(line, from..at);
                continue;
            };
            at = from + len;
            self.record(line, &record, from..at);
        }
        match self.ended {
            true => self.rest(line, at, scratch),
            false => self.outside(line, at..line.bytes.len()),
        }
        if line.length > line.bytes.len() as u64 {
            let problem = Problem::LongLine {
                length: line.length,
                most: LONGEST_LINE as u64,
            };
            let end = line.bytes.len();
            self.findings
                .error_at(|| TextPlace::new(line, end - 1..end), problem);
        }
    }

    /// Text from a `;` on that is not a sound record.
    #[cold]
    fn damaged(&mut self, line: &TextLine<'_>, text: Range<usize>) {
        let end = line.bytes[text.clone()].iter().rposition(|b| !is_gap(*b));
        let text = text.start..end.map_or(text.end, |n| text.start + n + 1);
        let record = &line.bytes[text.clone()];
        let mut fields = Vec::new();
        if record.len() > FRAME_DIGITS && record.len() % 2 == 1 {
            let data = (record.len() - 1 - FRAME_DIGITS) / 2;
            fields.push(RecordField::length(1..3, format!("{data:02X}")));
        }
        if let Some(next) = self.builder.next_address() {
            fields.push(RecordField::address(
                3..7,
                format!("{:04X}", next / self.unit),
            ));
        }
        let rules = RecordRules {
            mark: b';',
            sound: &|text| {
                decode(text, &mut [0; SCRATCH]).is_some_and(|(_, len)| len == text.len())
            },
            whole: whole(record),
            fields,
        };
        let why = explain(line, text.start);
        self.findings
            .damaged_record(line, text.clone(), why, &rules);
        if self.findings.is_salvage() {
            let covers = self.covered_by(&line.bytes[text]);
            self.findings.facts.damaged_line(line.number, covers);
        }
    }

    /// The addresses a damaged record would cover, where its own digits are plausible.
    fn covered_by(&self, text: &[u8]) -> Option<AddressRange> {
        let mut scratch: Scratch = [0; SCRATCH];
        let head = hex::decode(text.get(1..7)?, &mut scratch)?;
        let (count, address) = (u64::from(head[0]), hex::big_endian(&head[1..]) * self.unit);
        let goes_on = self.builder.next_address() == Some(address);
        (whole(text) == Some(text.len()) || goes_on)
            .then(|| AddressRange::from_len(address, count))
            .flatten()
    }

    /// Text that belongs to no record.
    fn outside(&mut self, line: &TextLine<'_>, text: Range<usize>) {
        let from = line.bytes[text.clone()].iter().position(|b| !is_gap(*b));
        if let Some(from) = from {
            self.findings.warning_at(
                || TextPlace::new(line, text.start + from..text.end),
                Problem::Outside,
            );
        }
    }

    /// Text after the end record.
    fn rest(&mut self, line: &TextLine<'_>, at: usize, scratch: &mut Scratch) {
        let text = &line.bytes[at..];
        let Some(from) = text.iter().position(|b| !is_gap(*b)) else {
            return;
        };
        let (_, (lines, records, ends)) = self
            .behind
            .get_or_insert_with(|| (TextPlace::new(line, at + from..line.bytes.len()), (0, 0, 0)));
        *lines += 1;
        for i in memchr::memchr_iter(b';', text) {
            if let Some((record, _)) = decode(&text[i..], scratch) {
                *records += 1;
                *ends += u64::from(record.data.is_empty());
            }
        }
    }

    fn record(&mut self, line: &TextLine<'_>, record: &TapeRecord<'_>, text: Range<usize>) {
        self.any = true;
        if self.findings.is_strict() {
            let lower = line.bytes[text.clone()]
                .iter()
                .position(u8::is_ascii_lowercase);
            if let Some(i) = lower {
                let what = "a hex digit in lower case";
                let at = text.start + i;
                self.findings.error_at(
                    || TextPlace::new(line, at..at + 1),
                    Problem::Untidy { what },
                );
            }
        }
        if record.data.is_empty() {
            self.ended = true;
            self.findings.facts.count("00 (end)");
            // The count has 16 bits, however many records there are.
            if record.address != self.records as u16 {
                let place = TextPlace::new(line, text.start + 3..text.start + 7);
                let problem = Problem::Count {
                    says: record.address.into(),
                    has: self.records,
                };
                self.findings.error(Some(place), problem);
            }
            return;
        }
        self.records += 1;
        let address = u64::from(record.address) * self.unit;
        let room = (LAST + 1) * self.unit - address;
        let last = match record.data.len() as u64 > room {
            true => Err(Problem::PastLast { last: LAST }),
            false => {
                let pushed = self.builder.push(address, record.data, line.number);
                pushed.map_err(|_| Problem::OutOfSpace)
            }
        };
        if let Err(problem) = last {
            // The first digit that has no address.
            let from = match problem {
                Problem::PastLast { .. } => text.start + 7 + 2 * room as usize,
                _ => text.start + 3,
            };
            self.findings
                .error_at(|| TextPlace::new(line, from..text.end - 4), problem);
            self.findings
                .leave_out_record(line.number, record.data.len());
        }
    }
}

impl Sealed for MosTape {}

impl Format for MosTape {
    fn meta(&self) -> &'static Metadata {
        &META
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        let mut scratch: Scratch = [0; SCRATCH];
        for from in One::new(b';').iter(head.bytes()).take(1000) {
            // A record that is all zeros could be anything.
            match decode(&head.bytes()[from..], &mut scratch) {
                Some((record, _)) if !record.data.is_empty() || record.address != 0 => {
                    return Likeness::Proven;
                }
                _ => {}
            }
        }
        match head.bytes().is_ascii() {
            true => Likeness::Possible,
            false => Likeness::No,
        }
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let mut scratch: Scratch = [0; SCRATCH];
        let unit = address::unit(how, findings);
        let mut reader = MosTapeReader {
            findings,
            builder: Builder::new(Source::File(input.name().clone())),
            unit,
            records: 0,
            any: false,
            ended: false,
            behind: None,
        };
        while let Some(line) = input.next_line()? {
            reader.line(&line, &mut scratch);
        }
        if let Some((place, counts)) = reader.behind.take() {
            record::after_end(reader.findings, Some(place), counts);
        }
        if !reader.any {
            reader.findings.error(None, Problem::NoData);
        } else if !reader.ended {
            let example = ";00 and the number of records";
            reader.findings.suspect(None, Problem::NoEnd { example });
        }
        Ok(layout::finished(
            reader.builder,
            how.clash,
            reader.findings,
            |_| {},
        ))
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let bits = match how.address {
            AddressForm::Smallest | AddressForm::Bits16 => None,
            AddressForm::Bits20 => Some(20),
            AddressForm::Bits24 => Some(24),
            AddressForm::Bits32 => Some(32),
        };
        if let Some(bits) = bits {
            return Err(WriteError::NoSuchForm {
                format: META.name,
                bits,
                has: "16",
            });
        }
        let count = Counting::new(image, how)?;
        let width = count.width(how.width, META.name, USUAL_WIDTH, 255)?;
        let last = count.last(image);
        if last > LAST {
            return Err(WriteError::AddressTooLarge {
                form: META.name,
                last,
                limit: LAST,
                widest: LAST,
            });
        }
        let spans = image.spans().iter();
        let records: u64 = spans.map(|s| s.bytes().len().div_ceil(width) as u64).sum();
        if records > LAST {
            return Err(WriteError::TooManyRecords {
                records,
                most: LAST,
            });
        }
        let mut written = Written::default();
        address::leave_out_entry(image, how, META.name, &mut written);
        let mut text = HexText::new();
        for span in image.spans() {
            let mut address = span.start() / count.unit;
            for data in span.bytes().chunks(width) {
                put(&mut text, address as u16, data, how.line_end());
                text.pour(out, false)?;
                address += data.len() as u64 / count.unit;
            }
        }
        put(&mut text, records as u16, &[], how.line_end());
        text.pour(out, true)?;
        Ok(written)
    }
}

/// One record, `;` to line end; without data, the end record.
fn put(text: &mut HexText, address: u16, data: &[u8], line_end: &[u8]) {
    let [high, low] = address.to_be_bytes();
    // At most 255 by the check on the width.
    let head = [data.len() as u8, high, low];
    let sum = sum16(&head).wrapping_add(sum16(data));
    text.plain(b";");
    text.hex(&head);
    text.hex(data);
    text.hex(&sum.to_be_bytes());
    text.plain(line_end);
}

#[cfg(test)]
mod tests;
