//! The memory map as a drawing: what a bus sees on top, the chips in their sockets below, the same address at the same
//! place from left to right.
//!
//! Widths are per cent and heights pixels, so that the drawing fits a telephone and a sheet of paper with letters of
//! one size. Every origin has a colour, a texture and a letter: each of the three is enough to recognise it.

use maud::{Markup, PreEscaped, html};

use super::bus_part::{BusPart, SwitchedBlock, bus_parts};
use super::canvas::{BarCell, BarSpan, Drawing, bar_cells, pc};
use super::chip::SheetChip;
use super::css::{COLOURS, RULES};
use super::key::textures;
use super::words::{safe, said, short};
use crate::board::Seat;
use crate::cli::report::address::address_width;
use crate::cli::report::legend;
use crate::cli::report::places::bus_word;
use crate::image::{AddressRange, Image};

/// Links from a bus's addresses to places in a chip.
const MOST_LINKS: usize = 32;
/// Height of a bus's bar and of a chip's, in pixels; of chips that are many, so that all fit one sheet of paper.
const CPU_BAR: u32 = 30;
const CHIP_BAR: u32 = 24;
const LOW_BAR: u32 = 16;
/// A drawing higher than this, in pixels, is drawn again with low bars: between its margins, a sheet of Letter has 950.
const HIGHEST: u32 = 880;
/// A chip narrower than this, in per cent of the width, is not drawn below its place on the bus: on a telephone its addresses
/// would not fit, those of four digits and those of more.
const NARROWEST: [f64; 2] = [20.0, 30.0];

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
    match drawn(chips, false) {
        (height, _) if height > HIGHEST => drawn(chips, true),
        high => high,
    }
}

fn drawn(chips: &[SheetChip], is_low: bool) -> (u32, Markup) {
    let images: Vec<_> = chips.iter().map(|c| c.image).collect();
    let mut drawing = Drawing {
        behind: Vec::new(),
        marks: Vec::new(),
        y: 0,
        keys: legend::letters(&images),
        filler: filler_value(&images),
        hollow: false,
        is_low,
    };
    for group in groups(chips) {
        drawing.group(&group);
        drawing.y += 14;
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

/// The value of all filler of these images, if it is one value.
fn filler_value(images: &[&Image]) -> Option<u8> {
    let mut found = None;
    for image in images {
        let runs = image.origins().runs().iter();
        for run in runs.filter(|run| run.source.is_filler()) {
            for byte in image.contiguous(run.range).ok()? {
                match found {
                    None => found = Some(*byte),
                    Some(value) if value != *byte => return None,
                    Some(_) => {}
                }
            }
        }
    }
    found
}

/// The chips in the order of the drawing: those of one board together, by its lowest address; then the others.
fn groups<'c, 'a>(chips: &'c [SheetChip<'a>]) -> Vec<Vec<&'c SheetChip<'a>>> {
    let mut out: Vec<Vec<&SheetChip>> = Vec::new();
    for chip in chips {
        let same = |group: &&mut Vec<&SheetChip<'a>>| match (chip.seat, group[0].seat) {
            (Some(one), Some(other)) => one.is_on(other.board()),
            _ => false,
        };
        match out.iter_mut().find(same) {
            Some(group) => group.push(chip),
            None => out.push(vec![chip]),
        }
    }
    let lowest = |group: &[&SheetChip]| {
        let seats = group.iter().filter_map(|chip| chip.seat);
        let windows = seats.flat_map(|seat| seat.store().windows());
        windows.map(|w| w.range().first()).min().unwrap_or(u64::MAX)
    };
    out.sort_by_key(|group| lowest(group));
    out
}

impl Drawing {
    /// The chips of one board: each stretch of a bus, and below it the chips that it sees.
    fn group(&mut self, chips: &[&SheetChip]) {
        // For chips whose bytes a step has moved, and for their neighbours, it is no longer known what buses see where.
        let store = |chip: &&SheetChip| chip.seat.map(|seat| seat.socket().store);
        let moved: Vec<usize> = chips
            .iter()
            .filter(|chip| chip.rearranged_by.is_some())
            .filter_map(store)
            .collect();
        let is_moved = |chip: &&SheetChip| store(chip).is_some_and(|own| moved.contains(&own));
        let (unseen, seen): (Vec<&SheetChip>, Vec<&SheetChip>) =
            chips.iter().partition(|chip| is_moved(chip));
        let bus_parts = bus_parts(&seen);
        for (i, part) in bus_parts.iter().enumerate() {
            if i > 0 {
                self.y += 14;
            }
            self.bus_part(part, &seen);
        }
        let is_drawn = |chip: &&SheetChip| bus_parts.iter().any(|s| s.has(chip));
        let left = seen.into_iter().filter(|chip| !is_drawn(chip));
        for chip in left.chain(unseen) {
            self.unseated(chip);
        }
    }

    /// A stretch of a bus, and the chips that it sees.
    fn bus_part(&mut self, part: &BusPart, chips: &[&SheetChip]) {
        let range = part.range;
        let w = address_width(range.last());
        let bus = bus_word(&part.space);
        let left = format!("{bus} {}", said(range, w));
        self.bus_heading(&left, &part.bits());
        let cells = bar_cells(range, |cell| self.cell(part, chips, cell));
        let y = self.y;
        let parts = match part.rows() {
            rows @ 2..=4 => rows,
            _ => 4,
        };
        self.bar(CPU_BAR, BarSpan::WHOLE, &cells, range, parts, w);
        for block in part.blocks() {
            self.block(part, &block, y);
        }
        self.notes(part, w);
        let from = self.y + 6;
        self.y += 20;
        for row in below(part, chips) {
            let (top, mut bottom) = (self.y, self.y);
            for chip in &row {
                self.y = top;
                self.chip(chip.chip, chip.place, &chip.seen, from);
                bottom = bottom.max(self.y);
            }
            self.y = bottom;
        }
    }

    /// What a part of a bus is filled with: nothing where no chip of the sheet is, or a switch decides.
    fn cell(&self, part: &BusPart, chips: &[&SheetChip], cell: AddressRange) -> BarCell {
        let mut is_seen = false;
        let mut runs = Vec::new();
        for chip in chips {
            let Some(seat) = chip.seat else { continue };
            let shown = part.of(seat);
            for shown in shown.filter(|shown| shown.window.banks().is_none()) {
                let store = seat.store();
                let parts = shown.window.chip_ranges(store, seat.socket(), None, cell);
                is_seen |= !parts.is_empty();
                runs.extend(parts.iter().flat_map(|r| chip.image.origins().within(*r)));
            }
        }
        match is_seen {
            true => BarCell::Keys(legend::present(&self.keys, runs.into_iter())),
            false => BarCell::Other,
        }
    }

    /// A block of banks in a bus's bar, which begins at `y`.
    fn block(&mut self, part: &BusPart, block: &SwitchedBlock, y: u32) {
        let span = part.span(block.range);
        let (from, width) = (pc(span.from), pc(span.width()));
        let room = (span.width() / 2.2) as usize;
        let words = block.words();
        self.marks.push(html! {
            rect.bare x=(from) y=(y) width=(width) height=(CPU_BAR) {}
            rect.frame x=(from) y=(y) width=(width) height=(CPU_BAR) {}
            @if words.chars().count() <= room {
                text.m x=(pc(span.middle())) y=(y + CPU_BAR / 2 + 5) { (words) }
            }
        });
    }

    fn unseated(&mut self, chip: &SheetChip) {
        let from = self.y;
        self.chip(chip, BarSpan::WHOLE, &[], from);
    }

    /// A chip's bar at `place`, and links to it from what a bus sees: each from a stretch of the bus's bar to stretches of
    /// the chip.
    fn chip(
        &mut self,
        chip: &SheetChip,
        place: BarSpan,
        links: &[(BarSpan, Vec<AddressRange>)],
        from: u32,
    ) {
        let part = chip
            .seat
            .map_or("not seated".into(), |s| s.part().name.clone());
        let Some(range) = chip.range() else {
            self.heading(chip.name, &format!("{part}, no bytes"), false);
            return;
        };
        let w = address_width(range.last());
        let beside = match self.is_low {
            true => format!("{}  {part}", said(range, w)),
            false => part,
        };
        self.chip_heading(chip.name, &beside, place, links.len() > 1);
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
            for target in targets.iter().take(MOST_LINKS) {
                self.link(*seen, *target, from, y, i > 0 || links.len() > 1);
            }
        }
        let cells = bar_cells(range, |cell| {
            let runs = chip.image.origins().within(cell);
            BarCell::Keys(legend::present(&self.keys, runs))
        });
        match self.is_low {
            true => {
                self.bar(LOW_BAR, place, &cells, range, 0, w);
                self.y += 3;
            }
            false => {
                self.bar(CHIP_BAR, place, &cells, range, 4, w);
                self.y += 10;
            }
        }
    }

    /// A chip's name above its bar, and its part where both fit.
    fn chip_heading(&mut self, name: &str, part: &str, place: BarSpan, linked: bool) {
        if place == BarSpan::WHOLE {
            return self.heading(name, part, linked);
        }
        // Letters of this size take about 2.6 per cent of a telephone's width.
        let room = (place.width() / 2.6) as usize;
        self.y += 16;
        let y = self.y;
        self.marks.push(html! {
            text.b x=(pc(place.from)) y=(y) { (short(name, room)) }
            @if room > 2 * name.chars().count() + part.chars().count() {
                text.e x=(pc(place.to)) y=(y) { (short(part, room / 2)) }
            }
        });
        self.y += if self.is_low { 5 } else { 8 };
    }

    /// A strip from a stretch of a bus's bar down to a stretch of a chip; edges keep several apart.
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

    /// A bus's addresses, never cut, and what it is like where that has room beside them.
    fn bus_heading(&mut self, addresses: &str, bits: &str) {
        let long = addresses.chars().count();
        self.y += 16;
        let y = self.y;
        self.marks.push(html! {
            text class=(if long <= 24 { "b" } else { "a" }) x="0" y=(y) { (safe(addresses)) }
            @if long <= 24 { text.e x="100%" y=(y) { (short(bits, if long > 16 { 16 } else { 28 })) } }
        });
        self.y += 8;
    }

    /// A name on the left, a word on the right; `linked` ones keep the edges of links off.
    fn heading(&mut self, left: &str, right: &str, linked: bool) {
        self.y += 16;
        let y = self.y;
        self.marks.push(html! {
            text class=(if linked { "b on" } else { "b" }) x="0" y=(y) { (short(left, 22)) }
            text class=(if linked { "e on" } else { "e" }) x="100%" y=(y) { (short(right, 28)) }
        });
        self.y += if self.is_low { 5 } else { 8 };
    }

    /// What switches the banks, where else the chips answer, and where they don't.
    fn notes(&mut self, part: &BusPart, w: usize) {
        const MOST: usize = 6;
        for line in part.notes(w).iter().take(MOST) {
            self.y += 16;
            let y = self.y;
            self.marks
                .push(html! { text.a x="0" y=(y) { (short(line, 48)) } });
        }
    }
}

/// A chip below the part of a bus that sees it.
struct ChipBelow<'c, 'a> {
    chip: &'c SheetChip<'a>,
    place: BarSpan,
    /// Where on the bus it is seen, and which addresses of it.
    seen: Vec<(BarSpan, Vec<AddressRange>)>,
}

/// The chips below a part of a bus, in rows: those that have their places beside each other are in one.
fn below<'c, 'a>(part: &BusPart, chips: &[&'c SheetChip<'a>]) -> Vec<Vec<ChipBelow<'c, 'a>>> {
    let mut rows: Vec<Vec<ChipBelow>> = Vec::new();
    for &chip in chips.iter().filter(|chip| part.has(chip)) {
        let Some(seat) = chip.seat else { continue };
        let seen: Vec<(BarSpan, Vec<AddressRange>)> = part
            .of(seat)
            .map(|shown| (part.span(shown.range), seat.ever_shown(shown.window)))
            .collect();
        let w = address_width(seat.part().bytes().saturating_sub(1));
        let narrowest = NARROWEST[usize::from(w > 4)];
        // A chip that is seen whole at one place is drawn below it, where there is room.
        let place = match &seen[..] {
            [(span, shown)] if shown[..] == whole(seat)[..] && span.width() >= narrowest => *span,
            _ => BarSpan::WHOLE,
        };
        let is_free = |row: &&mut Vec<ChipBelow>| {
            let mut others = row.iter().map(|other| other.place);
            others.all(|other| place.from >= other.to || place.to <= other.from)
        };
        let own = ChipBelow { chip, place, seen };
        match rows.iter_mut().find(is_free) {
            Some(row) => row.push(own),
            None => rows.push(vec![own]),
        }
    }
    rows
}

/// All of a chip.
fn whole(seat: &Seat) -> Vec<AddressRange> {
    let whole = AddressRange::from_len(0, seat.part().bytes());
    whole.into_iter().collect()
}
