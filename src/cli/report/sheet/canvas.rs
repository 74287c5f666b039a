//! What the map is drawn on: stretches in per cent of its width, cells of a bar.

use maud::Markup;

use crate::cli::report::legend::{LegendEntry, Tone};
use crate::image::AddressRange;

/// Cells in a bar; a cell shows the origin with the fewest bytes in it.
const CELLS: u64 = 128;

/// Textures that origins take in turn.
pub const TEXTURES: usize = 8;

/// A drawing under way.
pub(super) struct Drawing {
    /// What is drawn first, in the background.
    pub behind: Vec<Markup>,
    pub marks: Vec<Markup>,
    /// Where the next thing goes, in pixels from the top.
    pub y: u32,
    pub keys: Vec<LegendEntry>,
    /// The value of all filler, if it is one value.
    pub filler: Option<u8>,
    /// Whether a hole was drawn, for the key.
    pub hollow: bool,
    /// Whether there are so many chips that each has little room.
    pub is_low: bool,
}

impl Drawing {
    /// What an origin is filled with.
    pub fn fill(&self, key: usize) -> String {
        match self.keys[key].tone {
            Tone::Faint => "var(--filler)".into(),
            Tone::Strong => "var(--ink)".into(),
            Tone::Plain => format!("url(#t{})", key % TEXTURES),
        }
    }
}

/// A stretch of a bar, in per cent of the width.
#[derive(Clone, Copy, PartialEq)]
pub(super) struct BarSpan {
    pub from: f64,
    pub to: f64,
}

impl BarSpan {
    pub const WHOLE: BarSpan = BarSpan {
        from: 0.0,
        to: 100.0,
    };

    pub fn width(self) -> f64 {
        self.to - self.from
    }

    pub fn middle(self) -> f64 {
        (self.from + self.to) / 2.0
    }

    /// The place of a fraction of this stretch.
    pub fn at(self, n: u64, of: u64) -> f64 {
        self.from + self.width() * (n as f64 / of.max(1) as f64)
    }
}

/// What a cell of a bar shows.
pub(super) enum BarCell {
    /// Not these chips.
    Other,
    /// Origins by their place in the key, the one with the fewest bytes first; none is a hole.
    Keys(Vec<usize>),
}

impl BarCell {
    /// The origin it shows; the inner `None` is a hole.
    pub fn shown(&self) -> Option<Option<usize>> {
        match self {
            BarCell::Other => None,
            BarCell::Keys(keys) => Some(keys.first().copied()),
        }
    }
}

/// What each cell of a range shows.
pub(super) fn bar_cells(
    range: AddressRange,
    shows: impl Fn(AddressRange) -> BarCell,
) -> Vec<BarCell> {
    let count = CELLS.min(range.len());
    let edge = |n: u64| {
        let offset = u128::from(range.len()) * u128::from(n) / u128::from(count);
        range.first() + offset as u64
    };
    (0..count)
        .filter_map(|n| AddressRange::new(edge(n), edge(n + 1) - 1))
        .map(shows)
        .collect()
}

/// Per cent, with as many digits as a screen can show.
pub(super) fn pc(x: f64) -> String {
    let text = format!("{x:.3}");
    format!("{}%", text.trim_end_matches('0').trim_end_matches('.'))
}
