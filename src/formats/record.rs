//! Formats that have one record a line: reading them line by line, and saying what is wrong with a line.

use std::io;
use std::ops::Range;

use super::explain::{RecordField, RecordRules};
use super::explanation::Explanation;
use super::findings::Findings;
use super::hex::{SCRATCH, Scratch};
use super::input::Input;
use super::likeness::{Head, Likeness};
use super::line::{TextLine, is_padding};
use super::place::TextPlace;
use super::problem::Problem;

/// Characters of the shortest record that others depend on, its line end included.
const LEAST_RECORD: usize = 16;

/// The part of a line that can be a record, as positions in it; empty for a blank line.
pub(super) fn tidy(line: &TextLine<'_>, findings: &mut Findings) -> Range<usize> {
    let bytes = line.bytes;
    if line.length > bytes.len() as u64 {
        // There is more after the part that was kept, so that part alone must not count as a record.
        return 0..bytes.len();
    }
    let from = bytes.iter().position(|b| !is_padding(*b));
    let Some(from) = from else {
        if bytes.iter().any(|b| !matches!(b, b' ' | b'\t')) {
            let what = "bytes 1A or 00 between or after the records";
            findings.strictly(
                Some(TextPlace::new(line, 0..bytes.len())),
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
        let what = "there is something before the record";
        findings.strictly(
            Some(TextPlace::new(line, 0..from)),
            Problem::Untidy { what },
        );
    }
    if to < bytes.len() {
        let what = "there is something after the record";
        findings.strictly(
            Some(TextPlace::new(line, to..bytes.len())),
            Problem::Untidy { what },
        );
    }
    from..to
}

/// When reading strictly: records are in upper case.
pub(super) fn check_case(line: &TextLine<'_>, findings: &mut Findings) {
    if !findings.is_strict() {
        return;
    }
    if let Some(i) = line.bytes.iter().position(u8::is_ascii_lowercase) {
        let what = "a letter in lower case";
        findings.error(
            Some(TextPlace::new(line, i..i + 1)),
            Problem::Untidy { what },
        );
    }
}

/// The first thing that keeps `line.bytes[digits]` from being pairs of hex digits.
pub(super) fn bad_digits(
    line: &TextLine<'_>,
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
    (text.len() % 2 != 0).then(|| {
        let problem = Problem::OddDigits { digits: text.len() };
        (digits.end - 1..digits.end, problem)
    })
}

/// The records that a damaged line may contain, each as a position in it: the line is cut before every mark.
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

/// The record at the start of a text, if its length field says that it ends before something that is not a digit;
/// otherwise the whole text. A digit may have been added anywhere, so one after a record makes all of it doubtful.
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

    /// The only way from text to record; `None` leaves it to [`explain`](Self::explain) to say why. A record never contains
    /// a line end.
    fn decode<'t>(text: &'t [u8], scratch: &'t mut Scratch) -> Option<Self::Record<'t>>;

    /// Length of the record at the start of `ahead`, from its length field; `decode` notices a wrong one.
    fn length(ahead: &[u8]) -> Option<usize>;

    /// Whether it is an end record.
    fn is_end(record: &Self::Record<'_>) -> bool;

    /// Takes an ordinary data record, about which there is nothing to say. If it returns false, nothing was taken, and
    /// [`record`](Self::record) gets the record with its line.
    fn plain(&mut self, _record: &Self::Record<'_>, _line: u64) -> bool {
        false
    }

    /// Takes a record; `text` is its place in the line. Returns whether the file ends with it.
    fn record(
        &mut self,
        line: &TextLine<'_>,
        record: &Self::Record<'_>,
        text: &Range<usize>,
    ) -> bool;

    /// Why `line.bytes[text]` is not a record: the characters meant, and the problem.
    fn explain(line: &TextLine<'_>, text: Range<usize>) -> (Range<usize>, Problem);

    /// Other values of the fields of a damaged record, where there is evidence for them.
    fn fields(&self, record: &[u8]) -> Vec<RecordField>;

    /// Salvage: a record that is lost; `at` is its place in the line.
    fn lost(&mut self, line: &TextLine<'_>, at: usize, record: &[u8]);

    /// Salvage: characters that are passed over beside a sound record, and may have been more than that.
    fn unread(&mut self, _line: &TextLine<'_>, _at: Range<usize>) {}

    /// Where to note what is odd.
    fn findings(&mut self) -> &mut Findings;
}

/// Reads all lines up to the end record, and looks at what follows it. Returns whether there was one.
///
/// # Errors
/// The input's own.
pub(super) fn read_lines<R: LineReader>(reader: &mut R, input: &mut Input<'_>) -> io::Result<bool> {
    read_lines_with(reader, input, |_, _| Ok(false))
}

/// As [`read_lines`]. Where the end of a line has to be searched for, `turn` may take lines first; true if it did something.
///
/// # Errors
/// The input's own, and those of `turn`.
#[inline]
pub(super) fn read_lines_with<'a, R: LineReader>(
    reader: &mut R,
    input: &mut Input<'a>,
    mut turn: impl FnMut(&mut R, &mut Input<'a>) -> io::Result<bool>,
) -> io::Result<bool> {
    let mut scratch: Scratch = [0; SCRATCH];
    // Most lines are as long as the one before them.
    let mut length = usize::MAX;
    loop {
        let ended = if let Some(ended) = known_length(reader, input, length, &mut scratch) {
            ended
        } else {
            length = R::length(input.ahead()).unwrap_or(usize::MAX);
            match known_length(reader, input, length, &mut scratch) {
                Some(ended) => ended,
                None if turn(reader, input)? => continue,
                // Untidy, damaged, or the last of a window: its end must be searched for.
                None => match input.next_line()? {
                    Some(line) => other_line(reader, &line, &mut scratch),
                    None => return Ok(false),
                },
            }
        };
        if ended {
            input.stop_nowhere();
            pass_over_rest(input, reader.findings(), |text, scratch| {
                R::decode(text, scratch).map(|record| R::is_end(&record))
            })?;
            return Ok(true);
        }
    }
}

/// Takes the next line as a record of `length` characters, if it is one. Returns whether the file ends with it.
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

/// A record about which there may be something to say.
#[cold]
fn spoken_of<R: LineReader>(reader: &mut R, line: TextLine<'_>, record: R::Record<'_>) -> bool {
    reader.record(&line, &record, &(0..line.bytes.len()))
}

#[inline(never)]
fn other_line<R: LineReader>(reader: &mut R, line: &TextLine<'_>, scratch: &mut Scratch) -> bool {
    let text = tidy(line, reader.findings());
    // Where a disk gives zeros for what it lost, a record may have been.
    let salvage = reader.findings().is_salvage();
    let hides = |reader: &mut R, at: Range<usize>| {
        let padding = line.bytes[at.clone()]
            .iter()
            .filter(|b| !b.is_ascii_whitespace());
        if salvage && padding.count() >= LEAST_RECORD {
            let place = TextPlace::new(line, at.clone());
            let what = "bytes 1A or 00 where records may have been";
            reader
                .findings()
                .error(Some(place), Problem::Untidy { what });
            reader.unread(line, at);
        }
    };
    hides(reader, 0..text.start);
    let ended = match R::decode(&line.bytes[text.clone()], scratch) {
        _ if text.is_empty() => false,
        Some(record) => reader.record(line, &record, &text),
        None => damaged(reader, line, text.clone(), scratch),
    };
    if !ended {
        hides(reader, text.end..line.bytes.len());
    }
    ended
}

/// A line that is not a sound record: an error; in salvage, what is sound in it is still taken. Returns whether the
/// file ends with it.
#[cold]
fn damaged<R: LineReader>(
    reader: &mut R,
    line: &TextLine<'_>,
    text: Range<usize>,
    scratch: &mut Scratch,
) -> bool {
    let record = &line.bytes[text.clone()];
    let rules = RecordRules {
        mark: R::MARK,
        sound: &|text| R::decode(text, &mut [0; SCRATCH]).is_some(),
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
    for part in parts(text.clone(), line.bytes, R::MARK) {
        // Between two records of one line the line end is lost, and perhaps more.
        if part.start > text.start {
            reader.unread(line, part.start..part.start);
        }
        let bytes = &line.bytes[part.clone()];
        // Perhaps something was only added after it.
        let record = without_rest(bytes, R::length(bytes));
        let place = part.start..part.start + record.len();
        match R::decode(record, scratch) {
            Some(record) => {
                ended |= reader.record(line, &record, &place);
                if !line.bytes[place.end..part.end].trim_ascii().is_empty() {
                    reader.unread(line, place.end..part.end);
                }
            }
            None => reader.lost(line, part.start, bytes),
        }
    }
    if line.length > line.bytes.len() as u64 {
        reader.unread(line, line.bytes.len()..line.bytes.len());
    }
    ended
}

/// Looks at what follows the end record, without reading it as data, and says how much there is. `record` says whether a
/// line is a sound record, and whether that is another end record.
pub(super) fn pass_over_rest(
    input: &mut Input<'_>,
    findings: &mut Findings,
    record: impl Fn(&[u8], &mut Scratch) -> Option<bool>,
) -> io::Result<()> {
    let mut scratch: Scratch = [0; SCRATCH];
    let mut first = None;
    let (mut lines, mut records, mut ends) = (0, 0, 0);
    while let Some(line) = input.next_line()? {
        let text = line.bytes.trim_ascii();
        if text.iter().all(|b| is_padding(*b)) {
            continue;
        }
        first.get_or_insert_with(|| TextPlace::new(&line, 0..line.bytes.len()));
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

/// How much the beginning of a file looks like lines that `R` reads; `begun` is true of a line that may be a damaged record.
pub(super) fn likeness<R: LineReader>(head: &Head<'_>, begun: impl Fn(&[u8]) -> bool) -> Likeness {
    let mut scratch: Scratch = [0; SCRATCH];
    let mut likely = false;
    for line in head.lines() {
        if R::decode(line, &mut scratch).is_some() {
            return Likeness::Proven;
        }
        likely = likely || begun(line);
    }
    match (likely, head.bytes().is_ascii()) {
        (true, _) => Likeness::Likely,
        (_, true) => Likeness::Possible,
        _ => Likeness::No,
    }
}

/// Reports what comes after the end record: lines that are not blank, sound records, and end records among them.
pub(super) fn after_end(
    findings: &mut Findings,
    first: Option<TextPlace>,
    (lines, records, ends): (u64, u64, u64),
) {
    let problem = Problem::AfterEnd { lines, records };
    match records {
        0 => findings.odd(first, problem),
        _ => findings.suspect(first, problem),
    }
    if ends > 0 {
        let is_it = |p: &Problem| matches!(p, Problem::AfterEnd { .. });
        findings.explain(is_it, |_| Some(Explanation::SeveralEnds { more: ends }));
    }
}
