//! The image at a glance: one letter per origin, one cell per stretch of addresses.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::fit;
use super::legend::{self, LegendEntry, Tone};
use super::places::{self, SeatPlace, bank_word, bus_word};
use super::style::{Style, size_text};
use crate::board::{CPU, Seat, Seen};
use crate::image::{AddressRange, Entry, Image};
use crate::prose::plural;

/// Cells in a group; a line has one, two or four groups.
const GROUP: usize = 8;
/// A hole of this many bytes, wider than all data, starts a new picture.
const ISLAND_GAP: u64 = 64 * 1024;
/// Pictures shown; more are only counted.
const MOST_ISLANDS: usize = 16;

/// The map of one piece.
#[derive(Serialize)]
pub struct MapReport {
    /// The piece's name.
    pub piece: String,
    /// Where it sits, once it is seated; its addresses are then the chip's.
    pub seat: Option<Seated>,
    /// From the first byte to the last, or the whole chip; nothing for an empty piece.
    pub range: Option<RangeView>,
    /// The stretches of data, each with its own picture.
    pub islands: Vec<Island>,
    /// Stretches without a picture.
    pub islands_left_out: usize,
    /// What the letters mean.
    pub key: Vec<LegendEntry>,
    /// Bytes that were loaded, patched, stamped or marked.
    pub data: u64,
    /// Bytes that are filler.
    pub filler: u64,
    /// Addresses between the first and the last byte that hold none.
    pub hollow: u64,
    /// Where the program starts, if its file said so.
    pub entry: Option<u64>,
}

/// One picture.
#[derive(Serialize)]
pub struct Island {
    /// Its addresses.
    pub range: RangeView,
    /// Addresses of one cell.
    pub cell: u64,
    /// One letter a cell.
    pub cells: String,
}

/// Where a seated piece sits.
#[derive(Serialize)]
pub struct Seated {
    /// What the socket is called.
    pub socket: String,
    /// The part in the socket.
    pub part: String,
    /// Row of the socket, counted from 0.
    pub row: u32,
    /// Lane of the socket, counted from 0.
    pub lane: u32,
    /// The CPU addresses at which the chip is seen, window by window.
    pub cpu: Vec<RangeView>,
    /// Where buses see the chip, window by window.
    pub places: Vec<SeatPlace>,
    /// The step, if any, that has moved the chip's bytes since; then no bus address leads to them.
    pub rearranged_by: Option<&'static str>,
    /// How the two kinds of address go together, in words.
    #[serde(skip)]
    agrees: String,
    /// What else there is to say of its places.
    #[serde(skip)]
    lines: Vec<String>,
    /// The bus whose addresses the picture has.
    #[serde(skip)]
    bus: String,
    /// What is added to a chip address to make the bus's, where one number does it.
    #[serde(skip)]
    offset: Option<u64>,
    /// Chip addresses where groups of cells begin and end, with the bus's.
    #[serde(skip)]
    marks: Vec<(u64, Option<u64>)>,
}

impl MapReport {
    /// The map of `image`; of one that is seated, of its whole chip. `rearranged_by` is the step that has moved the chip's
    /// bytes since, if any.
    pub fn new(
        piece: &str,
        image: &Image,
        seat: Option<&Seat>,
        rearranged_by: Option<&'static str>,
    ) -> Self {
        let key = legend::letters(&[image]);
        let whole = seat.and_then(|s| AddressRange::from_len(0, s.part().bytes()));
        let extent = match (whole, image.extent()) {
            (Some(whole), Some(extent)) => Some(whole.hull(extent)),
            (whole, extent) => whole.or(extent),
        };
        let ranges = match whole {
            Some(_) => extent.into_iter().collect(),
            None => islands(image),
        };
        let shown = &ranges[..ranges.len().min(MOST_ISLANDS)];
        let islands: Vec<Island> = shown.iter().map(|r| island(image, *r, &key)).collect();
        let filler: u64 = key
            .iter()
            .filter(|k| k.tone == Tone::Faint)
            .map(|k| k.bytes)
            .sum();
        Self {
            piece: piece.into(),
            seat: seat.map(|seat| Seated::new(seat, rearranged_by, &islands)),
            range: extent.map(RangeView::from),
            islands,
            islands_left_out: ranges.len() - shown.len(),
            data: image.len() - filler,
            filler,
            hollow: extent.map_or(0, |e| e.len() - image.len()),
            entry: image.entry.map(Entry::address),
            key,
        }
    }

    fn title(&self, island: &Island, w: usize, style: Style) -> String {
        let cell = size_text(island.cell);
        match &self.seat {
            Some(seat) => {
                let mut title = format!(
                    "{}  {}   {}   one cell = {cell}\n",
                    style.strong(&self.piece),
                    seat.part,
                    seat.agrees,
                );
                for line in &seat.lines {
                    title += line;
                    title.push('\n');
                }
                title
            }
            None => format!(
                "{}   {:0w$X}-{:0w$X}   one cell = {cell}\n",
                style.strong(&self.piece),
                island.range.first,
                island.range.last,
            ),
        }
    }
}

impl Seated {
    fn new(seat: &Seat, rearranged_by: Option<&'static str>, islands: &[Island]) -> Self {
        let starts = islands.iter().flat_map(|island| {
            let step = island.cell.saturating_mul(GROUP as u64);
            let starts = (0..).map_while(move |i| island.range.first.checked_add(step * i));
            let starts = starts.take_while(|at| *at <= island.range.last);
            let ends = starts.clone().filter_map(|at| at.checked_sub(1));
            starts.chain(ends).chain([island.range.last])
        });
        let places = match rearranged_by {
            None => SeatPlace::of(seat),
            Some(_) => Vec::new(),
        };
        let bus = places.first().map_or(CPU, |place| &place.space).to_owned();
        let address = |at: u64| match rearranged_by {
            None => seen_at(seat, &bus, at).map(|seen| seen.address),
            Some(_) => None,
        };
        let is_cpu = |range: &&SeatPlace| range.space == CPU;
        Self {
            socket: seat.name().to_owned(),
            part: seat.part().name.clone(),
            row: seat.socket().row,
            lane: seat.socket().lane,
            cpu: places.iter().filter(is_cpu).map(|p| p.range).collect(),
            rearranged_by,
            agrees: match rearranged_by {
                Some(step) => format!("as `{step}` left it"),
                None => agreement(seat, &bus, &places),
            },
            lines: places::remarks(seat, &places),
            offset: match rearranged_by {
                None => seat.offset().map(|(_, offset)| offset),
                // Chip addresses are all there is.
                Some(_) => Some(0),
            },
            marks: starts.map(|at| (at, address(at))).collect(),
            bus,
            places,
        }
    }

    fn bus_at(&self, chip: u64) -> Option<u64> {
        let mark = self.marks.iter().find(|(at, _)| *at == chip);
        mark.and_then(|(_, address)| *address)
    }

    /// The highest address of a bus.
    fn highest(&self) -> u64 {
        let places = self.places.iter();
        places.map(|place| place.range.last).max().unwrap_or(0)
    }
}

/// Where a bus sees a byte of a chip: where it always does, otherwise in the lowest bank.
fn seen_at<'s>(seat: &'s Seat, bus: &str, chip: u64) -> Option<Seen<'s>> {
    let seen = seat.seen(chip);
    let on_bus = || seen.iter().filter(|seen| seen.space == bus);
    let always = on_bus().find(|seen| seen.bank.is_none());
    always.or_else(|| on_bus().next()).copied()
}

/// `chip 0000 = CPU 8000`, and the next byte where it does not follow.
fn agreement(seat: &Seat, bus: &str, places: &[SeatPlace]) -> String {
    let last = places.iter().map(|place| place.range.last).max();
    let w = address_width(last.unwrap_or(0));
    let c = address_width(seat.part().bytes().saturating_sub(1));
    let shown = places.iter().filter(|place| place.space == bus);
    let lowest = shown.flat_map(|place| &place.chip).map(|range| range.first);
    // Of a word in which something else answers for one byte, the other.
    let mut first = lowest.min().into_iter().flat_map(|at| [at, at + 1]);
    let Some((chip, seen)) = first.find_map(|at| Some((at, seen_at(seat, bus, at)?))) else {
        return "no bus sees it".into();
    };
    let mut text = format!("chip {chip:0c$X} = {} {:0w$X}", bus_word(bus), seen.address);
    match seen_at(seat, bus, chip + 1) {
        Some(next) if next.address != seen.address.wrapping_add(1) => {
            text += &format!(", {:0c$X} = {:0w$X}", chip + 1, next.address);
        }
        _ => {}
    }
    if let Some(bank) = seen.bank {
        let by = places.iter().find(|place| {
            place
                .banks
                .is_some_and(|b| b.first <= bank && bank <= b.last)
        });
        let by = by.map_or("", |place| &place.by);
        text += &format!(" in {} {bank}", bank_word(by));
    }
    text
}

/// Stretches of data with wide holes between them.
fn islands(image: &Image) -> Vec<AddressRange> {
    let mut out: Vec<AddressRange> = Vec::new();
    let gap = ISLAND_GAP.max(image.len());
    for span in image.spans() {
        match out.last_mut() {
            Some(last) if span.start() - last.last() <= gap => *last = last.hull(span.range()),
            _ => out.push(span.range()),
        }
    }
    out
}

fn island(image: &Image, range: AddressRange, key: &[LegendEntry]) -> Island {
    let most_cells = if range.len() > ISLAND_GAP { 128 } else { 32 };
    let mut cell = (range.len().div_ceil(most_cells))
        .next_power_of_two()
        .max(16);
    // A range that begins inside a cell may need one cell more.
    while range.last() / cell - range.first() / cell >= most_cells {
        cell *= 2;
    }
    let first = range.first() - range.first() % cell;
    let cells = (0..=(range.last() - first) / cell)
        .map(|i| {
            let part = AddressRange::from_len(first + i * cell, cell);
            let part = part.or(AddressRange::from_up(first + i * cell));
            let runs = part.into_iter().flat_map(|p| image.origins().within(p));
            let rarest = legend::present(key, runs).first().copied();
            rarest.map_or('_', |k| key[k].letter)
        })
        .collect();
    Island {
        range: range.into(),
        cell,
        cells,
    }
}

impl Report for MapReport {
    const STEP: &'static str = "show";

    fn text(&self, style: Style) -> String {
        let Some(range) = self.range else {
            return format!("{}   no bytes\n", style.strong(&self.piece));
        };
        let highest = self.seat.as_ref().map_or(0, Seated::highest);
        let w = address_width(range.last.max(highest));
        let mut out = String::new();
        for island in &self.islands {
            out += &self.title(island, w, style);
            out += &picture(island, self.seat.as_ref(), &self.key, w, style);
        }
        if self.islands_left_out > 0 {
            let n = self.islands_left_out as u64;
            out += &format!("and {} of data further up\n", plural(n, "island"));
        }
        let keys = self
            .key
            .iter()
            .map(|k| format!("{} {}", coloured(k.letter, 1, &self.key, style), k.origin));
        let hollow = (self.hollow > 0).then(|| "_ hollow".to_owned());
        out += &wrapped(style, keys.chain(hollow));
        let (data, filler) = match self.seat {
            Some(_) => ("seated", "filled"),
            None => ("data", "filler"),
        };
        out += &format!(
            "{data} {}, {filler} {}, hollow {}",
            size_text(self.data),
            size_text(self.filler),
            size_text(self.hollow)
        );
        if let Some(entry) = self.entry {
            out += &format!(", entry point {entry:0w$X}");
        }
        out.push('\n');
        out
    }
}

/// The words in lines no wider than a screen, three blanks between them.
fn wrapped(style: Style, words: impl Iterator<Item = String>) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in words {
        let long = fit::width(&word);
        match width {
            0 => {}
            n if n + 3 + long > style.columns() => {
                out.push('\n');
                width = 0;
            }
            _ => {
                out += "   ";
                width += 3;
            }
        }
        out += &word;
        width += long;
    }
    out.push('\n');
    out
}

/// `8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffsm  FFFF`, in the bus's addresses where the chip's follow them.
/// Where they don't, there are two kinds of address at every group:
///
/// ```text
/// chip 0000 vvpppppp  2000 ffffffff  4000 ffffffff  6000 fffffffs  7FFF
///  CPU 0000           4000           8000           C000           FFFE
/// ```
fn picture(
    island: &Island,
    seat: Option<&Seated>,
    key: &[LegendEntry],
    w: usize,
    style: Style,
) -> String {
    let offset = seat.map_or(Some(0), |seat| seat.offset);
    let word = seat.map_or("", |seat| bus_word(&seat.bus));
    let n = word.chars().count().max("chip".len());
    let (chip, bus) = match offset {
        Some(_) => (String::new(), String::new()),
        None => (format!("{:n$} ", "chip"), format!("{word:>n$} ")),
    };
    let mut groups = 4;
    while groups > 1 && chip.len() + groups * (w + 1 + GROUP + 2) + w > style.columns() {
        groups /= 2;
    }
    let add = offset.unwrap_or(0);
    let cells: Vec<char> = island.cells.chars().collect();
    let first = island.range.first - island.range.first % island.cell;
    let mut out = String::new();
    for (i, line) in cells.chunks(groups * GROUP).enumerate() {
        let start = first + (i * groups * GROUP) as u64 * island.cell;
        out += &chip;
        let mut below = bus.clone();
        for (j, group) in line.chunks(GROUP).enumerate() {
            let at = start + (j * GROUP) as u64 * island.cell;
            let letters: String = group
                .chunk_by(|one, next| one == next)
                .map(|run| coloured(run[0], run.len(), key, style))
                .collect();
            let shown = at.saturating_add(add);
            out += &format!("{shown:0w$X} {letters}  ");
            below += &address(seat, at, w);
            below.extend(std::iter::repeat_n(' ', 1 + group.len() + 2));
        }
        let last = start.saturating_add((line.len() as u64).saturating_mul(island.cell) - 1);
        out += &format!("{:0w$X}\n", last.saturating_add(add));
        if offset.is_none() {
            below += &address(seat, last, w);
            out += &style.faint(below.trim_end());
            out.push('\n');
        }
    }
    out
}

/// So many of a letter in the colour of its origin; filler and holes only accompany.
fn coloured(letter: char, times: usize, key: &[LegendEntry], style: Style) -> String {
    let text = String::from(letter).repeat(times);
    let mut origins = key.iter().filter(|k| k.tone != Tone::Faint);
    match origins.position(|k| k.letter == letter) {
        Some(n) => style.origin(n, &text),
        None => style.faint(&text),
    }
}

/// The bus's address for one of the chip's; blanks where it never sees it.
fn address(seat: Option<&Seated>, chip: u64, w: usize) -> String {
    let seen = seat.and_then(|s| s.bus_at(chip));
    seen.map_or(" ".repeat(w), |seen| format!("{seen:0w$X}"))
}
