//! What the formats of hex words with blanks between them share: putting bytes after an address in the text.

use super::findings::Findings;
use super::input::LinePart;
use super::layout;
use super::line::TextLine;
use super::problem::Problem;
use super::rows::{self, TextRows};
use crate::image::{Builder, Clash, Image, OutOfSpace, Source};

/// Most digits of a 64-bit address.
const ADDRESS_DIGITS: usize = 16;

/// Value of a hex digit.
#[inline]
pub(super) fn digit(byte: u8) -> Option<u8> {
    (byte as char).to_digit(16).map(|d| d as u8)
}

/// Bytes on their way into an image, section by section.
pub(super) struct SectionWriter {
    builder: Builder,
    /// Bytes not yet handed on, and the address of the first; `None` while no address is certain.
    at: Option<u64>,
    bytes: Vec<u8>,
    /// Bytes that have no certain address.
    lost: u64,
    /// Whether any data came, taken or not.
    pub any: bool,
    /// In salvage nothing is handed on before all is read; and where the first byte is.
    rows: Option<(TextRows, Option<u64>)>,
}

impl SectionWriter {
    /// Bytes from `source`; they begin at `start`, or nowhere before the first address.
    pub fn new(source: Source, start: Option<u64>, findings: &Findings) -> Self {
        Self {
            rows: findings.is_salvage().then(|| (TextRows::default(), start)),
            builder: Builder::new(source),
            at: start,
            bytes: Vec::new(),
            lost: 0,
            any: false,
        }
    }

    /// Whether the address of the next byte is certain.
    pub fn knows_place(&self) -> bool {
        self.at.is_some()
    }

    #[inline]
    pub fn push(&mut self, byte: u8) {
        self.any = true;
        if let Some((rows, _)) = &mut self.rows {
            rows.push(byte);
        }
        match self.at {
            Some(_) => self.bytes.push(byte),
            None => self.lost += 1,
        }
    }

    /// Goes on at an address, whose digits are given; or nowhere, where they can't be read.
    pub fn seek(&mut self, to: Option<u64>, line: u64, digits: &[u8]) -> Result<(), OutOfSpace> {
        let flushed = self.flush(line);
        if let Some((rows, _)) = &mut self.rows {
            rows.address(to, line, digits);
        }
        self.at = to;
        flushed
    }

    /// Goes on nowhere: it isn't certain how many bytes there are.
    pub fn lose(&mut self, line: u64) -> Result<(), OutOfSpace> {
        let flushed = self.flush(line);
        if let Some((rows, _)) = &mut self.rows {
            rows.lose();
        }
        self.at = None;
        flushed
    }

    /// Ends a line, or a part of it.
    pub fn end_line(&mut self, line: &TextLine<'_>) -> Result<(), OutOfSpace> {
        let flushed = self.flush(line.number);
        if let Some((rows, _)) = &mut self.rows {
            rows.end_row(line.number, rows::even_width(line.bytes));
        }
        flushed
    }

    /// Leaves a hole of `n` bytes.
    pub fn skip(&mut self, n: u64, line: u64) -> Result<(), OutOfSpace> {
        self.any = true;
        self.flush(line)?;
        if let Some((rows, _)) = &mut self.rows {
            rows.skip(n);
        }
        self.at = self.at.and_then(|at| at.checked_add(n));
        Ok(())
    }

    /// Hands on what was read from `line`.
    fn flush(&mut self, line: u64) -> Result<(), OutOfSpace> {
        let Some(at) = self.at else { return Ok(()) };
        let pushed = match &mut self.rows {
            None => self.builder.push(at, &self.bytes, line),
            Some((rows, _)) => match at.checked_add(self.bytes.len() as u64) {
                Some(_) => Ok(()),
                None => {
                    rows.lose();
                    Err(OutOfSpace)
                }
            },
        };
        self.at = match pushed {
            Ok(()) => at.checked_add(self.bytes.len() as u64),
            Err(OutOfSpace) => None,
        };
        self.bytes.clear();
        pushed
    }

    /// Lays everything out.
    pub fn finish(mut self, clash: Clash, findings: &mut Findings) -> Image {
        match self.rows.take() {
            None => findings.facts.left_out_bytes += self.lost,
            Some((rows, start)) => {
                let is_settled = matches!(clash, Clash::First | Clash::Last);
                rows.settle(start, is_settled, &mut self.builder, findings);
            }
        }
        layout::finished(self.builder, clash, findings, |_| {})
    }
}

/// The byte address that the `@` word at `mark` of a part names; notes what is wrong with it.
pub(super) fn named_address(
    part: &LinePart<'_>,
    mark: std::ops::Range<usize>,
    unit: u64,
    findings: &mut Findings,
) -> Option<u64> {
    let digits = &part.line.bytes[mark.start + 1..mark.end];
    let (bad, problem) = match digits.iter().position(|b| !b.is_ascii_hexdigit()) {
        Some(i) => {
            let at = mark.start + 1 + i;
            (at..at + 1, Problem::NotHex)
        }
        None if digits.is_empty() => (mark, Problem::BareMark),
        None => {
            let zeros = digits.iter().take_while(|b| **b == b'0').count();
            let digits = &digits[zeros..];
            if digits.len() > ADDRESS_DIGITS {
                let digits = digits.len();
                (mark, Problem::LongAddress { digits })
            } else {
                let number = digits
                    .iter()
                    .filter_map(|b| digit(*b))
                    .fold(0u64, |n, d| n << 4 | u64::from(d));
                match number.checked_mul(unit) {
                    Some(address) => return Some(address),
                    None => (mark, Problem::OutOfSpace),
                }
            }
        }
    };
    findings.error_at(|| part.place(bad), problem);
    None
}

/// The words at the start of a file, up to the last that is certainly whole.
pub(super) fn whole_text<'a>(head: &super::likeness::Head<'a>) -> &'a [u8] {
    let last = match head.is_whole() {
        true => Some(head.bytes().len()),
        false => head.bytes().iter().rposition(u8::is_ascii_whitespace),
    };
    &head.bytes()[..last.unwrap_or(0)]
}

/// Whether a word is an address: `@` and up to 64 bits in hex.
pub(super) fn is_address(word: &[u8]) -> bool {
    matches!(word, [b'@', digits @ ..]
        if (1..=ADDRESS_DIGITS).contains(&digits.len()) && digits.iter().all(u8::is_ascii_hexdigit))
}

/// The 0x1A or NULs that some systems put at the end of a file.
pub(super) fn is_tail(word: &[u8]) -> bool {
    word.iter().all(|b| matches!(b, 0 | 0x1A))
}
