//! What a reader counted in a file, apart from what is wrong with it: for reports, and for salvage.

use crate::image::{AddressRange, Arrival, Contest};

/// Counts and places of one file.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    /// The form, where the format has several: `I16HEX`, `S2`.
    pub form: Option<&'static str>,
    /// Data records, and in which order they came. In formats of words with blanks between them, lines of data.
    pub arrival: Arrival,
    /// Records of other kinds, in the order in which each kind came first.
    pub others: Vec<(&'static str, u64)>,
    /// Lines that could not be read; lines one after another that say equally much are one entry.
    pub damaged: Vec<DamagedLines>,
    /// Sound data records left out because their address is not certain.
    pub left_out_records: u64,
    /// Bytes left out for the same reason.
    pub left_out_bytes: u64,
    /// The lines of both, in order.
    pub left_out: Vec<LeftOutLines>,
    /// Addresses where sound records differ, so that none of them was believed.
    pub contested: Vec<Contest>,
}

/// Lines that could not be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DamagedLines {
    /// The first of them, counted from 1.
    pub first: u64,
    /// The last.
    pub last: u64,
    /// The addresses that the line's own digits say it covered, where these are plausible.
    pub covers: Option<AddressRange>,
}

/// Lines of data that are left out, since it isn't certain where they belong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct LeftOutLines {
    /// The damaged line that makes them so, counted from 1.
    pub damaged: u64,
    /// The first of them, counted from 1.
    pub first: u64,
    /// The last.
    pub last: u64,
    /// Sound records, or lines of data in formats without records.
    pub records: u64,
    /// Bytes in them.
    pub bytes: u64,
}

impl LeftOutLines {
    /// None yet.
    pub(super) fn after(damaged: u64) -> Self {
        Self {
            damaged,
            first: 0,
            last: 0,
            records: 0,
            bytes: 0,
        }
    }

    /// One more line, or another record of it.
    pub(super) fn add(&mut self, line: u64, bytes: u64) {
        if self.records == 0 {
            self.first = line;
        }
        self.last = line;
        self.records += 1;
        self.bytes += bytes;
    }
}

impl Facts {
    /// Counts what is left out.
    pub(super) fn leave_out(&mut self, lines: LeftOutLines) {
        self.left_out_records += lines.records;
        self.left_out_bytes += lines.bytes;
        self.left_out.push(lines);
    }

    /// Counts a record that is not data.
    pub(super) fn count(&mut self, kind: &'static str) {
        self.count_more(kind, 1);
    }

    /// Counts some of them.
    #[cold]
    pub(super) fn count_more(&mut self, kind: &'static str, more: u64) {
        match self.others.iter_mut().find(|(k, _)| *k == kind) {
            Some((_, n)) => *n += more,
            None => self.others.push((kind, more)),
        }
    }

    /// Notes a line that could not be read.
    #[cold]
    pub(super) fn damaged_line(&mut self, line: u64, covers: Option<AddressRange>) {
        if let Some(last) = self.damaged.last_mut() {
            if last.last <= line && line <= last.last + 1 {
                // A line is counted once, however many damages it has.
                if last.last == line && last.covers.is_none() && last.first == line {
                    last.covers = covers;
                    return;
                }
                if covers.is_none() && (last.covers.is_none() || last.last == line) {
                    last.last = line;
                    return;
                }
            }
        }
        self.damaged.push(DamagedLines {
            first: line,
            last: line,
            covers,
        });
    }

    /// How many lines could not be read.
    pub fn damaged_lines(&self) -> u64 {
        let mut before = 0;
        let mut lines = 0;
        for damaged in &self.damaged {
            let first = damaged.first.max(before + 1);
            lines += (damaged.last + 1).saturating_sub(first);
            before = before.max(damaged.last);
        }
        lines
    }
}
