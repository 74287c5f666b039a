//! A chip's addresses as a square, the places that differ marked by direction, and a bar for every line, of which those to
//! look at are marked.
//!
//! Colour says the direction, and so does a texture: stripes rising for bits that turned to 1, stripes falling for bits
//! that turned to 0, a lattice for both. Square and bars are two drawings, so that they fit beside each other on a desk and
//! below each other on a telephone.

use maud::{Markup, PreEscaped, html};

use super::count::{Counted, SquarePlace};
use super::css::{COLOURS, DIFFERENCES};
use super::words::{safe, short};
use crate::cli::report::address::address_width;
use crate::faults::Width;
use crate::prose::{plural, thousands};

/// Length of the square's side, and the room left of it and above it.
const SIDE: f64 = 288.0;
const LEFT: f64 = 84.0;
const TOP: f64 = 52.0;
/// Both drawings' width.
const WIDTH: f64 = 380.0;
/// A line's bar, at most, and the room that a row has.
const BAR: f64 = 190.0;
const ROW: f64 = 16.0;
/// The thickness of a ruler.
const RULER: f64 = 7.0;

/// The picture of the differences between what is wanted and what was read.
pub struct DifferenceMap {
    counted: Counted,
    /// The lines to look at, such as `A7`.
    blamed: Vec<String>,
}

impl DifferenceMap {
    /// Counts two images; `None` unless they have the same size, a power of two. `blamed` are names of lines.
    pub fn new(wanted: &[u8], read: &[u8], width: Width, blamed: Vec<String>) -> Option<Self> {
        let counted = Counted::of(wanted, read, width)?;
        Some(Self { counted, blamed })
    }

    /// The picture as an SVG file with a title, and the finding in a line.
    pub fn svg(&self, title: &str, finding: Option<&str>) -> String {
        let (square, bars) = (self.square(), self.bars());
        let height = 84.0 + self.square_height().max(self.bars_height());
        let page = html! {
            (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
            svg xmlns="http://www.w3.org/2000/svg" width=(2.0 * WIDTH + 60.0) height=(height) class="differences" role="img" {
                title { (safe(title)) }
                style { (PreEscaped(COLOURS)) (PreEscaped(DIFFERENCES)) }
                rect.page width="100%" height="100%" {}
                text.strong x="20" y="28" { (short(title, 90)) }
                text x="20" y="48" { (self.count_in_words()) }
                @if let Some(finding) = finding { text.strong x="20" y="68" { (short(finding, 100)) } }
                (nested(20.0, &square)) (nested(WIDTH + 40.0, &bars))
            }
            "\n"
        };
        page.into_string()
    }

    /// Whether no byte differs.
    pub(super) fn is_empty(&self) -> bool {
        self.counted.bytes == 0
    }

    /// How much differs, in a sentence without a full stop.
    pub fn count_in_words(&self) -> String {
        let bits = self.counted.bits;
        match self.counted.bytes {
            0 => "no byte differs".into(),
            bytes => format!(
                "{} differ: {} turned 0 to 1, {} turned 1 to 0",
                plural(bytes, "byte"),
                plural(bits[0], "bit"),
                plural(bits[1], "bit")
            ),
        }
    }

    fn square_height(&self) -> f64 {
        TOP + SIDE + 74.0
    }

    fn bars_height(&self) -> f64 {
        let rows = self.counted.data.len() + self.counted.address.len();
        TOP + ROW * rows as f64 + 62.0
    }

    /// The square with its rulers and addresses; and the textures, for the bars too.
    pub(super) fn square(&self) -> Markup {
        let c = &self.counted;
        let place = match (c.cell_bytes << c.inside) as u64 {
            1 => "one place is 1 byte".into(),
            n => format!("one place is {}", plural(n, "byte")),
        };
        let w = address_width(c.size.saturating_sub(1) as u64);
        let last = c.size.saturating_sub(1);
        html! {
            svg.differences viewBox=(view(self.square_height())) role="img" aria-label="Where the chip differs, by address" {
                (textures())
                rect.ground x=(LEFT) y=(TOP) width=(SIDE) height=(SIDE) {}
                (self.places())
                (self.grid())
                (self.rulers())
                @for (address, y) in self.row_addresses() {
                    text.mono.end x=(LEFT - 40.0) y=(y) { (format!("{address:0w$X}")) }
                }
                text.mono.end x=(LEFT + SIDE) y=(TOP + SIDE + 16.0) { (format!("{last:0w$X}")) }
                text.soft x=(LEFT) y=(TOP + SIDE + 16.0) { (place) }
                text.soft x=(LEFT) y=(TOP + SIDE + 34.0) { "beside a dark stripe the line is 1" }
                @for (n, (class, words)) in [("up", "0 to 1"), ("down", "1 to 0"), ("both", "both ways")].into_iter().enumerate() {
                    @let x = LEFT + 84.0 * n as f64;
                    rect class=(class) x=(x) y=(TOP + SIDE + 46.0) width="14" height="14" {}
                    text x=(x + 19.0) y=(TOP + SIDE + 57.5) { (words) }
                }
            }
        }
    }

    /// The bars of all data lines and of all address lines.
    pub(super) fn bars(&self) -> Markup {
        let c = &self.counted;
        let data_top = TOP;
        let address_top = data_top + ROW * c.data.len() as f64 + 48.0;
        html! {
            svg.differences viewBox=(view(self.bars_height())) role="img" aria-label="What differs, by data line and by address line" {
                text.strong x="8" y=(data_top - 24.0) { "Data lines" }
                text.soft x="8" y=(data_top - 8.0) { "bits that turned 0 to 1 | 1 to 0" }
                (self.rows('D', &c.data, data_top, ["up", "down"]))
                text.strong x="8" y=(address_top - 24.0) { "Address lines" }
                text.soft x="8" y=(address_top - 8.0) { "bytes that differ where the line is 0 | 1" }
                (self.rows('A', &c.address, address_top, ["low", "high"]))
            }
        }
    }

    fn rows(
        &self,
        letter: char,
        counts: &[[u64; 2]],
        top: f64,
        classes: [&'static str; 2],
    ) -> Markup {
        let most = counts.iter().map(|count| count[0] + count[1]).max();
        let most = most.unwrap_or(0).max(1) as f64;
        html! {
            @for (n, count) in counts.iter().enumerate() {
                @let y = top + ROW * n as f64;
                @let name = format!("{letter}{n}");
                @let is_blamed = self.blamed.contains(&name);
                @if is_blamed { rect.look x="2" y=(y) width=(WIDTH - 4.0) height=(ROW) rx="2" {} }
                text class=(if is_blamed { "mono end on" } else { "mono end" }) x="32" y=(y + 12.0) { (name) }
                @for (at, length, class) in lengths(*count, most, classes) {
                    rect class=(class) x=(at) y=(y + 2.0) width=(length) height=(ROW - 4.0) {}
                }
                @if *count != [0, 0] {
                    @let end = 40.0 + BAR * (count[0] + count[1]) as f64 / most;
                    text class=(if is_blamed { "mono on" } else { "mono" }) x=(end + 6.0) y=(y + 12.0) {
                        (thousands(count[0])) " | " (thousands(count[1]))
                    }
                }
            }
        }
    }

    /// The places that differ, runs of one kind as one.
    fn places(&self) -> Markup {
        let c = &self.counted;
        let (w, h) = (SIDE / (1 << c.columns) as f64, SIDE / (1 << c.rows) as f64);
        html! {
            @for (row, places) in c.square.chunks(1 << c.columns).enumerate() {
                @for (column, run, class) in runs(places) {
                    rect class=(class) x=(px(LEFT + column as f64 * w)) y=(px(TOP + row as f64 * h)) width=(px(run as f64 * w)) height=(px(h)) {}
                }
            }
        }
    }

    /// Lines at the multiples of large powers of two, the stronger the larger.
    fn grid(&self) -> Markup {
        let lines = |lines: usize| -> Vec<(f64, f64)> {
            let all = 1..1usize << lines;
            let strong = all.filter(|n| n.trailing_zeros() as usize + 4 >= lines);
            let placed = strong.map(|n| {
                let rank = n.trailing_zeros() as usize + 4 - lines;
                let at = SIDE * n as f64 / (1 << lines) as f64;
                (at, 0.3 + 0.35 * rank as f64)
            });
            placed.collect()
        };
        html! {
            @for (at, stroke) in lines(self.counted.columns) {
                path.grid d=(format!("M{} {TOP}v{SIDE}", px(LEFT + at))) stroke-width=(px(stroke)) {}
            }
            @for (at, stroke) in lines(self.counted.rows) {
                path.grid d=(format!("M{LEFT} {}h{SIDE}", px(TOP + at))) stroke-width=(px(stroke)) {}
            }
        }
    }

    /// For the three highest lines of the columns and of the rows: where each is 1.
    fn rulers(&self) -> Markup {
        let c = &self.counted;
        html! {
            @for k in (0..c.columns).rev().take(3) {
                @let depth = (c.columns - k) as f64 * (RULER + 4.0);
                @for (at, length) in stripes(c.columns - 1 - k) {
                    rect.high x=(px(LEFT + at)) y=(TOP - 2.0 - depth) width=(px(length)) height=(RULER) {}
                }
                (self.ruler_name(c.inside + k, LEFT - 5.0, TOP - 2.0 - depth + RULER + 1.0))
            }
            @for k in (0..c.rows).rev().take(3) {
                @let depth = (c.rows - k) as f64 * (RULER + 4.0);
                @for (at, length) in stripes(c.rows - 1 - k) {
                    rect.high x=(LEFT - 2.0 - depth) y=(px(TOP + at)) width=(RULER) height=(px(length)) {}
                }
                (self.ruler_name(c.inside + c.columns + k, LEFT + RULER - 2.0 - depth, TOP + SIDE + 3.0 + (c.rows - k) as f64 * 13.0))
            }
        }
    }

    fn ruler_name(&self, line: usize, x: f64, y: f64) -> Markup {
        let name = format!("A{line}");
        let class = match self.blamed.contains(&name) {
            true => "mono end blamed",
            false => "mono end",
        };
        html! { text class=(class) x=(x) y=(y) { (name) } }
    }

    /// The first address of some rows, and where it is written.
    fn row_addresses(&self) -> Vec<(usize, f64)> {
        let c = &self.counted;
        let fine = c.rows.min(3);
        let steps = 1usize << fine;
        let place = |n: usize| {
            let address = (n << (c.rows - fine)) * (c.size >> c.rows);
            (address, TOP + SIDE * n as f64 / steps as f64 + 11.0)
        };
        (0..steps).map(place).collect()
    }
}

/// A drawing inside a picture, at its size.
fn nested(x: f64, drawing: &Markup) -> Markup {
    let inner = drawing.clone().into_string();
    let (_, inner) = inner.split_once('>').unwrap_or_default();
    html! { (PreEscaped(format!("<svg x=\"{x}\" y=\"84\" overflow=\"visible\">{inner}"))) }
}

fn view(height: f64) -> String {
    format!("0 0 {WIDTH} {height}")
}

/// As many digits as a screen can show.
fn px(x: f64) -> String {
    let text = format!("{x:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Runs of places that differ in one way: the first column, how many, and the class.
fn runs(places: &[SquarePlace]) -> Vec<(usize, usize, &'static str)> {
    let mut column = 0;
    let mut out = Vec::new();
    for run in places.chunk_by(|a, b| a == b) {
        let class = match (run[0].to_one, run[0].to_zero) {
            (true, true) => Some("both"),
            (true, false) => Some("up"),
            (false, true) => Some("down"),
            _ => None,
        };
        out.extend(class.map(|class| (column, run.len(), class)));
        column += run.len();
    }
    out
}

/// The two parts of a bar: where, how long, and their classes.
fn lengths(
    count: [u64; 2],
    most: f64,
    classes: [&'static str; 2],
) -> Vec<(String, String, &'static str)> {
    let mut at = 40.0;
    let mut out = Vec::new();
    for (count, class) in count.into_iter().zip(classes) {
        let length = BAR * count as f64 / most;
        if count > 0 {
            out.push((px(at), px(length), class));
        }
        at += length;
    }
    out
}

/// Where a line is 1 along the side, when this many lines are above it: from where, and how long.
fn stripes(above: usize) -> Vec<(f64, f64)> {
    let pieces = 1usize << above;
    let length = SIDE / (2 * pieces) as f64;
    let from = |piece: usize| ((2 * piece + 1) as f64 * length, length);
    (0..pieces).map(from).collect()
}

fn textures() -> Markup {
    let texture = |id: &str, ground: &str, strokes: &str| {
        html! {
            pattern id=(id) width="6" height="6" patternUnits="userSpaceOnUse" {
                rect width="6" height="6" style=(format!("fill:var(--{ground})")) {}
                path.stroke d=(strokes) {}
            }
        }
    };
    html! {
        defs {
            (texture("rising", "c1", "M-1 1l2-2M0 6l6-6M5 7l2-2"))
            (texture("falling", "c3", "M-1 5l2 2M0 0l6 6M5-1l2 2"))
            (texture("lattice", "c2", "M0 6l6-6M0 0l6 6"))
        }
    }
}
