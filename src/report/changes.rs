//! Rows of `was` and `now`.

use serde::Serialize;

use super::{Report, Span, Style, address_width, dump, plural};
#[cfg(feature = "cli")]
use crate::image::Image;

/// Where two images differ, address by address.
#[derive(Serialize)]
pub struct Changes {
    /// The piece's label.
    pub piece: String,
    /// What it is held against.
    pub against: String,
    /// Addresses that differ.
    pub bytes: u64,
    /// The rows that differ, up to a limit.
    pub rows: Vec<ChangedRow>,
    /// Rows that differ and are not in the list.
    pub rows_left_out: u64,
    /// Said when most of the difference is a shift: bytes put in or taken out.
    pub shift: Option<String>,
}

/// Sixteen addresses of which some differ.
#[derive(Serialize)]
pub struct ChangedRow {
    /// The addresses.
    pub range: Span,
    /// Before; `null` for holes.
    pub was: Vec<Option<u8>>,
    /// Now; `null` for holes.
    pub now: Vec<Option<u8>>,
    /// Where the first changed byte came from.
    pub origin: Option<String>,
}

/// Bytes above which a shift is not looked for.
#[cfg(feature = "cli")]
const MOST_TO_ALIGN: u64 = 64 * 1024;

#[cfg(feature = "cli")]
impl Changes {
    /// Holds `now` against `was`; at most `limit` rows are kept.
    pub fn new(piece: &str, against: &str, was: &Image, now: &Image, limit: u64) -> Self {
        let mut changes = Self {
            piece: piece.into(),
            against: against.into(),
            bytes: 0,
            rows: Vec::new(),
            rows_left_out: 0,
            shift: shift(was, now),
        };
        for first in rows_of(was, now) {
            let row = |image: &Image| {
                (first..first + ROW)
                    .map(|a| image.byte(a))
                    .collect::<Vec<_>>()
            };
            let (old, new) = (row(was), row(now));
            let differing: Vec<usize> = (0..ROW as usize).filter(|i| old[*i] != new[*i]).collect();
            let Some(at) = differing.first() else {
                continue;
            };
            changes.bytes += differing.len() as u64;
            if changes.rows.len() as u64 >= limit {
                changes.rows_left_out += 1;
                continue;
            }
            changes.rows.push(ChangedRow {
                range: Span {
                    first,
                    last: first + ROW - 1,
                },
                origin: now.origin_at(first + *at as u64).map(|o| o.to_string()),
                was: old,
                now: new,
            });
        }
        changes
    }
}

/// Bytes in a row.
#[cfg(feature = "cli")]
const ROW: u64 = 16;

/// First addresses of all rows that hold a byte of either image.
#[cfg(feature = "cli")]
fn rows_of(a: &Image, b: &Image) -> impl Iterator<Item = u64> {
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
        .map(|row| row * ROW)
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
    let ((start, old), (_, new)) = (whole(was)?, whole(now)?);
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

impl Report for Changes {
    const STEP: &'static str = "show changes";

    fn text(&self, style: Style) -> String {
        let mut out = format!("{} against {}: ", style.strong(&self.piece), self.against);
        if self.bytes == 0 {
            out += "no change\n";
            return out;
        }
        out += &format!("{} changed\n", plural(self.bytes, "byte"));
        let w = address_width(self.rows.last().map_or(0, |r| r.range.last));
        for row in &self.rows {
            let first = row.range.first;
            let cells =
                |bytes: &[Option<u8>], other: &[Option<u8>], paint: fn(Style, &str) -> String| {
                    // Only what differs is shown, so that the eye need not search.
                    let mut text = String::new();
                    for (i, (byte, other)) in bytes.iter().zip(other).enumerate() {
                        if i > 0 {
                            let grouped = (first + i as u64).is_multiple_of(4);
                            text += if grouped { "   " } else { " " };
                        }
                        let cell = dump::cells(0, &[*byte]);
                        text += &match byte == other {
                            true => "  ".into(),
                            false => paint(style, &cell),
                        };
                    }
                    text.trim_end().to_owned()
                };
            out += &format!(
                "{first:0w$X} was {}\n",
                cells(&row.was, &row.now, Style::was)
            );
            out += &format!("{:w$} now {}", "", cells(&row.now, &row.was, Style::now));
            if let Some(origin) = &row.origin {
                out += &style.faint(&format!("  {origin}"));
            }
            out.push('\n');
        }
        if self.rows_left_out > 0 {
            out += &format!(
                "and {} more, see --limit\n",
                plural(self.rows_left_out, "row")
            );
        }
        if let Some(shift) = &self.shift {
            out += &format!("{shift}\n");
        }
        out
    }
}
