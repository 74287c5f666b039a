//! A chip's addresses as a square, the bytes that differ marked by direction, beside a bar for
//! every line.
//!
//! Colour says the direction, and so does a texture: stripes rising for bits that turned to 1,
//! stripes falling for bits that turned to 0, a lattice for both.

use std::fmt::Write;

use super::address::address_width;
use crate::faults::Width;
use crate::prose::{plural, thousands};

/// Cells along a side of the square, at most: a power of two.
const SIDE: usize = 64;
/// Length of the square's side, and room around it.
const SQUARE: f64 = 512.0;
const LEFT: f64 = 92.0;
const TOP: f64 = 132.0;
/// A line's bar, and the room it has.
const BAR: f64 = 150.0;
const ROW: f64 = 17.0;

/// How bits differ in one cell of the square.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
struct SquareCell {
    to_one: bool,
    to_zero: bool,
}

impl SquareCell {
    /// The class that colours it.
    fn class(self) -> Option<&'static str> {
        match (self.to_one, self.to_zero) {
            (true, true) => Some("both"),
            (true, false) => Some("up"),
            (false, true) => Some("down"),
            _ => None,
        }
    }
}

/// What a bar shows: bytes that differ, or bits.
struct Bar {
    name: String,
    /// Left part and right part.
    parts: [u64; 2],
}

/// The drawing as an SVG file.
///
/// Both images have the same length, a power of two in cells of `width`. Columns are the lower
/// address lines, rows the upper ones; where the chip has more addresses than the square has
/// places, the lowest lines lie inside one place.
pub fn difference_map(
    title: &str,
    finding: Option<&str>,
    wanted: &[u8],
    read: &[u8],
    width: Width,
) -> String {
    let cell_bytes = match width {
        Width::Eight => 1,
        Width::Sixteen => 2,
    };
    let cells = wanted.len().min(read.len()) / cell_bytes;
    let lines = cells.max(1).ilog2() as usize;
    let most = SIDE.trailing_zeros() as usize;
    let columns = lines.div_ceil(2).min(most);
    let rows = (lines - columns).min(most);
    let inside = lines - columns - rows;
    let mut square = vec![SquareCell::default(); 1 << (columns + rows)];
    let mut data = vec![[0u64; 2]; 8 * cell_bytes];
    let mut address = vec![[0u64; 2]; lines];
    let (mut bytes, mut bits) = (0u64, [0u64; 2]);
    for (n, (wanted, read)) in wanted.iter().zip(read).enumerate() {
        if wanted == read {
            continue;
        }
        let (at, upper) = (n / cell_bytes, n % cell_bytes * 8);
        let (up, down) = (!wanted & read, wanted & !read);
        let cell = &mut square[at >> inside];
        cell.to_one |= up != 0;
        cell.to_zero |= down != 0;
        for line in 0..8 {
            let turned = [up >> line & 1, down >> line & 1];
            for (way, turned) in turned.into_iter().enumerate() {
                data[upper + line][way] += u64::from(turned);
                bits[way] += u64::from(turned);
            }
        }
        for (line, counts) in address.iter_mut().enumerate() {
            counts[at >> line & 1] += 1;
        }
        bytes += 1;
    }

    let bars = |counts: &[[u64; 2]], letter: char| -> Vec<Bar> {
        let named = counts.iter().enumerate();
        named
            .map(|(n, parts)| Bar {
                name: format!("{letter}{n}"),
                parts: *parts,
            })
            .collect()
    };
    let side = SQUARE + LEFT;
    let data_top = TOP + 24.0;
    let address_top = data_top + ROW * data.len() as f64 + 54.0;
    let height = (TOP + SQUARE + 60.0).max(address_top + ROW * lines as f64 + 30.0);
    let mut out = head(side + 360.0, height);
    let mut text = |x: f64, y: f64, class: &str, words: &str| {
        // Writing to a String can't fail.
        let _ = writeln!(
            out,
            r#"<text x="{x:.1}" y="{y:.1}" class="{class}">{}</text>"#,
            escaped(words)
        );
    };
    text(16.0, 30.0, "title", title);
    let count = match bytes {
        0 => "no byte differs".into(),
        _ => format!(
            "{} differ: {} turned 0 to 1, {} turned 1 to 0",
            plural(bytes, "byte"),
            plural(bits[0], "bit"),
            plural(bits[1], "bit")
        ),
    };
    text(16.0, 52.0, "", &count);
    text(16.0, 72.0, "strong", finding.unwrap_or(""));
    let place = match (cell_bytes << inside) as u64 {
        1 => "one place = 1 byte".into(),
        n => format!("one place = {}", plural(n, "byte")),
    };
    text(LEFT, TOP + SQUARE + 20.0, "soft", &place);
    text(
        LEFT,
        TOP + SQUARE + 40.0,
        "soft",
        "a dark ruler piece: the line is 1 there",
    );

    draw_square(&mut out, &square, columns, rows);
    rulers(&mut out, columns, rows, inside);
    addresses(
        &mut out,
        rows,
        (wanted.len() >> rows) as u64,
        wanted.len() as u64,
    );
    let x = side + 40.0;
    let legend = [("up", "0 to 1"), ("down", "1 to 0"), ("both", "both ways")];
    for (n, (class, words)) in legend.into_iter().enumerate() {
        let at = x + 92.0 * n as f64;
        let _ = writeln!(
            out,
            r#"<rect x="{at:.1}" y="{:.1}" width="16" height="16" class="{class}"/><text x="{:.1}" y="{:.1}">{words}</text>"#,
            TOP - 34.0,
            at + 22.0,
            TOP - 21.0
        );
    }
    draw_bars(
        &mut out,
        x,
        data_top,
        "bits that differ, by data line",
        &bars(&data, 'D'),
        ["up", "down"],
    );
    draw_bars(
        &mut out,
        x,
        address_top,
        "bytes that differ where the line is 0 | 1",
        &bars(&address, 'A'),
        ["low", "high"],
    );
    out += "</svg>\n";
    out
}

fn head(width: f64, height: f64) -> String {
    let texture = |id: &str, ground: &str, strokes: &str| {
        format!(
            r##"<pattern id="{id}" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="{ground}"/><path d="{strokes}" stroke="#1c2226" stroke-width="1"/></pattern>
"##
        )
    };
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0}" height="{height:.0}" viewBox="0 0 {width:.0} {height:.0}" role="img">
<style>text{{font:13px system-ui,sans-serif;fill:#1c2226}}.title{{font-size:17px;font-weight:700}}.strong{{font-weight:700}}.soft{{fill:#545c61}}.mono{{font-family:ui-monospace,monospace;font-size:12px}}.end{{text-anchor:end}}.up{{fill:url(#rising)}}.down{{fill:url(#falling)}}.both{{fill:url(#lattice)}}.low{{fill:#c9c2b2}}.high{{fill:#545c61}}.grid{{stroke:#8d8a82;fill:none}}</style>
<defs>
{}{}{}</defs>
<rect width="100%" height="100%" fill="#fcfbf8"/>
"##,
        texture("rising", "#e8a13a", "M-1 1 l2 -2 M0 6 l6 -6 M5 7 l2 -2"),
        texture("falling", "#5b8fd0", "M-1 5 l2 2 M0 0 l6 6 M5 -1 l2 2"),
        texture("lattice", "#b07aaa", "M0 6 l6 -6 M0 0 l6 6"),
    )
}

/// The places, runs of one kind as one rectangle; and a grid, the stronger the higher its line.
fn draw_square(out: &mut String, square: &[SquareCell], columns: usize, rows: usize) {
    let (w, h) = (SQUARE / (1 << columns) as f64, SQUARE / (1 << rows) as f64);
    let _ = writeln!(
        out,
        r##"<rect x="{LEFT}" y="{TOP}" width="{SQUARE}" height="{SQUARE}" fill="#fff" stroke="#1c2226"/>"##
    );
    for (row, cells) in square.chunks(1 << columns).enumerate() {
        let mut column = 0;
        for run in cells.chunk_by(|a, b| a == b) {
            if let Some(class) = run[0].class() {
                let (x, y) = (LEFT + column as f64 * w, TOP + row as f64 * h);
                let width = run.len() as f64 * w;
                let _ = writeln!(
                    out,
                    r#"<rect x="{x:.2}" y="{y:.2}" width="{width:.2}" height="{h:.2}" class="{class}"/>"#
                );
            }
            column += run.len();
        }
    }
    let mut grid = |lines: usize, vertical: bool| {
        for n in 1..1usize << lines {
            // Line k of the ruler turns at multiples of 2^k.
            let rank = n.trailing_zeros() as usize;
            if rank + 4 < lines {
                continue;
            }
            let at = SQUARE * n as f64 / (1 << lines) as f64;
            let stroke = 0.3 + 0.35 * (rank + 4 - lines) as f64;
            let path = match vertical {
                true => format!("M{:.2} {TOP} v{SQUARE}", LEFT + at),
                false => format!("M{LEFT} {:.2} h{SQUARE}", TOP + at),
            };
            let _ = writeln!(
                out,
                r#"<path class="grid" d="{path}" stroke-width="{stroke:.2}"/>"#
            );
        }
    };
    grid(columns, true);
    grid(rows, false);
}

/// For the three highest lines of columns and of rows: where each is 1.
fn rulers(out: &mut String, columns: usize, rows: usize, inside: usize) {
    const THICK: f64 = 8.0;
    let mut ruler = |lines: usize, lowest: usize, vertical: bool| {
        for k in (0..lines).rev().take(3) {
            let depth = (lines - k) as f64 * (THICK + 3.0);
            let pieces = 1usize << (lines - 1 - k);
            let length = SQUARE / (2 * pieces) as f64;
            for piece in 0..pieces {
                let at = (2 * piece + 1) as f64 * length;
                let (x, y, w, h) = match vertical {
                    true => (LEFT - 4.0 - depth, TOP + at, THICK, length),
                    false => (LEFT + at, TOP - 4.0 - depth, length, THICK),
                };
                let _ = writeln!(
                    out,
                    r#"<rect x="{x:.2}" y="{y:.2}" width="{w:.2}" height="{h:.2}" class="high"/>"#
                );
            }
            let (x, y) = match vertical {
                true => (
                    LEFT - 2.0 - depth,
                    TOP + SQUARE + 12.0 + (lines - k) as f64 * 13.0,
                ),
                false => (LEFT - 6.0, TOP - 4.0 - depth + THICK),
            };
            let class = "mono end";
            let shift = if vertical { THICK } else { 0.0 };
            let _ = writeln!(
                out,
                r#"<text x="{:.2}" y="{y:.2}" class="{class}">A{}</text>"#,
                x + shift,
                lowest + k
            );
        }
    };
    ruler(columns, inside, false);
    ruler(rows, inside + columns, true);
}

/// The first address of some rows, and the last address of all.
fn addresses(out: &mut String, rows: usize, bytes_in_row: u64, size: u64) {
    let w = address_width(size.saturating_sub(1));
    let steps = 1u64 << rows.min(3);
    for n in 0..steps {
        let address = (n << (rows - rows.min(3))) * bytes_in_row;
        let y = TOP + SQUARE * n as f64 / steps as f64 + 10.0;
        let _ = writeln!(
            out,
            r#"<text x="{:.1}" y="{y:.1}" class="mono end">{address:0w$X}</text>"#,
            LEFT - 40.0
        );
    }
    let _ = writeln!(
        out,
        r#"<text x="{:.1}" y="{:.1}" class="mono end">{:0w$X}</text>"#,
        LEFT + SQUARE,
        TOP + SQUARE + 20.0,
        size.saturating_sub(1)
    );
}

fn draw_bars(out: &mut String, x: f64, top: f64, heading: &str, bars: &[Bar], classes: [&str; 2]) {
    let most = bars.iter().map(|bar| bar.parts[0] + bar.parts[1]).max();
    let most = most.unwrap_or(0).max(1) as f64;
    let _ = writeln!(
        out,
        r#"<text x="{x:.1}" y="{:.1}" class="soft">{heading}</text>"#,
        top - 10.0
    );
    for (n, bar) in bars.iter().enumerate() {
        let y = top + ROW * n as f64;
        let _ = writeln!(
            out,
            r#"<text x="{:.1}" y="{:.1}" class="mono end">{}</text>"#,
            x + 26.0,
            y + 11.0,
            bar.name
        );
        let mut at = x + 32.0;
        for (count, class) in bar.parts.into_iter().zip(classes) {
            let length = BAR * count as f64 / most;
            if count > 0 {
                let _ = writeln!(
                    out,
                    r#"<rect x="{at:.2}" y="{y:.2}" width="{length:.2}" height="13" class="{class}"/>"#
                );
            }
            at += length;
        }
        let numbers = match bar.parts {
            [0, 0] => String::new(),
            [one, two] => format!("{} | {}", thousands(one), thousands(two)),
        };
        let _ = writeln!(
            out,
            r#"<text x="{:.1}" y="{:.1}" class="mono">{numbers}</text>"#,
            at + 6.0,
            y + 11.0
        );
    }
}

/// Text that can't be taken for markup. Control characters are no XML at all.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            c if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
    out
}
