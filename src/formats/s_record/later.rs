//! A later stretch of a file, read on another core.

use super::read::{DecodedSRecord, SRecordReader, take_plain};
use crate::formats::in_two::InTwo;
use crate::image::Builder;

/// A later stretch of a file: data records of one kind.
pub(super) struct LaterSRecords {
    builder: Builder,
    kind: u8,
    unit: u64,
    end: u64,
    records: u64,
}

impl InTwo for SRecordReader<'_> {
    type Later = LaterSRecords;

    fn later(&self, before: Option<LaterSRecords>) -> Option<LaterSRecords> {
        let speaks = self.findings.is_strict() || self.findings.is_salvage();
        let kind = self.data_kind.filter(|_| !speaks)?;
        let new = || LaterSRecords {
            builder: self.builders[self.slot(kind)].another(),
            kind,
            unit: self.unit,
            end: self.end,
            records: 0,
        };
        Some(before.unwrap_or_else(new))
    }

    fn begins(later: &LaterSRecords, record: &DecodedSRecord<'_>) -> bool {
        record.kind == later.kind
    }

    #[inline(always)]
    fn take(later: &mut LaterSRecords, record: &DecodedSRecord<'_>, line: u64) -> bool {
        let limits = (later.unit, later.end);
        let is_taken =
            record.kind == later.kind && take_plain(&mut later.builder, limits, record, line);
        later.records += u64::from(is_taken);
        is_taken
    }

    fn builder(later: &LaterSRecords) -> &Builder {
        &later.builder
    }

    fn take_over(&mut self, later: &mut LaterSRecords, lines: u64) {
        let slot = self.slot(later.kind);
        self.builders[slot].append(&mut later.builder, lines);
        self.data_records += std::mem::take(&mut later.records);
    }
}
