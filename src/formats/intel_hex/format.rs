//! Intel HEX among the formats.

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

/// The format `intel-hex`.
pub struct IntelHex;

/// What is known of `intel-hex` files.
const META: Metadata = Metadata {
    name: "intel-hex",
    about: "Intel HEX records: 8-, 16- and 32-bit forms",
    rules: "Intel, Hexadecimal Object File Format Specification, Revision A, 6 January 1988",
    extensions: &["hex", "ihx", "ihex", "h86", "mcs"],
    last_address: 0xFFFF_FFFF,
    reading: &[ReadOption::Unit],
    writing: &[
        WriteOption::Address,
        WriteOption::Width,
        WriteOption::Crlf,
        WriteOption::Unit,
    ],
    ..Metadata::USUAL
};

impl Sealed for IntelHex {}

impl Format for IntelHex {
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
