//! What was written, and why an image can't be.

use std::{fmt, io};

use super::meta::WriteOption;
use crate::image::AddressRange;
use crate::prose::debug_as_display;

/// What was written, for the report.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Written {
    /// The form chosen, where the format has several: `I16HEX`, `S2`.
    pub form: Option<&'static str>,
    /// Things of the image that this form can't contain.
    pub left_out: Vec<LeftOut>,
}

/// Something that a written file does not contain.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum LeftOut {
    /// The entry point: the format has no place for one.
    Entry {
        /// The format.
        format: &'static str,
        /// The entry point.
        entry: u64,
    },
    /// The entry point: this form has no place for one, although others of the format have.
    EntryOfForm {
        /// The form.
        form: &'static str,
        /// The entry point.
        entry: u64,
    },
    /// The count record that was asked for.
    Count {
        /// Data records in the file.
        records: u64,
    },
}

/// A sentence without a full stop.
impl fmt::Display for LeftOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LeftOut::Entry { format, entry } => {
                write!(
                    f,
                    "a {format} file has no place for the entry point 0x{entry:04X}"
                )
            }
            LeftOut::EntryOfForm { form, entry } => write!(
                f,
                "{form} has no start address record, so the entry point 0x{entry:04X} is not in the file"
            ),
            LeftOut::Count { records } => write!(
                f,
                "a count record can't count {records} data records, so there is none"
            ),
        }
    }
}

/// Why an image can't be written this way.
#[derive(thiserror::Error)]
#[non_exhaustive]
pub enum WriteError {
    /// The format or form does not have such large addresses.
    #[error("the image goes up to 0x{last:X}, but {form} addresses end at 0x{limit:X}")]
    AddressTooLarge {
        /// The form.
        form: &'static str,
        /// The image's last address.
        last: u64,
        /// The form's last address.
        limit: u64,
        /// The last address of the format's widest form.
        widest: u64,
    },
    /// The form has no place for this entry point.
    #[error("the entry point 0x{entry:X} does not fit {form}, which ends at 0x{limit:X}")]
    EntryTooLarge {
        /// The form.
        form: &'static str,
        /// The entry point.
        entry: u64,
        /// The form's last address.
        limit: u64,
    },
    /// The format has no such form.
    #[error("{format} has no {bits}-bit addresses; it has {has}")]
    NoSuchForm {
        /// The format.
        format: &'static str,
        /// Address bits asked for.
        bits: u8,
        /// The forms it has.
        has: &'static str,
    },
    /// The record width is out of range.
    #[error("{width} data bytes don't fit a record: {format} takes 1 to {most}")]
    Width {
        /// The format and form.
        format: &'static str,
        /// Data bytes asked for.
        width: u16,
        /// The most it may be.
        most: u16,
    },
    /// The header text is too long for one record.
    #[error("the header text has {length} bytes, but a header record takes at most {most}")]
    HeaderTooLong {
        /// Its length in bytes.
        length: usize,
        /// The most a header record takes.
        most: usize,
    },
    /// A format without addresses can't contain a hole.
    #[error("{hole} is a hole ({holes} in all), but a {format} file can't contain holes")]
    Hole {
        /// The format.
        format: &'static str,
        /// The first hole.
        hole: AddressRange,
        /// How many holes there are.
        holes: usize,
    },
    /// There is nothing to write.
    #[error("the image is empty: there is nothing to write")]
    Empty,
    /// An option is out of its range.
    #[error("{option} {value} is out of range: expected {least} to {most}")]
    OutOfRange {
        /// The option.
        option: WriteOption,
        /// What was asked for.
        value: u64,
        /// The least it may be.
        least: u64,
        /// The most it may be.
        most: u64,
    },
    /// Addresses count words, and some bytes don't fill a whole one.
    #[error("the bytes at {range} don't fill whole words of {unit}")]
    PartWord {
        /// Bytes in a word.
        unit: u64,
        /// Bytes without a hole between them.
        range: AddressRange,
    },
    /// Addresses count words, and a record would contain part of one.
    #[error("{width} data bytes are not whole words of {unit}")]
    WidthUnit {
        /// Data bytes asked for.
        width: u16,
        /// Bytes in a word.
        unit: u64,
    },
    /// Addresses count words, and the entry point is inside one.
    #[error("the entry point 0x{entry:X} is inside a word of {unit} bytes")]
    EntryUnit {
        /// The entry point.
        entry: u64,
        /// Bytes in a word.
        unit: u64,
    },
    /// readmem addresses count words already.
    #[error("readmem addresses count words already, so they can't count units too")]
    UnitAndWord,
    /// More records than the end record can count.
    #[error("there are {records} records, but an end record can count at most {most}")]
    TooManyRecords {
        /// Records there would be.
        records: u64,
        /// The most it counts.
        most: u64,
    },
    /// Text for source code needs a name.
    #[error("{format} needs a name for its array")]
    NoName {
        /// The format.
        format: &'static str,
    },
    /// The name can't be used in source code.
    #[error("`{name}` can't be a name in {language}: {why}")]
    BadName {
        /// What was asked for.
        name: String,
        /// The language.
        language: &'static str,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The format can only be read.
    #[error("{0} files can only be read, not written")]
    ReadOnly(&'static str),
    /// The destination can't be written.
    #[error(transparent)]
    Io(#[from] io::Error),
}

debug_as_display!(WriteError);
