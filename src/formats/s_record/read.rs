//! Reading S-records.

use std::io;
use std::ops::Range;

use super::form::SRecordForm;
use crate::formats::address;
use crate::formats::explain::RecordField;
use crate::formats::findings::Findings;
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
use crate::image::{AddressRange, Builder, Entry, Image, Source};

/// Characters of the longest record: `S`, type, and a count of 255 with what it counts.
const LONGEST: usize = 2 + 2 * 256;

/// A record whose checksum and count are right.
#[derive(Clone, Copy)]
pub(super) struct DecodedSRecord<'a> {
    /// The type digit, `0` to `9`.
    pub kind: u8,
    pub address: u32,
    pub data: &'a [u8],
}

/// Bytes of the address field; `None` for a digit that is not a type.
fn address_bytes(kind: u8) -> Option<usize> {
    match kind {
        b'0' | b'1' | b'4' | b'5' | b'9' => Some(2),
        b'2' | b'6' | b'8' => Some(3),
        b'3' | b'7' => Some(4),
        _ => None,
    }
}

/// The last address of data records of a kind.
fn last_address(kind: u8) -> u64 {
    u64::MAX >> (64 - 8 * address_bytes(kind).unwrap_or(4))
}

/// The fast and only way from text to record; `None` leaves it to [`explain`] to say why.
#[inline]
fn decode<'s>(text: &[u8], scratch: &'s mut Scratch) -> Option<DecodedSRecord<'s>> {
    let &[b'S' | b's', kind, ref digits @ ..] = text else {
        return None;
    };
    let width = address_bytes(kind)?;
    let (bytes, sum) = hex::decode_and_sum(digits, scratch)?;
    let (&count, counted) = bytes.split_first()?;
    if counted.len() != usize::from(count) || sum != 0xFF {
        return None;
    }
    let (address, rest) = match width {
        2 => {
            let (&[a, b], rest) = counted.split_first_chunk()?;
            ([0, 0, a, b], rest)
        }
        3 => {
            let (&[a, b, c], rest) = counted.split_first_chunk()?;
            ([0, a, b, c], rest)
        }
        _ => {
            let (address, rest) = counted.split_first_chunk()?;
            (*address, rest)
        }
    };
    let (_checksum, data) = rest.split_last()?;
    Some(DecodedSRecord {
        kind,
        address: u32::from_be_bytes(address),
        data,
    })
}

/// Length of the line at the start of `ahead`, from its count field; a wrong one shows when the line is decoded.
#[inline]
fn line_length(ahead: &[u8]) -> Option<usize> {
    let count = hex::pair(*ahead.get(2)?, *ahead.get(3)?)?;
    Some(4 + 2 * usize::from(count))
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
    let mut scratch: Scratch = [0; SCRATCH];
    let bytes = hex::decode(&line.bytes[digits.clone()], &mut scratch).unwrap_or(&[]);
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
                gives: (!hex::byte_sum(body)).into(),
                digits: 2,
            };
            (digits.end - 2..digits.end, problem)
        }
    }
}

pub(super) struct SRecordReader<'f> {
    pub findings: &'f mut Findings,
    /// Data records; in salvage one builder for each kind, since a kind may be damaged.
    pub builders: [Builder; 3],
    /// Which bits of the kind choose a builder: all in salvage, otherwise none.
    apart: u8,
    pub unit: u64,
    /// One past the last byte that records of the first kind can have; 0 before there is one.
    pub end: u64,
    header: Option<Vec<u8>>,
    entry: Option<Entry>,
    /// Kind of the first data record.
    pub data_kind: Option<u8>,
    pub data_records: u64,
    /// Whether there are data records of several kinds.
    mixed: bool,
    any: bool,
    ended: bool,
}

impl SRecordReader<'_> {
    /// Where records of this kind are collected.
    #[inline(always)]
    pub fn slot(&self, kind: u8) -> usize {
        usize::from((kind - b'1') & self.apart)
    }

    /// Address of a record of this kind that would continue where the last one ended.
    fn next_address(&self, kind: u8) -> Option<u64> {
        let builder = self.builders.get(self.slot(kind))?;
        Some(builder.next_address()? / self.unit)
    }

    /// The addresses a damaged record would cover, where its own digits are plausible.
    fn covered_by(&self, text: &[u8]) -> Option<AddressRange> {
        let kind = *text.get(1).filter(|k| matches!(**k, b'1'..=b'3'))?;
        let width = address_bytes(kind)?;
        let field = |at: Range<usize>| {
            let mut scratch: Scratch = [0; SCRATCH];
            hex::decode(text.get(at)?, &mut scratch).map(hex::big_endian)
        };
        let (count, address) = (field(2..4)?, field(4..4 + 2 * width)?);
        let whole = 4 + 2 * count as usize == text.len();
        let goes_on = self.next_address(kind) == Some(address);
        let length = count.checked_sub(width as u64 + 1)?;
        (whole || goes_on)
            .then(|| AddressRange::from_len(address * self.unit, length))
            .flatten()
    }

    /// Salvage: a sound record that can't be what it says.
    fn not_taken(&mut self, line: &TextLine<'_>) {
        if self.findings.is_salvage() {
            self.findings.facts.damaged_line(line.number, None);
        }
    }

    /// In salvage, the kind that most data records have is the file's: in the others the type digit may be damaged, which no
    /// checksum shows.
    fn choose_kind(&mut self) -> Builder {
        let [one, two, three] = self.builders.each_mut();
        let all = [one, two, three];
        // Of kinds that are equally frequent, the one that came first.
        let first = self
            .data_kind
            .map_or(0, |k| usize::from((k - b'1') & self.apart));
        let most = (0..3)
            .max_by_key(|i| (all[*i].arrival().records, *i == first))
            .unwrap_or(first);
        let records: u64 = (0..3)
            .filter(|i| *i != most)
            .map(|i| all[i].arrival().records)
            .sum();
        let builder = std::mem::replace(&mut *all[most], Builder::new(Source::Patch));
        if records > 0 {
            let facts = &mut self.findings.facts;
            facts.left_out_records += records;
            for other in (0..3).filter(|i| *i != most) {
                let other = std::mem::replace(&mut *all[other], Builder::new(Source::Patch));
                let image = other.finish_undisputed().0;
                facts.left_out_bytes += image.len();
                for run in image.origins().runs() {
                    let first = run.line_at(run.range.first());
                    let last = run.line_at(run.range.last());
                    for line in first.zip(last).into_iter().flat_map(|(a, b)| a..=b) {
                        facts.damaged_line(line, None);
                    }
                }
            }
            facts.damaged.sort_by_key(|d| (d.first, d.last));
            let most = (b'1' + most as u8).into();
            self.findings
                .error(None, Problem::OtherKinds { most, records });
        }
        builder
    }

    #[cold]
    fn mixed_kinds(&mut self, line: &TextLine<'_>, text: &Range<usize>, first: u8, here: u8) {
        let place = TextPlace::new(line, text.start + 1..text.start + 2);
        let problem = Problem::MixedKinds {
            first: first.into(),
            here: here.into(),
        };
        self.mixed = true;
        self.findings.suspect(Some(place), problem);
    }

    /// Everything except data.
    #[inline(never)]
    fn other_kind(
        &mut self,
        line: &TextLine<'_>,
        record: &DecodedSRecord<'_>,
        text: &Range<usize>,
        first: bool,
    ) {
        let kind_at = text.start + 1..text.start + 2;
        self.findings.facts.count(match record.kind {
            b'0' => "S0 (header)",
            b'4' => "S4 (reserved)",
            b'5' => "S5 (count)",
            b'6' => "S6 (count)",
            b'7' => "S7 (end)",
            b'8' => "S8 (end)",
            _ => "S9 (end)",
        });
        match record.kind {
            b'0' => {
                if !first {
                    let place = TextPlace::new(line, kind_at);
                    self.findings.suspect(Some(place), Problem::LateHeader);
                    self.not_taken(line);
                }
                if record.address != 0 {
                    let place = TextPlace::new(line, text.start + 4..text.start + 8);
                    let what = "S0 (header)";
                    self.findings
                        .strictly(Some(place), Problem::AddressNotZero { what });
                }
                if !record.data.is_empty() && self.header.is_none() {
                    self.header = Some(record.data.to_vec());
                }
            }
            b'4' => {
                let what = "S4";
                let place = TextPlace::new(line, kind_at);
                self.findings
                    .suspect(Some(place), Problem::Reserved { what });
                self.not_taken(line);
            }
            b'5' | b'6' => {
                if !self.no_data(line, record, text) {
                    return;
                }
                let says = u64::from(record.address);
                if says != self.data_records {
                    let digits = text.start + 4..text.end - 2;
                    let has = self.data_records;
                    let place = TextPlace::new(line, digits);
                    self.findings
                        .error(Some(place), Problem::Count { says, has });
                }
            }
            _ => {
                // In salvage an end record that carries data is a data record with a damaged type digit.
                if !self.no_data(line, record, text) {
                    return;
                }
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
                        self.findings
                            .suspect(Some(TextPlace::new(line, kind_at)), problem);
                    }
                }
            }
        }
    }

    /// Notes data where there should be none; false when the record can't be what it says.
    fn no_data(
        &mut self,
        line: &TextLine<'_>,
        record: &DecodedSRecord<'_>,
        text: &Range<usize>,
    ) -> bool {
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
            let place = TextPlace::new(line, text.start + 2..text.start + 4);
            self.findings.error(Some(place), problem);
            self.not_taken(line);
        }
        record.data.is_empty() || !self.findings.is_salvage()
    }
}

impl LineReader for SRecordReader<'_> {
    type Record<'t> = DecodedSRecord<'t>;

    const MARK: u8 = b'S';

    #[inline(always)]
    fn decode<'t>(text: &'t [u8], scratch: &'t mut Scratch) -> Option<DecodedSRecord<'t>> {
        decode(text, scratch)
    }

    #[inline(always)]
    fn length(ahead: &[u8]) -> Option<usize> {
        line_length(ahead)
    }

    fn is_end(record: &DecodedSRecord<'_>) -> bool {
        matches!(record.kind, b'7'..=b'9')
    }

    #[inline(always)]
    fn plain(&mut self, record: &DecodedSRecord<'_>, line: u64) -> bool {
        // The first data record decides the kind that all others should have.
        if self.data_kind != Some(record.kind) || self.findings.is_strict() {
            return false;
        }
        let slot = self.slot(record.kind);
        let limits = (self.unit, self.end);
        let is_taken = take_plain(&mut self.builders[slot], limits, record, line);
        self.data_records += u64::from(is_taken);
        is_taken
    }

    fn record(
        &mut self,
        line: &TextLine<'_>,
        record: &DecodedSRecord<'_>,
        text: &Range<usize>,
    ) -> bool {
        if self.findings.is_strict() {
            record::check_case(line, self.findings);
        }
        let first = !std::mem::replace(&mut self.any, true);
        if !matches!(record.kind, b'1'..=b'3') {
            self.other_kind(line, record, text, first);
            return self.ended;
        }
        self.data_records += 1;
        let last = last_address(record.kind);
        let end = (last + 1) * self.unit;
        if self.data_kind.is_none() {
            self.end = end;
        }
        let expected = *self.data_kind.get_or_insert(record.kind);
        if expected != record.kind {
            self.mixed_kinds(line, text, expected, record.kind);
        }
        let address = u64::from(record.address) * self.unit;
        let room = end - address;
        if record.data.len() as u64 > room {
            // The first digit that has no address.
            let digits = text.end - 2 - 2 * (record.data.len() - room as usize);
            let place = TextPlace::new(line, digits..text.end - 2);
            self.findings.error(Some(place), Problem::PastLast { last });
            self.findings
                .leave_out_record(line.number, record.data.len());
            return false;
        }
        let slot = self.slot(record.kind);
        let pushed = self.builders[slot].push(address, record.data, line.number);
        if pushed.is_err() {
            let place = TextPlace::new(line, text.clone());
            self.findings.error(Some(place), Problem::OutOfSpace);
        }
        false
    }

    fn explain(line: &TextLine<'_>, text: Range<usize>) -> (Range<usize>, Problem) {
        explain(line, text)
    }

    fn fields(&self, record: &[u8]) -> Vec<RecordField> {
        let mut fields = Vec::new();
        if record.len() > 4 && record.len() % 2 == 0 {
            let counted = (record.len() - 4) / 2;
            fields.push(RecordField::length(2..4, format!("{counted:02X}")));
        }
        if let Some(&kind @ b'1'..=b'3') = record.get(1) {
            if let Some(address) = self.next_address(kind) {
                let digits = 2 * (usize::from(kind - b'1') + 2);
                let address = format!("{address:0digits$X}");
                fields.push(RecordField::address(4..4 + digits, address));
            }
        }
        fields
    }

    fn lost(&mut self, line: &TextLine<'_>, _: usize, record: &[u8]) {
        let covers = self.covered_by(record);
        self.findings.facts.damaged_line(line.number, covers);
    }

    fn findings(&mut self) -> &mut Findings {
        self.findings
    }
}

/// Takes a data record that ends before the last address of its kind; if it returns false, nothing was taken.
#[inline(always)]
pub(super) fn take_plain(
    builder: &mut Builder,
    (unit, end): (u64, u64),
    record: &DecodedSRecord<'_>,
    line: u64,
) -> bool {
    let address = u64::from(record.address) * unit;
    address + record.data.len() as u64 <= end && builder.push(address, record.data, line).is_ok()
}

/// How much the beginning of a file looks like these records.
pub(super) fn likeness(head: &Head<'_>) -> Likeness {
    record::likeness::<SRecordReader>(head, |line| {
        line.len() >= 10 && line[0] == b'S' && line[1..10].iter().all(u8::is_ascii_hexdigit)
    })
}

/// Reads one file.
pub(super) fn read(
    input: &mut Input<'_>,
    how: &ReadOptions,
    findings: &mut Findings,
) -> io::Result<Image> {
    let unit = address::unit(how, findings);
    let builder = || Builder::new(Source::File(input.name().clone()));
    let mut reader = SRecordReader {
        builders: [builder(), builder(), builder()],
        apart: if findings.is_salvage() { 3 } else { 0 },
        findings,
        unit,
        end: 0,
        header: None,
        entry: None,
        data_kind: None,
        data_records: 0,
        mixed: false,
        any: false,
        ended: false,
    };
    let ended = in_two::read_in_two(&mut reader, input)?;
    if !ended && reader.any {
        let example = match reader.data_kind {
            Some(b'3') => "S70500000000FA",
            Some(b'2') => "S804000000FB",
            _ => "S9030000FC",
        };
        reader.findings.suspect(None, Problem::NoEnd { example });
    } else if !ended {
        reader.findings.error(None, Problem::NoData);
    }
    reader.findings.facts.form = match reader.data_kind {
        _ if reader.mixed => Some("S1, S2 and S3 mixed"),
        Some(b'1') => Some(SRecordForm::S1.name()),
        Some(b'2') => Some(SRecordForm::S2.name()),
        Some(_) => Some(SRecordForm::S3.name()),
        None => None,
    };
    let builder = reader.choose_kind();
    Ok(layout::finished(
        builder,
        how.clash,
        reader.findings,
        |image| {
            image.entry = reader.entry;
            image.header = reader.header;
        },
    ))
}

#[cfg(test)]
mod tests;
