//! Raw binary: bytes without addresses. Common practice, no source.

use std::io::{self, Write};

use super::findings::Findings;
use super::format::{Format, Sealed};
use super::input::Input;
use super::layout;
use super::likeness::{Head, Likeness};
use super::meta::{Metadata, ReadOption};
use super::options::{EntryChoice, ReadOptions, WriteOptions};
use super::problem::Problem;
use super::written::{LeftOut, WriteError, Written};
use crate::image::{Builder, Image, Source};

/// The format `raw`.
pub struct Raw;

/// What is known of `raw` files.
const META: Metadata = Metadata {
    name: "raw",
    about: "raw binary: only the bytes, as they are in a chip",
    extensions: &["bin", "rom", "img"],
    has_addresses: false,
    has_holes: false,
    takes_anything: true,
    reading: &[ReadOption::At, ReadOption::Skip, ReadOption::Length],
    ..Metadata::USUAL
};

/// XMODEM sends whole blocks of this many bytes (or of 1024) and fills the last with 0x1A.
const TRANSFER_BLOCK: u64 = 128;
/// The most filler that a transfer can add: the larger block without one byte.
const MOST_FILLER: u64 = 1023;

/// Warns where the end of a file of `length` bytes looks like the padding of an XMODEM transfer.
pub(super) fn check_transfer(bytes: &[u8], length: u64, findings: &mut Findings) {
    let run = bytes.iter().rev().take_while(|b| **b == 0x1A).count() as u64;
    if (2..=MOST_FILLER).contains(&run) && length % TRANSFER_BLOCK == 0 {
        findings.odd(None, Problem::TransferTail { run });
    }
}

impl Sealed for Raw {}

impl Format for Raw {
    fn meta(&self) -> &'static Metadata {
        &META
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
        Ok(layout::finished(builder, how.clash, findings, |_| {}))
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
            format: META.name,
            hole,
            holes: image.holes(extent).count(),
        })?;
        if let EntryChoice::At(entry) = how.entry {
            written.left_out.push(LeftOut::Entry {
                format: META.name,
                entry,
            });
        }
        out.write_all(bytes)?;
        Ok(written)
    }
}

#[cfg(test)]
mod tests;
