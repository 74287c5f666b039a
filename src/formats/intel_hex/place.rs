//! Where a record's offset is.

use std::ops::Range;

use crate::formats::hex::{self, SCRATCH, Scratch};

/// What an offset is added to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum RecordBase {
    /// After an 04 record, and by default: addresses carry into the upper half, and wrap at 4 G.
    Linear(u64),
    /// After an 02 record: offsets wrap inside the segment's 64 K.
    Segment(u64),
}

impl RecordBase {
    /// The base that an 02 record (a segment's) or an 04 record says.
    pub fn of(is_segment: bool, value: u64) -> Self {
        match is_segment {
            true => RecordBase::Segment(value << 4),
            false => RecordBase::Linear(value << 16),
        }
    }

    /// Address of an offset, and how many units follow from there without a jump.
    pub fn place(self, offset: u16) -> (u64, u64) {
        let offset = u64::from(offset);
        match self {
            RecordBase::Linear(base) => {
                let address = (base + offset) & 0xFFFF_FFFF;
                (address, 0x1_0000_0000 - address)
            }
            RecordBase::Segment(base) => (base + offset, 0x1_0000 - offset),
        }
    }

    /// The offset that names `address`.
    pub fn offset(self, address: u64) -> Option<u16> {
        let (RecordBase::Linear(base) | RecordBase::Segment(base)) = self;
        address
            .checked_sub(base)
            .and_then(|offset| u16::try_from(offset).ok())
    }

    /// Whether its 64K come right after the other's.
    pub fn follows(self, before: RecordBase) -> bool {
        let (RecordBase::Linear(own) | RecordBase::Segment(own)) = self;
        let (RecordBase::Linear(other) | RecordBase::Segment(other)) = before;
        own == other + 0x1_0000
    }
}

/// Salvage: whether what is left of a damaged record looks as if it had been an 02 or 04 record.
///
/// A base record has 15 characters, length 02 and type 02 or 04. A record more than two characters longer was one only if
/// its length and its type are both damaged. A shorter one is data only when everything is in place except
/// one digit of data, offset or checksum.
pub(super) fn may_be_base(text: &[u8]) -> bool {
    const LEAST: usize = 1 + 10;
    const BASE: usize = LEAST + 2 * 2;
    let field = |at: Range<usize>| match text.get(at) {
        Some(&[high, low]) => hex::pair(high, low),
        _ => None,
    };
    let length = field(1..3);
    let no_base = length.is_some_and(|n| n != 2);
    let is_data = field(7..9) == Some(0);
    if text.len() > BASE + 2 {
        let odd = text.iter().filter(|b| !b.is_ascii_hexdigit()).count();
        let is_comment = text[0] != b':' && odd > 3;
        return !(no_base || is_data || is_comment);
    }
    let whole = length.map(|n| LEAST + 2 * usize::from(n));
    !(no_base && is_data && whole == Some(text.len()))
}

/// Length and offset of the data record that a damaged text says it is.
pub(super) fn header(text: &[u8]) -> Option<(u8, u16)> {
    let field = |at: Range<usize>| {
        let mut scratch: Scratch = [0; SCRATCH];
        hex::decode(text.get(at)?, &mut scratch).map(hex::big_endian)
    };
    let is_data = text.first() == Some(&b':') && field(7..9)? == 0;
    is_data.then_some((field(1..3)? as u8, field(3..7)? as u16))
}
