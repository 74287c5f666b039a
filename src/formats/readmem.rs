//! Hex words for the `$readmemh` task of hardware simulators.
//!
//! Rules: IEEE Std 1364-2005, 17.2.9, `$readmemh` file format. An address after `@` counts words, not bytes.
//! The user says which byte of a word comes first in memory; the standard knows only words.

use std::io::{self, Write};
use std::ops::Range;

use super::address::{self, Counting};
use super::findings::Findings;
use super::format::{Format, Sealed};
use super::hex::HexText;
use super::input::{Input, LinePart};
use super::likeness::{Head, Likeness};
use super::line::LONGEST_LINE;
use super::meta::{Metadata, ReadOption, WriteOption};
use super::options::{ReadOptions, WriteOptions};
use super::place::TextPlace;
use super::problem::Problem;
use super::words::{self, SectionWriter};
use super::written::{WriteError, Written};
use crate::image::{Image, OutOfSpace, Source};
use crate::sums::Order;

/// The format `readmem`.
pub struct Readmem;

/// What is known of `readmem` files.
const META: Metadata = Metadata {
    name: "readmem",
    about: "hex words for $readmemh; addresses, after @, count words",
    rules: "IEEE Std 1364-2005, 17.2.9, $readmemh file format",
    extensions: &["mem", "vh"],
    reading: &[ReadOption::Word, ReadOption::Order],
    writing: &[
        WriteOption::Address,
        WriteOption::Width,
        WriteOption::Crlf,
        WriteOption::Word,
        WriteOption::Order,
    ],
    ..Metadata::USUAL
};

/// What the text is inside of, from one part of a line to the next.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Inside {
    Text,
    LineComment,
    /// In `/* */`; and whether the part before ended at a `*` of it.
    Comment {
        star: bool,
    },
}

/// Cuts text into words; comments are blanks.
struct WordCutter<'a> {
    bytes: &'a [u8],
    at: usize,
    inside: Inside,
    /// Where a comment was opened last, if one was.
    opened: Option<usize>,
}

impl WordCutter<'_> {
    /// The next word, as a position in the text.
    fn next(&mut self) -> Option<Range<usize>> {
        loop {
            match self.inside {
                Inside::LineComment => {
                    let rest = &self.bytes[self.at..];
                    self.at += memchr::memchr2(b'\n', b'\r', rest)?;
                    self.inside = Inside::Text;
                }
                Inside::Comment { star } => {
                    let rest = &self.bytes[self.at..];
                    let closed = match (star, rest.first()) {
                        (true, Some(b'/')) => Some(1),
                        _ => memchr::memmem::find(rest, b"*/").map(|i| i + 2),
                    };
                    let Some(closed) = closed else {
                        let star = rest.last().map_or(star, |b| *b == b'*');
                        self.inside = Inside::Comment { star };
                        self.at = self.bytes.len();
                        return None;
                    };
                    self.at += closed;
                    self.inside = Inside::Text;
                }
                Inside::Text => {
                    let rest = &self.bytes[self.at..];
                    let from = rest.iter().position(|b| !is_blank(*b))?;
                    let from = self.at + from;
                    match &self.bytes[from..] {
                        [b'/', b'/', ..] => {
                            self.inside = Inside::LineComment;
                            self.at = from + 2;
                        }
                        [b'/', b'*', ..] => {
                            self.inside = Inside::Comment { star: false };
                            self.opened = Some(from);
                            self.at = from + 2;
                        }
                        word => {
                            let behind = word[1..].iter();
                            let len = behind.take_while(|b| !is_blank(**b) && **b != b'/').count();
                            self.at = from + 1 + len;
                            return Some(from..self.at);
                        }
                    }
                }
            }
        }
    }
}

/// White space by the standard: blanks, new lines, tabs and form feeds.
fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\n' | b'\r' | 0x0C)
}

/// A digit that means bits without a value.
fn is_unknown(byte: u8) -> bool {
    matches!(byte, b'x' | b'X' | b'z' | b'Z' | b'?')
}

struct ReadmemReader<'f> {
    findings: &'f mut Findings,
    section: SectionWriter,
    word: u8,
    order: Order,
    /// Digits of the numbers: `None` before the first, then how many, as long as all have the same number.
    digits: Option<Option<usize>>,
    inside: Inside,
    /// The comment that is open.
    opened: Option<TextPlace>,
}

impl ReadmemReader<'_> {
    fn part(&mut self, part: &LinePart<'_>) {
        let before = self.findings.errors();
        self.words(part);
        self.findings.note_damage(before, part.line.number);
    }

    fn words(&mut self, part: &LinePart<'_>) {
        let mut words = WordCutter {
            bytes: part.line.bytes,
            at: 0,
            inside: self.inside,
            opened: None,
        };
        while let Some(mark) = words.next() {
            if self.take(part, mark).is_err() {
                self.out_of_space(part);
            }
        }
        self.inside = words.inside;
        match &mut self.inside {
            Inside::Text => {}
            Inside::LineComment if part.goes_on => {}
            Inside::LineComment => self.inside = Inside::Text,
            Inside::Comment { star } => {
                *star &= part.goes_on;
                // If it was not opened in this part, it was opened in an earlier one.
                if let Some(at) = words.opened {
                    self.opened = Some(part.place(at..at + 2));
                }
            }
        }
        if self.section.end_line(&part.line).is_err() {
            self.out_of_space(part);
        }
    }

    fn out_of_space(&mut self, part: &LinePart<'_>) {
        self.findings
            .error_at(|| part.place(0..part.line.bytes.len()), Problem::OutOfSpace);
    }

    fn take(&mut self, part: &LinePart<'_>, mark: Range<usize>) -> Result<(), OutOfSpace> {
        let text = &part.line.bytes[mark.clone()];
        let line = part.line.number;
        if part.goes_on && mark.end == part.line.bytes.len() {
            return self.lost(part, mark, Problem::LongWord { most: LONGEST_LINE });
        }
        if text[0] == b'@' {
            self.findings.facts.count("@ (address)");
            let at = words::named_address(part, mark, self.word.into(), self.findings);
            self.section.any |= at.is_none();
            return self.section.seek(at, line, &text[1..]);
        }
        if words::is_tail(text) {
            let what = "bytes 1A or 00 between or after the words";
            self.findings
                .strictly_at(|| part.place(mark), Problem::Untidy { what });
            return Ok(());
        }
        let (mut value, mut digits) = (0u64, 0);
        for (i, &byte) in text.iter().enumerate() {
            match words::digit(byte) {
                Some(digit) => {
                    value = value << 4 | u64::from(digit);
                    digits += 1;
                }
                None if byte == b'_' && i > 0 => {}
                None => {
                    let problem = match is_unknown(byte) {
                        true => Problem::UnknownBits,
                        false => Problem::NotHex,
                    };
                    let at = mark.start + i;
                    if self.section.knows_place() {
                        self.findings.error_at(|| part.place(at..at + 1), problem);
                    }
                    // It still counts as one word, so that what follows keeps its place.
                    return self.section.skip(self.word.into(), line);
                }
            }
        }
        if digits > 2 * usize::from(self.word) {
            let word = self.word;
            return self.lost(part, mark, Problem::WideWord { digits, word });
        }
        self.digits = match self.digits {
            None => Some(Some(digits)),
            Some(all) => Some(all.filter(|d| *d == digits)),
        };
        let word = usize::from(self.word);
        match self.order {
            Order::Little => {
                let bytes = value.to_le_bytes();
                bytes[..word].iter().for_each(|b| self.section.push(*b));
            }
            Order::Big => {
                let bytes = value.to_be_bytes();
                bytes[8 - word..].iter().for_each(|b| self.section.push(*b));
            }
        }
        Ok(())
    }

    /// From here to the next address, the places of words are not certain.
    fn lost(
        &mut self,
        part: &LinePart<'_>,
        mark: Range<usize>,
        problem: Problem,
    ) -> Result<(), OutOfSpace> {
        if self.section.knows_place() {
            self.findings.error_at(|| part.place(mark), problem);
        }
        self.section.any = true;
        self.section.lose(part.line.number)
    }
}

impl Sealed for Readmem {}

impl Format for Readmem {
    fn meta(&self) -> &'static Metadata {
        &META
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        let mut words = WordCutter {
            bytes: words::whole_text(head),
            at: 0,
            inside: Inside::Text,
            opened: None,
        };
        let (mut data, mut telling) = (false, false);
        while let Some(mark) = words.next() {
            let word = &words.bytes[mark.clone()];
            if words::is_address(word) {
                telling = true;
            } else if data && words::is_tail(word) {
            } else if word.len() <= 20
                && word[0].is_ascii_hexdigit() | is_unknown(word[0])
                && word
                    .iter()
                    .all(|b| b.is_ascii_hexdigit() || is_unknown(*b) || *b == b'_')
            {
                data = true;
            } else {
                return Likeness::No;
            }
        }
        // All words are hex, so every `/` is part of a comment.
        telling |= words.bytes.contains(&b'/');
        telling &= std::str::from_utf8(words.bytes).is_ok();
        match (data, telling) {
            (false, _) => Likeness::No,
            (true, false) => Likeness::Possible,
            (true, true) => Likeness::Likely,
        }
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let word = address::word(how, findings);
        if how.unit != 1 {
            findings.error(None, Problem::UnitAndWord);
        }
        let mut reader = ReadmemReader {
            section: SectionWriter::new(Source::File(input.name().clone()), Some(0), findings),
            findings,
            word,
            order: how.order,
            digits: None,
            inside: Inside::Text,
            opened: None,
        };
        while let Some(part) = input.next_part()? {
            reader.part(&part);
        }
        if let Inside::Comment { .. } = reader.inside {
            let place = reader.opened.take();
            reader.findings.error(place, Problem::OpenComment);
        }
        if !reader.section.any {
            reader.findings.error(None, Problem::NoData);
        }
        if let Some(Some(digits)) = reader.digits {
            if digits > 1 && digits.div_ceil(2) < usize::from(word) {
                let problem = Problem::NarrowWords { digits, word };
                reader.findings.warning(None, problem);
            }
        }
        Ok(reader.section.finish(how.clash, reader.findings))
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        if how.unit != 1 {
            return Err(WriteError::UnitAndWord);
        }
        let count = Counting::by(WriteOption::Word, how.word, image)?;
        let width = count.width(how.width, META.name, 16, u16::MAX)?;
        address::check_limit(how.address, count.last(image))?;
        let digits = address::digits(how.address).unwrap_or(4);
        let mut written = Written::default();
        address::leave_out_entry(image, how, META.name, &mut written);
        let mut text = HexText::new();
        let mut word = Vec::new();
        for span in image.spans() {
            let address = span.start() / count.unit;
            text.plain(format!("@{address:0digits$X}").as_bytes());
            text.plain(how.line_end());
            for line in span.bytes().chunks(width) {
                for (i, bytes) in line.chunks(how.word.into()).enumerate() {
                    text.plain(if i == 0 { b"" } else { b" " });
                    word.clear();
                    word.extend_from_slice(bytes);
                    if how.order == Order::Little {
                        word.reverse();
                    }
                    text.hex(&word);
                }
                text.plain(how.line_end());
                text.pour(out, false)?;
            }
        }
        text.pour(out, true)?;
        Ok(written)
    }
}

#[cfg(test)]
mod tests;
