//! Source of the rules: Intel, *Hexadecimal Object File Format Specification*, Revision A, 6 January 1988.
//! What real tools do beyond them is common practice and has no source.

mod accepted;
mod place;
mod records;
mod refused;
mod writing;

use super::IntelHex;
use crate::formats::tests::intel_record as record;
use crate::formats::tests::*;
use crate::image::{Clash, Entry, Image};

fn data(offset: u16, data: &[u8]) -> String {
    record(0, offset, data)
}

/// The end record of the specification, section 6.
const END: &str = ":00000001FF\n";

/// Reads records that an end record follows, and that nothing is to be said about.
#[track_caller]
fn sound(records: &[String]) -> Image {
    read(&IntelHex, records.concat() + END).clean()
}

/// Reads one damaged line between sound ones: the error; what is sound must have been read.
#[track_caller]
fn damaged(line: impl AsRef<[u8]>) -> Seen {
    let (first, second) = (data(0, &[1, 2]), data(0x10, &[3]) + END);
    damaged_between(&IntelHex, &first, line.as_ref(), &second)
}

/// A line that is fine by default (one warning at most) and refused when reading strictly.
#[track_caller]
fn strict_only(text: &str) -> Seen {
    assert_eq!(read(&IntelHex, text).errors(), []);
    read_strictly(&IntelHex, text).one_error()
}
