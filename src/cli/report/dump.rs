//! Bytes in rows: the address at both ends, `__` for a hole, text as a quoted remark, a long run in one line.

use std::borrow::Cow;
use std::io::{self, Write};

use serde::{Serialize, Serializer};

use super::address::{RangeView, address_width};
use super::document::Report;
use super::fit;
use super::style::Style;
use crate::image::{AddressRange, Image};
use crate::prose::plural;

/// Bytes in a row.
const ROW: u64 = 16;
/// A run of equal bytes, or of holes, of this length is shown in one line.
const LEAST_RUN: u64 = 2 * ROW;
/// Shortest text worth a remark.
const LEAST_TEXT: usize = 4;

/// A dump of one range of one piece. Its rows are made while they are printed.
#[derive(Serialize)]
pub struct DumpReport<'i> {
    /// The piece's name.
    pub piece: String,
    /// The range.
    pub range: RangeView,
    /// The bytes, `null` for holes; left out of the JSON where a stretch is all holes.
    rows: DumpRows<'i>,
    #[serde(skip)]
    width: usize,
}

/// The rows of a range, one after another.
struct DumpRows<'i> {
    image: Cow<'i, Image>,
    range: AddressRange,
}

impl Serialize for DumpRows<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}

/// One line of a dump.
#[derive(Serialize)]
#[serde(untagged)]
pub enum DumpRow {
    /// Up to 16 bytes.
    Bytes {
        /// Address of the first.
        first: u64,
        /// The bytes, `null` for holes.
        bytes: Vec<Option<u8>>,
        /// Where the row's first byte came from, when that is news.
        origin: Option<String>,
    },
    /// A stretch of holes, or of one byte.
    Run {
        /// Address of the first.
        first: u64,
        /// How many.
        length: u64,
        /// The byte; `null` for holes.
        byte: Option<u8>,
    },
}

impl<'i> DumpReport<'i> {
    /// The dump of `range`.
    pub fn new(piece: &str, image: Cow<'i, Image>, range: AddressRange) -> Self {
        Self {
            piece: piece.into(),
            range: range.into(),
            rows: DumpRows { image, range },
            width: address_width(range.last()),
        }
    }
}

impl DumpRows<'_> {
    /// As many rows as the bytes there need, however long the range is.
    fn iter(&self) -> impl Iterator<Item = DumpRow> + '_ {
        let (image, range) = (&*self.image, self.range);
        let mut origin = None;
        let mut at = range.first();
        std::iter::from_fn(move || {
            if at > range.last() {
                return None;
            }
            let first = at;
            let run = run_at(image, first, range.last());
            if run >= LEAST_RUN && (first % ROW == 0 || first == range.first()) {
                // A run ends, and rows begin again, at the last whole row.
                let end = first + run;
                at = match end > range.last() {
                    true => end,
                    false => end - end % ROW,
                };
                return Some(DumpRow::Run {
                    first,
                    length: at - first,
                    byte: image.byte(first),
                });
            }
            at = (first - first % ROW)
                .saturating_add(ROW)
                .min(range.last() + 1);
            let from = (first..at).find_map(|a| image.origin_at(a));
            let source = from.as_ref().map(|o| o.source.clone());
            let news = source.is_some() && source != origin;
            origin = source.or(origin.take());
            Some(DumpRow::Bytes {
                first,
                bytes: (first..at).map(|a| image.byte(a)).collect(),
                origin: from.filter(|_| news).map(|o| o.to_string()),
            })
        })
    }
}

/// How many addresses from `at` on have the same byte, or none.
fn run_at(image: &Image, at: u64, last: u64) -> u64 {
    let Some(rest) = AddressRange::new(at, last) else {
        return 0;
    };
    match image.within(rest).next() {
        None => rest.len(),
        Some((start, _)) if start > at => start - at,
        Some((_, bytes)) => {
            let n = bytes.iter().take_while(|b| **b == bytes[0]).count();
            n as u64
        }
    }
}

impl Report for DumpReport<'_> {
    const STEP: &'static str = "show hex";

    fn text(&self, style: Style) -> String {
        self.lines(style).collect()
    }

    fn write_text(&self, style: Style, out: &mut dyn Write) -> io::Result<()> {
        (self.lines(style)).try_for_each(|line| out.write_all(style.fitted(&line).as_bytes()))
    }
}

impl DumpReport<'_> {
    fn lines(&self, style: Style) -> impl Iterator<Item = String> + '_ {
        let title = format!("{}\n", style.strong(&self.piece));
        let rows = self.rows.iter().map(move |row| self.line(&row, style));
        std::iter::once(title).chain(rows)
    }

    fn line(&self, row: &DumpRow, style: Style) -> String {
        let w = self.width;
        match row {
            DumpRow::Run {
                first,
                length,
                byte,
            } => {
                let what = match byte {
                    None => format!("hollow, {}", plural(*length, "byte")),
                    Some(b) => format!("{b:02X} throughout, {}", plural(*length, "byte")),
                };
                let last = first + (length - 1);
                format!("{first:0w$X} > {} < {last:0w$X}\n", style.faint(&what))
            }
            DumpRow::Bytes {
                first,
                bytes,
                origin,
            } => {
                let mut origin = origin.as_deref();
                let mut out = String::new();
                for (first, bytes) in narrowed(*first, bytes, cells_in(style, 2 * w + 6)) {
                    let last = first + (bytes.len() as u64 - 1);
                    let mut line =
                        format!("{first:0w$X} > {} < {last:0w$X}", hex_cells(first, bytes));
                    let texts = texts(bytes).into_iter();
                    let texts =
                        texts.map(|(at, text)| format!("{:0w$X} \"{text}\"", first + at as u64));
                    for remark in texts.chain(origin.take().map(str::to_owned)) {
                        remarked(&mut line, &remark, w + 3, style);
                    }
                    out += &line;
                    out.push('\n');
                }
                out
            }
        }
    }
}

/// How many bytes a row shows: 16, or fewer where a terminal, with so many columns beside the bytes, has no room for them.
pub(super) fn cells_in(style: Style, beside: usize) -> usize {
    let wide = |cells: usize| beside + 3 * cells - 1 + 2 * (cells / 4 - 1);
    let fits = |cells: &usize| !style.on_terminal() || wide(*cells) <= style.columns();
    [ROW as usize, 8].into_iter().find(fits).unwrap_or(4)
}

/// A row in rows of so many bytes, which end at multiples of that.
pub(super) fn narrowed<T>(first: u64, mut cells: &[T], row: usize) -> Vec<(u64, &[T])> {
    let (mut at, mut out) = (first, Vec::new());
    while !cells.is_empty() {
        let room = row - (at % row as u64) as usize;
        let (shown, rest) = cells.split_at(room.min(cells.len()));
        out.push((at, shown));
        at = at.saturating_add(shown.len() as u64);
        cells = rest;
    }
    out
}

/// Puts a remark beside a row, or in a line of its own where the terminal has no room for it there.
pub(super) fn remarked(line: &mut String, remark: &str, indent: usize, style: Style) {
    let last = line.lines().last().unwrap_or_default();
    if style.on_terminal() && fit::width(last) + 2 + fit::width(remark) > style.columns() {
        *line += &format!("\n{:indent$}", "");
    } else {
        line.push_str("  ");
    }
    *line += &style.faint(remark);
}

/// `A9 00 8D 11 . 60 4C 03 80`: a dot before each multiple of four.
pub(super) fn hex_cells(first: u64, bytes: &[Option<u8>]) -> String {
    let mut out = String::new();
    for (i, byte) in bytes.iter().enumerate() {
        if i > 0 {
            let grouped = (first + i as u64) % 4 == 0;
            out += if grouped { " . " } else { " " };
        }
        match byte {
            Some(b) => out += &format!("{b:02X}"),
            None => out += "__",
        }
    }
    out
}

/// The stretches that read as text, each with its place.
fn texts(bytes: &[Option<u8>]) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    let mut text = String::new();
    for (i, byte) in bytes.iter().copied().chain([None]).enumerate() {
        match byte {
            Some(b) if (b.is_ascii_graphic() || b == b' ') && b != b'"' => text.push(b.into()),
            _ => {
                let at = i - text.len();
                let word = std::mem::take(&mut text);
                if word.trim().len() >= LEAST_TEXT {
                    out.push((at, word));
                }
            }
        }
    }
    out
}
