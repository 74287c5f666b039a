//! TI-TXT: addresses after `@`, bytes in pairs, `q` at the end.
//!
//! Rules: Texas Instruments, TI-TXT file format, in the MSP430 bootstrap-loader and assembly-tools guides (SLAU131).
//! The old rule that a section starts at an even address is checked only when reading strictly. Nothing in the format
//! limits addresses; reading and writing take up to 64 bits.

use std::io::{self, Write};

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
use super::record;
use super::words::{self, SectionWriter};
use super::written::{WriteError, Written};
use crate::image::{Image, Source};

/// The format `ti-txt`.
pub struct TiTxt;

/// What is known of `ti-txt` files.
const META: Metadata = Metadata {
    name: "ti-txt",
    about: "TI-TXT: @address lines, bytes in pairs, q at the end",
    rules: "Texas Instruments, TI-TXT file format, in the MSP430 bootstrap-loader and assembly-tools guides (SLAU131)",
    extensions: &["txt"],
    reading: &[ReadOption::Unit],
    writing: &[
        WriteOption::Address,
        WriteOption::Width,
        WriteOption::Crlf,
        WriteOption::Unit,
    ],
    ..Metadata::USUAL
};

/// Bytes in a line, according to the rules.
const LINE: usize = 16;
/// Digits of the widest address that the format's processors have: 20 bits.
const USUAL_ADDRESS: usize = 5;

fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t')
}

/// The words of a line, as positions in it.
fn words_of(bytes: &[u8]) -> impl Iterator<Item = std::ops::Range<usize>> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let from = at + bytes[at..].iter().position(|b| !is_blank(*b))?;
        let len = bytes[from..].iter().position(|b| is_blank(*b));
        at = len.map_or(bytes.len(), |n| from + n);
        Some(from..at)
    })
}

struct TiTxtReader<'f> {
    findings: &'f mut Findings,
    section: SectionWriter,
    unit: u64,
    /// Data bytes in this line until now.
    in_line: usize,
    /// A line of the section that was not full; it must be the last.
    short_line: Option<TextPlace>,
    ended: bool,
}

impl TiTxtReader<'_> {
    fn part(&mut self, part: &LinePart<'_>) {
        let before = self.findings.errors();
        self.words(part);
        self.findings.note_damage(before, part.line.number);
    }

    fn words(&mut self, part: &LinePart<'_>) {
        let bytes = part.line.bytes;
        if part.before == 0 {
            self.in_line = 0;
        }
        for mark in words_of(bytes) {
            if self.ended {
                let place = part.place(mark.start..bytes.len());
                self.findings.odd(Some(place), Problem::Outside);
                break;
            }
            self.word(part, mark);
        }
        if self.section.end_line(&part.line).is_err() {
            self.findings
                .error_at(|| part.place(0..bytes.len()), Problem::OutOfSpace);
        }
        if self.findings.is_strict() {
            self.check_layout(part);
        }
    }

    fn word(&mut self, part: &LinePart<'_>, mark: std::ops::Range<usize>) {
        let bytes = part.line.bytes;
        if let [high, low] = bytes[mark.clone()] {
            if let (Some(h), Some(l)) = (words::digit(high), words::digit(low)) {
                if !self.section.any && !self.section.knows_place() {
                    self.findings
                        .error_at(|| part.place(mark), Problem::NoAddress);
                }
                self.in_line += 1;
                self.section.push(h << 4 | l);
                return;
            }
        }
        match bytes[mark.clone()] {
            [b'@', ..] => {
                self.short_line = None;
                self.findings.facts.count("@ (address)");
                let at = words::named_address(part, mark.clone(), self.unit, self.findings);
                if let Some(address) = at.filter(|a| a % 2 == 1) {
                    self.findings
                        .strictly_at(|| part.place(mark.clone()), Problem::OddStart { address });
                }
                self.section.any |= at.is_none();
                let digits = &bytes[mark.start + 1..mark.end];
                if self.section.seek(at, part.line.number, digits).is_err() {
                    self.findings
                        .error_at(|| part.place(0..mark.start), Problem::OutOfSpace);
                }
            }
            [q @ (b'q' | b'Q')] => {
                self.ended = true;
                if q == b'Q' {
                    let what = "the end mark in upper case";
                    self.findings
                        .strictly_at(|| part.place(mark), Problem::Untidy { what });
                }
            }
            ref word if words::is_tail(word) => {
                let what = "bytes 1A or 00 between or after the data";
                self.findings
                    .strictly_at(|| part.place(mark), Problem::Untidy { what });
            }
            _ => self.bad_word(part, mark),
        }
    }

    /// Something that is not a byte, an address or the end.
    fn bad_word(&mut self, part: &LinePart<'_>, mark: std::ops::Range<usize>) {
        // If the last address was not sound, nothing is taken; that was reported already.
        let silent = !self.section.knows_place() && self.section.any;
        self.section.any = true;
        let line = part.line.number;
        let word = &part.line.bytes[mark.clone()];
        let (mark, problem, kept) = if let &[high, _] = word {
            // It still counts as one byte, so that what follows keeps its place.
            let at = mark.start + usize::from(words::digit(high).is_some());
            self.in_line += 1;
            (at..at + 1, Problem::NotHex, self.section.skip(1, line))
        } else {
            let problem = match mark.end == part.line.bytes.len() && part.goes_on {
                true => Problem::LongWord { most: LONGEST_LINE },
                false => Problem::NoPair { has: word.len() },
            };
            (mark, problem, self.section.lose(line))
        };
        if !silent {
            self.findings.error_at(|| part.place(mark), problem);
        }
        if kept.is_err() {
            self.findings
                .error_at(|| part.place(0..part.line.bytes.len()), Problem::OutOfSpace);
        }
    }

    /// When reading strictly: single blanks, upper case, full lines.
    fn check_layout(&mut self, part: &LinePart<'_>) {
        let bytes = part.line.bytes;
        let blanks = (0..bytes.len()).find(|&i| {
            let edge = (i == 0 && part.before == 0) || (i + 1 == bytes.len() && !part.goes_on);
            is_blank(bytes[i])
                && (edge || bytes[i] == b'\t' || bytes.get(i + 1).is_some_and(|b| is_blank(*b)))
        });
        if let Some(i) = blanks {
            let what = "bytes must be separated by single blanks";
            self.findings
                .error_at(|| part.place(i..i + 1), Problem::Untidy { what });
        }
        let lower = bytes.iter().position(|b| matches!(b, b'a'..=b'f'));
        if let Some(i) = lower {
            let what = "a hex digit in lower case";
            self.findings
                .error_at(|| part.place(i..i + 1), Problem::Untidy { what });
        }
        if self.in_line == 0 || part.goes_on {
            return;
        }
        let what = "a line must have 16 bytes; only the last of a section may have fewer";
        if let Some(place) = self.short_line.take() {
            self.findings.error(Some(place), Problem::Untidy { what });
        }
        let place = part.place(0..bytes.len());
        match self.in_line {
            LINE => {}
            0..LINE => self.short_line = Some(place),
            _ => self.findings.error(Some(place), Problem::Untidy { what }),
        }
    }
}

impl Sealed for TiTxt {}

impl Format for TiTxt {
    fn meta(&self) -> &'static Metadata {
        &META
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        let (mut data, mut closed, mut long) = (false, false, false);
        let text = words::whole_text(head).split(u8::is_ascii_whitespace);
        for (i, word) in text.filter(|w| !w.is_empty()).enumerate() {
            match word {
                [b'q' | b'Q'] if data => {
                    closed = true;
                    break;
                }
                [high, low] if i > 0 && high.is_ascii_hexdigit() && low.is_ascii_hexdigit() => {
                    data = true;
                }
                word if words::is_address(word) => long |= word.len() > 1 + USUAL_ADDRESS,
                word if data && words::is_tail(word) => {}
                _ => return Likeness::No,
            }
        }
        match (data, closed || !long) {
            (false, _) => Likeness::No,
            (true, true) => Likeness::Likely,
            (true, false) => Likeness::Possible,
        }
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let unit = address::unit(how, findings);
        let mut reader = TiTxtReader {
            section: SectionWriter::new(Source::File(input.name().clone()), None, findings),
            findings,
            unit,
            in_line: 0,
            short_line: None,
            ended: false,
        };
        while !reader.ended {
            let Some(part) = input.next_part()? else {
                break;
            };
            reader.part(&part);
        }
        if reader.ended {
            record::pass_over_rest(input, reader.findings, |_, _| None)?;
        } else if reader.section.any {
            reader
                .findings
                .suspect(None, Problem::NoEnd { example: "q" });
        }
        if !reader.section.any {
            reader.findings.error(None, Problem::NoData);
        }
        Ok(reader.section.finish(how.clash, reader.findings))
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let count = Counting::new(image, how)?;
        let width = count.width(how.width, META.name, LINE as u16, u16::MAX)?;
        address::check_limit(how.address, count.last(image))?;
        let digits = address::digits(how.address).unwrap_or(4);
        let mut written = Written::default();
        address::leave_out_entry(image, how, META.name, &mut written);
        let mut text = HexText::new();
        for span in image.spans() {
            let address = span.start() / count.unit;
            text.plain(format!("@{address:0digits$X}").as_bytes());
            text.plain(how.line_end());
            for line in span.bytes().chunks(width) {
                for (i, byte) in line.iter().enumerate() {
                    text.plain(if i == 0 { b"" } else { b" " });
                    text.hex(&[*byte]);
                }
                text.plain(how.line_end());
                text.pour(out, false)?;
            }
        }
        text.plain(b"q");
        text.plain(how.line_end());
        text.pour(out, true)?;
        Ok(written)
    }
}

#[cfg(test)]
mod tests;
