//! What was read of a chip, and what it is compared with.

use std::ops::Range;
use std::path::Path;

use super::vote::ChipReads;
use crate::cli::bench::{Bench, MessageKind, ReadLimit, Stop};
use crate::cli::report::{Known, plural, size_text};
use crate::faults::cousin::cousins_of;
use crate::faults::{self, Case, Cells, Width};
use crate::formats::{self, Input, ReadOptions, Strictness};
use crate::image::{AddressRange, Image};
use crate::ops;
use crate::parts::Part;

/// What was read, and of which part.
pub(super) struct ReadChip {
    /// The reads.
    pub reads: ChipReads,
    /// The part, where it is known.
    pub part: Option<Part>,
}

/// What should have been read.
#[derive(Default)]
pub(super) struct Wanted {
    /// Its name in sentences.
    pub name: String,
    /// Its bytes, from the read's first address up.
    pub bytes: Vec<u8>,
    /// Those of them that are not data: holes, which count as erased, and filler.
    pub filler: Vec<Range<usize>>,
}

impl ReadChip {
    /// How wide its words are; eight bits where the part is not known.
    pub fn width(&self) -> Width {
        match &self.part {
            Some(part) if part.width == 16 => Width::Sixteen,
            _ => Width::Eight,
        }
    }

    /// How its cells behave when they are written over, where the part tells.
    pub fn cells(&self) -> Option<Cells> {
        match &self.part {
            Some(part) if part.overwrites() => Some(Cells::Overwrite),
            Some(part) if part.only_clears() => Some(Cells::OnlyClear),
            _ => None,
        }
    }

    /// What an erased byte reads as; FF where the part is not known.
    pub fn erased(&self) -> u8 {
        self.part
            .as_ref()
            .and_then(|part| part.erased)
            .unwrap_or(0xFF)
    }

    /// The bytes of the first read.
    pub fn first_read(&self) -> &[u8] {
        self.reads.bytes.first().map_or(&[], |read| read)
    }

    /// Warns where the read is not as large as the part.
    pub fn check_size(&self, bench: &Bench) {
        let read = self.first_read().len() as u64;
        if let Some(part) = self.part.as_ref().filter(|part| part.bytes() != read) {
            let text = format!(
                "a {} has {} bytes, but the read has {}: is this the right part?",
                part.name,
                size_text(part.bytes()),
                size_text(read)
            );
            bench.console.say(MessageKind::Warning, &text);
        }
    }
}

/// The wanted image of a file that a read from `first` up is compared with: its holes count as erased, and so does what a
/// chip file lacks up to the end of the read. An image that could fill a chip alone stays unchanged if the read goes
/// on with something else: then the chip may be smaller than what was read.
///
/// # Errors
/// As of [`image_of`].
pub(super) fn wanted_of(
    bench: &mut Bench,
    file: &Path,
    first: u64,
    read: &[u8],
    chip: &ReadChip,
) -> Result<Wanted, Stop> {
    let image = super::load::read_other(bench, file, first, ReadLimit::Fixed)?;
    let shown = bench.shown(file);
    let dense = image
        .extent()
        .is_some_and(|e| e.first() == first && e.len() == image.len());
    let behind = usize::try_from(image.len())
        .ok()
        .and_then(|end| read.get(end..));
    let goes_on = behind.is_some_and(|rest| rest.iter().any(|&byte| byte != chip.erased()));
    let size = match dense && image.len().is_power_of_two() && goes_on {
        true => 0,
        false => read.len(),
    };
    filled(bench, &image, &shown, first, size, chip)
}

/// The bytes of a file that belongs to a chip of `size` bytes from `first` up: its holes, and
/// what a chip file lacks after its end, as erased.
///
/// # Errors
/// A file that can't be read, that is empty, that begins elsewhere, or that is too large for a diagnosis.
pub(super) fn image_of(
    bench: &mut Bench,
    file: &Path,
    first: u64,
    size: usize,
    chip: &ReadChip,
) -> Result<Vec<u8>, Stop> {
    let image = super::load::read_other(bench, file, first, ReadLimit::Fixed)?;
    let shown = bench.shown(file);
    Ok(filled(bench, &image, &shown, first, size, chip)?.bytes)
}

/// The bytes of a wanted image from `first` up, its holes as erased, filled up to `size` bytes where that is a chip's.
pub(super) fn filled(
    bench: &Bench,
    image: &Image,
    shown: &str,
    first: u64,
    size: usize,
    chip: &ReadChip,
) -> Result<Wanted, Stop> {
    let extent = image
        .extent()
        .ok_or(ops::OpError::Empty)
        .map_err(|e| Stop::from(e).about(shown))?;
    let last = first.saturating_add(size as u64).saturating_sub(1);
    if extent.first() < first || (extent.first() > first && extent.last() > last) {
        let read = AddressRange::new(first, last).map_or("nothing".into(), |own| own.to_string());
        return Err(Stop::trouble(format!(
            "{shown} has data at {extent}, but the read is of {read}"
        ))
        .advise("`relocate` the read to where the file begins, or make a chip file with `seat`"));
    }
    if extent.len() > faults::Case::LARGEST as u64 {
        return Err(Stop::trouble(format!(
            "{shown} goes over {}; a diagnosis takes at most {}",
            plural(extent.len(), "byte"),
            size_of_largest()
        )));
    }
    let chip_size = size.is_power_of_two() && extent.len() < size as u64;
    let sparse = extent.first() != first || image.len() != extent.len();
    let end = match sparse || chip_size {
        true => extent.last().max(last),
        false => extent.last(),
    };
    let length = usize::try_from(end - first).map_or(usize::MAX, |n| n.saturating_add(1));
    let missing = length as u64 - image.len();
    if missing > 0 {
        let text = format!(
            "{shown} says nothing about {} of the chip: they count as erased, {:02X}",
            plural(missing, "byte"),
            chip.erased()
        );
        bench.console.say(MessageKind::Note, &text);
    }
    let mut wanted = Wanted {
        name: shown.to_owned(),
        bytes: vec![chip.erased(); length],
        filler: Vec::new(),
    };
    let mut next = 0;
    for span in image.spans() {
        // Inside the extent, which fits.
        let at = (span.start() - first) as usize;
        wanted.bytes[at..at + span.bytes().len()].copy_from_slice(span.bytes());
        if at > next {
            wanted.filler.push(next..at);
        }
        next = at + span.bytes().len();
    }
    if next < length {
        wanted.filler.push(next..length);
    }
    let filler = image
        .origins()
        .runs()
        .iter()
        .filter(|run| run.source.is_filler());
    for run in filler {
        let (from, to) = (
            (run.range.first() - first) as usize,
            (run.range.last() - first) as usize,
        );
        wanted.filler.push(from..to + 1);
    }
    Ok(wanted)
}

/// What a read says when it is the text of a record file: places of the wanted image, and their bytes. The file may end
/// anywhere, because the chip was full.
pub(super) fn text_says(read: &[u8], wanted_first: u64) -> Vec<(usize, Vec<u8>)> {
    let text = match read.iter().rposition(|&byte| !matches!(byte, 0xFF | 0x00)) {
        Some(last) => &read[..=last],
        None => return Vec::new(),
    };
    if !matches!(text.first(), Some(b':' | b'S' | b';' | b'%' | b'@')) {
        return Vec::new();
    }
    let options = ReadOptions {
        strictness: Strictness::Salvage,
        ..ReadOptions::default()
    };
    let Ok(loaded) = formats::load_from(&mut Input::new("read", text), &options) else {
        return Vec::new();
    };
    let first = loaded.image.extent().map_or(0, |extent| extent.first());
    // The records may have CPU addresses and the wanted image chip addresses: their first bytes count as the same address.
    let base = match first < wanted_first {
        true => 0,
        false => first,
    };
    let pieces = loaded.image.spans().iter().filter_map(|span| {
        let at = usize::try_from(span.start() - base).ok()?;
        Some((at, span.bytes().to_vec()))
    });
    pieces.collect()
}

fn size_of_largest() -> String {
    size_text(faults::Case::LARGEST as u64)
}

/// What the read would be if the chip were not the part that the reader was set for: names, reads.
pub(super) fn cousins(bench: &Bench, chip: &ReadChip, wanted: &Wanted) -> Vec<(String, Vec<u8>)> {
    let Some(part) = &chip.part else {
        return Vec::new();
    };
    let cousins = cousins_of(part, wanted.bytes.len(), bench.parts.all());
    let reads = cousins.into_iter().map(|cousin| {
        let read = cousin.way.read(&wanted.bytes);
        (cousin.parts.join(" or "), read)
    });
    let fits = |read: &Vec<u8>| read.len() == chip.first_read().len();
    reads
        .filter(|(_, read)| fits(read))
        .take(Case::MOST_OTHERS)
        .collect()
}

/// The names for the sentences about a read.
pub(super) fn known<'a>(
    chip: &'a ReadChip,
    others: &'a [String],
    cousins: &'a [String],
) -> Known<'a> {
    Known {
        part: chip.part.as_ref(),
        others,
        cousins,
        first: chip.reads.first,
    }
}
