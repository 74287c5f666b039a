//! What was read of a chip, and what it is held against.

use std::path::Path;

use super::vote::Reads;
use crate::cli::bench::{Bench, MessageKind, Stop};
use crate::cli::report::{plural, size_text};
use crate::faults::{self, Cells, Width};
use crate::image::Image;
use crate::ops;
use crate::parts::Part;

/// What was read, and of which part.
pub(super) struct ReadChip {
    /// The reads.
    pub reads: Reads,
    /// The part, where it is known.
    pub part: Option<Part>,
}

/// What should have been read.
pub(super) struct Wanted {
    /// What the sentences call it.
    pub name: String,
    /// Its bytes, from the read's first address up.
    pub bytes: Vec<u8>,
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
        self.reads.bytes.first().map_or(&[], Vec::as_slice)
    }

    /// Warns where the read is not as large as the part.
    pub fn check_size(&self, bench: &Bench) {
        let read = self.first_read().len() as u64;
        if let Some(part) = self.part.as_ref().filter(|part| part.bytes() != read) {
            let text = format!(
                "a {} holds {} bytes and the read has {}: is this the right part?",
                part.name,
                size_text(part.bytes()),
                size_text(read)
            );
            bench.console.say(MessageKind::Warning, &text);
        }
    }
}

/// The bytes of a file that a read of `size` bytes from `first` up is held against: its holes, and
/// what a chip file lacks behind its end, as erased.
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
    let image = super::load::read_other(bench, file, first)?;
    let shown = bench.shown(file);
    let extent = image
        .extent()
        .ok_or(ops::OpError::Empty)
        .map_err(|e| Stop::from(e).about(&shown))?;
    let last = first.saturating_add(size as u64).saturating_sub(1);
    if extent.first() < first || (extent.first() > first && extent.last() > last) {
        return Err(Stop::trouble(format!(
            "{shown} holds {extent} and the read 0x{first:04X}-0x{last:04X}"
        ))
        .advise("`relocate` the read to where the file stands, or make a chip file with `seat`"));
    }
    if extent.len() > faults::Case::LARGEST as u64 {
        return Err(Stop::trouble(format!(
            "{shown} reaches over {} bytes; a diagnosis takes at most {}",
            extent.len(),
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
            "{shown} says nothing about {} of the chip: taken as erased, {:02X}",
            plural(missing, "byte"),
            chip.erased()
        );
        bench.console.say(MessageKind::Note, &text);
    }
    Ok(filled(&image, first, length, chip.erased()))
}

fn size_of_largest() -> String {
    size_text(faults::Case::LARGEST as u64)
}

fn filled(image: &Image, first: u64, length: usize, erased: u8) -> Vec<u8> {
    let mut bytes = vec![erased; length];
    for span in image.spans() {
        // Inside the extent, which fits.
        let at = (span.start() - first) as usize;
        bytes[at..at + span.bytes().len()].copy_from_slice(span.bytes());
    }
    bytes
}
