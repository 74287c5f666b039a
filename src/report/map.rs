//! The image at a glance: one letter per origin, one cell per stretch of addresses.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Serialize;

use super::{Report, Span, Style, address_width, plural, size};
use crate::image::{AddressRange, Entry, Image, Source};

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
pub struct Map {
    /// The piece's label.
    pub piece: String,
    /// From the first byte to the last; nothing for an empty piece.
    pub range: Option<Span>,
    /// The stretches of data, each with its own picture.
    pub islands: Vec<Island>,
    /// Stretches without a picture.
    pub islands_left_out: usize,
    /// What the letters mean.
    pub key: Vec<Key>,
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
    pub range: Span,
    /// Addresses a cell stands for.
    pub cell: u64,
    /// One letter a cell.
    pub cells: String,
}

/// One letter of the picture.
#[derive(Serialize)]
pub struct Key {
    /// The letter.
    pub letter: char,
    /// The origin it stands for.
    pub origin: String,
    /// Bytes of that origin.
    pub bytes: u64,
    #[serde(skip)]
    tone: Tone,
}

/// How a letter is coloured: filler stays behind the data, stamps stand out.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Tone {
    Faint,
    Plain,
    Strong,
}

impl Map {
    /// The map of `image`.
    pub fn new(piece: &str, image: &Image) -> Self {
        let mut bytes_of: BTreeMap<String, (Arc<Source>, u64)> = BTreeMap::new();
        for run in image.origins().runs() {
            let entry = bytes_of
                .entry(run.source.to_string())
                .or_insert_with(|| (run.source.clone(), 0));
            entry.1 += run.range.len();
        }
        let mut sources: Vec<(Arc<Source>, u64)> = bytes_of.into_values().collect();
        // In order of address, as the eye meets them.
        let first_of = |source: &Source| {
            let runs = image.origins().runs();
            let first = runs.iter().find(|r| *r.source == *source);
            first.map_or(u64::MAX, |r| r.range.first())
        };
        sources.sort_by_cached_key(|(source, _)| (source.is_filler(), first_of(source)));
        let key = letters(&sources);
        let ranges = islands(image);
        let shown = &ranges[..ranges.len().min(MOST_ISLANDS)];
        let filler: u64 = sources
            .iter()
            .filter(|(s, _)| s.is_filler())
            .map(|(_, n)| n)
            .sum();
        let extent = image.extent();
        Self {
            piece: piece.into(),
            range: extent.map(Span::from),
            islands: shown.iter().map(|r| island(image, *r, &key)).collect(),
            islands_left_out: ranges.len() - shown.len(),
            data: image.len() - filler,
            filler,
            hollow: extent.map_or(0, |e| e.len() - image.len()),
            entry: image.entry.map(Entry::address),
            key,
        }
    }
}

/// A letter for each source: its usual one, a letter of its name, or whatever is free.
fn letters(sources: &[(Arc<Source>, u64)]) -> Vec<Key> {
    let mut taken: Vec<char> = Vec::new();
    // The first of a kind gets its usual letter.
    let mut usual: Vec<Option<char>> = Vec::new();
    for (source, _) in sources {
        let letter = usual_letter(source).filter(|l| !taken.contains(l));
        taken.extend(letter);
        usual.push(letter);
    }
    sources
        .iter()
        .zip(usual)
        .map(|((source, bytes), usual)| {
            let letter = usual.unwrap_or_else(|| {
                let name = source.to_string().to_ascii_lowercase();
                let name = name
                    .rsplit(['/', '\\'])
                    .next()
                    .unwrap_or_default()
                    .to_owned();
                let own = name.chars().filter(char::is_ascii_lowercase);
                let letter = own
                    .chain('a'..='z')
                    .chain('A'..='Z')
                    .find(|c| !taken.contains(c))
                    .unwrap_or('+');
                taken.push(letter);
                letter
            });
            Key {
                letter,
                origin: source.to_string(),
                bytes: *bytes,
                tone: match **source {
                    _ if source.is_filler() => Tone::Faint,
                    Source::Stamp(_) => Tone::Strong,
                    _ => Tone::Plain,
                },
            }
        })
        .collect()
}

fn usual_letter(source: &Source) -> Option<char> {
    match source {
        Source::Filler => Some('f'),
        Source::Stamp(_) => Some('s'),
        _ => None,
    }
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

fn island(image: &Image, range: AddressRange, key: &[Key]) -> Island {
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
            // The origin with the fewest bytes shows, so that nothing small hides behind something large.
            let rarest = part
                .into_iter()
                .flat_map(|part| image.origins().within(part))
                .filter_map(|run| {
                    let name = run.source.to_string();
                    key.iter().find(|k| k.origin == name)
                })
                .min_by_key(|k| k.bytes);
            rarest.map_or('_', |k| k.letter)
        })
        .collect();
    Island {
        range: range.into(),
        cell,
        cells,
    }
}

impl Report for Map {
    const STEP: &'static str = "show";

    fn text(&self, style: Style) -> String {
        let Some(range) = self.range else {
            return format!("{}   no bytes\n", style.strong(&self.piece));
        };
        let w = address_width(range.last);
        let mut out = String::new();
        for island in &self.islands {
            let Span { first, last } = island.range;
            out += &format!(
                "{}   {first:0w$X}-{last:0w$X}   one cell = {}\n",
                style.strong(&self.piece),
                size(island.cell)
            );
            out += &picture(island, &self.key, w, style);
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
        out += &format!(
            "data {}, filler {}, hollow {}",
            size(self.data),
            size(self.filler),
            size(self.hollow)
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

/// `8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffsm  FFFF`
fn picture(island: &Island, key: &[Key], w: usize, style: Style) -> String {
    let tone = |letter: char| match key.iter().find(|k| k.letter == letter) {
        Some(key) => key.tone,
        None => Tone::Faint,
    };
    let mut groups = 4;
    while groups > 1 && groups * (w + 1 + GROUP + 2) + w > SCREEN {
        groups /= 2;
    }
    let cells: Vec<char> = island.cells.chars().collect();
    let first = island.range.first - island.range.first % island.cell;
    let mut out = String::new();
    for (i, line) in cells.chunks(groups * GROUP).enumerate() {
        let start = first + (i * groups * GROUP) as u64 * island.cell;
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
            out += &format!("{at:0w$X} {letters}  ");
        }
        let last = start.saturating_add((line.len() as u64).saturating_mul(island.cell) - 1);
        out += &format!("{last:0w$X}\n");
    }
    out
}
