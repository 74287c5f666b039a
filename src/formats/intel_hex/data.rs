//! Data records and their places: what is read of a file, or of a later stretch of it.

use super::place::RecordBase;
use crate::image::{Builder, OutOfSpace};

/// A record whose checksum and length are right.
#[derive(Clone, Copy)]
pub(super) struct IntelHexRecord<'a> {
    pub offset: u16,
    pub kind: u8,
    pub data: &'a [u8],
}

/// The data of records, at the places that their base gives them.
pub(super) struct IntelHexData {
    pub builder: Builder,
    pub base: RecordBase,
    /// Bytes for each address of the file.
    pub unit: u64,
}

impl IntelHexData {
    /// Takes a data record that is all in one place; false for any other, of which nothing is taken.
    #[inline(always)]
    pub fn plain(&mut self, record: &IntelHexRecord<'_>, line: u64) -> bool {
        if record.kind != 0 || record.data.is_empty() {
            return false;
        }
        let (address, room) = self.base.place(record.offset);
        let (address, room) = (address * self.unit, room * self.unit);
        record.data.len() as u64 <= room && self.builder.push(address, record.data, line).is_ok()
    }

    /// Each byte's address is worked out separately, so one record can be in two places.
    pub fn take(&mut self, record: &IntelHexRecord<'_>, line: u64) -> Result<(), OutOfSpace> {
        let (address, room) = self.base.place(record.offset);
        let (address, room) = (address * self.unit, room * self.unit);
        if record.data.len() as u64 > room {
            return self.wrapping(address, record.data.split_at(room as usize), line);
        }
        self.builder.push(address, record.data, line)
    }

    #[cold]
    fn wrapping(
        &mut self,
        address: u64,
        (before, behind): (&[u8], &[u8]),
        line: u64,
    ) -> Result<(), OutOfSpace> {
        let start = match self.base {
            RecordBase::Linear(_) => 0,
            RecordBase::Segment(base) => base,
        };
        self.builder.push(address, before, line)?;
        self.builder.push(start * self.unit, behind, line)
    }
}
