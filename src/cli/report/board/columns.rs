//! From addresses to heights: columns that are cut where something begins or ends.

use crate::image::AddressRange;

/// Segments of a column that are drawn apart; of more the smallest are too thin to read anyway.
const MOST_SEGMENTS: usize = 256;
/// Heights of a segment, in pixels.
const LOWEST: u32 = 22;
const HIGHEST: u32 = 76;

/// A stretch of a column between two addresses at which something changes.
#[derive(Clone, Copy)]
pub(super) struct ColumnPart {
    pub range: AddressRange,
    /// Lines of text that it has room for at least.
    pub lines: u32,
}

/// A range cut where any of the others begins or ends.
pub(super) fn cut_up(whole: AddressRange, inside: &[AddressRange]) -> Vec<ColumnPart> {
    let mut starts = vec![whole.first()];
    for range in inside {
        starts.push(range.first());
        starts.extend(range.last().checked_add(1));
    }
    starts.retain(|at| whole.contains(*at));
    starts.sort_unstable();
    starts.dedup();
    starts.truncate(MOST_SEGMENTS);
    let ends = starts.iter().skip(1).map(|next| next - 1);
    let ends = ends.chain([whole.last()]);
    let ranges = starts.iter().zip(ends);
    ranges
        .filter_map(|(first, last)| AddressRange::new(*first, last))
        .map(|range| ColumnPart { range, lines: 1 })
        .collect()
}

/// Segments with their heights; larger ones are higher, but not in proportion.
pub(super) struct Scale {
    /// Each with its top and its height, in pixels.
    pub segments: Vec<(ColumnPart, u32, u32)>,
}

impl Scale {
    pub fn new(top: u32, segments: Vec<ColumnPart>) -> Self {
        let least = segments.iter().map(|s| s.range.len()).min().unwrap_or(1);
        let mut y = top;
        let placed = segments.into_iter().map(|segment| {
            let doublings = (segment.range.len() / least.max(1)).max(1).ilog2();
            let by_size = (LOWEST + 7 * doublings).min(HIGHEST);
            let height = by_size.max(segment.lines * 16 + 8);
            let own = (segment, y, height);
            y += height;
            own
        });
        Self {
            segments: placed.collect(),
        }
    }

    pub fn bottom(&self) -> u32 {
        self.segments.last().map_or(0, |(_, y, height)| y + height)
    }

    /// Top and bottom of a range.
    pub fn place(&self, range: AddressRange) -> (f64, f64) {
        (self.y(range.first(), 0), self.y(range.last(), 1))
    }

    /// Where an address begins, or with `after` 1 where it ends.
    fn y(&self, address: u64, after: u64) -> f64 {
        let own = self.segments.iter();
        let mut own = own.filter(|(segment, ..)| segment.range.contains(address));
        let Some((segment, y, height)) = own.next() else {
            return f64::from(self.bottom());
        };
        let offset = (address - segment.range.first()) as f64 + after as f64;
        f64::from(*y) + f64::from(*height) * offset / segment.range.len() as f64
    }
}
