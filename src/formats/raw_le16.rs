//! A 16-bit load address, low byte first, and raw bytes after it. Common practice, no source.

use std::io::{self, Write};

use super::address;
use super::findings::Findings;
use super::format::{Format, Sealed};
use super::input::Input;
use super::layout;
use super::likeness::{Head, Likeness};
use super::meta::Metadata;
use super::options::{ReadOptions, WriteOptions};
use super::problem::Problem;
use super::written::{WriteError, Written};
use crate::image::{Builder, Image, Source};

/// The format `raw-le16`.
pub struct RawLe16;

/// What is known of `raw-le16` files.
const META: Metadata = Metadata {
    name: "raw-le16",
    about: "a 16-bit load address, low byte first, and raw binary after it",
    extensions: &["prg"],
    has_holes: false,
    last_address: LAST,
    ..Metadata::USUAL
};

/// The last address there is.
const LAST: u64 = 0xFFFF;

impl Sealed for RawLe16 {}

impl Format for RawLe16 {
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
        let mut bytes = input.take_bytes(0, None)?.bytes;
        let has = bytes.len() as u64;
        let &[low, high, _, ..] = &bytes[..] else {
            let problem = match has {
                2 => Problem::NoData,
                _ => Problem::FileTooShort { wanted: 1, has },
            };
            findings.error(None, problem);
            return Ok(Image::new());
        };
        let start = u64::from(u16::from_le_bytes([low, high]));
        bytes.drain(..2);
        super::raw::check_transfer(&bytes, has, findings);
        let mut builder = Builder::new(Source::File(input.name().clone()));
        if start + bytes.len() as u64 > LAST + 1 {
            findings.error(None, Problem::PastLast { last: LAST });
            bytes.truncate((LAST + 1 - start) as usize);
        }
        if builder.push_block(start, bytes).is_err() {
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
        let Ok(start) = u16::try_from(extent.first()) else {
            return Err(self.too_large(extent.last()));
        };
        if extent.last() > LAST {
            return Err(self.too_large(extent.last()));
        }
        let mut written = Written::default();
        let bytes = image.contiguous(extent).map_err(|hole| WriteError::Hole {
            format: META.name,
            hole,
            holes: image.holes(extent).count(),
        })?;
        address::leave_out_entry(image, how, META.name, &mut written);
        out.write_all(&start.to_le_bytes())?;
        out.write_all(bytes)?;
        Ok(written)
    }
}

impl RawLe16 {
    fn too_large(&self, last: u64) -> WriteError {
        WriteError::AddressTooLarge {
            form: META.name,
            last,
            limit: LAST,
            widest: LAST,
        }
    }
}

#[cfg(test)]
mod tests;
