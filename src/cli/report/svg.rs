//! The memory map as a drawing: what the CPU sees on top, the chips in their sockets below, the same address at the
//! same place from left to right.
//!
//! Widths are per cent and heights pixels, so that the drawing fits a telephone and a sheet of paper with letters of
//! one size. Every origin has a colour, a texture and a letter: any one of the three tells it.

use std::sync::Arc;

use maud::{Markup, PreEscaped, html};

use super::address::{RangeView, address_width};
use super::legend::{self, Key, Tone};
use super::sheet::SheetChip;
use super::style::{safe_char, size};
use crate::image::AddressRange;
use crate::ops::{Board, PlacingInChip};

/// Cells in a bar; a cell shows the origin with the fewest bytes in it.
const CELLS: u64 = 128;
/// A stretch narrower than this, in per cent of the width, has its letter below it.
const NARROW: f64 = 5.5;
/// Room for a letter below a bar, in per cent of the width.
const LETTER: f64 = 4.5;
/// How far a letter may stand from its place before it is left out.
const FARTHEST: f64 = 12.0;
/// Textures that origins take in turn.
const TEXTURES: usize = 8;
/// Lines in the key; more origins are only counted.
const MOST_KEYS: usize = 24;
/// Links from the CPU's addresses to places in a chip.
const MOST_LINKS: usize = 32;
/// Height of the CPU's bar and of a chip's, in pixels.
const CPU_BAR: u32 = 34;
const CHIP_BAR: u32 = 28;

/// Colours, in light and dark, of the page and the drawing; those with a number are the textures'.
pub(super) const COLOURS: &str = "\
:root{--paper:#fcfbf8;--card:#fff;--ink:#1c2226;--soft:#545c61;--line:#d8d3c8;--wash:#f0ece3;--filler:#e4dfd3;\
--c0:#2a7f78;--c1:#c4862a;--c2:#80497a;--c3:#44689c;--c4:#b3523b;--c5:#6f7c38;--c6:#74604f;--c7:#3f93ad}\
@media screen and (prefers-color-scheme:dark){:root{--paper:#14181a;--card:#1b2023;--ink:#eae7df;--soft:#a9afb2;\
--line:#3a4145;--wash:#22282b;--filler:#3b4347;--c0:#4aa59c;--c1:#d39a45;--c2:#b07aaa;--c3:#7596c8;--c4:#d0765e;\
--c5:#9aa85f;--c6:#a18d7a;--c7:#62b1c9}}\n";

/// The drawing's own rules.
pub(super) const RULES: &str = "\
.map{display:block;width:100%;overflow:visible;font-family:system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif}\
.map text{font-size:13px;fill:var(--ink)}\
.map .a{font-size:12px;fill:var(--soft)}\
.map .a,.map .l{font-family:ui-monospace,\"SF Mono\",Menlo,Consolas,\"DejaVu Sans Mono\",monospace}\
.map .l{font-weight:700;font-size:12px}\
.map .b{font-weight:650;font-size:15px}\
.map .m{text-anchor:middle}.map .e{text-anchor:end}\
.map .b,.map .e{paint-order:stroke;stroke-width:5px;stroke-linejoin:round}.map .on{stroke:var(--wash)}\
.map .plate{fill:var(--paper)}\
.map .frame{fill:none;stroke:var(--ink);stroke-width:1.25}\
.map .tick{stroke:var(--ink);stroke-width:1}\
.map .link{fill:var(--wash)}\
.map .bare{fill:var(--paper)}\
.map .ground{fill:var(--paper)}\
.map .edge{stroke:var(--ink);stroke-width:1;stroke-dasharray:2 3}\n";

/// A drawing under way.
struct Drawing {
    /// What is drawn first and lies behind everything.
    behind: Vec<Markup>,
    marks: Vec<Markup>,
    /// Where the next thing goes, in pixels from the top.
    y: u32,
    keys: Vec<Key>,
    /// Whether a hole was drawn, for the key.
    hollow: bool,
}

/// A stretch of a bar, in per cent of the width.
#[derive(Clone, Copy, PartialEq)]
struct BarSpan {
    from: f64,
    to: f64,
}

impl BarSpan {
    const WHOLE: BarSpan = BarSpan {
        from: 0.0,
        to: 100.0,
    };

    fn width(self) -> f64 {
        self.to - self.from
    }

    fn middle(self) -> f64 {
        (self.from + self.to) / 2.0
    }

    /// The place of a fraction of this stretch.
    fn at(self, n: u64, of: u64) -> f64 {
        self.from + self.width() * (n as f64 / of.max(1) as f64)
    }
}

/// What a cell of a bar shows.
enum BarCell {
    /// Not these chips.
    Other,
    /// Origins by their place in the key, the one with the fewest bytes first; none is a hole.
    Keys(Vec<usize>),
}

impl BarCell {
    /// The origin it shows; the inner `None` is a hole.
    fn shown(&self) -> Option<Option<usize>> {
        match self {
            BarCell::Other => None,
            BarCell::Keys(keys) => Some(keys.first().copied()),
        }
    }
}

/// The drawing for a page that has [`COLOURS`] and [`RULES`].
pub(super) fn inline(chips: &[SheetChip]) -> Markup {
    let (height, body) = draw(chips);
    html! {
        svg.map role="img" aria-label="Memory map: the CPU's addresses above, the chips' below" height=(height) { (body) }
    }
}

/// The drawing as a file of its own.
pub(super) fn alone(title: &str, chips: &[SheetChip]) -> Markup {
    const MARGIN: u32 = 28;
    let (height, body) = draw(chips);
    html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        svg xmlns="http://www.w3.org/2000/svg" width="760" height=(height + 3 * MARGIN + 8) {
            title { (safe(title)) }
            style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) }
            g.map {
                rect.ground width="100%" height="100%" {}
                text.b x=(MARGIN) y=(MARGIN + 10) { (short(title, 60)) }
                svg x=(MARGIN) y=(MARGIN + 32) width=(760 - 2 * MARGIN) height=(height) style="overflow:visible" { (body) }
            }
        }
        "\n"
    }
}

fn draw(chips: &[SheetChip]) -> (u32, Markup) {
    let images: Vec<_> = chips.iter().map(|c| c.image).collect();
    let mut drawing = Drawing {
        behind: Vec::new(),
        marks: Vec::new(),
        y: 0,
        keys: legend::letters(&images),
        hollow: false,
    };
    for group in groups(chips) {
        drawing.group(&group);
        drawing.y += 22;
    }
    drawing.legend();
    let Drawing {
        behind, marks, y, ..
    } = drawing;
    let body = html! {
        defs { (textures()) }
        @for mark in &behind { (mark) }
        @for mark in &marks { (mark) }
    };
    (y, body)
}

/// Chips that one board seats belong together; the others stand alone. Boards in the order of their addresses.
fn groups<'c, 'a>(chips: &'c [SheetChip<'a>]) -> Vec<Vec<&'c SheetChip<'a>>> {
    let board = |chip: &SheetChip<'a>| match chip.seat.map(|s| &s.boards[..]) {
        Some([board]) => Some(board.clone()),
        _ => None,
    };
    let mut out: Vec<Vec<&SheetChip>> = Vec::new();
    for chip in chips {
        let own = board(chip);
        let same = |group: &&mut Vec<&SheetChip<'a>>| match (&own, board(group[0])) {
            (Some(one), Some(other)) => Arc::ptr_eq(one, &other),
            _ => false,
        };
        match out.iter_mut().find(same) {
            Some(group) => group.push(chip),
            None => out.push(vec![chip]),
        }
    }
    let base = |chip: &SheetChip| {
        let boards = chip.seat.iter().flat_map(|s| &s.boards);
        boards.map(|b| b.base).min().unwrap_or(u64::MAX)
    };
    out.sort_by_key(|group| base(group[0]));
    out
}

impl Drawing {
    fn group(&mut self, chips: &[&SheetChip]) {
        let moved = |chip: &&SheetChip| chip.seat.is_some_and(|s| s.rearranged_by.is_some());
        if chips.iter().any(moved) {
            // What the CPU sees where is not known any more.
            return chips.iter().for_each(|chip| self.unseated(chip));
        }
        match chips[0].seat.map(|s| &s.boards[..]) {
            Some([board]) => {
                if let Ok(window) = board.window() {
                    self.board(board, window, chips);
                }
            }
            Some(boards) => self.switched(boards, chips[0]),
            None => self.unseated(chips[0]),
        }
    }

    /// What the CPU sees, and the chips it sees it in.
    fn board(&mut self, board: &Board, window: AddressRange, chips: &[&SheetChip]) {
        let w = address_width(window.last());
        self.heading(&format!("CPU {}", said(window, w)), &bus(board), false);
        let rows = u64::from(board.rows);
        let cells = cells(window, |cell| {
            if board.except.iter().any(|e| e.covers(cell)) {
                return BarCell::Other;
            }
            let runs = chips.iter().flat_map(|chip| {
                let socket = chip.seat.map(|s| s.socket);
                let stretches = socket.map(|s| board.seen_through(s, cell));
                let stretches = stretches.unwrap_or_default().into_iter();
                stretches.flat_map(|r| chip.image.origins().within(r))
            });
            BarCell::Keys(legend::present(&self.keys, runs))
        });
        let parts = if matches!(rows, 2..=4) { rows } else { 4 };
        self.bar(CPU_BAR, BarSpan::WHOLE, &cells, window, parts, w);
        self.notes(board, w);
        let from = self.y + 6;
        self.y += 20;
        for chip in chips {
            let Some(seat) = chip.seat else { continue };
            let row = u64::from(seat.socket.row);
            let seen = BarSpan {
                from: BarSpan::WHOLE.at(row, rows),
                to: BarSpan::WHOLE.at(row + 1, rows),
            };
            let whole = board.placing == PlacingInChip::Whole;
            let place = if whole { seen } else { BarSpan::WHOLE };
            let links = match board.placing {
                PlacingInChip::Lines(_) => board.seen_in_chip(),
                _ => Vec::new(),
            };
            self.chip(chip, place, &[(seen, links)], from);
        }
    }

    /// A chip that several programs share.
    fn switched(&mut self, boards: &[Arc<Board>], chip: &SheetChip) {
        let windows: Vec<AddressRange> = boards.iter().filter_map(|b| b.window().ok()).collect();
        let (Some(first), Some(last)) = (
            windows.iter().map(|w| w.first()).min(),
            windows.iter().map(|w| w.last()).max(),
        ) else {
            return self.unseated(chip);
        };
        let Some(all) = AddressRange::new(first, last) else {
            return;
        };
        let w = address_width(last);
        let programs = format!("one of {} programs", boards.len());
        self.heading(&format!("CPU {}", said(all, w)), &programs, false);
        // The programs' common window, empty: which one is seen depends on the switch.
        let y = self.y;
        self.marks.push(html! {
            rect.bare x="0" y=(y) width="100%" height=(CPU_BAR) {}
            rect.frame x="0" y=(y) width="100%" height=(CPU_BAR) {}
            text.m x="50%" y=(y + CPU_BAR / 2 + 5) { "whichever the switch selects" }
        });
        self.y += CPU_BAR;
        self.addresses(BarSpan::WHOLE, all, 4, w);
        let from = self.y + 6;
        self.y += 46;
        let links = boards.iter().zip(&windows).map(|(board, window)| {
            let span = BarSpan {
                from: BarSpan::WHOLE.at(window.first() - first, all.len()),
                to: BarSpan::WHOLE.at(window.last() - first + 1, all.len()),
            };
            (span, board.seen_in_chip())
        });
        let links: Vec<_> = links.collect();
        self.chip(chip, BarSpan::WHOLE, &links, from);
    }

    fn unseated(&mut self, chip: &SheetChip) {
        let from = self.y;
        self.chip(chip, BarSpan::WHOLE, &[], from);
    }

    /// A chip's bar at `place`, and links to it from what the CPU sees: each from a stretch of the CPU's bar to
    /// stretches of the chip, or to all of it when there are none.
    fn chip(
        &mut self,
        chip: &SheetChip,
        place: BarSpan,
        links: &[(BarSpan, Vec<AddressRange>)],
        from: u32,
    ) {
        let part = chip
            .seat
            .map_or("not seated".into(), |s| s.part.name.clone());
        let Some(range) = chip.range() else {
            self.heading(chip.label, &format!("{part}, no bytes"), false);
            return;
        };
        let w = address_width(range.last());
        self.heading(chip.label, &part, links.len() > 1);
        let y = self.y;
        for (i, (seen, stretches)) in links.iter().enumerate() {
            let in_chip = |r: &AddressRange| BarSpan {
                from: place.at(r.first() - range.first(), range.len()),
                to: place.at(r.last() - range.first() + 1, range.len()),
            };
            let mut targets: Vec<BarSpan> = stretches.iter().map(in_chip).collect();
            targets.dedup_by(|next, last| {
                let touch = next.from <= last.to;
                if touch {
                    last.to = next.to;
                }
                touch
            });
            if stretches.is_empty() {
                targets.push(place);
            }
            for target in targets.iter().take(MOST_LINKS) {
                self.link(*seen, *target, from, y, i > 0 || links.len() > 1);
            }
        }
        let cells = cells(range, |cell| {
            let runs = chip.image.origins().within(cell);
            BarCell::Keys(legend::present(&self.keys, runs))
        });
        self.bar(CHIP_BAR, place, &cells, range, 4, w);
        self.y += 12;
    }

    /// A strip from a stretch of the CPU's bar down to a stretch of a chip; edges keep several apart.
    fn link(&mut self, seen: BarSpan, target: BarSpan, top: u32, bottom: u32, edges: bool) {
        let (a, b, c, d) = (pc(seen.from), pc(seen.to), pc(target.from), pc(target.to));
        let points = format!(
            "{:.2},0 {:.2},0 {:.2},1 {:.2},1",
            seen.from, seen.to, target.to, target.from
        );
        self.behind.insert(
            0,
            html! {
                svg x="0" y=(top) width="100%" height=(bottom - top) viewBox="0 0 100 1" preserveAspectRatio="none" {
                    polygon.link points=(points) {}
                }
            },
        );
        if edges {
            self.behind.push(html! {
                line.edge x1=(a) y1=(top) x2=(c) y2=(bottom) {}
                line.edge x1=(b) y1=(top) x2=(d) y2=(bottom) {}
            });
        }
    }

    /// A name on the left, a word on the right; `linked` ones keep the edges of links off.
    fn heading(&mut self, left: &str, right: &str, linked: bool) {
        self.y += 16;
        let y = self.y;
        self.marks.push(html! {
            text class=(if linked { "b on" } else { "b" }) x="0" y=(y) { (short(left, 22)) }
            text class=(if linked { "e on" } else { "e" }) x="100%" y=(y) { (short(right, 28)) }
        });
        self.y += 8;
    }

    /// Where else the chips answer, and where they don't.
    fn notes(&mut self, board: &Board, w: usize) {
        const MOST: usize = 4;
        let also = board.also.iter().map(|r| ("also at", r));
        let except = board.except.iter().map(|r| ("something else at", r));
        for (words, range) in also.chain(except).take(MOST) {
            self.y += 16;
            let y = self.y;
            self.marks.push(html! {
                text.a x="0" y=(y) { (words) " " (said(*range, w)) }
            });
        }
    }

    /// A bar of cells with its letters and, in `parts` steps, its addresses.
    fn bar(
        &mut self,
        height: u32,
        place: BarSpan,
        cells: &[BarCell],
        range: AddressRange,
        parts: u64,
        w: usize,
    ) {
        let (y, count) = (self.y, cells.len() as u64);
        let mut at = 0;
        let mut letters: Vec<(f64, char)> = Vec::new();
        self.marks.push(html! {
            rect.bare x=(pc(place.from)) y=(y) width=(pc(place.width())) height=(height) {}
        });
        for stretch in cells.chunk_by(|a, b| a.shown() == b.shown()) {
            let cut = BarSpan {
                from: place.at(at, count),
                to: place.at(at + stretch.len() as u64, count),
            };
            at += stretch.len() as u64;
            let Some(shown) = stretch[0].shown() else {
                continue;
            };
            let fill = shown.map_or("url(#hollow)".into(), |key| self.fill(key));
            self.marks.push(html! {
                rect x=(pc(cut.from)) y=(y) width=(pc(cut.width())) height=(height) fill=(fill) {}
            });
            let Some(key) = shown else {
                self.hollow = true;
                continue;
            };
            let Key { letter, tone, .. } = self.keys[key];
            if cut.width() >= NARROW {
                self.marks.push(html! {
                    rect.plate x=(pc(cut.middle())) y=(y + height / 2 - 9) width="16" height="18" rx="3" transform="translate(-8)" {}
                    text.l.m x=(pc(cut.middle())) y=(y + height / 2 + 4) { (letter) }
                });
            } else if tone != Tone::Faint {
                letters.push((cut.middle(), letter));
            }
        }
        letters.extend(self.hidden(cells, place));
        letters.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.marks.push(html! {
            rect.frame x=(pc(place.from)) y=(y) width=(pc(place.width())) height=(height) {}
        });
        self.y += height;
        self.letters(letters);
        self.addresses(place, range, parts, w);
    }

    /// Origins that no cell shows, because rarer ones stand in the same: the first place of each, with its letter.
    fn hidden(&self, cells: &[BarCell], place: BarSpan) -> Vec<(f64, char)> {
        let keys = cells.iter().map(|cell| match cell {
            BarCell::Other => &[][..],
            BarCell::Keys(keys) => keys,
        });
        let mut seen: Vec<usize> = keys.clone().flat_map(|k| k.first()).copied().collect();
        let mut out = Vec::new();
        for (i, keys) in keys.enumerate() {
            for key in keys {
                if !seen.contains(key) && self.keys[*key].tone != Tone::Faint {
                    seen.push(*key);
                    let at = place.at(i as u64, cells.len() as u64);
                    out.push((at, self.keys[*key].letter));
                }
            }
        }
        out
    }

    /// Letters of stretches too narrow for them, below the bar, moved aside where they are crowded.
    fn letters(&mut self, wanted: Vec<(f64, char)>) {
        let mut placed: Vec<(f64, f64, char)> = Vec::new();
        for (at, letter) in wanted {
            let same = placed
                .last()
                .is_some_and(|l| l.2 == letter && at - l.0 < 2.0 * LETTER);
            let free = placed.last().map_or(LETTER / 2.0, |l| l.1 + LETTER);
            if !same && free - at < FARTHEST {
                placed.push((at, at.max(free), letter));
            }
        }
        // Those pushed over the right end go back.
        let mut limit = 100.0 - LETTER / 2.0;
        for place in placed.iter_mut().rev() {
            place.1 = place.1.min(limit);
            limit = place.1 - LETTER;
        }
        if placed.is_empty() {
            return;
        }
        let y = self.y;
        for (at, moved, letter) in placed {
            self.marks.push(html! {
                line.tick x1=(pc(at)) y1=(y) x2=(pc(moved)) y2=(y + 7) {}
                text.l.m x=(pc(moved)) y=(y + 18) { (letter) }
            });
        }
        self.y += 20;
    }

    /// The addresses under a bar: both ends, and what lies between where it is wide enough.
    fn addresses(&mut self, place: BarSpan, range: AddressRange, parts: u64, w: usize) {
        self.y += 16;
        let y = self.y;
        let (first, last) = (range.first(), range.last());
        if place.width() < 30.0 {
            let (x, class) = match place.middle() < 50.0 {
                true => (place.from, "a"),
                false => (place.to, "a e"),
            };
            self.marks
                .push(html! { text class=(class) x=(pc(x)) y=(y) { (said(range, w)) } });
            return;
        }
        let parts = match w {
            0..=6 if place.width() > 90.0 => parts,
            0..=6 => 2,
            8 if place.width() > 90.0 => 2,
            _ => 1,
        };
        let whole = range.len().is_multiple_of(parts);
        for n in 1..if whole { parts } else { 1 } {
            let address = first + range.len() / parts * n;
            self.marks.push(html! {
                text.a.m x=(pc(place.at(n, parts))) y=(y) { (format!("{address:0w$X}")) }
            });
        }
        self.marks.push(html! {
            text.a x=(pc(place.from)) y=(y) { (format!("{first:0w$X}")) }
            text.a.e x=(pc(place.to)) y=(y) { (format!("{last:0w$X}")) }
        });
    }

    fn legend(&mut self) {
        let hollow = self
            .hollow
            .then_some(("url(#hollow)".to_owned(), None, "hollow", None));
        let known = self
            .keys
            .iter()
            .enumerate()
            .take(MOST_KEYS)
            .map(|(i, key)| {
                let bytes = Some(size(key.bytes));
                (self.fill(i), Some(key.letter), key.origin.as_str(), bytes)
            });
        let lines: Vec<Markup> = known
            .chain(hollow)
            .enumerate()
            .map(|(i, (fill, letter, name, bytes))| {
                let y = self.y + 24 * i as u32;
                html! {
                    rect x="0" y=(y) width="30" height="16" fill=(fill) {}
                    rect.frame x="0" y=(y) width="30" height="16" {}
                    @if let Some(letter) = letter { text.l x="42" y=(y + 13) { (letter) } }
                    text x="62" y=(y + 13) { (short_start(name, 28)) }
                    @if let Some(bytes) = bytes { text.a.e x="100%" y=(y + 13) { (bytes) } }
                }
            })
            .collect();
        self.y += 24 * lines.len() as u32;
        self.marks.extend(lines);
        if self.keys.len() > MOST_KEYS {
            let more = self.keys.len() - MOST_KEYS;
            self.y += 13;
            let y = self.y;
            self.marks
                .push(html! { text.a x="62" y=(y) { "and " (more) " more" } });
            self.y += 8;
        }
    }

    fn fill(&self, key: usize) -> String {
        match self.keys[key].tone {
            Tone::Faint => "var(--filler)".into(),
            Tone::Strong => "var(--ink)".into(),
            Tone::Plain => format!("url(#t{})", key % TEXTURES),
        }
    }
}

/// What each cell of a range shows.
fn cells(range: AddressRange, shows: impl Fn(AddressRange) -> BarCell) -> Vec<BarCell> {
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

/// Eight colours with eight textures, and the hatching of holes, which alone is slanted.
fn textures() -> Markup {
    let overlays = [
        "",
        "M2 2h2v2h-2zM6 6h2v2h-2z",
        "M1 0h2v8h-2z",
        "M0 1h8v2h-8z",
        "M0 0h8v1.4h-8zM0 0h1.4v8h-1.4z",
        "M0 0h4v4h-4zM4 4h4v4h-4z",
        "M3 1h2v6h-2zM1 3h6v2h-6z",
        "M1 0h1.4v8h-1.4zM4 0h1.4v8h-1.4z",
    ];
    html! {
        @for (i, overlay) in overlays.iter().enumerate() {
            pattern id=(format!("t{i}")) width="8" height="8" patternUnits="userSpaceOnUse" {
                rect width="8" height="8" style=(format!("fill:var(--c{i})")) {}
                @if !overlay.is_empty() { path d=(overlay) style="fill:var(--paper);fill-opacity:.45" {} }
            }
        }
        pattern id="hollow" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
            rect width="7" height="7" style="fill:var(--paper)" {}
            path d="M0 0h1.2v7h-1.2z" style="fill:var(--soft)" {}
        }
    }
}

/// `16-bit bus, 2 lanes, 2 rows`.
fn bus(board: &Board) -> String {
    let bits = board.unit * u64::from(board.lanes) * 8;
    let mut words = vec![format!("{bits} bits")];
    if board.lanes > 1 {
        words.push(format!("{} lanes", board.lanes));
    }
    if board.rows > 1 {
        words.push(format!("{} rows", board.rows));
    }
    if board.placing == PlacingInChip::Repeated {
        words.push("repeated".into());
    }
    words.join(", ")
}

/// `8000-FFFF`.
pub(super) fn said(range: impl Into<RangeView>, w: usize) -> String {
    let RangeView { first, last } = range.into();
    format!("{first:0w$X}-{last:0w$X}")
}

/// Per cent, with as many digits as a screen can show.
fn pc(x: f64) -> String {
    let text = format!("{x:.3}");
    format!("{}%", text.trim_end_matches('0').trim_end_matches('.'))
}

/// Text without control characters.
pub(super) fn safe(text: &str) -> String {
    text.chars().map(safe_char).collect()
}

/// Room a character takes, in tenths of a usual letter's width; generous.
fn room(c: char) -> usize {
    match c {
        'm' | 'w' | '@' | '%' | '&' | '<' | '>' | '=' | '+' | '~' | 'A'..='Z' => 15,
        c if c.is_ascii() || c == '…' => 10,
        _ => 20,
    }
}

/// The beginning of a text, so much that it takes the room of `most` usual letters.
pub(super) fn short(text: &str, most: usize) -> String {
    let text = safe(text);
    if text.chars().map(room).sum::<usize>() <= most * 10 {
        return text;
    }
    let mut left = (most * 10).saturating_sub(room('…'));
    let fits = |c: &char| {
        let enough = left >= room(*c);
        left = left.saturating_sub(room(*c));
        enough
    };
    let mut out: String = text.chars().take_while(fits).collect();
    out.push('…');
    out
}

/// The end of a text, where a path has what tells files apart.
fn short_start(text: &str, most: usize) -> String {
    let backwards: String = text.chars().rev().collect();
    short(&backwards, most).chars().rev().collect()
}
