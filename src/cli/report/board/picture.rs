//! The picture of a board: a column for each bus, the chips beside it, and bands from what a bus sees to where it is.
//!
//! The first bus is on the left of the chips, the others are on their right. Heights are not in proportion, so that a few
//! registers can be read beside a megabyte.

use maud::{Markup, PreEscaped, html};

use super::boxes::{ChipBox, Link, chips, is_shown};
use super::columns::{Scale, cut_up};
use super::text::amount;
use crate::board::{Board, Window};
use crate::cli::report::address::address_width;
use crate::cli::report::sheet::{COLOURS, RULES, TEXTURES, hatching, said, short};
use crate::image::AddressRange;

/// Widths, in pixels: margin, addresses beside a column, a column, the bands, a row of chips.
const MARGIN: u32 = 28;
const ADDRESSES: u32 = 76;
const COLUMN: u32 = 150;
const BANDS: u32 = 130;
const CHIP: u32 = 220;
/// Bands of one window; more are drawn on top of each other, and fainter.
const MOST_BANDS: usize = 12;
/// Names in one segment of a bus.
const MOST_NAMES: usize = 4;

/// Rules for this drawing alone.
const OWN: &str = "\
.map .band{stroke:none;fill-opacity:.22}.map .thin{fill-opacity:.06}.map .part{stroke:none;fill-opacity:.30}\
.map .dash{stroke:var(--ink);stroke-width:1;stroke-dasharray:2 3}\n";

/// A bus with its place.
struct Column<'b> {
    space: &'b str,
    x: u32,
    /// The edge where bands arrive.
    edge: u32,
    scale: Scale,
    windows: Vec<(usize, usize, &'b Window)>,
}

/// The picture as a file of its own, SVG; `title` serves where the board has none.
pub fn board_picture(board: &Board, title: &str) -> String {
    let title = match board.title() {
        "" => title,
        own => own,
    };
    let top = MARGIN + 44;
    let chips_x = MARGIN + ADDRESSES + COLUMN + BANDS;
    let (links, boxes) = chips(board, top);
    let columns: Vec<Column> = (board.spaces().into_iter().enumerate())
        .filter_map(|(i, space)| column(board, space, i as u32, chips_x, top + 20))
        .collect();
    let bottoms = columns.iter().map(|c| c.scale.bottom());
    let bottoms = bottoms.chain(boxes.iter().map(|b| b.scale.bottom()));
    let bottom = bottoms.max().unwrap_or(top);
    let right = columns.iter().map(|c| c.x + COLUMN + ADDRESSES).max();
    let width = right.unwrap_or(0).max(chips_x + CHIP) + MARGIN;
    let height = bottom + 28 + 16 + MARGIN;
    let page = html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        svg xmlns="http://www.w3.org/2000/svg" width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) {
            title { (short(title, 120)) }
            style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(OWN)) }
            defs { (hatching()) }
            g.map {
                rect.ground width="100%" height="100%" {}
                text.b x=(MARGIN) y=(MARGIN + 10) { (short(title, 60)) }
                @for column in &columns { (bands(column, &links, &boxes, chips_x)) }
                @for column in &columns { (drawn(board, column)) }
                @for chip in &boxes { (chip_drawn(chip, &links, chips_x)) }
                rect x=(MARGIN) y=(bottom + 28) width="30" height="16" fill="url(#hollow)" {}
                rect.frame x=(MARGIN) y=(bottom + 28) width="30" height="16" {}
                text x=(MARGIN + 42) y=(bottom + 41) { "on a bus: none of these chips answers; in a chip: no bus sees it" }
            }
        }
        "\n"
    };
    page.into_string()
}

fn colour(store: usize) -> String {
    format!("fill:var(--c{})", store % TEXTURES)
}

fn column<'b>(
    board: &'b Board,
    space: &'b str,
    number: u32,
    chips_x: u32,
    top: u32,
) -> Option<Column<'b>> {
    let windows = board.windows().enumerate();
    let windows = windows.filter(|(_, (_, window))| window.space() == space);
    let mut windows: Vec<_> = windows
        .map(|(n, (store, window))| (n, store, window))
        .collect();
    windows.sort_by_key(|(_, _, window)| (window.range().first(), window.banks()));
    let first = windows.iter().map(|(.., w)| w.range().first()).min()?;
    let last = windows.iter().map(|(.., w)| w.range().last()).max()?;
    let ranges = windows.iter().flat_map(|(.., window)| {
        let except = window.except().iter().copied();
        std::iter::once(window.range()).chain(except)
    });
    let ranges: Vec<AddressRange> = ranges.collect();
    let mut cut = cut_up(AddressRange::new(first, last)?, &ranges);
    for segment in &mut cut {
        let here = windows
            .iter()
            .filter(|(.., w)| w.shows(segment.range.first()));
        segment.lines = (here.count().min(MOST_NAMES + 1) as u32).max(1);
        if windows
            .iter()
            .any(|(.., w)| w.shows(segment.range.first()) && w.banks().is_some())
        {
            segment.lines = segment.lines.max(2);
        }
    }
    let (x, edge) = match number {
        0 => (MARGIN + ADDRESSES, MARGIN + ADDRESSES + COLUMN),
        n => {
            let x = chips_x + CHIP + BANDS + (n - 1) * (COLUMN + ADDRESSES + BANDS / 3);
            (x, x)
        }
    };
    Some(Column {
        space,
        x,
        edge,
        scale: Scale::new(top, cut),
        windows,
    })
}

/// What a column's windows show, as bands to the chips.
fn bands(column: &Column, links: &[Link], boxes: &[ChipBox], chips_x: u32) -> Markup {
    let own = links.iter().filter(|link| {
        let mut windows = column.windows.iter();
        windows.any(|(number, ..)| *number == link.window)
    });
    html! {
        @for link in own {
            @let many = links.iter().filter(|other| other.window == link.window).count() > MOST_BANDS;
            @if let Some(chip) = boxes.iter().find(|b| b.store == link.store && b.row == link.row) {
                @let (a, b) = column.scale.place(link.bus);
                @let (c, d) = chip.scale.place(link.chip);
                @let (from, to) = match column.edge < chips_x {
                    true => (column.edge, chips_x),
                    false => (column.edge, chips_x + CHIP),
                };
                path.band.thin[many] style=(colour(link.store)) d=(format!("M{from} {a:.1}L{to} {c:.1}V{d:.1}L{from} {b:.1}Z")) {}
            }
        }
    }
}

fn drawn(board: &Board, column: &Column) -> Markup {
    let x = column.x;
    let is_left = column.edge > x;
    let last = column
        .scale
        .segments
        .last()
        .map_or(0, |(s, ..)| s.range.last());
    let w = address_width(last);
    let address = |at: u64, y: u32| {
        let (class, ax) = match is_left {
            true => ("a e", x - 8),
            false => ("a", x + COLUMN + 8),
        };
        html! { text class=(class) x=(ax) y=(y) { (format!("{at:0w$X}")) } }
    };
    let top = column.scale.segments.first().map_or(0, |(_, y, _)| *y);
    html! {
        text.b x=(x) y=(top - 8) { (short(&format!("bus {}", column.space), 16)) }
        @if let Some((segment, y, height)) = column.scale.segments.last() {
            // Where it does not fit beside its segment.
            @if *height < 36 { (address(segment.range.last(), y + height + 13)) }
        }
        @for (segment, y, height) in &column.scale.segments {
            @let here: Vec<_> = column.windows.iter().filter(|(.., w)| w.shows(segment.range.first())).collect();
            rect.bare x=(x) y=(y) width=(COLUMN) height=(height) {}
            @match here.first() {
                None => rect x=(x) y=(y) width=(COLUMN) height=(height) fill="url(#hollow)" {},
                Some((_, store, _)) => rect.part x=(x) y=(y) width=(COLUMN) height=(height) style=(colour(*store)) {},
            }
            rect.frame x=(x) y=(y) width=(COLUMN) height=(height) {}
            (address(segment.range.first(), y + 14))
            @if *height >= 36 { (address(segment.range.last(), y + height - 5)) }
            @if here.is_empty() {
                rect.plate x=(x + 6) y=(y + height / 2 - 8) width="84" height="16" {}
                text x=(x + 10) y=(y + height / 2 + 4) { (amount(segment.range.len())) }
            }
            @let lines = labels(board, &here);
            @let from = y + height / 2 + 4 - 8 * (lines.len().saturating_sub(1) as u32);
            @for (line, i) in lines.iter().zip(0u32..) {
                text x=(x + 8) y=(from + 16 * i) { (line) }
            }
        }
    }
}

/// Who answers in a segment, in lines.
fn labels(board: &Board, here: &[&(usize, usize, &Window)]) -> Vec<String> {
    let banks = |window: &Window| match window.banks() {
        None => String::new(),
        Some((first, last)) if first == last => format!("bank {first}"),
        Some((first, last)) => format!("banks {first}-{last}"),
    };
    match here {
        [(_, store, window)] => {
            let mut lines = vec![short(&board.names_of(*store), 15)];
            lines.extend(Some(banks(window)).filter(|b| !b.is_empty()));
            lines
        }
        _ => {
            let all = here.iter().take(MOST_NAMES).map(|(_, store, window)| {
                let text = format!("{} {}", board.names_of(*store), banks(window));
                short(text.trim_end(), 17)
            });
            let mut lines: Vec<String> = all.collect();
            if here.len() > MOST_NAMES {
                lines.push(format!("and {} more", here.len() - MOST_NAMES));
            }
            lines
        }
    }
}

fn chip_drawn(chip: &ChipBox, links: &[Link], x: u32) -> Markup {
    let last = chip
        .scale
        .segments
        .last()
        .map_or(0, |(s, ..)| s.range.last());
    let w = address_width(last);
    let top = chip.scale.segments.first().map_or(0, |(_, y, _)| *y);
    let height = chip.scale.bottom().saturating_sub(top);
    let lanes = chip.names.len() as u32;
    let heading = format!("{}  {}", chip.names.join(", "), chip.part);
    html! {
        text.b x=(x) y=(top - 6) { (short(&heading, 22)) }
        @for (segment, y, own) in &chip.scale.segments {
            rect.bare x=(x) y=(y) width=(CHIP) height=(own) {}
            @match is_shown(segment, links, chip) {
                true => rect.part x=(x) y=(y) width=(CHIP) height=(own) style=(colour(chip.store)) {},
                false => rect x=(x) y=(y) width=(CHIP) height=(own) fill="url(#hollow)" {},
            }
            rect.frame x=(x) y=(y) width=(CHIP) height=(own) {}
            @let text = said(segment.range, w);
            rect.plate x=(x + 5) y=(y + own / 2 - 8) width=(8 * text.len() as u32 + 6) height="16" rx="2" {}
            text.a x=(x + 8) y=(y + own / 2 + 4) { (text) }
        }
        @if lanes <= 8 {
            @for lane in 1..lanes {
                line.dash x1=(x + CHIP * lane / lanes) x2=(x + CHIP * lane / lanes) y1=(top) y2=(top + height) {}
            }
        }
    }
}
