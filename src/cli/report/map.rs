//! The image at a glance: one letter per origin, one cell per stretch of addresses.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::document::Report;
use super::legend::{self, LegendEntry, Tone};
use super::style::{Style, size_text};
use crate::board::Seat;
use crate::image::{AddressRange, Entry, Image};
use crate::prose::plural;

/// Cells in a group; a line has one, two or four groups.
const GROUP: usize = 8;
/// Width of a screen, in characters.
const SCREEN: usize = 80;
/// A hole of this many bytes, wider than all data, starts a new picture.
const ISLAND_GAP: u64 = 64 * 1024;
/// Pictures shown; more are only counted.
const MOST_ISLANDS: usize = 16;

/// The map of one piece.
#[derive(Serialize)]
pub struct MapReport {
    /// The piece's label.
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
    /// Addresses a cell stands for.
    pub cell: u64,
    /// One letter a cell.
    pub cells: String,
}

/// Where a seated piece sits.
#[derive(Serialize)]
pub struct Seated {
    /// The part in the socket.
    pub part: String,
    /// Row of the socket, counted from 0.
    pub row: u32,
    /// Lane of the socket, counted from 0.
    pub lane: u32,
    /// The CPU addresses of the board's window; several where several programs share one switched chip.
    pub cpu: Vec<RangeView>,
    /// The step, if any, that has moved the chip's bytes since; then no CPU address leads to them.
    pub rearranged_by: Option<&'static str>,
    /// How the two kinds of address go together, in words.
    #[serde(skip)]
    agrees: String,
    /// What is added to a chip address to make the CPU's, where one number does it.
    #[serde(skip)]
    offset: Option<u64>,
    /// Chip addresses where groups of cells begin and end, with the CPU's.
    #[serde(skip)]
    marks: Vec<(u64, Option<u64>)>,
}

impl MapReport {
    /// The map of `image`; of one that is seated, of its whole chip.
    pub fn new(piece: &str, image: &Image, seat: Option<&Seat>) -> Self {
        let key = legend::letters(&[image]);
        let whole = seat.and_then(|s| AddressRange::from_len(0, s.part.bytes()));
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
            seat: seat.map(|seat| Seated::new(seat, &islands)),
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
            Some(seat) => format!(
                "{}  {}   {}   one cell = {cell}\n",
                style.strong(&self.piece),
                seat.part,
                seat.agrees,
            ),
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
    fn new(seat: &Seat, islands: &[Island]) -> Self {
        let boards = match seat.rearranged_by {
            None => &seat.boards[..],
            Some(_) => &[],
        };
        let windows = boards.iter().map(|b| b.addresses());
        let cpu: Vec<RangeView> = windows.map(RangeView::from).collect();
        let starts = islands.iter().flat_map(|island| {
            let step = island.cell.saturating_mul(GROUP as u64);
            let starts = (0..).map_while(move |i| island.range.first.checked_add(step * i));
            let starts = starts.take_while(|at| *at <= island.range.last);
            let ends = starts.clone().filter_map(|at| at.checked_sub(1));
            starts.chain(ends).chain([island.range.last])
        });
        Self {
            part: seat.part.name.clone(),
            row: seat.socket.row,
            lane: seat.socket.lane,
            rearranged_by: seat.rearranged_by,
            agrees: agreement(seat, &cpu),
            offset: match seat.rearranged_by {
                None => seat.offset(),
                // Chip addresses are all there is.
                Some(_) => Some(0),
            },
            marks: starts.map(|at| (at, seat.cpu_of(at))).collect(),
            cpu,
        }
    }

    fn cpu_at(&self, chip: u64) -> Option<u64> {
        let mark = self.marks.iter().find(|(at, _)| *at == chip);
        mark.and_then(|(_, cpu)| *cpu)
    }

    /// The highest address of either kind.
    fn highest(&self) -> u64 {
        self.cpu.iter().map(|span| span.last).max().unwrap_or(0)
    }
}

/// `chip 0000 = CPU 8000`, and the next byte where it does not follow.
fn agreement(seat: &Seat, cpu: &[RangeView]) -> String {
    if let Some(step) = seat.rearranged_by {
        return format!("as `{step}` left it");
    }
    let w = address_width(cpu.iter().map(|s| s.last).max().unwrap_or(0));
    if let [_, _, ..] = &seat.boards[..] {
        let mut windows: Vec<String> = Vec::new();
        for RangeView { first, last } in cpu {
            let window = format!("{first:0w$X}-{last:0w$X}");
            if !windows.contains(&window) {
                windows.push(window);
            }
        }
        let count = seat.boards.len();
        return format!("{count} programs at CPU {}", windows.join(" "));
    }
    let c = address_width(seat.part.bytes().saturating_sub(1));
    let seen = seat.boards.iter().flat_map(|b| b.seen_in_chip());
    let mut seen = seen.flat_map(|r| [r.first(), r.first() + 1]);
    let chip = seen.find(|chip| seat.cpu_of(*chip).is_some()).unwrap_or(0);
    let Some(first) = seat.cpu_of(chip) else {
        return "the CPU sees nothing of it".into();
    };
    let mut text = format!("chip {chip:0c$X} = CPU {first:0w$X}");
    match seat.cpu_of(chip + 1) {
        Some(next) if next != first.wrapping_add(1) => {
            text += &format!(", {:0c$X} = {next:0w$X}", chip + 1);
        }
        _ => {}
    }
    text
}

/// Stretches of data with wide gaps between them.
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
            .map(|k| format!("{} {}", k.letter, k.origin));
        let hollow = (self.hollow > 0).then(|| "_ hollow".to_owned());
        out += &wrapped(keys.chain(hollow));
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
fn wrapped(words: impl Iterator<Item = String>) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in words {
        let long = word.chars().count();
        match width {
            0 => {}
            n if n + 3 + long > SCREEN => {
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

/// `8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffsm  FFFF`, in the CPU's addresses where the chip's follow them.
/// Where they don't, two kinds of address stand at every group:
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
    let tone = |letter: char| match key.iter().find(|k| k.letter == letter) {
        Some(key) => key.tone,
        None => Tone::Faint,
    };
    let offset = seat.map_or(Some(0), |seat| seat.offset);
    let (chip, cpu) = match offset {
        Some(_) => ("", ""),
        None => ("chip ", " CPU "),
    };
    let mut groups = 4;
    while groups > 1 && chip.len() + groups * (w + 1 + GROUP + 2) + w > SCREEN {
        groups /= 2;
    }
    let add = offset.unwrap_or(0);
    let cells: Vec<char> = island.cells.chars().collect();
    let first = island.range.first - island.range.first % island.cell;
    let mut out = String::new();
    for (i, line) in cells.chunks(groups * GROUP).enumerate() {
        let start = first + (i * groups * GROUP) as u64 * island.cell;
        out += chip;
        let mut below = cpu.to_owned();
        for (j, group) in line.chunks(GROUP).enumerate() {
            let at = start + (j * GROUP) as u64 * island.cell;
            let letters: String = group
                .iter()
                .map(|c| match tone(*c) {
                    Tone::Faint => style.faint(&c.to_string()),
                    Tone::Strong => style.strong(&c.to_string()),
                    Tone::Plain => c.to_string(),
                })
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

/// The CPU's address for one of the chip's; blanks where the CPU never sees it.
fn address(seat: Option<&Seated>, chip: u64, w: usize) -> String {
    let cpu = seat.and_then(|s| s.cpu_at(chip));
    cpu.map_or(" ".repeat(w), |cpu| format!("{cpu:0w$X}"))
}
