//! Salvage: which base records' addresses are certain.
//!
//! A damaged stretch may have swallowed a base record, whatever is left of it looks like. So a salvage keeps everything back
//! until the file is read, and then asks of each damaged stretch whether the base before it is still right. It does where
//! the offsets go on as if whole records had been lost or repeated, and nothing else in the file says that offsets may do so
//! across a change of base. Otherwise nothing is placed until the next base record, which proves itself.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::ops::RangeInclusive;

use super::place::{RecordBase, may_be_base};
use crate::formats::place::TextPlace;

/// A change of base is judged by so many records on either side.
const WINDOW: usize = 256;
/// The most records that a damage may have swallowed so that offsets still go on.
const MOST_LOST: u32 = 9;
/// Characters of a data record around its data.
const FRAME: usize = 11;

/// What was read, in order.
pub(super) enum TrailItem {
    /// A sound 02 or 04 record.
    Base(RecordBase),
    /// A sound data record.
    Data(KeptRecord),
    /// Something that could not be read.
    Unread(UnreadPart),
}

/// A sound data record.
#[derive(Clone, Copy)]
pub(super) struct KeptRecord {
    pub offset: u16,
    /// Where its bytes begin in [`Trail::bytes`], and how many there are.
    pub from: usize,
    pub len: usize,
    pub line: u64,
}

/// A part of a line that could not be read.
pub(super) struct UnreadPart {
    /// Where it is, as long as places are shown.
    pub place: Option<Box<TextPlace>>,
    pub line: u64,
    /// Whether the line counts as damaged, and does not only have something after a record.
    pub counts: bool,
    /// Its characters.
    length: usize,
    /// Length and offset of the data record that it says it is.
    says: Option<(u8, u16)>,
    /// Length and offset of what it would cover, where its own digits are plausible.
    pub covers: Option<(u8, u16)>,
    may_be_base: bool,
    /// It is as long as the record that it says it is, with characters that no record has: they were overwritten, and nothing
    /// can be lost.
    is_overwritten: bool,
}

impl UnreadPart {
    pub fn new(
        (line, text): (u64, &[u8]),
        (place, counts): (Option<TextPlace>, bool),
        says: Option<(u8, u16)>,
        next: Option<u16>,
    ) -> Self {
        let whole = |length: u8| FRAME + 2 * usize::from(length) == text.len();
        let plausible =
            |&(length, offset): &(u8, u16)| length > 0 && (whole(length) || next == Some(offset));
        let foreign = |text: &[u8]| text.iter().any(|byte| !byte.is_ascii_hexdigit());
        let is_overwritten = says.is_some_and(|(length, _)| whole(length)) && foreign(&text[1..]);
        Self {
            is_overwritten,
            place: place.map(Box::new),
            line,
            counts,
            length: text.len(),
            says,
            covers: says.filter(plausible),
            may_be_base: !text.is_empty() && may_be_base(text),
        }
    }
}

/// How much the file's own changes of base say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Telling {
    /// Offsets may go on across a change of base, so they prove nothing.
    Nothing,
    /// At no change of base do they.
    OneRecord,
    /// There is no change of base, or each is at the end of 64K.
    Records,
}

/// Everything that was read of a file.
pub(super) struct Trail {
    pub steps: Vec<TrailItem>,
    pub bytes: Vec<u8>,
    /// Bytes of one offset.
    unit: u32,
    /// The record that came last, since the base.
    last: Option<KeptRecord>,
}

/// Records from one base on, as far as they have come.
#[derive(Default)]
struct SinceBase {
    /// Where the last record ended.
    next: Option<u32>,
    /// How many offsets it took.
    stride: u32,
    /// Its records, by offset and bytes.
    known: HashSet<(u16, u64)>,
}

impl Trail {
    /// Nothing yet; each offset counts so many bytes.
    pub fn new(unit: u32) -> Self {
        Self {
            steps: Vec::new(),
            bytes: Vec::new(),
            unit: unit.max(1),
            last: None,
        }
    }

    /// The offset after the record that came last, where there was one since the base.
    pub fn next_offset(&self) -> Option<u16> {
        u16::try_from(self.end(&self.last?)).ok()
    }

    /// Notes a base.
    pub fn base(&mut self, base: RecordBase) {
        self.last = None;
        self.steps.push(TrailItem::Base(base));
    }

    /// Keeps a record back.
    pub fn keep(&mut self, offset: u16, data: &[u8], line: u64) {
        let record = KeptRecord {
            offset,
            from: self.bytes.len(),
            len: data.len(),
            line,
        };
        self.bytes.extend_from_slice(data);
        self.steps.push(TrailItem::Data(record));
        self.last = Some(record);
    }

    /// The offset after a record; 64K and more where it reaches its end.
    fn end(&self, record: &KeptRecord) -> u32 {
        u32::from(record.offset) + self.units(record)
    }

    fn units(&self, record: &KeptRecord) -> u32 {
        (record.len as u32).div_ceil(self.unit)
    }

    fn data(&self, record: &KeptRecord) -> &[u8] {
        &self.bytes[record.from..record.from + record.len]
    }

    /// Which of the damages leave the base before them certain: one answer for each run of damages that a data record
    /// follows before the next base record does, in order.
    pub fn verdicts(&self) -> Vec<bool> {
        let telling = self.telling();
        let mut out = Vec::new();
        let mut stretch = SinceBase::default();
        let mut damages: Vec<&UnreadPart> = Vec::new();
        for step in &self.steps {
            match step {
                TrailItem::Base(_) => {
                    stretch = SinceBase::default();
                    damages.clear();
                }
                TrailItem::Unread(damage) => damages.push(damage),
                TrailItem::Data(record) => {
                    if !damages.is_empty() {
                        out.push(self.holds(telling, &stretch, &damages, record));
                        damages.clear();
                    }
                    stretch.next = Some(self.end(record));
                    stretch.stride = self.units(record);
                    if let Some(key) = self.key(record) {
                        stretch.known.insert(key);
                    }
                }
            }
        }
        out
    }

    /// Items that repeat those before an earlier base record, and after another base: the text was doubled, and what is
    /// before the second copy of the base record has the wrong base.
    pub fn doubled(&self) -> HashSet<usize> {
        let mut out = HashSet::new();
        let mut seen: HashMap<RecordBase, (usize, RecordBase)> = HashMap::new();
        let mut before = RecordBase::Linear(0);
        let same = |one: usize, other: usize| match (self.steps.get(one), self.steps.get(other)) {
            (Some(TrailItem::Data(one)), Some(TrailItem::Data(other))) => {
                one.offset == other.offset && self.data(one) == self.data(other)
            }
            _ => false,
        };
        for (at, step) in self.steps.iter().enumerate() {
            let TrailItem::Base(base) = step else {
                continue;
            };
            let earlier = seen.insert(*base, (at, before));
            if let Some((first, _)) = earlier.filter(|e| e.1 != before) {
                if same(at + 1, first + 1) {
                    let most = first.min(at - first - 1);
                    let repeated = (1..=most).take_while(|n| same(at - n, first - n));
                    out.extend(repeated.map(|n| at - n));
                }
            }
            before = *base;
        }
        out
    }

    /// Data steps after one base, wherever in the file, of which some give one address different bytes: then a base record
    /// is lost somewhere. A file without a change of base says nothing of the kind, nor does what the verdicts leave out.
    pub fn disputed(&self, verdicts: &[bool]) -> HashSet<usize> {
        let mut base = RecordBase::Linear(0);
        let mut groups: BTreeMap<RecordBase, Vec<usize>> = BTreeMap::new();
        let mut verdicts = verdicts.iter();
        let (mut is_damaged, mut is_lost) = (false, false);
        for (at, step) in self.steps.iter().enumerate() {
            match step {
                TrailItem::Base(next) => (base, is_damaged, is_lost) = (*next, false, false),
                TrailItem::Unread(_) => is_damaged = true,
                TrailItem::Data(_) => {
                    if std::mem::take(&mut is_damaged) {
                        is_lost |= verdicts.next() == Some(&false);
                    }
                    if !is_lost {
                        groups.entry(base).or_default().push(at);
                    }
                }
            }
        }
        let mut out = HashSet::new();
        if groups.len() < 2 {
            return out;
        }
        let unit = self.unit as usize;
        // What each byte after the base is, and for which base.
        let mut known = vec![(0, 0); 0x1_0000 * unit + usize::from(u8::MAX)];
        for (group, steps) in (1u32..).zip(groups.into_values()) {
            let mut differs = false;
            for at in &steps {
                let TrailItem::Data(record) = &self.steps[*at] else {
                    continue;
                };
                let from = usize::from(record.offset) * unit;
                for (byte, known) in self.data(record).iter().zip(&mut known[from..]) {
                    differs |= known.0 == group && known.1 != *byte;
                    *known = (group, *byte);
                }
            }
            if differs {
                out.extend(steps);
            }
        }
        out
    }

    /// What a record is told by, unless it is filler, which says nothing.
    fn key(&self, record: &KeptRecord) -> Option<(u16, u64)> {
        let data = self.data(record);
        let first = data.first()?;
        let telling = data.len() >= 4 && data.iter().any(|byte| byte != first);
        let mixed = |sum: u64, byte: &u8| {
            (sum ^ u64::from(*byte))
                .wrapping_mul(0x0000_0100_0000_01B3)
                .rotate_left(23)
        };
        telling.then(|| (record.offset, data.iter().fold(data.len() as u64, mixed)))
    }

    /// Whether the base before some damages is still right for the record that follows them.
    fn holds(
        &self,
        telling: Telling,
        stretch: &SinceBase,
        damages: &[&UnreadPart],
        record: &KeptRecord,
    ) -> bool {
        if let [damage] = damages {
            if damage.is_overwritten && !damage.may_be_base {
                return true;
            }
        }
        let offset = u32::from(record.offset);
        let many = telling == Telling::Records;
        if telling == Telling::Nothing || damages.iter().any(|d| d.may_be_base && !many) {
            return false;
        }
        // The text was doubled: the record was read before.
        if self
            .key(record)
            .is_some_and(|key| stretch.known.contains(&key))
        {
            return true;
        }
        if let Some(gap) = stretch.next.and_then(|next| offset.checked_sub(next)) {
            let stride = stretch.stride.max(1);
            if gap == 0 || many && gap % stride == 0 && gap / stride <= MOST_LOST {
                return true;
            }
        }
        // One record, and a character of it lost or added at most.
        let [damage] = damages else {
            return false;
        };
        let next = stretch.next.map(|next| (stretch.stride, next));
        let said =
            (damage.says).map(|(len, offset)| (u32::from(len).div_ceil(self.unit), offset.into()));
        let lost = said.into_iter().chain(next);
        lost.into_iter().any(|(units, from): (u32, u32)| {
            let whole = FRAME + 2 * (units * self.unit) as usize;
            from + units == offset && damage.length.abs_diff(whole) <= 1
        })
    }

    /// What the changes of base in the file say of offsets.
    fn telling(&self) -> Telling {
        let mut blocks: Vec<OffsetBlock> = Vec::new();
        let mut base = RecordBase::Linear(0);
        let mut records: Vec<KeptRecord> = Vec::new();
        for step in &self.steps {
            match step {
                TrailItem::Base(next) if *next == base => {}
                TrailItem::Base(next) => {
                    blocks.extend(self.block(base, &records));
                    records.clear();
                    base = *next;
                }
                TrailItem::Data(record) => records.push(*record),
                TrailItem::Unread(_) => {}
            }
        }
        blocks.extend(self.block(base, &records));
        let mut telling = Telling::Records;
        for (n, before) in blocks.iter().enumerate() {
            // What is between may be swallowed as a whole.
            let mut between = 0;
            for (m, after) in blocks[n + 1..].iter().enumerate() {
                telling = telling.min(before.change(after, m == 0));
                between += after.records;
                if between > WINDOW {
                    break;
                }
            }
        }
        telling
    }

    /// What the records after one base say.
    fn block(&self, base: RecordBase, records: &[KeptRecord]) -> Option<OffsetBlock> {
        let ends = records
            .iter()
            .rev()
            .take(WINDOW)
            .map(|record| self.end(record));
        let starts = records
            .iter()
            .take(WINDOW)
            .map(|record| u32::from(record.offset));
        Some(OffsetBlock {
            base,
            records: records.len(),
            starts: starts.clone().min()?..=starts.max()?,
            ends: ends.clone().min()?..=ends.max()?,
        })
    }
}

/// Records from one change of base to the next.
struct OffsetBlock {
    base: RecordBase,
    records: usize,
    /// The lowest and the highest offset that one of the first begins at.
    starts: RangeInclusive<u32>,
    /// The lowest and the highest offset that one of the last ends before.
    ends: RangeInclusive<u32>,
}

impl OffsetBlock {
    /// What it says that `after` comes after it.
    fn change(&self, after: &OffsetBlock, is_next: bool) -> Telling {
        let reach = self.ends.end() + MOST_LOST * 0x100;
        let apart = after.starts.end() < self.ends.start() || *after.starts.start() > reach;
        let wraps = *self.ends.end() >= 0x1_0000
            && *after.starts.start() == 0
            && after.base.follows(self.base);
        match apart {
            true if wraps || !is_next => Telling::Records,
            true => Telling::OneRecord,
            false => Telling::Nothing,
        }
    }
}
