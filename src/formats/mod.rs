//! File formats: one file each, under one small face.
//!
//! [`FORMATS`] is the registry. A format reads from an [`Input`] into an [`Image`], leaving what it has to say in
//! [`Findings`], and writes an image to any `Write`. Nothing here trusts its input: memory grows with the size of a
//! file, never with the addresses in it.

mod address;
mod causes;
pub mod elf;
mod facts;
mod findings;
mod input;
pub mod intel_hex;
mod load;
pub mod mos_tape;
#[cfg(feature = "proof")]
mod proof;
pub mod raw;
pub mod raw_le16;
pub mod readmem;
mod record;
pub mod s_record;
mod salvage;
pub mod source_text;
pub mod tek_hex;
pub mod ti_txt;
mod words;

use std::fmt;
use std::io::{self, Write};

pub use causes::Cause;
pub use facts::{Damaged, Facts};
pub use findings::{Finding, Findings, Place, Problem, Severity, Strictness};
pub use input::{Input, LONGEST_LINE, Line, LineEnd, Piece, Taken};
pub use load::{LoadError, Loaded, load};
#[cfg(feature = "proof")]
pub use proof::{ProofError, prove};
pub use salvage::{Missing, Salvaged, Why};

use crate::image::{AddressRange, Clash, Image};
use crate::sums::Order;

/// Every format, in the order of lists. Detection asks all of them, so the order decides nothing.
pub const FORMATS: &[&dyn Format] = &[
    &intel_hex::IntelHex,
    &s_record::SRecords,
    &raw::Raw,
    &elf::Elf,
    &ti_txt::TiTxt,
    &mos_tape::MosTape,
    &tek_hex::TekHex,
    &readmem::Readmem,
    &raw_le16::RawLe16,
    &source_text::C_BYTES,
    &source_text::RUST_BYTES,
    &source_text::ASM_BYTES,
];

/// One file format.
pub trait Format: Sync {
    /// The name that `--as` takes.
    fn name(&self) -> &'static str;
    /// One line for lists.
    fn about(&self) -> &'static str;
    /// The publication its rules come from; "common practice" where there is none.
    fn rules(&self) -> &'static str;
    /// Usual file name extensions, in lower case and without the dot.
    fn extensions(&self) -> &'static [&'static str];
    /// Whether addresses stand in the file.
    fn has_addresses(&self) -> bool;
    /// Whether files of this format can be read here.
    fn can_read(&self) -> bool {
        true
    }
    /// Whether files of this format can be written here.
    fn can_write(&self) -> bool {
        true
    }
    /// Options of [`ReadOptions`] that mean something to it, by their names on the command line, beyond strictness and
    /// clash.
    fn heeds_reading(&self) -> &'static [&'static str] {
        &[]
    }
    /// Options of [`WriteOptions`] that mean something to it, by their names on the command line, beyond the entry point.
    fn heeds_writing(&self) -> &'static [&'static str] {
        &[]
    }
    /// How much the beginning of a file looks like this format.
    fn likeness(&self, head: &Head<'_>) -> Likeness;
    /// Reads one file. What is wrong with it goes to `findings`; the image holds what was sound.
    ///
    /// # Errors
    /// Only what the reader itself says: a file that can't be read any further.
    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image>;
    /// Writes an image.
    ///
    /// # Errors
    /// [`WriteError`] when the format can't carry this image in this way.
    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError>;
}

/// Shows its name.
impl fmt::Debug for dyn Format + '_ {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The beginning of a file, as format detection sees it.
pub struct Head<'a> {
    /// Up to 64 KiB.
    pub bytes: &'a [u8],
    /// Whether this is the whole file.
    pub whole: bool,
}

impl<'a> Head<'a> {
    /// The lines that are whole, without blanks around them; blank ones left out.
    pub fn lines(&self) -> impl Iterator<Item = &'a [u8]> {
        let end = match self.whole {
            true => self.bytes.len(),
            false => memchr::memrchr2(b'\n', b'\r', self.bytes).unwrap_or(0),
        };
        let text = &self.bytes[..end];
        let mut from = 0;
        let ends = memchr::memchr2_iter(b'\n', b'\r', text).chain([end]);
        ends.map(move |at| text[std::mem::replace(&mut from, at + 1)..at].trim_ascii())
            .filter(|l| !l.is_empty())
    }
}

/// How sure a format is that a file is its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Likeness {
    /// It can't be.
    No,
    /// It could be, but nothing proves it.
    Possible,
    /// It begins as such files do, though no checksum bears it out.
    Likely,
    /// It holds a record whose checksum is right, or a signature that nothing else has.
    Proven,
}

/// How to read a file.
#[derive(Clone, Debug)]
pub struct ReadOptions {
    /// How strictly.
    pub strictness: Strictness,
    /// What to do where two records of the file want one address.
    pub clash: Clash,
    /// Raw files: address of the first byte.
    pub at: u64,
    /// Raw files: bytes passed over at the beginning.
    pub skip: u64,
    /// Raw files: bytes taken; `None` takes all.
    pub length: Option<u64>,
    /// Text formats with addresses: bytes that each address of the file stands for; 1 to 8.
    pub unit: u8,
    /// readmem: bytes in a word; 1 to 8. Its addresses count words, so `unit` stays 1.
    pub word: u8,
    /// readmem: which byte of a word comes first.
    pub order: Order,
    /// elf: virtual addresses instead of physical ones.
    pub virtual_addresses: bool,
    /// elf: allocated sections instead of segments.
    pub sections: bool,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            strictness: Strictness::Usual,
            clash: Clash::Refuse,
            at: 0,
            skip: 0,
            length: None,
            unit: 1,
            word: 1,
            order: Order::Little,
            virtual_addresses: false,
            sections: false,
        }
    }
}

/// How wide addresses are in the written file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum AddressForm {
    /// As small as the image allows.
    #[default]
    Smallest,
    /// 16 bits: I8HEX, S1.
    Bits16,
    /// 20 bits, in segments: I16HEX.
    Bits20,
    /// 24 bits: S2.
    Bits24,
    /// 32 bits: I32HEX, S3.
    Bits32,
}

/// How to write a file.
#[derive(Clone, Debug)]
pub struct WriteOptions {
    /// Address width.
    pub address: AddressForm,
    /// Data bytes in a record or line; `None` for what the format usually has (mostly 16).
    pub width: Option<u16>,
    /// Header text; `None` takes the image's own.
    pub header: Option<Vec<u8>>,
    /// What to write as the entry point.
    pub entry: EntryChoice,
    /// CR LF instead of LF behind each line.
    pub crlf: bool,
    /// S-records: a count record before the end.
    pub count: bool,
    /// Text formats with addresses: bytes that each address of the file stands for; 1 to 8.
    pub unit: u8,
    /// readmem: bytes in a word; 1 to 8. Its addresses count words, so `unit` stays 1.
    pub word: u8,
    /// readmem: which byte of a word comes first.
    pub order: Order,
    /// Text for source code: what the array is called there.
    pub name: Option<String>,
}

impl Default for WriteOptions {
    fn default() -> Self {
        Self {
            address: AddressForm::Smallest,
            width: None,
            header: None,
            entry: EntryChoice::Own,
            crlf: false,
            count: false,
            unit: 1,
            word: 1,
            order: Order::Little,
            name: None,
        }
    }
}

/// Which entry point a written file carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum EntryChoice {
    /// The image's own, if it has one.
    #[default]
    Own,
    /// None.
    None,
    /// This address.
    At(u64),
}

impl WriteOptions {
    /// The line end these options ask for.
    pub fn line_end(&self) -> &'static [u8] {
        if self.crlf { b"\r\n" } else { b"\n" }
    }

    /// The entry point to write, if any.
    pub(crate) fn entry_of(&self, image: &Image) -> Option<crate::image::Entry> {
        match self.entry {
            EntryChoice::Own => image.entry,
            EntryChoice::None => None,
            EntryChoice::At(address) => Some(crate::image::Entry::Linear(address)),
        }
    }
}

/// What was written, for the report.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Written {
    /// The form chosen, where the format has several: `I16HEX`, `S2`.
    pub form: Option<&'static str>,
    /// Things of the image that this form could not carry, as sentences without a full stop.
    pub left_out: Vec<String>,
}

/// Why an image can't be written this way.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The format or form has no address that large.
    #[error(
        "the image reaches 0x{last:X}, and {form} addresses end at 0x{limit:X}: {}",
        advice_on_address(*.last, form)
    )]
    AddressTooLarge {
        /// The form.
        form: &'static str,
        /// The image's last address.
        last: u64,
        /// The form's last address.
        limit: u64,
    },
    /// The form can't carry this entry point.
    #[error(
        "the entry point 0x{entry:X} does not fit {form}, which ends at 0x{limit:X}: choose a wider --address, or --entry none"
    )]
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
    #[error("{width} data bytes do not fit a record: {format} takes 1 to {most}")]
    Width {
        /// The format and form.
        format: &'static str,
        /// Data bytes asked for.
        width: u16,
        /// The most it takes.
        most: u16,
    },
    /// The header text is too long for one record.
    #[error(
        "the header text has {length} bytes, and a header record takes {most}: shorten it with --header"
    )]
    HeaderTooLong {
        /// Its length in bytes.
        length: usize,
        /// The most a header record takes.
        most: usize,
    },
    /// A format without addresses can't show a hole.
    #[error(
        "{hole} is a hole ({holes} in all), and a {format} file can't show holes: `fill 0xFF` closes them, `keep` cuts down to one part"
    )]
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
    #[error("--{option} {value} is out of range: it takes {least} to {most}")]
    OutOfRange {
        /// The option.
        option: &'static str,
        /// What was asked for.
        value: u64,
        /// The least it takes.
        least: u64,
        /// The most it takes.
        most: u64,
    },
    /// Addresses count words, and some bytes don't fill whole ones.
    #[error(
        "the bytes at {range} don't fill whole words of {unit}: `fill` completes them, `relocate` moves them to a multiple of {unit}"
    )]
    PartWord {
        /// Bytes in a word.
        unit: u64,
        /// Bytes without a hole between them.
        range: AddressRange,
    },
    /// Addresses count words, and a record would hold part of one.
    #[error(
        "{width} data bytes are no whole words of {unit}: choose a --width that {unit} divides"
    )]
    WidthUnit {
        /// Data bytes asked for.
        width: u16,
        /// Bytes in a word.
        unit: u64,
    },
    /// Addresses count words, and the entry point lies inside one.
    #[error(
        "the entry point 0x{entry:X} lies inside a word of {unit} bytes: choose another with --entry, or --entry none"
    )]
    EntryUnit {
        /// The entry point.
        entry: u64,
        /// Bytes in a word.
        unit: u64,
    },
    /// readmem addresses count words already.
    #[error("readmem addresses count words of --word N bytes already: leave out --unit")]
    UnitAndWord,
    /// More records than the end record can count.
    #[error(
        "{records} records are more than the {most} that an end record can count: choose a larger --width"
    )]
    TooManyRecords {
        /// Records there would be.
        records: u64,
        /// The most it counts.
        most: u64,
    },
    /// Text for source code needs a name.
    #[error("{format} needs a name for its array: --name NAME")]
    NoName {
        /// The format.
        format: &'static str,
    },
    /// The name can't stand in source code.
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
    #[error("{0} files can only be read here")]
    ReadOnly(&'static str),
    /// The destination can't be written.
    #[error(transparent)]
    Io(#[from] io::Error),
}

fn advice_on_address(last: u64, form: &str) -> &'static str {
    let widest = [mos_tape::MosTape.name(), raw_le16::RawLe16.name()].contains(&form);
    if last > u64::from(u32::MAX) || widest {
        "`relocate --to` moves it down"
    } else {
        "choose a wider --address, or move it down with `relocate --to`"
    }
}

/// The format called `name`.
pub fn by_name(name: &str) -> Option<&'static dyn Format> {
    FORMATS.iter().copied().find(|f| f.name() == name)
}

/// The format that files with this extension (any case, without the dot) usually have.
pub fn by_extension(extension: &str) -> Option<&'static dyn Format> {
    let extension = extension.to_ascii_lowercase();
    FORMATS
        .iter()
        .copied()
        .find(|f| f.extensions().contains(&extension.as_str()))
}

/// Why a file's format could not be told.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unrecognised {
    /// It could be several.
    #[error("could be {}: say which with --as, for instance --as {}", .0.join(" or "), .0[0])]
    Several(Vec<&'static str>),
    /// Nothing tells.
    #[error(
        "neither the content nor the file name tells the format: name it with --as ({})",
        names()
    )]
    Nothing,
}

fn names() -> String {
    let readable = FORMATS.iter().filter(|f| f.can_read());
    readable.map(|f| f.name()).collect::<Vec<_>>().join(", ")
}

/// Tells a file's format: by content first, and by the file name's extension where content leaves it open.
///
/// A format that is [`Proven`](Likeness::Proven) wins over one that is only [`Likely`](Likeness::Likely); two of the
/// same rank are told apart by the extension, or not at all. What each needs to see in the first 64 KiB:
///
/// | format | proven by | likely by | possible |
/// | --- | --- | --- | --- |
/// | intel-hex, s-record | a record with the right checksum | the beginning of one | any ASCII text |
/// | mos-tape, tek-hex | a record with the right checksum | | any ASCII text |
/// | elf | its signature | | |
/// | ti-txt | | `@` addresses and pairs only, closed by `q`; or not closed, while no address is longer than a 20-bit one | the same with longer addresses |
/// | readmem | | `@` addresses, hex words and comments only, with one address or comment at least | hex words only |
/// | raw, raw-le16 | | | anything |
///
/// So a file of `@` addresses and pairs that is not closed by `q` can be both ti-txt, cut off or longer than 64 KiB, and
/// readmem: the extension decides, and without a telling one the error names both.
///
/// # Errors
/// [`Unrecognised`], which says what to type.
pub fn recognise(
    head: &Head<'_>,
    extension: Option<&str>,
) -> Result<&'static dyn Format, Unrecognised> {
    let by_name = extension.and_then(by_extension);
    for rank in [Likeness::Proven, Likeness::Likely] {
        let found: Vec<_> = FORMATS
            .iter()
            .copied()
            .filter(|f| f.likeness(head) == rank)
            .collect();
        match found[..] {
            [] => {}
            [one] => return Ok(one),
            _ => {
                return by_name
                    .filter(|f| found.iter().any(|g| g.name() == f.name()))
                    .ok_or_else(|| {
                        Unrecognised::Several(found.iter().map(|f| f.name()).collect())
                    });
            }
        }
    }
    by_name
        .filter(|f| f.likeness(head) == Likeness::Possible || head.bytes.is_empty())
        .ok_or(Unrecognised::Nothing)
}

#[cfg(test)]
mod tests;
