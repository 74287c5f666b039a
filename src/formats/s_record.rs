//! Motorola S-records.
//!
//! Rules: Motorola, *M68000 Family Programmer's Reference Manual* (M68000PM/AD), Appendix C, S-record output format.
//! S6 is later practice.

use std::io::{self, Write};
use std::ops::Range;

use super::address::{self, Counting};
use super::findings::{Findings, Place, Problem};
use super::input::{Input, Line};
use super::record::{self, HexText, Scratch};
use super::{AddressForm, Format, Head, Likeness, ReadOptions, WriteError, WriteOptions, Written};
use crate::image::{Builder, Entry, Image, Source};

/// The format `s-record`.
pub struct SRecords;

/// Characters of the longest record: `S`, type, and a count of 255 with what it counts.
const LONGEST: usize = 2 + 2 * 256;

/// A record whose checksum and count are right.
struct Record<'a> {
    /// The type digit, `0` to `9`.
    kind: u8,
    address: u32,
    data: &'a [u8],
}

/// Bytes of the address field; `None` for a type digit that is none.
fn address_bytes(kind: u8) -> Option<usize> {
    match kind {
        b'0' | b'1' | b'4' | b'5' | b'9' => Some(2),
        b'2' | b'6' | b'8' => Some(3),
        b'3' | b'7' => Some(4),
        _ => None,
    }
}

/// The fast and only way from text to record; `None` leaves it to [`explain`] to say why.
#[inline]
fn decode<'s>(text: &[u8], scratch: &'s mut Scratch) -> Option<Record<'s>> {
    let &[b'S' | b's', kind, ref digits @ ..] = text else {
        return None;
    };
    let width = address_bytes(kind)?;
    let (bytes, sum) = record::decode_and_sum(digits, scratch)?;
    let (&count, counted) = bytes.split_first()?;
    if counted.len() != usize::from(count) || sum != 0xFF {
        return None;
    }
    Some(Record {
        kind,
        address: record::number(counted.get(..width)?) as u32,
        data: counted.get(width..counted.len() - 1)?,
    })
}

/// Length of the line that begins `ahead`, by its count field; a wrong one is found out when the line is decoded.
#[inline]
fn line_length(ahead: &[u8]) -> Option<usize> {
    let count = record::pair(*ahead.get(2)?, *ahead.get(3)?)?;
    Some(4 + 2 * usize::from(count))
}

/// Why `line.bytes[text]` is no record: the characters meant, and the problem.
fn explain(line: &Line<'_>, text: Range<usize>) -> (Range<usize>, Problem) {
    if line.length > LONGEST as u64 && text.len() > LONGEST {
        let problem = Problem::LongLine {
            length: line.length,
            most: LONGEST as u64,
        };
        return (text.start + LONGEST..text.end, problem);
    }
    if !matches!(line.bytes[text.start], b'S' | b's') {
        return (
            text.start..text.start + 1,
            Problem::NoMark { expected: 'S' },
        );
    }
    let kind = text.start + 1..(text.start + 2).min(text.end);
    let Some(width) = line.bytes.get(kind.start).and_then(|k| address_bytes(*k)) else {
        let known = "S0 to S9";
        return (kind, Problem::UnknownType { known });
    };
    let digits = text.start + 2..text.end;
    // Count, address and checksum.
    if let Some(bad) = record::bad_digits(line, digits.clone(), 2 * (width + 2)) {
        return bad;
    }
    let mut scratch: Scratch = [0; _];
    let bytes = record::decode(&line.bytes[digits.clone()], &mut scratch).unwrap_or(&[]);
    let has = bytes.len().saturating_sub(1) as u64;
    match bytes.first() {
        Some(&says) if u64::from(says) != has => {
            let says = says.into();
            (
                digits.start..digits.start + 2,
                Problem::Length { says, has },
            )
        }
        _ => {
            let (sum, body) = bytes.split_last().unwrap_or((&0, &[]));
            let problem = Problem::Checksum {
                says: (*sum).into(),
                gives: (!record::sum(body)).into(),
                digits: 2,
            };
            (digits.end - 2..digits.end, problem)
        }
    }
}

struct Reader<'f> {
    findings: &'f mut Findings,
    builder: Builder,
    unit: u64,
    header: Option<Vec<u8>>,
    entry: Option<Entry>,
    /// Kind of the first data record.
    data_kind: Option<u8>,
    data_records: u64,
    any: bool,
    ended: bool,
}

impl Reader<'_> {
    /// A line whose end had to be looked for: untidy, damaged, or the last of a window.
    #[inline(never)]
    fn other_line(&mut self, line: &Line<'_>, scratch: &mut Scratch) {
        let text = record::tidy(line, self.findings);
        if text.is_empty() {
            return;
        }
        match decode(&line.bytes[text.clone()], scratch) {
            Some(record) => self.record(line, &record, &text),
            None => {
                let (mark, problem) = explain(line, text);
                self.findings.error(Some(Place::new(line, mark)), problem);
            }
        }
    }

    #[inline(always)]
    fn record(&mut self, line: &Line<'_>, record: &Record<'_>, text: &Range<usize>) {
        if self.findings.is_strict() {
            record::check_case(line, self.findings);
        }
        let first = !std::mem::replace(&mut self.any, true);
        if !matches!(record.kind, b'1'..=b'3') {
            return self.other_kind(line, record, text, first);
        }
        self.data_records += 1;
        let expected = *self.data_kind.get_or_insert(record.kind);
        if expected != record.kind {
            self.mixed_kinds(line, text, expected, record.kind);
        }
        let address = u64::from(record.address) * self.unit;
        let pushed = self.builder.push(address, record.data, line.number);
        if pushed.is_err() {
            let place = Place::new(line, text.clone());
            self.findings.error(Some(place), Problem::OutOfSpace);
        }
    }

    #[cold]
    fn mixed_kinds(&mut self, line: &Line<'_>, text: &Range<usize>, first: u8, here: u8) {
        let place = Place::new(line, text.start + 1..text.start + 2);
        let problem = Problem::MixedKinds {
            first: first.into(),
            here: here.into(),
        };
        self.findings.odd(Some(place), problem);
    }

    /// Everything but data.
    #[inline(never)]
    fn other_kind(
        &mut self,
        line: &Line<'_>,
        record: &Record<'_>,
        text: &Range<usize>,
        first: bool,
    ) {
        let kind_at = text.start + 1..text.start + 2;
        match record.kind {
            b'0' => {
                if !first {
                    let place = Place::new(line, kind_at);
                    self.findings.odd(Some(place), Problem::LateHeader);
                }
                if record.address != 0 {
                    let place = Place::new(line, text.start + 4..text.start + 8);
                    let what = "S0 (header)";
                    self.findings
                        .petty(Some(place), Problem::AddressNotZero { what });
                }
                if !record.data.is_empty() && self.header.is_none() {
                    self.header = Some(record.data.to_vec());
                }
            }
            b'4' => {
                let what = "S4";
                let place = Place::new(line, kind_at);
                self.findings.odd(Some(place), Problem::Reserved { what });
            }
            b'5' | b'6' => {
                self.no_data(line, record, text);
                let says = u64::from(record.address);
                if says != self.data_records {
                    let digits = text.start + 4..text.end - 2;
                    let has = self.data_records;
                    let place = Place::new(line, digits);
                    self.findings
                        .error(Some(place), Problem::Count { says, has });
                }
            }
            _ => {
                self.no_data(line, record, text);
                self.ended = true;
                self.entry = Some(Entry::Linear(u64::from(record.address) * self.unit));
                if let Some(kind) = self.data_kind {
                    // S1 ends with S9, S2 with S8, S3 with S7.
                    let wants = b'0' + 10 - (kind - b'0');
                    if wants != record.kind {
                        let problem = Problem::EndKind {
                            has: record.kind.into(),
                            wants: wants.into(),
                        };
                        self.findings.odd(Some(Place::new(line, kind_at)), problem);
                    }
                }
            }
        }
    }

    fn no_data(&mut self, line: &Line<'_>, record: &Record<'_>, text: &Range<usize>) {
        if !record.data.is_empty() {
            let what = match record.kind {
                b'5' | b'6' => "count",
                _ => "end",
            };
            let problem = Problem::FixedLength {
                what,
                wanted: 0,
                has: record.data.len() as u64,
            };
            let place = Place::new(line, text.start + 2..text.start + 4);
            self.findings.error(Some(place), problem);
        }
    }
}

impl Format for SRecords {
    fn name(&self) -> &'static str {
        "s-record"
    }

    fn about(&self) -> &'static str {
        "Motorola S-records: S1, S2 and S3 data"
    }

    fn rules(&self) -> &'static str {
        "Motorola, M68000 Family Programmer's Reference Manual (M68000PM/AD), Appendix C"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["s19", "s28", "s37", "srec", "sre", "mot"]
    }

    fn has_addresses(&self) -> bool {
        true
    }

    fn heeds_reading(&self) -> &'static [&'static str] {
        &["unit"]
    }

    fn heeds_writing(&self) -> &'static [&'static str] {
        &["address", "width", "header", "line-end", "count", "unit"]
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        let mut scratch: Scratch = [0; _];
        let mut likely = false;
        for line in head.lines().take(200) {
            if decode(line, &mut scratch).is_some() {
                return Likeness::Proven;
            }
            likely |= line.len() >= 10
                && line[0] == b'S'
                && line[1..10].iter().all(u8::is_ascii_hexdigit);
        }
        match (likely, head.bytes.is_ascii()) {
            (true, _) => Likeness::Likely,
            (_, true) => Likeness::Possible,
            _ => Likeness::No,
        }
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let mut scratch: Scratch = [0; _];
        let unit = address::unit(how, findings);
        let mut reader = Reader {
            builder: Builder::new(Source::File(input.name().clone())),
            findings,
            unit,
            header: None,
            entry: None,
            data_kind: None,
            data_records: 0,
            any: false,
            ended: false,
        };
        loop {
            let length = line_length(input.ahead()).unwrap_or(usize::MAX);
            if let Some((line, record)) = input.next_if(length, |text| decode(text, &mut scratch)) {
                reader.record(&line, &record, &(0..length));
            } else {
                let Some(line) = input.next_line()? else {
                    break;
                };
                reader.other_line(&line, &mut scratch);
            }
            if reader.ended {
                break;
            }
        }
        if reader.ended {
            record::pass_over_rest(input, reader.findings, |text, scratch| {
                decode(text, scratch).is_some()
            })?;
        } else if reader.any {
            let example = match reader.data_kind {
                Some(b'3') => "S70500000000FA",
                Some(b'2') => "S804000000FB",
                _ => "S9030000FC",
            };
            reader.findings.odd(None, Problem::NoEnd { example });
        } else {
            reader.findings.error(None, Problem::NoData);
        }
        Ok(record::finished(
            reader.builder,
            how.clash,
            reader.findings,
            |image| {
                image.entry = reader.entry;
                image.header = reader.header;
            },
        ))
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let count = Counting::new(image, how)?;
        let entry = match how.entry_of(image) {
            Some(entry) => count.entry(entry)?.address(),
            None => 0,
        };
        let form = Form::choose(how.address, count.last(image), entry)?;
        let most = 254 - form.address_bytes() as u16;
        let width = count.width(how.width, form.name(), 16, most)?;
        let mut written = Written {
            form: Some(form.name()),
            ..Written::default()
        };
        let mut text = HexText::new();
        let line_end = how.line_end();
        let header = how.header.as_deref().or(image.header.as_deref());
        let header = header.unwrap_or_default();
        if header.len() > 252 {
            return Err(WriteError::HeaderTooLong {
                length: header.len(),
                most: 252,
            });
        }
        put(&mut text, b'0', &[0, 0], header, line_end);
        let mut records = 0u64;
        for span in image.spans() {
            let mut address = span.start() / count.unit;
            for data in span.bytes().chunks(width) {
                put(
                    &mut text,
                    form.data_kind(),
                    form.address(&address.to_be_bytes()),
                    data,
                    line_end,
                );
                text.pour(out, false)?;
                address += data.len() as u64 / count.unit;
                records += 1;
            }
        }
        if how.count {
            let [.., a, b, c] = records.to_be_bytes();
            match records {
                0..=0xFFFF => put(&mut text, b'5', &[b, c], &[], line_end),
                0x1_0000..=0xFF_FFFF => put(&mut text, b'6', &[a, b, c], &[], line_end),
                _ => written.left_out.push(format!(
                    "{records} data records are more than a count record can say, so there is none"
                )),
            }
        }
        put(
            &mut text,
            form.end_kind(),
            form.address(&entry.to_be_bytes()),
            &[],
            line_end,
        );
        text.pour(out, true)?;
        Ok(written)
    }
}

/// One record, `S` to line end.
#[inline]
fn put(text: &mut HexText, kind: u8, address: &[u8], data: &[u8], line_end: &[u8]) {
    // At most 255 by the checks on width and header.
    let count = (address.len() + data.len() + 1) as u8;
    let (mark, not) = ([b'S', kind], |sum: u8| !sum);
    match *address {
        [a, b] => text.record(mark, [count, a, b], data, not, line_end),
        [a, b, c] => text.record(mark, [count, a, b, c], data, not, line_end),
        [a, b, c, d] => text.record(mark, [count, a, b, c, d], data, not, line_end),
        _ => {}
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    S1,
    S2,
    S3,
}

impl Form {
    const ALL: [Form; 3] = [Form::S1, Form::S2, Form::S3];

    fn name(self) -> &'static str {
        match self {
            Form::S1 => "S1",
            Form::S2 => "S2",
            Form::S3 => "S3",
        }
    }

    fn address_bytes(self) -> usize {
        match self {
            Form::S1 => 2,
            Form::S2 => 3,
            Form::S3 => 4,
        }
    }

    fn limit(self) -> u64 {
        (1 << (8 * self.address_bytes())) - 1
    }

    /// The low bytes of a big-endian address.
    fn address(self, bytes: &[u8; 8]) -> &[u8] {
        &bytes[8 - self.address_bytes()..]
    }

    fn data_kind(self) -> u8 {
        b'0' + self.address_bytes() as u8 - 1
    }

    fn end_kind(self) -> u8 {
        b'0' + 11 - self.address_bytes() as u8
    }

    fn choose(address: AddressForm, last: u64, entry: u64) -> Result<Form, WriteError> {
        let form = match address {
            AddressForm::Smallest => Form::ALL
                .into_iter()
                .find(|f| last.max(entry) <= f.limit())
                .unwrap_or(Form::S3),
            AddressForm::Bits16 => Form::S1,
            AddressForm::Bits24 => Form::S2,
            AddressForm::Bits32 => Form::S3,
            AddressForm::Bits20 => {
                return Err(WriteError::NoSuchForm {
                    format: "s-record",
                    bits: 20,
                    has: "16 (S1), 24 (S2) and 32 (S3)",
                });
            }
        };
        let (form_name, limit) = (form.name(), form.limit());
        if last > limit {
            return Err(WriteError::AddressTooLarge {
                form: form_name,
                last,
                limit,
            });
        }
        if entry > limit {
            return Err(WriteError::EntryTooLarge {
                form: form_name,
                entry,
                limit,
            });
        }
        Ok(form)
    }
}

#[cfg(test)]
mod tests;
