//! The memory map as a drawing: what the CPU sees on top, the chips in their sockets below, the same address at the
//! same place from left to right.
//!
//! Widths are per cent and heights pixels, so that the drawing fits a telephone and a sheet of paper with letters of
//! one size. Every origin has a colour, a texture and a letter: any one of the three tells it.

use std::sync::Arc;

use maud::{Markup, PreEscaped, html};

use super::canvas::{BarCell, BarSpan, Drawing, bar_cells, pc};
use super::chip::SheetChip;
use super::css::{COLOURS, RULES};
use super::key::textures;
use super::words::{safe, said, short};
use crate::board::{Board, Placement};
use crate::cli::report::address::address_width;
use crate::cli::report::legend;
use crate::image::AddressRange;

/// Links from the CPU's addresses to places in a chip.
const MOST_LINKS: usize = 32;
/// Height of the CPU's bar and of a chip's, in pixels.
const CPU_BAR: u32 = 34;
const CHIP_BAR: u32 = 28;

/// The drawing for a page that has [`COLOURS`] and [`RULES`].
pub(super) fn inline(chips: &[SheetChip]) -> Markup {
    let (height, body) = draw(chips);
    html! {
        svg.map role="img" aria-label="Memory map: the CPU's addresses above, the chips' below" height=(height) { (body) }
    }
}

/// The drawing as a file of its own.
pub(super) fn map_alone(title: &str, chips: &[SheetChip]) -> Markup {
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
        boards.map(|b| b.base()).min().unwrap_or(u64::MAX)
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
            Some([board]) => self.board(board, board.addresses(), chips),
            Some(boards) => self.switched(boards, chips[0]),
            None => self.unseated(chips[0]),
        }
    }

    /// What the CPU sees, and the chips it sees it in.
    fn board(&mut self, board: &Board, window: AddressRange, chips: &[&SheetChip]) {
        let w = address_width(window.last());
        self.heading(&format!("CPU {}", said(window, w)), &bus(board), false);
        let rows = u64::from(board.rows());
        let cells = bar_cells(window, |cell| {
            if board.except().iter().any(|e| e.covers(cell)) {
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
            let whole = *board.placement() == Placement::Whole;
            let place = if whole { seen } else { BarSpan::WHOLE };
            let links = match board.placement() {
                Placement::Tied(_) | Placement::Switched(_) => board.seen_in_chip(),
                _ => Vec::new(),
            };
            self.chip(chip, place, &[(seen, links)], from);
        }
    }

    /// A chip that several programs share.
    fn switched(&mut self, boards: &[Arc<Board>], chip: &SheetChip) {
        let windows: Vec<AddressRange> = boards.iter().map(|b| b.addresses()).collect();
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
        let cells = bar_cells(range, |cell| {
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
        let also = board.also().iter().map(|r| ("also at", r));
        let except = board.except().iter().map(|r| ("something else at", r));
        for (words, range) in also.chain(except).take(MOST) {
            self.y += 16;
            let y = self.y;
            self.marks.push(html! {
                text.a x="0" y=(y) { (words) " " (said(*range, w)) }
            });
        }
    }
}

/// `16-bit bus, 2 lanes, 2 rows`.
fn bus(board: &Board) -> String {
    let bits = board.word_bytes() * u64::from(board.lanes()) * 8;
    let mut words = vec![format!("{bits} bits")];
    if board.lanes() > 1 {
        words.push(format!("{} lanes", board.lanes()));
    }
    if board.rows() > 1 {
        words.push(format!("{} rows", board.rows()));
    }
    if *board.placement() == Placement::Repeated {
        words.push("repeated".into());
    }
    words.join(", ")
}
