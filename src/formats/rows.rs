//! Salvage of formats whose bytes have no check and follow an address in the text: which of them surely are where they seem
//! to.
//!
//! A byte lost or added moves all that follow, up to the next address. Nothing tells but the shape of the lines: a tool
//! writes all of them alike, and only the last of a section shorter. Where a line is not like most, or can't be read, it and
//! the one before it are left out, and all up to the next address.

use std::collections::HashMap;

use super::facts::LeftOutLines;
use super::findings::Findings;
use super::problem::Problem;
use crate::image::Builder;

/// What was read, in order.
enum RowStep {
    Address(RowAddress),
    TextRow(TextRow),
}

/// An address in the text.
struct RowAddress {
    at: Option<u64>,
    line: u64,
    digits: usize,
    leading_zero: bool,
}

/// The bytes of a line, or of a part of it.
#[derive(Clone, Copy, Default)]
struct TextRow {
    line: u64,
    /// Bytes that have a place in it, also those that can't be read.
    places: u64,
    /// Where its bytes begin, and how many there are.
    from: usize,
    len: usize,
    /// Digits of its words, where they are even.
    width: Option<usize>,
    /// Some of its bytes can't be read.
    has_holes: bool,
    /// How many bytes it has can't be told.
    is_broken: bool,
}

/// All lines of data of a file.
#[derive(Default)]
pub(super) struct TextRows {
    steps: Vec<RowStep>,
    bytes: Vec<u8>,
    /// The row that grows.
    open: TextRow,
}

/// Bytes that have their place.
#[derive(Clone, Copy)]
struct PlacedRow {
    at: u64,
    row: TextRow,
    section: usize,
}

impl TextRows {
    pub fn push(&mut self, byte: u8) {
        self.bytes.push(byte);
        self.open.places += 1;
        self.open.len += 1;
    }

    /// Bytes that can't be read, and keep their place.
    pub fn skip(&mut self, bytes: u64) {
        self.open.places += bytes;
        self.open.has_holes = true;
    }

    /// Bytes of which it can't be told how many there are.
    pub fn lose(&mut self) {
        self.open.is_broken = true;
    }

    /// An address; `None` for one that can't be read. `digits` is its text.
    pub fn address(&mut self, at: Option<u64>, line: u64, digits: &[u8]) {
        // Data before an address, on one line with it, is not as tools write it.
        self.end_row(line, None);
        self.steps.push(RowStep::Address(RowAddress {
            at,
            line,
            digits: digits.len(),
            leading_zero: digits.first() == Some(&b'0'),
        }));
    }

    /// Ends a line, or a part of a very long one, whose words are even when they have a `width` in digits.
    pub fn end_row(&mut self, line: u64, width: Option<usize>) {
        let mut row = std::mem::take(&mut self.open);
        self.open.from = self.bytes.len();
        if row.places == 0 && !row.is_broken {
            return;
        }
        (row.line, row.width) = (line, width);
        match self.steps.last_mut() {
            Some(RowStep::TextRow(last)) if last.line == line => {
                last.places += row.places;
                last.len += row.len;
                last.has_holes |= row.has_holes;
                last.is_broken |= row.is_broken;
            }
            _ => self.steps.push(RowStep::TextRow(row)),
        }
    }

    /// Whether the section ends with this step.
    fn is_last(&self, step: usize) -> bool {
        !matches!(self.steps.get(step + 1), Some(RowStep::TextRow(_)))
    }

    /// Bytes in a line and digits in a word, where more than half of the lines that don't end a section have them.
    fn usual(&self) -> Option<(u64, Option<usize>)> {
        let mut counts: HashMap<(u64, Option<usize>), usize> = HashMap::new();
        let mut all = 0;
        for (n, step) in self.steps.iter().enumerate() {
            if let RowStep::TextRow(row) = step {
                if !self.is_last(n) {
                    all += 1;
                    *counts.entry((row.places, row.width)).or_default() += 1;
                }
            }
        }
        let most = counts.into_iter().max_by_key(|(_, count)| *count);
        most.filter(|(_, count)| 2 * count > all)
            .map(|(usual, _)| usual)
    }

    /// Digits of an address, where more than half of all have them.
    fn usual_digits(&self) -> Option<usize> {
        let mut counts: HashMap<usize, usize> = HashMap::new();
        let mut all = 0;
        for step in &self.steps {
            if let RowStep::Address(address) = step {
                all += 1;
                *counts.entry(address.digits).or_default() += 1;
            }
        }
        let most = counts.into_iter().max_by_key(|(_, count)| *count);
        most.filter(|(_, count)| 2 * count > all)
            .map(|(digits, _)| digits)
    }

    /// Hands on what has a certain place, `start` being that of the first byte; says what has none. When clashes are settled
    /// by the user, they say nothing of lost text.
    pub fn settle(
        self,
        start: Option<u64>,
        is_settled: bool,
        builder: &mut Builder,
        findings: &mut Findings,
    ) {
        let (placed, mut sections) = self.placed(start, findings);
        let mut twins = vec![false; placed.len()];
        if !is_settled {
            self.contradicted(&placed, &mut sections, &mut twins);
        }
        let mut lost = None;
        for (placed, is_twin) in placed.iter().zip(twins) {
            let row = &placed.row;
            if sections[placed.section] && !is_twin {
                lost.get_or_insert_with(|| LeftOutLines::after(row.line))
                    .add(row.line, row.len as u64);
                continue;
            }
            leave_out(lost.take(), true, findings);
            let bytes = &self.bytes[row.from..row.from + row.len];
            if builder.push(placed.at, bytes, row.line).is_err() {
                findings.error(None, Problem::OutOfSpace);
            }
        }
        leave_out(lost, true, findings);
    }

    /// The rows whose place the lines before them make certain; and for each section, that nothing speaks against it yet.
    fn placed(&self, start: Option<u64>, findings: &mut Findings) -> (Vec<PlacedRow>, Vec<bool>) {
        let usual = self.usual();
        let usual_digits = self.usual_digits();
        let mut out: Vec<PlacedRow> = Vec::new();
        let mut sections = vec![false];
        let (mut at, mut is_first) = (start, true);
        // What is left out, and whether it was not said why.
        let mut lost: Option<(LeftOutLines, bool)> = None;
        for (n, step) in self.steps.iter().enumerate() {
            let row = match step {
                RowStep::Address(address) => {
                    if let Some((lines, is_news)) = lost.take() {
                        leave_out(Some(lines), is_news, findings);
                    }
                    // More digits than most are a larger address, unless it begins with 0.
                    let odd = usual_digits.is_some_and(|usual| {
                        address.digits < usual || (address.digits > usual && address.leading_zero)
                    });
                    at = address.at.filter(|_| !odd);
                    if at.is_none() {
                        lost = Some((LeftOutLines::after(address.line), address.at.is_some()));
                    }
                    sections.push(false);
                    is_first = true;
                    continue;
                }
                RowStep::TextRow(row) => row,
            };
            let odd = usual.is_some_and(|(places, width)| {
                let short = self.is_last(n) && row.places < places;
                row.width != width || (row.places != places && !short)
            });
            match at {
                Some(from) if !(odd || row.is_broken || is_first && row.has_holes) => {
                    if row.has_holes {
                        let mut line = LeftOutLines::after(row.line);
                        line.add(row.line, row.len as u64);
                        leave_out(Some(line), false, findings);
                    } else {
                        out.push(PlacedRow {
                            at: from,
                            row: *row,
                            section: sections.len() - 1,
                        });
                    }
                    at = from.checked_add(row.places);
                }
                _ => {
                    let is_news = !row.is_broken && !row.has_holes;
                    let (lines, _) = lost.get_or_insert((LeftOutLines::after(row.line), is_news));
                    if at.take().is_some() {
                        // What was lost may have begun in the line before.
                        let section = sections.len() - 1;
                        if out.last().is_some_and(|before| before.section == section) {
                            let before = out.pop();
                            before
                                .iter()
                                .for_each(|p| lines.add(p.row.line, p.row.len as u64));
                        }
                    }
                    lines.add(row.line, row.len as u64);
                }
            }
            is_first = false;
        }
        if let Some((lines, is_news)) = lost {
            leave_out(Some(lines), is_news, findings);
        }
        (out, sections)
    }

    /// Marks sections that run into another, with all that are between them in the file, and rows that two sections agree
    /// in: text was lost or doubled there, and only what is there twice is certain.
    fn contradicted(&self, placed: &[PlacedRow], sections: &mut [bool], twins: &mut [bool]) {
        let bytes = |n: usize| {
            let row = &placed[n].row;
            &self.bytes[row.from..row.from + row.len]
        };
        let end = |n: usize| placed[n].at.saturating_add(placed[n].row.len as u64);
        let mut order: Vec<usize> = (0..placed.len()).collect();
        order.sort_by_key(|n| placed[*n].at);
        // The row that reaches farthest so far: every later one that overlaps any overlaps it.
        let mut reach: Option<usize> = None;
        // How many stretches of doubtful sections begin with each, less those that end before it.
        let mut doubtful = vec![0i64; sections.len() + 1];
        for next in order {
            if let Some(before) = reach.filter(|before| end(*before) > placed[next].at) {
                let pair = [placed[before].section, placed[next].section];
                doubtful[pair[0].min(pair[1])] += 1;
                doubtful[pair[0].max(pair[1]) + 1] -= 1;
                for n in [before, next] {
                    twins[n] |=
                        placed[before].at == placed[next].at && bytes(before) == bytes(next);
                }
            }
            if reach.is_none_or(|before| end(next) > end(before)) {
                reach = Some(next);
            }
        }
        let mut open = 0;
        for (section, change) in sections.iter_mut().zip(doubtful) {
            open += change;
            *section |= open > 0;
        }
    }
}

/// Says what is left out; `is_news` when nothing has been said of it.
fn leave_out(lines: Option<LeftOutLines>, is_news: bool, findings: &mut Findings) {
    let Some(lines) = lines.filter(|lines| lines.records > 0) else {
        return;
    };
    if is_news {
        let (first, last) = (lines.first, lines.last);
        findings.error(None, Problem::Uncertain { first, last });
    }
    findings.facts.leave_out(lines);
}

/// Digits of the words of a line, where all have as many and single blanks are between them.
pub(super) fn even_width(line: &[u8]) -> Option<usize> {
    let is_blank = |byte: &u8| matches!(byte, b' ' | b'\t');
    let width = line.iter().position(is_blank).unwrap_or(line.len());
    let is_even = width > 0
        && line[0] != b'@'
        && (line.len() + 1) % (width + 1) == 0
        && (line.iter().enumerate()).all(|(n, byte)| is_blank(byte) == (n % (width + 1) == width));
    is_even.then_some(width)
}
