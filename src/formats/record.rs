//! What the hexadecimal record formats share: tidying a line, digit pairs, and finding what is wrong with a line.

use std::io;
use std::ops::Range;

use super::causes::{Cause, Field, Rules};
use super::findings::{Findings, Place, Problem};
use super::input::{Input, Line, is_padding};
use super::{Head, Likeness};
use crate::image::{AddressRange, Builder, Clash, Image, Overlap};

/// A record in bytes: at most a length byte and the 255 it counts, and some to spare.
pub(super) type Scratch = [u8; 264];

/// Bytes that are decoded, encoded or added up at once. The loops over a block have no branches and a fixed length,
/// so that the compiler makes vector code of them on every processor.
const BLOCK: usize = 8;

/// Decodes pairs of hex digits, either case; `None` when `digits` is anything else or too long.
#[inline]
pub(super) fn decode<'s>(digits: &[u8], scratch: &'s mut Scratch) -> Option<&'s [u8]> {
    decode_and_sum(digits, scratch).map(|(bytes, _)| bytes)
}

/// As [`decode`], with the sum of the bytes, modulo 256.
#[inline]
pub(super) fn decode_and_sum<'s>(
    digits: &[u8],
    scratch: &'s mut Scratch,
) -> Option<(&'s [u8], u8)> {
    if !digits.len().is_multiple_of(2) {
        return None;
    }
    let out = scratch.get_mut(..digits.len() / 2)?;
    // Records of 16 data bytes, as most are: for a length that is known beforehand the compiler unrolls the loop.
    let sum = match digits.len() {
        40 => decode_blocks(&digits[..40], &mut out[..20])?,
        42 => decode_blocks(&digits[..42], &mut out[..21])?,
        44 => decode_blocks(&digits[..44], &mut out[..22])?,
        _ => decode_blocks(digits, out)?,
    };
    Some((out, sum))
}

/// Decodes into `out`, which has half the length of `digits`, and adds up.
#[inline(always)]
fn decode_blocks(digits: &[u8], out: &mut [u8]) -> Option<u8> {
    if out.len() < BLOCK {
        let (pairs, _) = digits.as_chunks();
        for (&[high, low], out) in pairs.iter().zip(&mut *out) {
            *out = pair(high, low)?;
        }
        return Some(sum(out));
    }
    let mut bad = [0; 2 * BLOCK];
    let mut total = BlockSum(0);
    let (blocks, _) = digits.as_chunks();
    let (outs, rest) = out.as_chunks_mut();
    let rest = rest.len();
    for (block, out) in blocks.iter().zip(outs) {
        decode_block(block, out, &mut bad);
        total.add(u64::from_le_bytes(*out));
    }
    // What is left is less than a block, so the last block begins inside the one before.
    if rest > 0
        && let Some(block) = digits.last_chunk()
        && let Some(out) = out.last_chunk_mut()
    {
        decode_block(block, out, &mut bad);
        total.add(last_bytes(u64::from_le_bytes(*out), rest));
    }
    let is_bad = u128::from_ne_bytes(bad) & u128::from_ne_bytes([NO_DIGIT; 2 * BLOCK]) != 0;
    (!is_bad).then_some(total.low_byte())
}

/// Set in the value of a character that is no hex digit.
const NO_DIGIT: u8 = 0x80;

/// Not inlined, and so kept in vectors: seen with its surroundings, the compiler takes the arrays apart.
#[inline(never)]
fn decode_block(digits: &[u8; 2 * BLOCK], out: &mut [u8; BLOCK], bad: &mut [u8; 2 * BLOCK]) {
    let values = digits.map(|c| {
        let digit = c.wrapping_sub(b'0');
        let letter = (c | 0x20).wrapping_sub(b'a');
        let letter = if letter < 6 { letter + 10 } else { NO_DIGIT };
        if digit < 10 { digit } else { letter }
    });
    for (bad, value) in bad.iter_mut().zip(values) {
        *bad |= value;
    }
    let (pairs, _) = values.as_chunks();
    for (out, &[high, low]) in out.iter_mut().zip(pairs) {
        *out = high << 4 | low;
    }
}

/// The sum of up to 128 blocks, four times what a record holds: four sums of 16 bits side by side.
struct BlockSum(u64);

impl BlockSum {
    #[inline(always)]
    fn add(&mut self, block: u64) {
        const EVEN: u64 = 0x00FF_00FF_00FF_00FF;
        let pairs = (block & EVEN) + (block >> 8 & EVEN);
        self.0 = self.0.wrapping_add(pairs);
    }

    /// The sum of all bytes, modulo 256.
    #[inline(always)]
    fn low_byte(self) -> u8 {
        // The topmost 16 bits of the product are the sum of all four.
        (self.0.wrapping_mul(0x0001_0001_0001_0001) >> 48) as u8
    }
}

/// The last `n` bytes (1 to 8) of a block, with zeros for the others.
#[inline(always)]
fn last_bytes(block: u64, n: usize) -> u64 {
    block >> (8 * (BLOCK - n))
}

/// The byte that two hex digits give.
#[inline]
pub(super) fn pair(high: u8, low: u8) -> Option<u8> {
    match (
        DIGIT_VALUES[usize::from(high)],
        DIGIT_VALUES[usize::from(low)],
    ) {
        (high @ 0..16, low @ 0..16) => Some(high << 4 | low),
        _ => None,
    }
}

/// The value of each hex digit, either case; 0xFF for what is none.
const DIGIT_VALUES: [u8; 256] = {
    let mut values = [0xFF; 256];
    let mut i = 0;
    while i < 16 {
        values[b"0123456789ABCDEF"[i] as usize] = i as u8;
        values[b"0123456789abcdef"[i] as usize] = i as u8;
        i += 1;
    }
    values
};

/// The sum of all bytes, modulo 256.
#[inline]
pub(super) fn sum(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, b| sum.wrapping_add(*b))
}

/// Big-endian number of up to 8 bytes.
#[inline]
pub(super) fn number(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0, |n, b| n << 8 | u64::from(*b))
}

/// The part of a line that can be a record, as positions in it; empty for a blank line.
pub(super) fn tidy(line: &Line<'_>, findings: &mut Findings) -> Range<usize> {
    let bytes = line.bytes;
    if line.length > bytes.len() as u64 {
        // Something stands behind the part that was kept, so that part alone must not pass for a record.
        return 0..bytes.len();
    }
    let from = bytes.iter().position(|b| !is_padding(*b));
    let Some(from) = from else {
        if bytes.iter().any(|b| !matches!(b, b' ' | b'\t')) {
            let what = "bytes 1A or 00 between or behind the records";
            findings.petty(
                Some(Place::new(line, 0..bytes.len())),
                Problem::Untidy { what },
            );
        }
        return 0..0;
    };
    let to = bytes
        .iter()
        .rposition(|b| !is_padding(*b))
        .map_or(from, |i| i + 1);
    if from > 0 {
        let what = "something stands before the record";
        findings.petty(Some(Place::new(line, 0..from)), Problem::Untidy { what });
    }
    if to < bytes.len() {
        let what = "something stands behind the record";
        findings.petty(
            Some(Place::new(line, to..bytes.len())),
            Problem::Untidy { what },
        );
    }
    from..to
}

/// Under `--strict`: records are in upper case.
pub(super) fn check_case(line: &Line<'_>, findings: &mut Findings) {
    if !findings.is_strict() {
        return;
    }
    if let Some(i) = line.bytes.iter().position(u8::is_ascii_lowercase) {
        let what = "a letter in lower case";
        findings.error(Some(Place::new(line, i..i + 1)), Problem::Untidy { what });
    }
}

/// The first thing that keeps `line.bytes[digits]` from being pairs of hex digits.
pub(super) fn bad_digits(
    line: &Line<'_>,
    digits: Range<usize>,
    least: usize,
) -> Option<(Range<usize>, Problem)> {
    let text = &line.bytes[digits.clone()];
    if let Some(i) = text.iter().position(|b| !b.is_ascii_hexdigit()) {
        let at = digits.start + i;
        return Some((at..at + 1, Problem::NotHex));
    }
    if text.len() < least {
        let problem = Problem::TooShort {
            least,
            digits: text.len(),
        };
        return Some((digits, problem));
    }
    (!text.len().is_multiple_of(2)).then(|| {
        let problem = Problem::OddDigits { digits: text.len() };
        (digits.end - 1..digits.end, problem)
    })
}

/// Writes the digits of `bytes` into `room`, which has two places for each, and adds the bytes up, modulo 256.
#[inline]
fn encode(bytes: &[u8], room: &mut [u8]) -> u8 {
    match bytes.len() {
        // As in `decode_and_sum`.
        16 => encode_blocks(&bytes[..16], &mut room[..32]),
        _ => encode_blocks(bytes, room),
    }
}

#[inline(always)]
fn encode_blocks(bytes: &[u8], room: &mut [u8]) -> u8 {
    if bytes.len() < BLOCK {
        let (pairs, _) = room.as_chunks_mut();
        for (pair, byte) in pairs.iter_mut().zip(bytes) {
            *pair = DIGITS[usize::from(*byte)];
        }
        return sum(bytes);
    }
    let mut total = BlockSum(0);
    let (blocks, rest) = bytes.as_chunks();
    let (rooms, _) = room.as_chunks_mut();
    for (block, room) in blocks.iter().zip(rooms) {
        *room = encode_block(block);
        total.add(u64::from_le_bytes(*block));
    }
    // What is left is less than a block, so the last block begins inside the one before.
    if !rest.is_empty()
        && let Some(block) = bytes.last_chunk()
        && let Some(room) = room.last_chunk_mut()
    {
        *room = encode_block(block);
        total.add(last_bytes(u64::from_le_bytes(*block), rest.len()));
    }
    total.low_byte()
}

#[inline(always)]
fn encode_block(bytes: &[u8; BLOCK]) -> [u8; 2 * BLOCK] {
    let mut digits = [0; 2 * BLOCK];
    let (pairs, _) = digits.as_chunks_mut();
    for (pair, byte) in pairs.iter_mut().zip(bytes) {
        *pair = [byte >> 4, byte & 0xF];
    }
    digits.map(|value| value + if value < 10 { b'0' } else { b'A' - 10 })
}

/// The digits of every byte.
const DIGITS: [[u8; 2]; 256] = {
    let digit = *b"0123456789ABCDEF";
    let mut pairs = [[0; 2]; 256];
    let mut i = 0;
    while i < 256 {
        pairs[i] = [digit[i >> 4], digit[i & 15]];
        i += 1;
    }
    pairs
};

/// Characters handed on at once: no fewer than what a buffered writer gathers, so that none gathers them again.
const ENOUGH: usize = 64 * 1024;

/// Bytes on their way out, as hex text.
pub(super) struct HexText {
    /// Always as long as it ever was, so that nothing is cleared or grown between two records.
    text: Vec<u8>,
    len: usize,
}

impl HexText {
    pub(super) fn new() -> Self {
        Self {
            text: vec![0; ENOUGH + 4 * 1024],
            len: 0,
        }
    }

    /// Room for the next `len` characters, all of which must be written.
    #[inline]
    fn room(&mut self, len: usize) -> &mut [u8] {
        let from = self.len;
        self.len += len;
        if self.len > self.text.len() {
            self.grow();
        }
        &mut self.text[from..self.len]
    }

    #[cold]
    fn grow(&mut self) {
        self.text.resize(2 * self.len, 0);
    }

    /// Text as it is.
    #[inline]
    pub(super) fn plain(&mut self, text: &[u8]) {
        self.room(text.len()).copy_from_slice(text);
    }

    /// Bytes as digits.
    #[inline]
    pub(super) fn hex(&mut self, bytes: &[u8]) {
        encode(bytes, self.room(2 * bytes.len()));
    }

    /// One record: `mark`, then the digits of `head`, `data` and what `checksum` makes of the sum of both, line end.
    #[inline(always)]
    pub(super) fn record<const MARK: usize, const HEAD: usize>(
        &mut self,
        mark: [u8; MARK],
        head: [u8; HEAD],
        data: &[u8],
        checksum: impl Fn(u8) -> u8,
        line_end: &[u8],
    ) {
        match (data.len(), line_end.len()) {
            // The usual record by itself: where the length is known beforehand there is nothing to check.
            (16, 1) => self.put(mark, head, &data[..16], checksum, &line_end[..1]),
            _ => self.put(mark, head, data, checksum, line_end),
        }
    }

    #[inline(always)]
    fn put<const MARK: usize, const HEAD: usize>(
        &mut self,
        mark: [u8; MARK],
        head: [u8; HEAD],
        data: &[u8],
        checksum: impl Fn(u8) -> u8,
        line_end: &[u8],
    ) {
        let digits = 2 * (HEAD + data.len() + 1);
        let room = self.room(MARK + digits + line_end.len());
        let (room, end) = room.split_at_mut(MARK + digits);
        end.copy_from_slice(line_end);
        let (room, sum_room) = room.split_at_mut(MARK + digits - 2);
        let (head_room, data_room) = room.split_at_mut(MARK + 2 * HEAD);
        head_room[..MARK].copy_from_slice(&mark);
        let head_digits = head.map(|byte| DIGITS[usize::from(byte)]);
        head_room[MARK..].copy_from_slice(head_digits.as_flattened());
        let sum = encode(data, data_room).wrapping_add(sum(&head));
        sum_room.copy_from_slice(&DIGITS[usize::from(checksum(sum))]);
    }

    /// Hands the text on once enough has gathered; `last` hands on whatever there is.
    #[inline]
    pub(super) fn pour(&mut self, out: &mut dyn std::io::Write, last: bool) -> std::io::Result<()> {
        if last || self.len >= ENOUGH {
            out.write_all(&self.text[..self.len])?;
            self.len = 0;
        }
        Ok(())
    }
}

/// The records that a damaged line may hold, each as a position in it: it is cut in front of every mark.
fn parts(text: Range<usize>, bytes: &[u8], mark: u8) -> Vec<Range<usize>> {
    let mut from = text.start;
    let mut parts = Vec::new();
    for at in memchr::memchr_iter(mark, &bytes[text.clone()]).map(|i| text.start + i) {
        if at > from {
            parts.push(from..at);
            from = at;
        }
    }
    parts.push(from..text.end);
    parts
}

/// The record that a text begins with, where its length field says that it ends in front of something that is no digit;
/// else the whole text. A digit may have come in anywhere, so one behind a record makes all of it doubtful.
fn without_rest(text: &[u8], length: Option<usize>) -> &[u8] {
    match length.and_then(|n| Some((n, text.get(n)?))) {
        Some((length, behind)) if !behind.is_ascii_alphanumeric() => &text[..length],
        _ => text,
    }
}

/// The reader of a format that has one record a line, as [`read_lines`] drives it.
pub(super) trait LineReader {
    /// A sound record: its length and checksum are right.
    type Record<'t>: Copy;

    /// The character that a record begins with.
    const MARK: u8;

    /// The only way from text to record; `None` leaves it to [`explain`](Self::explain) to say why. A record never holds
    /// a line end.
    fn decode<'t>(text: &'t [u8], scratch: &'t mut Scratch) -> Option<Self::Record<'t>>;

    /// Length of the record that `ahead` begins with, by its length field; a wrong one is found out by `decode`.
    fn length(ahead: &[u8]) -> Option<usize>;

    /// Whether it is an end record.
    fn is_end(record: &Self::Record<'_>) -> bool;

    /// Takes an ordinary data record, of which there is nothing to say. When it answers false, nothing was taken, and
    /// [`record`](Self::record) gets it with its line.
    fn plain(&mut self, _record: &Self::Record<'_>, _line: u64) -> bool {
        false
    }

    /// Takes a record; `text` is its place in the line. Answers whether the file ends with it.
    fn record(&mut self, line: &Line<'_>, record: &Self::Record<'_>, text: &Range<usize>) -> bool;

    /// Why `line.bytes[text]` is no record: the characters meant, and the problem.
    fn explain(line: &Line<'_>, text: Range<usize>) -> (Range<usize>, Problem);

    /// Other values of the fields of a damaged record, where something speaks for them.
    fn fields(&self, record: &[u8]) -> Vec<Field>;

    /// Salvage: a record that is lost; `at` is where it stands in the line.
    fn lost(&mut self, line: &Line<'_>, at: usize, record: &[u8]);

    /// Where to say what is odd.
    fn findings(&mut self) -> &mut Findings;
}

/// Reads all lines up to the end record, and looks at what follows it. Answers whether there was one.
///
/// # Errors
/// What the input says.
pub(super) fn read_lines<R: LineReader>(reader: &mut R, input: &mut Input<'_>) -> io::Result<bool> {
    let mut scratch: Scratch = [0; _];
    // Most lines are as long as the one before them.
    let mut length = usize::MAX;
    loop {
        let ended = if let Some(ended) = known_length(reader, input, length, &mut scratch) {
            ended
        } else {
            length = R::length(input.ahead()).unwrap_or(usize::MAX);
            match known_length(reader, input, length, &mut scratch) {
                Some(ended) => ended,
                // Untidy, damaged, or the last of a window: its end has to be looked for.
                None => match input.next_line()? {
                    Some(line) => other_line(reader, &line, &mut scratch),
                    None => return Ok(false),
                },
            }
        };
        if ended {
            pass_over_rest(input, reader.findings(), |text, scratch| {
                R::decode(text, scratch).map(|record| R::is_end(&record))
            })?;
            return Ok(true);
        }
    }
}

/// Takes the next line as a record of `length` characters, if it is one. Answers whether the file ends with it.
#[inline(always)]
fn known_length<R: LineReader>(
    reader: &mut R,
    input: &mut Input<'_>,
    length: usize,
    scratch: &mut Scratch,
) -> Option<bool> {
    let line = input.line_of(length)?;
    let record = R::decode(line.bytes, scratch)?;
    let end = line.end;
    let ended = !reader.plain(&record, line.number) && spoken_of(reader, line, record);
    input.pass_line(length, end);
    Some(ended)
}

/// A record of which there may be something to say.
#[cold]
fn spoken_of<R: LineReader>(reader: &mut R, line: Line<'_>, record: R::Record<'_>) -> bool {
    reader.record(&line, &record, &(0..line.bytes.len()))
}

#[inline(never)]
fn other_line<R: LineReader>(reader: &mut R, line: &Line<'_>, scratch: &mut Scratch) -> bool {
    let text = tidy(line, reader.findings());
    if text.is_empty() {
        return false;
    }
    match R::decode(&line.bytes[text.clone()], scratch) {
        Some(record) => reader.record(line, &record, &text),
        None => damaged(reader, line, text, scratch),
    }
}

/// A line that is no sound record: an error; in salvage, what is sound in it is taken all the same. Answers whether the
/// file ends with it.
#[cold]
fn damaged<R: LineReader>(
    reader: &mut R,
    line: &Line<'_>,
    text: Range<usize>,
    scratch: &mut Scratch,
) -> bool {
    let record = &line.bytes[text.clone()];
    let rules = Rules {
        mark: R::MARK,
        sound: &|text| R::decode(text, &mut [0; _]).is_some(),
        whole: R::length(record),
        fields: reader.fields(record),
    };
    let why = R::explain(line, text.clone());
    let findings = reader.findings();
    findings.damaged_record(line, text.clone(), why, &rules);
    if !findings.is_salvage() {
        return false;
    }
    let mut ended = false;
    for part in parts(text, line.bytes, R::MARK) {
        let bytes = &line.bytes[part.clone()];
        // Something may only have been added behind it.
        let record = without_rest(bytes, R::length(bytes));
        let place = part.start..part.start + record.len();
        match R::decode(record, scratch) {
            Some(record) => ended |= reader.record(line, &record, &place),
            None => reader.lost(line, part.start, bytes),
        }
    }
    ended
}

/// Looks at what follows the end record, without reading it as data, and says how much there is. `record` tells whether a
/// line is a sound record, and whether that is another end record.
pub(super) fn pass_over_rest(
    input: &mut Input<'_>,
    findings: &mut Findings,
    record: impl Fn(&[u8], &mut Scratch) -> Option<bool>,
) -> io::Result<()> {
    let mut scratch: Scratch = [0; _];
    let mut first = None;
    let (mut lines, mut records, mut ends) = (0, 0, 0);
    while let Some(line) = input.next_line()? {
        let text = line.bytes.trim_ascii();
        if text.iter().all(|b| is_padding(*b)) {
            continue;
        }
        first.get_or_insert_with(|| Place::new(&line, 0..line.bytes.len()));
        lines += 1;
        if let Some(is_end) = record(text, &mut scratch) {
            records += 1;
            ends += u64::from(is_end);
        }
    }
    if lines > 0 {
        after_end(findings, first, (lines, records, ends));
    }
    Ok(())
}

/// How much the beginning of a file looks like lines that `R` reads; `begun` tells a line that may be a damaged record.
pub(super) fn likeness<R: LineReader>(head: &Head<'_>, begun: impl Fn(&[u8]) -> bool) -> Likeness {
    let mut scratch: Scratch = [0; _];
    let mut likely = false;
    for line in head.lines().take(200) {
        if R::decode(line, &mut scratch).is_some() {
            return Likeness::Proven;
        }
        likely = likely || begun(line);
    }
    match (likely, head.bytes.is_ascii()) {
        (true, _) => Likeness::Likely,
        (_, true) => Likeness::Possible,
        _ => Likeness::No,
    }
}

/// Says what stands behind the end record: lines that are not blank, sound records, and end records among them.
pub(super) fn after_end(
    findings: &mut Findings,
    first: Option<Place>,
    (lines, records, ends): (u64, u64, u64),
) {
    let problem = Problem::AfterEnd { lines, records };
    match records {
        0 => findings.odd(first, problem),
        _ => findings.suspect(first, problem),
    }
    if ends > 0 {
        let is_it = |p: &Problem| matches!(p, Problem::AfterEnd { .. });
        findings.explain(is_it, |_| Some(Cause::SeveralEnds { more: ends }));
    }
}

/// Lays out what was read. Addresses that came twice, where `clash` does not settle them, go to the findings.
pub(super) fn finished(
    builder: Builder,
    clash: Clash,
    findings: &mut Findings,
    carry: impl FnOnce(&mut Image),
) -> Image {
    findings.facts.arrival = builder.arrival();
    let settled = matches!(clash, Clash::First | Clash::Last);
    let laid_out = match findings.is_salvage() && !settled {
        false => builder.finish(clash),
        true => {
            let (image, contests) = builder.finish_undisputed();
            for contest in &contests {
                findings.error(None, Problem::Contested(Box::new(contest.clone())));
            }
            findings.facts.contested = contests;
            Ok(image)
        }
    };
    match laid_out {
        Ok(mut image) => {
            let is_it = |p: &Problem| matches!(p, Problem::Count { says, has } if has < says);
            findings.explain(is_it, |problem| lost_line(&image, problem));
            carry(&mut image);
            image
        }
        Err(overlap) => {
            let doubled = doubled_line(&overlap);
            findings.error(None, Problem::Overlap(Box::new(overlap)));
            if doubled.is_some() {
                findings.explain_last(doubled.into_iter().collect());
            }
            Image::new()
        }
    }
}

/// The most data bytes of a record, in the formats that have records.
const MOST_DATA: u64 = 255;

/// Two lines behind each other that say the same.
fn doubled_line(overlap: &Overlap) -> Option<Cause> {
    let (earlier, later) = (&overlap.earlier.0, &overlap.later.0);
    let (line, again) = (earlier.line?, later.line?);
    let same = earlier.source == later.source && overlap.equal == overlap.count;
    (same && again == line + 1 && overlap.count <= MOST_DATA)
        .then_some(Cause::Doubled { line, again })
}

/// The one gap between neighbouring lines that is as large as the records which a count misses.
fn lost_line(image: &Image, problem: &Problem) -> Option<Cause> {
    let Problem::Count { says, has } = problem else {
        return None;
    };
    let missing = says.checked_sub(*has)?;
    let mut fitting = gaps_between_lines(image).filter(|gap| gap.records == missing);
    match (fitting.next(), fitting.next()) {
        (Some(gap), None) => Some(Cause::LostLine {
            behind: gap.behind,
            range: gap.range,
        }),
        _ => None,
    }
}

/// A hole between two neighbouring lines of a file, as large as whole records of the line in front of it.
pub(super) struct LineGap {
    /// The line in front of it.
    pub behind: u64,
    /// The hole.
    pub range: AddressRange,
    /// Records that would fill it.
    pub records: u64,
}

/// All such holes, lowest first.
pub(super) fn gaps_between_lines(image: &Image) -> impl Iterator<Item = LineGap> {
    image.origins().runs().windows(2).filter_map(|pair| {
        let (before, after) = (&pair[0], &pair[1]);
        let range =
            AddressRange::new(before.range.last().checked_add(1)?, after.range.first() - 1)?;
        let stride = u64::from(before.lines?.stride());
        let behind = before.line_at(before.range.last())?;
        let neighbours =
            before.source == after.source && after.line_at(after.range.first())? == behind + 1;
        (neighbours && range.len() % stride == 0).then_some(LineGap {
            behind,
            range,
            records: range.len() / stride,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_length_is_encoded_decoded_and_added_up() {
        let bytes: Vec<u8> = (0..255u8).map(|i| i.wrapping_mul(151) ^ 0x5A).collect();
        let mut scratch: Scratch = [0xEE; _];
        for len in 0..=255 {
            let bytes = &bytes[..len];
            let plain: String = bytes.iter().map(|b| format!("{b:02X}")).collect();
            let total = bytes.iter().map(|b| u32::from(*b)).sum::<u32>() as u8;
            let mut text = HexText::new();
            text.hex(bytes);
            text.plain(b" ");
            text.record([b'>'], [0xC3, 1], bytes, |sum| sum, b"\r\n");
            let mut out = Vec::new();
            text.pour(&mut out, true).unwrap();
            let sum = total.wrapping_add(0xC4);
            let wanted = format!("{plain} >C301{plain}{sum:02X}\r\n");
            assert_eq!(String::from_utf8(out).unwrap(), wanted);
            for digits in [plain.to_lowercase(), plain] {
                let decoded = decode_and_sum(digits.as_bytes(), &mut scratch);
                assert_eq!(decoded, Some((bytes, total)));
                let odd = &digits.as_bytes()[..digits.len().saturating_sub(1)];
                assert_eq!(decode(odd, &mut scratch).is_some(), odd.is_empty());
            }
        }
        assert_eq!(decode(&[b'0'; 530], &mut scratch), None, "too long");
    }

    #[test]
    fn one_wrong_character_anywhere_is_found() {
        let mut scratch: Scratch = [0; _];
        for len in [2, 10, 16, 18, 32, 42, 58] {
            let mut digits = vec![b'a'; len];
            for at in 0..len {
                for wrong in (0..=255).filter(|c: &u8| !c.is_ascii_hexdigit()) {
                    digits[at] = wrong;
                    assert_eq!(decode(&digits, &mut scratch), None, "{wrong:X} at {at}");
                }
                digits[at] = b'F';
                assert!(decode(&digits, &mut scratch).is_some());
            }
        }
    }

    #[test]
    fn text_longer_than_the_buffer_is_not_lost() {
        let mut text = HexText::new();
        let long = vec![0xA5; 50_000];
        text.hex(&long);
        text.hex(&long);
        let mut out = Vec::new();
        text.pour(&mut out, false).unwrap();
        assert_eq!(out, b"A5".repeat(100_000));
    }
}
