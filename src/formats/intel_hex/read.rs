//! Reading Intel HEX.

use std::io;
use std::ops::Range;

use super::form::IntelHexForm;
use crate::formats::address;
use crate::formats::explain::RecordField;
use crate::formats::findings::Findings;
use crate::formats::hex::{self, SCRATCH, Scratch};
use crate::formats::input::Input;
use crate::formats::layout;
use crate::formats::likeness::{Head, Likeness};
use crate::formats::line::TextLine;
use crate::formats::options::ReadOptions;
use crate::formats::place::TextPlace;
use crate::formats::problem::Problem;
use crate::formats::record::{self, LineReader};
use crate::image::{AddressRange, Builder, Entry, Image, OutOfSpace, Source};

/// Hex digits of a record without data: count, offset, type, checksum.
const LEAST_DIGITS: usize = 10;
/// Characters of the longest record, mark included: 255 data bytes.
const LONGEST: usize = 1 + LEAST_DIGITS + 2 * 255;
const END: &str = ":00000001FF";

/// A record whose checksum and length are right.
#[derive(Clone, Copy)]
struct IntelHexRecord<'a> {
    offset: u16,
    kind: u8,
    data: &'a [u8],
}

/// The fast and only way from text to record; `None` leaves it to [`explain`] to say why.
#[inline]
fn decode<'s>(text: &[u8], scratch: &'s mut Scratch) -> Option<IntelHexRecord<'s>> {
    let (b':', digits) = text.split_first()? else {
        return None;
    };
    let (bytes, sum) = hex::decode_and_sum(digits, scratch)?;
    let &[count, high, low, kind, ..] = bytes else {
        return None;
    };
    let data = bytes.get(4..bytes.len() - 1)?;
    (data.len() == usize::from(count) && sum == 0).then_some(IntelHexRecord {
        offset: u16::from_be_bytes([high, low]),
        kind,
        data,
    })
}

/// Length of the line at the start of `ahead`, from its length field; a wrong one shows when the line is decoded.
#[inline]
fn line_length(ahead: &[u8]) -> Option<usize> {
    let count = hex::pair(*ahead.get(1)?, *ahead.get(2)?)?;
    Some(1 + LEAST_DIGITS + 2 * usize::from(count))
}

/// Why `line.bytes[text]` is not a record: the characters meant, and the problem.
fn explain(line: &TextLine<'_>, text: Range<usize>) -> (Range<usize>, Problem) {
    if line.length > LONGEST as u64 && text.len() > LONGEST {
        let problem = Problem::LongLine {
            length: line.length,
            most: LONGEST as u64,
        };
        return (text.start + LONGEST..text.end, problem);
    }
    if line.bytes[text.start] != b':' {
        return (
            text.start..text.start + 1,
            Problem::NoMark { expected: ':' },
        );
    }
    let digits = text.start + 1..text.end;
    if let Some(bad) = record::bad_digits(line, digits.clone(), LEAST_DIGITS) {
        return bad;
    }
    let mut scratch: Scratch = [0; SCRATCH];
    let bytes = hex::decode(&line.bytes[digits.clone()], &mut scratch).unwrap_or(&[]);
    let has = bytes.len().saturating_sub(LEAST_DIGITS / 2);
    match bytes.first() {
        Some(&says) if usize::from(says) != has => (
            digits.start..digits.start + 2,
            Problem::Length {
                says: says.into(),
                has: has as u64,
            },
        ),
        _ => {
            let (sum, body) = bytes.split_last().unwrap_or((&0, &[]));
            let problem = Problem::Checksum {
                says: (*sum).into(),
                gives: hex::byte_sum(body).wrapping_neg().into(),
                digits: 2,
            };
            (digits.end - 2..digits.end, problem)
        }
    }
}

/// What an offset is added to.
#[derive(Clone, Copy)]
enum RecordBase {
    /// After an 04 record, and by default: addresses carry into the upper half, and wrap at 4 G.
    Linear(u64),
    /// After an 02 record: offsets wrap inside the segment's 64 K.
    Segment(u64),
    /// Salvage, after a damaged record that may have been one of these.
    Unknown,
}

impl RecordBase {
    /// Address of an offset, and how many units follow from there without a jump.
    fn place(self, offset: u16) -> (u64, u64) {
        let offset = u64::from(offset);
        match self {
            RecordBase::Linear(base) => {
                let address = (base + offset) & 0xFFFF_FFFF;
                (address, 0x1_0000_0000 - address)
            }
            RecordBase::Segment(base) => (base + offset, 0x1_0000 - offset),
            // No data has a certain place.
            RecordBase::Unknown => (0, 0),
        }
    }

    /// The offset that names `address`.
    fn offset(self, address: u64) -> Option<u16> {
        match self {
            RecordBase::Linear(base) | RecordBase::Segment(base) => address
                .checked_sub(base)
                .and_then(|offset| u16::try_from(offset).ok()),
            RecordBase::Unknown => None,
        }
    }
}

/// Salvage: whether a damaged record may have been an 02 or 04 record, so that the base is no longer certain.
///
/// A base record has 15 characters, length 02 and type 02 or 04. A record more than two characters longer was one only if
/// its length and its type are both damaged. A shorter one is data only when everything is in place except
/// one digit of data, offset or checksum.
fn may_be_base(text: &[u8]) -> bool {
    const BASE: usize = 1 + LEAST_DIGITS + 2 * 2;
    let field = |at: Range<usize>| match text.get(at) {
        Some(&[high, low]) => hex::pair(high, low),
        _ => None,
    };
    let length = field(1..3);
    let no_base = length.is_some_and(|n| n != 2);
    let is_data = field(7..9) == Some(0);
    if text.len() > BASE + 2 {
        let odd = text.iter().filter(|b| !b.is_ascii_hexdigit()).count();
        let is_comment = text[0] != b':' && odd > 3;
        return !(no_base || is_data || is_comment);
    }
    let whole = length.map(|n| 1 + LEAST_DIGITS + 2 * usize::from(n));
    !(no_base && is_data && whole == Some(text.len()))
}

/// Where a base was lost, and what had to be left out since then.
struct LostBase {
    place: TextPlace,
    records: u64,
    last: u64,
}

/// The entry point as a byte address, for files whose addresses count units of several bytes.
fn in_bytes(entry: Entry, unit: u64) -> Entry {
    match unit {
        1 => entry,
        _ => Entry::Linear(entry.address() * unit),
    }
}

struct IntelHexReader<'f> {
    findings: &'f mut Findings,
    builder: Builder,
    base: RecordBase,
    unit: u64,
    entry: Option<Entry>,
    /// The data record read last was empty; with its place.
    empty_record: Option<(TextPlace, u16)>,
    lost: Option<LostBase>,
    /// Whether records of the 16-bit segment kinds (02, 03) and of the 32-bit kinds (04, 05) came.
    kinds: [bool; 2],
    any: bool,
    ended: bool,
}

impl IntelHexReader<'_> {
    /// The addresses a damaged record would cover, where its own digits are plausible.
    fn covered_by(&self, text: &[u8]) -> Option<AddressRange> {
        let field = |at: Range<usize>| {
            let mut scratch: Scratch = [0; SCRATCH];
            hex::decode(text.get(at)?, &mut scratch).map(hex::big_endian)
        };
        let (length, offset) = (field(1..3)?, field(3..7)? as u16);
        let whole = 1 + LEAST_DIGITS + 2 * length as usize == text.len();
        let goes_on = self.next_offset() == Some(offset);
        if field(7..9)? != 0 || length == 0 || !(whole || goes_on) {
            return None;
        }
        let (address, room) = self.base.place(offset);
        AddressRange::from_len(address * self.unit, length.min(room * self.unit))
    }

    /// The offset of a record that would continue where the last one ended.
    fn next_offset(&self) -> Option<u16> {
        self.base.offset(self.builder.next_address()? / self.unit)
    }

    /// The base is certain again, or the file ends: says what was left out in between.
    fn found(&mut self) {
        if let Some(LostBase {
            place,
            records: records @ 1..,
            last,
        }) = self.lost.take()
        {
            self.findings
                .error(Some(place), Problem::NoBase { records, last });
        }
    }

    /// Each byte's address is worked out separately, so one record can be in two places.
    fn data(&mut self, record: &IntelHexRecord<'_>, line: u64) -> Result<(), OutOfSpace> {
        let (address, room) = self.base.place(record.offset);
        let (address, room) = (address * self.unit, room * self.unit);
        if record.data.len() as u64 > room {
            return self.wrapping_data(address, record.data.split_at(room as usize), line);
        }
        self.builder.push(address, record.data, line)
    }

    #[cold]
    fn wrapping_data(
        &mut self,
        address: u64,
        (before, behind): (&[u8], &[u8]),
        line: u64,
    ) -> Result<(), OutOfSpace> {
        let start = match self.base {
            RecordBase::Linear(_) => 0,
            RecordBase::Segment(base) => base,
            RecordBase::Unknown => {
                if let Some(lost) = &mut self.lost {
                    lost.records += 1;
                    lost.last = line;
                }
                let facts = &mut self.findings.facts;
                facts.left_out_records += 1;
                facts.left_out_bytes += behind.len() as u64;
                return Ok(());
            }
        };
        self.builder.push(address, before, line)?;
        self.builder.push(start * self.unit, behind, line)
    }

    #[inline(never)]
    fn base_or_start(
        &mut self,
        line: &TextLine<'_>,
        record: &IntelHexRecord<'_>,
        text: &Range<usize>,
    ) {
        let what = match record.kind {
            1 => "01 (end of file)",
            2 => "02 (segment address)",
            3 => "03 (start segment address)",
            4 => "04 (linear address)",
            5 => "05 (start linear address)",
            _ => {
                let place = TextPlace::new(line, text.start + 7..text.start + 9);
                let known = "00 to 05";
                return self
                    .findings
                    .error(Some(place), Problem::UnknownType { known });
            }
        };
        let wanted = match record.kind {
            1 => 0,
            2 | 4 => 2,
            _ => 4,
        };
        if record.data.len() != wanted {
            let place = TextPlace::new(line, text.start + 1..text.start + 3);
            let problem = Problem::FixedLength {
                what,
                wanted: wanted as u64,
                has: record.data.len() as u64,
            };
            self.findings.error(Some(place), problem);
            if self.findings.is_salvage() {
                self.lost(line, text.start, &line.bytes[text.clone()]);
            }
            return;
        }
        if record.offset != 0 {
            let place = TextPlace::new(line, text.start + 3..text.start + 7);
            if record.kind == 1 {
                let address = u64::from(record.offset);
                self.findings
                    .odd(Some(place), Problem::EndWithAddress { address });
                self.start(line, text, Entry::Linear(address));
            } else {
                self.findings
                    .odd(Some(place), Problem::AddressNotZero { what });
            }
        }
        let value = hex::big_endian(record.data);
        self.findings.facts.count(what);
        match record.kind {
            2 | 3 => self.kinds[0] = true,
            4 | 5 => self.kinds[1] = true,
            _ => {}
        }
        match record.kind {
            1 => self.ended = true,
            2 | 4 => {
                self.found();
                self.base = match record.kind {
                    2 => RecordBase::Segment(value << 4),
                    _ => RecordBase::Linear(value << 16),
                };
            }
            3 => {
                let entry = Entry::Segmented {
                    cs: (value >> 16) as u16,
                    ip: value as u16,
                };
                self.start(line, text, entry);
            }
            5 => self.start(line, text, Entry::Linear(value)),
            _ => {}
        }
    }

    fn start(&mut self, line: &TextLine<'_>, text: &Range<usize>, entry: Entry) {
        let entry = in_bytes(entry, self.unit);
        match self.entry {
            Some(kept) if kept.address() != entry.address() => {
                let problem = Problem::SecondEntry {
                    kept: kept.address(),
                    other: entry.address(),
                };
                self.findings
                    .odd(Some(TextPlace::new(line, text.clone())), problem);
            }
            Some(_) => {}
            None => self.entry = Some(entry),
        }
    }
}

impl LineReader for IntelHexReader<'_> {
    type Record<'t> = IntelHexRecord<'t>;

    const MARK: u8 = b':';

    #[inline(always)]
    fn decode<'t>(text: &'t [u8], scratch: &'t mut Scratch) -> Option<IntelHexRecord<'t>> {
        decode(text, scratch)
    }

    #[inline(always)]
    fn length(ahead: &[u8]) -> Option<usize> {
        line_length(ahead)
    }

    fn is_end(record: &IntelHexRecord<'_>) -> bool {
        record.kind == 1
    }

    #[inline(always)]
    fn plain(&mut self, record: &IntelHexRecord<'_>, line: u64) -> bool {
        if record.kind != 0 || record.data.is_empty() || self.findings.is_strict() {
            return false;
        }
        let (address, room) = self.base.place(record.offset);
        let (address, room) = (address * self.unit, room * self.unit);
        if record.data.len() as u64 > room || self.builder.push(address, record.data, line).is_err()
        {
            return false;
        }
        self.any = true;
        self.empty_record = None;
        true
    }

    fn record(
        &mut self,
        line: &TextLine<'_>,
        record: &IntelHexRecord<'_>,
        text: &Range<usize>,
    ) -> bool {
        self.any = true;
        self.empty_record = None;
        if self.findings.is_strict() {
            record::check_case(line, self.findings);
        }
        if record.kind != 0 {
            self.base_or_start(line, record, text);
        } else if record.data.is_empty() {
            let place = TextPlace::new(line, text.clone());
            self.empty_record = Some((place, record.offset));
        } else if self.data(record, line.number).is_err() {
            let place = TextPlace::new(line, text.start + 3..text.start + 7);
            self.findings.error(Some(place), Problem::OutOfSpace);
        }
        self.ended
    }

    fn explain(line: &TextLine<'_>, text: Range<usize>) -> (Range<usize>, Problem) {
        explain(line, text)
    }

    fn fields(&self, record: &[u8]) -> Vec<RecordField> {
        let mut fields = Vec::new();
        if record.len() > LEAST_DIGITS && record.len() % 2 == 1 {
            let data = (record.len() - 1 - LEAST_DIGITS) / 2;
            fields.push(RecordField::length(1..3, format!("{data:02X}")));
        }
        if let Some(offset) = self.next_offset() {
            fields.push(RecordField::address(3..7, format!("{offset:04X}")));
        }
        if let Some(6..) = record.get(7..9).and_then(|k| hex::pair(k[0], k[1])) {
            fields.push(RecordField::kind(7..9, "00", "there is no type in it"));
        }
        fields
    }

    fn lost(&mut self, line: &TextLine<'_>, at: usize, text: &[u8]) {
        let covers = self.covered_by(text);
        self.findings.facts.damaged_line(line.number, covers);
        if may_be_base(text) && self.lost.is_none() {
            self.base = RecordBase::Unknown;
            self.lost = Some(LostBase {
                place: TextPlace::new(line, at..at + text.len()),
                records: 0,
                last: line.number,
            });
        }
    }

    fn findings(&mut self) -> &mut Findings {
        self.findings
    }
}

/// How much the beginning of a file looks like these records.
pub(super) fn likeness(head: &Head<'_>) -> Likeness {
    record::likeness::<IntelHexReader>(head, |line| {
        line.len() > LEAST_DIGITS
            && line[0] == b':'
            && line[1..=LEAST_DIGITS - 2].iter().all(u8::is_ascii_hexdigit)
    })
}

/// Reads one file.
pub(super) fn read(
    input: &mut Input<'_>,
    how: &ReadOptions,
    findings: &mut Findings,
) -> io::Result<Image> {
    let unit = address::unit(how, findings);
    let mut reader = IntelHexReader {
        builder: Builder::new(Source::File(input.name().clone())),
        findings,
        base: RecordBase::Linear(0),
        unit,
        entry: None,
        empty_record: None,
        lost: None,
        kinds: [false; 2],
        any: false,
        ended: false,
    };
    if !record::read_lines(&mut reader, input)? {
        match reader.empty_record.take() {
            Some((place, offset)) => {
                reader.findings.odd(Some(place), Problem::EmptyEnd);
                if offset != 0 && reader.entry.is_none() {
                    let entry = Entry::Linear(offset.into());
                    reader.entry = Some(in_bytes(entry, reader.unit));
                }
            }
            None if reader.any => {
                reader
                    .findings
                    .suspect(None, Problem::NoEnd { example: END });
            }
            None => reader.findings.error(None, Problem::NoData),
        }
    }
    reader.found();
    reader.findings.facts.form = Some(match reader.kinds {
        [false, false] => IntelHexForm::I8.name(),
        [true, false] => IntelHexForm::I16.name(),
        [false, true] => IntelHexForm::I32.name(),
        [true, true] => "I16HEX and I32HEX mixed",
    });
    Ok(layout::finished(
        reader.builder,
        how.clash,
        reader.findings,
        |image| image.entry = reader.entry,
    ))
}

#[cfg(test)]
mod tests;
