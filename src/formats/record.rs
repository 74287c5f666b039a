//! What the hexadecimal record formats share: tidying a line, digit pairs, and finding what is wrong with a line.

use std::io;
use std::ops::Range;

use hex_simd::AsOut;

use super::findings::{Findings, Place, Problem};
use super::input::{Input, Line, is_padding};
use crate::image::{Builder, Clash, Image};

/// A record in bytes: at most a length byte and the 255 it counts, and some to spare.
pub(super) type Scratch = [u8; 264];

/// Decodes pairs of hex digits, either case; `None` when `digits` is anything else or too long.
#[inline]
pub(super) fn decode<'s>(digits: &[u8], scratch: &'s mut Scratch) -> Option<&'s [u8]> {
    let out = scratch.get_mut(..digits.len() / 2)?;
    hex_simd::decode(digits, out.as_out()).ok().map(|b| &*b)
}

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

/// Bytes on their way out, as hex text.
pub(super) struct HexText {
    text: Vec<u8>,
}

impl HexText {
    pub(super) fn new() -> Self {
        Self {
            text: Vec::with_capacity(64 * 1024),
        }
    }

    #[inline]
    pub(super) fn plain(&mut self, text: &[u8]) {
        self.text.extend_from_slice(text);
    }

    #[inline]
    pub(super) fn hex(&mut self, bytes: &[u8]) {
        hex_simd::encode_append(bytes, &mut self.text, hex_simd::AsciiCase::Upper);
    }

    /// Hands the text on once enough has gathered; `last` hands on whatever there is.
    #[inline]
    pub(super) fn pour(&mut self, out: &mut dyn std::io::Write, last: bool) -> std::io::Result<()> {
        if last || self.text.len() >= 60 * 1024 {
            out.write_all(&self.text)?;
            self.text.clear();
        }
        Ok(())
    }
}

/// Looks at what follows the end record, without reading it as data, and says how much there is.
pub(super) fn pass_over_rest(
    input: &mut Input<'_>,
    findings: &mut Findings,
    is_record: impl Fn(&[u8], &mut Scratch) -> bool,
) -> io::Result<()> {
    let mut scratch: Scratch = [0; _];
    let mut first = None;
    let (mut lines, mut records) = (0, 0);
    while let Some(line) = input.next_line()? {
        let text = line.bytes.trim_ascii();
        if text.iter().all(|b| is_padding(*b)) {
            continue;
        }
        first.get_or_insert_with(|| Place::new(&line, 0..line.bytes.len()));
        lines += 1;
        records += u64::from(is_record(text, &mut scratch));
    }
    if lines > 0 {
        findings.odd(first, Problem::AfterEnd { lines, records });
    }
    Ok(())
}

/// Lays out what was read. Addresses that came twice, where `clash` does not settle them, go to the findings.
pub(super) fn finished(
    builder: Builder,
    clash: Clash,
    findings: &mut Findings,
    carry: impl FnOnce(&mut Image),
) -> Image {
    match builder.finish(clash) {
        Ok(mut image) => {
            carry(&mut image);
            image
        }
        Err(overlap) => {
            findings.error(None, Problem::Overlap(Box::new(overlap)));
            Image::new()
        }
    }
}
