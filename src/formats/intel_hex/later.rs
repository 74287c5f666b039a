//! A later stretch of a file, read on another core.

use super::data::{IntelHexData, IntelHexRecord};
use super::place::RecordBase;
use super::read::{IntelHexReader, LINEAR, SEGMENT};
use crate::formats::hex;
use crate::formats::in_two::InTwo;
use crate::image::Builder;

/// What a base record says; `None` for any other, and for one that breaks a rule.
pub(super) fn sound_base(record: &IntelHexRecord<'_>) -> Option<RecordBase> {
    let is_sound = record.offset == 0 && record.data.len() == 2;
    let is_base = matches!(record.kind, 2 | 4);
    (is_base && is_sound).then(|| RecordBase::of(record.kind == 2, hex::big_endian(record.data)))
}

/// A later stretch of a file. It begins with a base record.
pub(super) struct LaterIntelHex {
    pub data: IntelHexData,
    /// The base records in it: type and number, in the order in which each type came first.
    pub bases: Vec<(u8, u64)>,
}

impl LaterIntelHex {
    #[inline(always)]
    pub fn take(&mut self, record: &IntelHexRecord<'_>, line: u64) -> bool {
        self.data.plain(record, line) || self.base(record)
    }

    #[cold]
    fn base(&mut self, record: &IntelHexRecord<'_>) -> bool {
        let Some(base) = sound_base(record) else {
            return false;
        };
        match self.bases.iter_mut().find(|(kind, _)| *kind == record.kind) {
            Some((_, n)) => *n += 1,
            None => self.bases.push((record.kind, 1)),
        }
        self.data.base = base;
        true
    }
}

impl InTwo for IntelHexReader<'_> {
    type Later = LaterIntelHex;

    fn later(&self, before: Option<LaterIntelHex>) -> Option<LaterIntelHex> {
        let speaks = self.findings.is_strict() || self.trail.is_some();
        let new = || LaterIntelHex {
            data: IntelHexData {
                builder: self.data.builder.another(),
                ..self.data
            },
            bases: Vec::new(),
        };
        (!speaks).then(|| before.unwrap_or_else(new))
    }

    fn begins(_later: &LaterIntelHex, record: &IntelHexRecord<'_>) -> bool {
        sound_base(record).is_some()
    }

    #[inline(always)]
    fn take(later: &mut LaterIntelHex, record: &IntelHexRecord<'_>, line: u64) -> bool {
        later.take(record, line)
    }

    fn builder(later: &LaterIntelHex) -> &Builder {
        &later.data.builder
    }

    fn take_over(&mut self, later: &mut LaterIntelHex, lines: u64) {
        self.data.builder.append(&mut later.data.builder, lines);
        self.data.base = later.data.base;
        for (kind, bases) in later.bases.drain(..) {
            let (i, what) = if kind == 2 { (0, SEGMENT) } else { (1, LINEAR) };
            self.kinds[i] = true;
            self.findings.facts.count_more(what, bases);
        }
        self.any = true;
        self.empty_record = None;
    }
}
