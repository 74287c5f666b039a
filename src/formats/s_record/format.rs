//! S-records among the formats.

use std::io::{self, Write};

use super::{read, write};
use crate::formats::findings::Findings;
use crate::formats::format::{Format, Sealed};
use crate::formats::input::Input;
use crate::formats::likeness::{Head, Likeness};
use crate::formats::meta::{Metadata, ReadOption, WriteOption};
use crate::formats::options::{ReadOptions, WriteOptions};
use crate::formats::written::{WriteError, Written};
use crate::image::Image;

/// The format `s-record`.
pub struct SRecords;

/// What is known of `s-record` files.
const META: Metadata = Metadata {
    name: "s-record",
    about: "Motorola S-records: S1, S2 and S3 data",
    rules: "Motorola, M68000 Family Programmer's Reference Manual (M68000PM/AD), Appendix C",
    extensions: &["s19", "s28", "s37", "srec", "sre", "mot"],
    last_address: 0xFFFF_FFFF,
    reading: &[ReadOption::Unit],
    writing: &[
        WriteOption::Address,
        WriteOption::Width,
        WriteOption::Header,
        WriteOption::Crlf,
        WriteOption::Count,
        WriteOption::Unit,
    ],
    ..Metadata::USUAL
};

impl Sealed for SRecords {}

impl Format for SRecords {
    fn meta(&self) -> &'static Metadata {
        &META
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        read::likeness(head)
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        read::read(input, how, findings)
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        write::write(image, how, out)
    }
}
