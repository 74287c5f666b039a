//! Source of the rules: Motorola, *M68000 Family Programmer's Reference Manual* (M68000PM/AD), Appendix C,
//! S-record output format. S6, and what real tools do beyond the rules, is common practice and has no source.

mod accepted;
mod records;
mod refused;
mod salvage;
mod writing;

use super::SRecords;
use crate::formats::tests::s_record as record;
use crate::formats::tests::*;
use crate::image::{Clash, Entry, Image};

fn s1(address: u16, data: &[u8]) -> String {
    record(1, &address.to_be_bytes(), data)
}

fn s2(address: u32, data: &[u8]) -> String {
    record(2, &address.to_be_bytes()[1..], data)
}

fn s3(address: u32, data: &[u8]) -> String {
    record(3, &address.to_be_bytes(), data)
}

const S9: &str = "S9030000FC\n";

/// The worked example of the appendix.
const EXAMPLE: &str = "S00600004844521B\n\
                       S1130000285F245F2212226A000424290008237C2A\n\
                       S11300100002000800082629001853812341001813\n\
                       S113002041E900084E42234300182342000824A952\n\
                       S107003000144ED492\n\
                       S9030000FC\n";

/// Reads one damaged line between sound ones: the error; what is sound must have been read.
#[track_caller]
fn damaged(line: impl AsRef<[u8]>) -> Seen {
    let (first, second) = (s1(0, &[1, 2]), s1(0x10, &[3]) + S9);
    damaged_between(&SRecords, &first, line.as_ref(), &second)
}

/// A file that is odd, with its one warning, which is an error when reading strictly.
#[track_caller]
fn odd(text: &str) -> (Image, Seen) {
    let (image, warning) = read(&SRecords, text).one_warning();
    assert_eq!(read_strictly(&SRecords, text).one_error(), warning);
    (image, warning)
}
