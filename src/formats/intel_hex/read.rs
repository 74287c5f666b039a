//! Reading Intel HEX.

use std::io;
use std::ops::Range;

use super::data::{IntelHexData, IntelHexRecord};
use super::form::IntelHexForm;
use super::place::{RecordBase, header};
use super::trail::{Trail, TrailItem, UnreadPart};
use crate::formats::address;
use crate::formats::explain::RecordField;
use crate::formats::facts::LeftOutLines;
use crate::formats::findings::{Findings, MOST_ERRORS};
use crate::formats::hex::{self, SCRATCH, Scratch};
use crate::formats::in_two;
use crate::formats::input::Input;
use crate::formats::layout;
use crate::formats::likeness::{Head, Likeness};
use crate::formats::line::TextLine;
use crate::formats::options::ReadOptions;
use crate::formats::place::TextPlace;
use crate::formats::problem::Problem;
use crate::formats::record::{self, LineReader};
use crate::image::{AddressRange, Builder, Clash, Entry, Image, Source};

/// Hex digits of a record without data: count, offset, type, checksum.
const LEAST_DIGITS: usize = 10;
/// Characters of the longest record, mark included: 255 data bytes.
const LONGEST: usize = 1 + LEAST_DIGITS + 2 * 255;
pub(super) const SEGMENT: &str = "02 (segment address)";
pub(super) const LINEAR: &str = "04 (linear address)";
const END: &str = ":00000001FF";

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

/// The entry point as a byte address, for files whose addresses count units of several bytes.
fn in_bytes(entry: Entry, unit: u64) -> Entry {
    match unit {
        1 => entry,
        _ => Entry::Linear(entry.address() * unit),
    }
}

pub(super) struct IntelHexReader<'f> {
    pub findings: &'f mut Findings,
    pub data: IntelHexData,
    entry: Option<Entry>,
    /// The data record read last was empty; with its place.
    pub empty_record: Option<(TextPlace, u16)>,
    /// In salvage nothing is placed before all is read.
    pub trail: Option<Trail>,
    /// Whether records of the 16-bit segment kinds (02, 03) and of the 32-bit kinds (04, 05) came.
    pub kinds: [bool; 2],
    pub any: bool,
    ended: bool,
}

impl IntelHexReader<'_> {
    /// The offset of a record that would continue where the last one ended.
    fn next_offset(&self) -> Option<u16> {
        match &self.trail {
            Some(trail) => trail.next_offset(),
            None => self
                .data
                .base
                .offset(self.data.builder.next_address()? / self.data.unit),
        }
    }

    /// Salvage: notes what could not be read; whether the line `counts` as damaged.
    fn damage(&mut self, line: &TextLine<'_>, at: usize, text: &[u8], counts: bool) {
        let next = self.next_offset();
        // Errors beyond those have no place.
        let shown = self.findings.errors() <= MOST_ERRORS as u64;
        let place = shown.then(|| TextPlace::new(line, at..at + text.len()));
        if let Some(trail) = &mut self.trail {
            let damage = UnreadPart::new((line.number, text), (place, counts), header(text), next);
            trail.steps.push(TrailItem::Unread(damage));
        }
    }

    /// Salvage: places what has a certain base, and says what has none. When clashes are settled by the user, they say
    /// nothing of lost base records.
    fn settle(&mut self, is_settled: bool) {
        let Some(trail) = self.trail.take() else {
            return;
        };
        let verdicts = trail.verdicts();
        let mut uncertain = trail.doubled();
        if !is_settled {
            uncertain.extend(trail.disputed(&verdicts));
        }
        let mut verdicts = verdicts.into_iter();
        let mut left_out = None;
        self.data.base = RecordBase::Linear(0);
        // Damages that no record has followed yet; what is left out since the base got lost.
        let mut damage: Option<&UnreadPart> = None;
        let mut lost: Option<(&UnreadPart, LeftOutLines)> = None;
        for (n, step) in trail.steps.iter().enumerate() {
            match step {
                TrailItem::Base(base) => {
                    self.data.base = *base;
                    self.left_out(lost.take());
                    self.uncertain(left_out.take());
                    damage = None;
                }
                TrailItem::Unread(next) => {
                    if next.counts {
                        let certain = lost.is_none();
                        let covers = next.covers.filter(|_| certain).and_then(|(len, offset)| {
                            let (address, room) = self.data.base.place(offset);
                            let len = u64::from(len).min(room * self.data.unit);
                            AddressRange::from_len(address * self.data.unit, len)
                        });
                        self.findings.facts.damaged_line(next.line, covers);
                    }
                    damage.get_or_insert(next);
                }
                TrailItem::Data(record) => {
                    let bytes = &trail.bytes[record.from..record.from + record.len];
                    if let Some(first) = damage.take() {
                        let holds = verdicts.next().unwrap_or(false);
                        if !holds && lost.is_none() {
                            lost = Some((first, LeftOutLines::after(first.line)));
                        }
                    }
                    match &mut lost {
                        Some((_, lines)) => lines.add(record.line, bytes.len() as u64),
                        None if uncertain.contains(&n) => left_out
                            .get_or_insert_with(|| LeftOutLines::after(record.line))
                            .add(record.line, bytes.len() as u64),
                        None => {
                            let placed = IntelHexRecord {
                                offset: record.offset,
                                kind: 0,
                                data: bytes,
                            };
                            if self.data.take(&placed, record.line).is_err() {
                                self.findings.error(None, Problem::OutOfSpace);
                            }
                        }
                    }
                }
            }
        }
        self.left_out(lost);
        self.uncertain(left_out);
    }

    /// Says what was left out until the base was certain again, or the file ended.
    fn left_out(&mut self, lost: Option<(&UnreadPart, LeftOutLines)>) {
        let Some((damage, lines)) = lost else {
            return;
        };
        let (records, last) = (lines.records, lines.last);
        self.findings.error(
            damage.place.as_deref().cloned(),
            Problem::NoBase { records, last },
        );
        self.findings.facts.leave_out(lines);
    }

    /// Says what was left out since the lines themselves disagree.
    fn uncertain(&mut self, lines: Option<LeftOutLines>) {
        if let Some(lines) = lines {
            let (first, last) = (lines.first, lines.last);
            self.findings
                .error(None, Problem::Uncertain { first, last });
            self.findings.facts.leave_out(lines);
        }
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
            2 => SEGMENT,
            3 => "03 (start segment address)",
            4 => LINEAR,
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
                self.data.base = RecordBase::of(record.kind == 2, value);
                if let Some(trail) = &mut self.trail {
                    trail.base(self.data.base);
                }
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
        let entry = in_bytes(entry, self.data.unit);
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
        if self.findings.is_strict() || self.trail.is_some() {
            return false;
        }
        if !self.data.plain(record, line) {
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
        } else if let Some(trail) = &mut self.trail {
            trail.keep(record.offset, record.data, line.number);
        } else if self.data.take(record, line.number).is_err() {
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
        self.damage(line, at, text, true);
    }

    fn unread(&mut self, line: &TextLine<'_>, at: Range<usize>) {
        self.damage(line, at.start, &line.bytes[at], false);
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
        data: IntelHexData {
            builder: Builder::new(Source::File(input.name().clone())),
            base: RecordBase::Linear(0),
            unit,
        },
        trail: findings.is_salvage().then(|| Trail::new(unit as u32)),
        findings,
        entry: None,
        empty_record: None,
        kinds: [false; 2],
        any: false,
        ended: false,
    };
    if !in_two::read_in_two(&mut reader, input)? {
        match reader.empty_record.take() {
            Some((place, offset)) => {
                reader.findings.odd(Some(place), Problem::EmptyEnd);
                if offset != 0 && reader.entry.is_none() {
                    let entry = Entry::Linear(offset.into());
                    reader.entry = Some(in_bytes(entry, reader.data.unit));
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
    reader.settle(matches!(how.clash, Clash::First | Clash::Last));
    reader.findings.facts.form = Some(match reader.kinds {
        [false, false] => IntelHexForm::I8.name(),
        [true, false] => IntelHexForm::I16.name(),
        [false, true] => IntelHexForm::I32.name(),
        [true, true] => "I16HEX and I32HEX mixed",
    });
    Ok(layout::finished(
        reader.data.builder,
        how.clash,
        reader.findings,
        |image| image.entry = reader.entry,
    ))
}
