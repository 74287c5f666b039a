//! Raw binary: bytes without addresses. Common practice, no source.

use std::io::{self, Write};

use super::findings::{Findings, Problem};
use super::input::Input;
use super::{Format, Head, Likeness, ReadOptions, WriteError, WriteOptions, Written};
use crate::image::{Builder, Image, Source};

/// The format `raw`.
pub struct Raw;

/// XMODEM sends whole blocks of this many bytes (or of 1024) and fills the last with 0x1A.
const TRANSFER_BLOCK: u64 = 128;
/// The most filler a transfer can add: all but one byte of the larger block.
const MOST_FILLER: u64 = 1023;

/// Warns where a file of `length` bytes ends as an XMODEM transfer would have padded it.
pub(super) fn check_transfer(bytes: &[u8], length: u64, findings: &mut Findings) {
    let run = bytes.iter().rev().take_while(|b| **b == 0x1A).count() as u64;
    if (2..=MOST_FILLER).contains(&run) && length.is_multiple_of(TRANSFER_BLOCK) {
        findings.odd(None, Problem::TransferTail { run });
    }
}

impl Format for Raw {
    fn name(&self) -> &'static str {
        "raw"
    }

    fn about(&self) -> &'static str {
        "raw binary: the bytes alone, as a chip holds them"
    }

    fn rules(&self) -> &'static str {
        "common practice"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["bin", "rom", "img"]
    }

    fn has_addresses(&self) -> bool {
        false
    }

    fn heeds_reading(&self) -> &'static [&'static str] {
        &["at", "skip", "length"]
    }

    fn likeness(&self, _: &Head<'_>) -> Likeness {
        Likeness::Possible
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let (bytes, whole) = input.head()?;
        let head = Head { bytes, whole };
        for format in super::FORMATS.iter().filter(|f| f.name() != self.name()) {
            if format.likeness(&head) == super::Likeness::Proven {
                let format = format.name();
                findings.odd(None, Problem::LooksLike { format });
            }
        }
        let taken = input.take_bytes(how.skip, how.length)?;
        let has = taken.skipped + taken.bytes.len() as u64;
        match how.length {
            Some(length) if (taken.bytes.len() as u64) < length => {
                let wanted = how.skip.saturating_add(length - 1);
                findings.error(None, Problem::FileTooShort { wanted, has });
            }
            None if taken.skipped < how.skip => {
                let wanted = how.skip;
                findings.error(None, Problem::FileTooShort { wanted, has });
            }
            _ if taken.bytes.is_empty() => findings.error(None, Problem::NoData),
            _ => {}
        }
        if how.length.is_none() {
            check_transfer(&taken.bytes, has, findings);
        }
        let mut builder = Builder::new(Source::File(input.name().clone()));
        if builder.push_block(how.at, taken.bytes).is_err() {
            findings.error(None, Problem::OutOfSpace);
        }
        Ok(super::record::finished(
            builder,
            how.clash,
            findings,
            |_| {},
        ))
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let extent = image.extent().ok_or(WriteError::Empty)?;
        let mut written = Written::default();
        let bytes = image.contiguous(extent).map_err(|hole| WriteError::Hole {
            format: self.name(),
            hole,
            holes: image.holes(extent).count(),
        })?;
        if let super::EntryChoice::At(entry) = how.entry {
            written.left_out.push(format!(
                "a raw file has no place for the entry point 0x{entry:04X}"
            ));
        }
        out.write_all(bytes)?;
        Ok(written)
    }
}

#[cfg(test)]
mod tests;
