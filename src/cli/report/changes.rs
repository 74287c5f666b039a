//! Rows of `was` and `now`.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::dump;
use super::style::Style;
#[cfg(feature = "cli")]
use crate::image::{AddressRange, Image};
use crate::prose::plural;

/// Where two images differ, address by address.
#[derive(Serialize)]
pub struct ChangesReport {
    /// The piece's name.
    pub piece: String,
    /// What it is compared with.
    pub against: String,
    /// Addresses that differ.
    pub bytes: u64,
    /// What differs, lowest address first, up to a limit.
    pub rows: Vec<ChangeView>,
    /// What differs and is not in the list.
    pub rows_left_out: u64,
    /// Said when most of the difference is a shift: bytes put in or taken out.
    pub shift: Option<String>,
}

/// A stretch that differs.
#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum ChangeView {
    /// Sixteen addresses of which some differ.
    Row {
        /// The addresses.
        range: RangeView,
        /// Before; `null` for holes.
        was: Vec<Option<u8>>,
        /// Now; `null` for holes.
        now: Vec<Option<u8>>,
        /// Where the first changed byte came from.
        origin: Option<String>,
    },
    /// Several rows where there was nothing before.
    Added(StretchView),
    /// Several rows where there is nothing now.
    Gone(StretchView),
}

/// Several rows of bytes on one side, of nothing on the other.
#[derive(Serialize)]
pub struct StretchView {
    /// From the first byte to the last.
    pub range: RangeView,
    /// How many bytes.
    pub bytes: u64,
    /// Where the first came from.
    pub origin: Option<String>,
}

/// Bytes above which a shift is not looked for.
#[cfg(feature = "cli")]
const MOST_TO_ALIGN: u64 = 64 * 1024;
/// Rows with nothing on one side that are said in one line: this many, or more.
#[cfg(feature = "cli")]
const LEAST_STRETCH: usize = 3;

#[cfg(feature = "cli")]
impl ChangesReport {
    /// Compares `now` with `was`; at most `limit` rows are kept.
    pub fn new(piece: &str, against: &str, was: &Image, now: &Image, limit: u64) -> Self {
        let mut changes = Self {
            piece: piece.into(),
            against: against.into(),
            bytes: 0,
            rows: Vec::new(),
            rows_left_out: 0,
            shift: shift(was, now),
        };
        let mut open: Option<OneSided> = None;
        for range in rows_of(was, now) {
            let row = |image: &Image| {
                let bytes = (range.first()..=range.last()).map(|a| image.byte(a));
                bytes.collect::<Vec<_>>()
            };
            let (old, new) = (row(was), row(now));
            let differs = old.iter().zip(&new).position(|(a, b)| a != b);
            let Some(at) = differs.map(|i| range.first() + i as u64) else {
                continue;
            };
            changes.bytes += old.iter().zip(&new).filter(|(a, b)| a != b).count() as u64;
            let gone = new.iter().all(Option::is_none);
            let one_sided = gone || old.iter().all(Option::is_none);
            let goes_on = open.as_ref().is_some_and(|open| {
                one_sided && open.gone == gone && open.to.last() + 1 == range.first()
            });
            if !goes_on {
                if let Some(open) = open.take() {
                    changes.close(open, was, now, limit);
                }
            }
            let origin = if gone { was } else { now }.origin_at(at);
            let change = ChangeView::Row {
                range: range.into(),
                origin: origin.map(|o| o.to_string()),
                was: old,
                now: new,
            };
            match &mut open {
                _ if !one_sided => changes.add(change, limit),
                Some(open) => open.go_on(range, change),
                None => open = Some(OneSided::new(gone, range, change)),
            }
        }
        if let Some(open) = open {
            changes.close(open, was, now, limit);
        }
        changes
    }

    fn add(&mut self, change: ChangeView, limit: u64) {
        if self.rows.len() as u64 >= limit {
            self.rows_left_out += 1;
        } else {
            self.rows.push(change);
        }
    }

    fn close(&mut self, open: OneSided, was: &Image, now: &Image, limit: u64) {
        if open.rows < LEAST_STRETCH {
            open.first_rows.into_iter().for_each(|r| self.add(r, limit));
            return;
        }
        let image = if open.gone { was } else { now };
        let held = image.within(open.from.hull(open.to));
        let held: Vec<(u64, u64)> = held.map(|(at, b)| (at, b.len() as u64)).collect();
        let (Some((first, _)), Some((last, len))) = (held.first(), held.last()) else {
            return;
        };
        let stretch = StretchView {
            range: RangeView {
                first: *first,
                last: last + (len - 1),
            },
            bytes: held.iter().map(|(_, len)| len).sum(),
            origin: image.origin_at(*first).map(|o| o.to_string()),
        };
        let change = match open.gone {
            true => ChangeView::Gone(stretch),
            false => ChangeView::Added(stretch),
        };
        self.add(change, limit);
    }
}

/// Rows that follow each other and have bytes on one side only.
#[cfg(feature = "cli")]
struct OneSided {
    gone: bool,
    from: AddressRange,
    to: AddressRange,
    rows: usize,
    /// As many as are too few to be a stretch.
    first_rows: Vec<ChangeView>,
}

#[cfg(feature = "cli")]
impl OneSided {
    fn new(gone: bool, range: AddressRange, change: ChangeView) -> Self {
        Self {
            gone,
            from: range,
            to: range,
            rows: 1,
            first_rows: vec![change],
        }
    }

    fn go_on(&mut self, range: AddressRange, change: ChangeView) {
        self.to = range;
        self.rows += 1;
        if self.rows < LEAST_STRETCH {
            self.first_rows.push(change);
        }
    }
}

/// Bytes in a row.
#[cfg(feature = "cli")]
const ROW: u64 = 16;

/// All rows with a byte of either image.
#[cfg(feature = "cli")]
fn rows_of(a: &Image, b: &Image) -> impl Iterator<Item = AddressRange> {
    let mut ranges: Vec<(u64, u64)> = [a, b]
        .into_iter()
        .flat_map(|image| image.spans())
        .map(|span| (span.range().first() / ROW, span.range().last() / ROW))
        .collect();
    ranges.sort_unstable();
    let mut next = 0;
    ranges
        .into_iter()
        .flat_map(move |(first, last)| {
            let first = first.max(next);
            next = next.max(last + 1);
            first..=last
        })
        .filter_map(|row| {
            let first = row * ROW;
            AddressRange::from_len(first, ROW).or(AddressRange::from_up(first))
        })
}

/// Says what was put in or taken out, when that explains the difference better than changed bytes do.
#[cfg(feature = "cli")]
fn shift(was: &Image, now: &Image) -> Option<String> {
    use similar::{Algorithm, DiffOp, capture_diff_slices_deadline};
    let whole = |image: &Image| {
        let extent = image.extent()?;
        let bytes = image.contiguous(extent).ok()?;
        (extent.len() <= MOST_TO_ALIGN).then(|| (extent.first(), bytes.to_vec()))
    };
    let ((start, old), (new_start, new)) = (whole(was)?, whole(now)?);
    if start != new_start {
        let (by, way) = match new_start > start {
            true => (new_start - start, "up"),
            false => (start - new_start, "down"),
        };
        return (old == new).then(|| format!("the same bytes, moved {way} by 0x{by:X}"));
    }
    let by_address = old.iter().zip(&new).filter(|(a, b)| a != b).count();
    let deadline = std::time::Instant::now() + std::time::Duration::from_millis(200);
    let ops = capture_diff_slices_deadline(Algorithm::Myers, &old, &new, Some(deadline));
    let mut said = Vec::new();
    let mut touched = 0;
    for op in ops {
        match op {
            DiffOp::Equal { .. } => {}
            DiffOp::Insert {
                old_index, new_len, ..
            } => {
                touched += new_len;
                said.push(format!(
                    "{} put in at 0x{:04X}",
                    plural(new_len as u64, "byte"),
                    start + old_index as u64
                ));
            }
            DiffOp::Delete {
                old_index, old_len, ..
            } => {
                touched += old_len;
                said.push(format!(
                    "{} taken out at 0x{:04X}",
                    plural(old_len as u64, "byte"),
                    start + old_index as u64
                ));
            }
            DiffOp::Replace {
                old_len, new_len, ..
            } => touched += old_len.max(new_len),
        }
    }
    (!said.is_empty() && said.len() <= 4 && touched * 8 < by_address)
        .then(|| format!("most of this is a shift: {}", said.join(", ")))
}

impl ChangeView {
    /// The addresses.
    pub fn range(&self) -> RangeView {
        match self {
            ChangeView::Row { range, .. } => *range,
            ChangeView::Added(stretch) | ChangeView::Gone(stretch) => stretch.range,
        }
    }

    fn is_gone(&self) -> bool {
        match self {
            ChangeView::Row { now, .. } => now.iter().all(Option::is_none),
            ChangeView::Added(_) => false,
            ChangeView::Gone(_) => true,
        }
    }
}

/// The cells of a row that differ from `other`; blanks for the rest, so that the eye need not search.
fn differing(
    first: u64,
    bytes: &[Option<u8>],
    other: &[Option<u8>],
    paint: impl Fn(&str) -> String,
) -> String {
    let mut text = String::new();
    let mut gap = String::new();
    for (i, (byte, other)) in bytes.iter().zip(other).enumerate() {
        if i > 0 {
            let grouped = (first + i as u64) % 4 == 0;
            gap += if grouped { "   " } else { " " };
        }
        if byte == other {
            gap += "  ";
        } else {
            text += &std::mem::take(&mut gap);
            text += &paint(&dump::hex_cells(0, &[*byte]));
        }
    }
    text
}

impl Report for ChangesReport {
    const STEP: &'static str = "show changes";

    fn text(&self, style: Style) -> String {
        let mut out = format!("{} against {}: ", style.strong(&self.piece), self.against);
        if self.bytes == 0 {
            out += "no change\n";
            return out;
        }
        out += &format!("{} changed\n", plural(self.bytes, "byte"));
        let w = address_width(self.rows.last().map_or(0, |r| r.range().last));
        let stretch =
            |s: &StretchView| format!("{} to {:0w$X}", plural(s.bytes, "byte"), s.range.last);
        let cells = dump::cells_in(style, w + " was ".len());
        for row in &self.rows {
            let at = row.range().first;
            let (pairs, origin) = match row {
                ChangeView::Row {
                    was, now, origin, ..
                } => {
                    let rows = dump::narrowed(at, was, cells).into_iter();
                    let rows = rows.zip(dump::narrowed(at, now, cells));
                    let rows = rows.filter(|((_, was), (_, now))| was != now);
                    let pairs = rows.map(|((first, was), (_, now))| {
                        let was_cells = differing(first, was, now, |cell| style.was(cell));
                        let now_cells = differing(first, now, was, |cell| style.now(cell));
                        (first, was_cells, now_cells)
                    });
                    (pairs.collect(), origin)
                }
                ChangeView::Added(s) => (
                    vec![(at, "hollow".into(), style.now(&stretch(s)))],
                    &s.origin,
                ),
                ChangeView::Gone(s) => (
                    vec![(at, style.was(&stretch(s)), "hollow".into())],
                    &s.origin,
                ),
            };
            let mut origin = origin.as_deref();
            for (first, was, now) in pairs {
                let mut old = format!("{first:0w$X} was {was}");
                let mut new = format!("{:w$} now {now}", "");
                if let Some(origin) = origin.take() {
                    // The origin is beside the bytes that came from there.
                    let line = if row.is_gone() { &mut old } else { &mut new };
                    dump::remarked(line, origin, w + " was ".len(), style);
                }
                out += &format!("{old}\n{new}\n");
            }
        }
        if self.rows_left_out > 0 {
            let more = plural(self.rows_left_out, "row").replacen(' ', " more ", 1);
            out += &format!("and {more}, see --limit\n");
        }
        if let Some(shift) = &self.shift {
            out += &format!("{shift}\n");
        }
        out
    }
}
