//! What can be wrong with a file, as data.

use super::meta::ReadOption;
use crate::image::{AddressRange, Contest, NoMemory, Overlap};
use crate::prose::plural;

/// What can be wrong with a file. Numbers are in the file's own units.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Problem {
    /// A line does not begin like a record.
    #[error("a record starts with `{expected}`")]
    NoMark {
        /// The character that was expected.
        expected: char,
    },
    /// Something that is not a hexadecimal digit.
    #[error("not a hex digit")]
    NotHex,
    /// The last digit has no partner.
    #[error("a hex digit without a partner")]
    OddDigits {
        /// Digits in the record.
        digits: usize,
    },
    /// The record stops before its fixed part is complete.
    #[error("the record stops too early")]
    TooShort {
        /// The fewest hex digits of a record of this format.
        least: usize,
        /// How many digits there are.
        digits: usize,
    },
    /// The length field and the bytes that follow disagree.
    #[error("the record's length is wrong")]
    Length {
        /// What the length field says, in bytes.
        says: u64,
        /// What follows, counted the same way.
        has: u64,
    },
    /// The checksum does not fit the record.
    #[error("the checksum is wrong")]
    Checksum {
        /// What the record says.
        says: u32,
        /// What its bytes give.
        gives: u32,
        /// Hex digits of the checksum.
        digits: usize,
    },
    /// A record type that the format does not have.
    #[error("unknown record type")]
    UnknownType {
        /// The format's types, as a list for people.
        known: &'static str,
    },
    /// A record type has a fixed length, and this one differs.
    #[error("a {what} record carries {wanted} data bytes")]
    FixedLength {
        /// The record's name.
        what: &'static str,
        /// Data bytes that the rules ask for.
        wanted: u64,
        /// Data bytes here.
        has: u64,
    },
    /// The address field of a record that has none is not zero.
    #[error("the address field of a {what} record is 0000")]
    AddressNotZero {
        /// The record's name.
        what: &'static str,
    },
    /// A reserved record type.
    #[error("record type {what} is reserved")]
    Reserved {
        /// The type.
        what: &'static str,
    },
    /// The line is longer than any record.
    #[error("this line is longer than any record")]
    LongLine {
        /// Its length in bytes.
        length: u64,
        /// The longest a record can be, in characters.
        most: u64,
    },
    /// The file stops without its end record.
    #[error("the file has no end record")]
    NoEnd {
        /// What such a record looks like.
        example: &'static str,
    },
    /// A data record without data closes the file, as in the 8080's time.
    #[error("an empty data record ends the file, as tools of the 8080's time wrote it")]
    EmptyEnd,
    /// The end record carries an address, as in the 8080's time.
    #[error("the end record carries a start address, as tools of the 8080's time wrote it")]
    EndWithAddress {
        /// The address.
        address: u64,
    },
    /// Lines follow the end record.
    #[error("what follows the end record is not read")]
    AfterEnd {
        /// Lines that are not blank.
        lines: u64,
        /// How many of them are sound records.
        records: u64,
    },
    /// A record would be right without letters in lower case, blanks, or bytes after it.
    #[error("{what}")]
    Untidy {
        /// What is untidy, as a sentence without a full stop.
        what: &'static str,
    },
    /// A second entry point that differs from the first.
    #[error("a second, different entry point")]
    SecondEntry {
        /// The one that is kept.
        kept: u64,
        /// The one that is not.
        other: u64,
    },
    /// A count record does not agree with the records read.
    #[error("the count record disagrees with the file")]
    Count {
        /// Data records according to the count record.
        says: u64,
        /// Data records read.
        has: u64,
    },
    /// A header record after other records.
    #[error("a header record comes after other records")]
    LateHeader,
    /// Records of one file use different address widths.
    #[error("data records with different address widths in one file")]
    MixedKinds {
        /// The kind of the first data record.
        first: char,
        /// The kind of this one.
        here: char,
    },
    /// The end record's kind does not fit the data.
    #[error("the end record does not fit the data records")]
    EndKind {
        /// The end record's kind.
        has: char,
        /// The kind that fits the data.
        wants: char,
    },
    /// Two records want one address.
    #[error("two records want the same address")]
    Overlap(Box<Overlap>),
    /// An address leaves the address space.
    #[error("an address leaves the 64-bit address space")]
    OutOfSpace,
    /// The memory for what is in the file is not there.
    #[error("{0}")]
    NoMemory(NoMemory),
    /// Two sound records have different bytes for one address, and neither is believed.
    #[error("two sound records differ, and neither is used")]
    Contested(Box<Contest>),
    /// A damaged record may have set the base of all addresses after it.
    #[error("the records after this line have no certain address")]
    NoBase {
        /// Sound data records that are left out.
        records: u64,
        /// The line of the last of them.
        last: u64,
    },
    /// Sound lines that other lines contradict.
    #[error("lines {first} to {last} have no certain address")]
    Uncertain {
        /// The first of them, counted from 1.
        first: u64,
        /// The last.
        last: u64,
    },
    /// Records of a kind that most of the file does not have.
    #[error("data records of a kind that most records don't have are left out")]
    OtherKinds {
        /// The kind that most have.
        most: char,
        /// Records of other kinds.
        records: u64,
    },
    /// Nothing in the file is data.
    #[error("there is no data in this file")]
    NoData,
    /// A raw file whose end looks like transfer padding.
    #[error("the file ends in {} of 1A, the padding of XMODEM transfers", plural(*.run, "byte"))]
    TransferTail {
        /// Length of the run.
        run: u64,
    },
    /// A text of records read as raw bytes.
    #[error("the content is {format} records, but it is read as raw bytes")]
    LooksLike {
        /// The format it looks like.
        format: &'static str,
    },
    /// A file that is named as raw bytes, and read as what its content says.
    #[error("the name says {named}, but the content is {format}, and it is read as that")]
    NamedOtherwise {
        /// The format that the extension is of.
        named: &'static str,
        /// The one that the content says.
        format: &'static str,
    },
    /// Fewer bytes than asked for.
    #[error("the file is shorter than asked for")]
    FileTooShort {
        /// The last byte asked for, counted from 0; or the first, when only a start was given.
        wanted: u64,
        /// Bytes in the file.
        has: u64,
    },
    /// An option is out of its range.
    #[error("{option} {value} is out of range")]
    OutOfRange {
        /// The option.
        option: ReadOption,
        /// What was asked for.
        value: u64,
        /// The least it may be.
        least: u64,
        /// The most it may be.
        most: u64,
    },
    /// The format can only be written.
    #[error("{format} can only be written, not read")]
    WriteOnly {
        /// The format.
        format: &'static str,
    },
    /// A record goes beyond the last address of its form.
    #[error("the data goes beyond 0x{last:X}, the last address there is")]
    PastLast {
        /// The form's last address.
        last: u64,
    },
    /// Text outside the records.
    #[error("text outside the records is not read")]
    Outside,
    /// Data before any address.
    #[error("there is data before the first address")]
    NoAddress,
    /// An address with too many digits.
    #[error("an address has more than 64 bits")]
    LongAddress {
        /// Digits it has.
        digits: usize,
    },
    /// `@` without a number after it.
    #[error("an address is missing")]
    BareMark,
    /// A byte that is not written as two digits.
    #[error("a byte must be written as two hex digits")]
    NoPair {
        /// Characters between the blanks.
        has: usize,
    },
    /// ti-txt: the old rule about even addresses.
    #[error("a section must start at an even address")]
    OddStart {
        /// The address.
        address: u64,
    },
    /// readmem: a number that does not fit the word.
    #[error("a number has more digits than a word of {}", plural((*.word).into(), "byte"))]
    WideWord {
        /// Digits it has.
        digits: usize,
        /// Bytes in a word.
        word: u8,
    },
    /// readmem: every number is shorter than a word.
    #[error("every number in the file has {}", plural(*.digits as u64, "digit"))]
    NarrowWords {
        /// Digits they all have.
        digits: usize,
        /// Bytes in a word.
        word: u8,
    },
    /// readmem: a digit for bits without a value.
    #[error("a digit that means unknown bits")]
    UnknownBits,
    /// readmem: a comment without an end.
    #[error("a comment is never closed")]
    OpenComment,
    /// A word longer than any word of the format.
    #[error("this is longer than any word")]
    LongWord {
        /// The most characters that are looked at.
        most: usize,
    },
    /// readmem: addresses count words already.
    #[error("readmem addresses count words already")]
    UnitAndWord,
    /// elf: no signature.
    #[error("this is not an ELF file")]
    NotElf,
    /// elf: a table or field that can't be right.
    #[error("the ELF file is damaged")]
    ElfDamaged {
        /// What is wrong with it.
        what: &'static str,
    },
    /// elf: not a program that can be loaded.
    #[error("this ELF file is {kind}, not an executable with segments")]
    NotExecutable {
        /// What it is.
        kind: &'static str,
    },
    /// elf: nothing to load.
    #[error("this ELF file has no {what} with bytes to load")]
    NothingToLoad {
        /// Segments or sections.
        what: &'static str,
    },
    /// elf: bytes beyond the end of the file.
    #[error("{what} {number} is beyond the end of the file")]
    CutOff {
        /// Segment or section.
        what: &'static str,
        /// Its number in the file's table, from 0.
        number: usize,
        /// One past its last byte in the file.
        end: u64,
        /// Bytes in the file.
        has: u64,
    },
    /// elf: a segment with more bytes than room.
    #[error("segment {number} has more bytes in the file than in memory")]
    NoRoom {
        /// Its number in the file's table, from 0.
        number: usize,
        /// Bytes in the file.
        in_file: u64,
        /// Bytes in memory.
        in_memory: u64,
    },
    /// elf: bytes that have no address.
    #[error("{what} {number} runs past the end of the {bits}-bit address space")]
    PastSpace {
        /// Segment or section.
        what: &'static str,
        /// Its number in the file's table, from 0.
        number: usize,
        /// Its first address.
        first: u64,
        /// Its bytes.
        size: u64,
        /// Bits of an address.
        bits: u8,
    },
    /// elf: a section whose bytes in the file are not those in memory.
    #[error("section {number} is compressed")]
    Compressed {
        /// Its number in the file's table, from 0.
        number: usize,
    },
    /// elf: the parts add up to more than the file.
    #[error("the {what}s need more bytes than the file has")]
    Swollen {
        /// Segment or section.
        what: &'static str,
        /// Bytes in the file.
        has: u64,
    },
    /// elf: a segment that contains the file's own headers.
    #[error("segment {number} puts the ELF file's own headers into the image")]
    OwnHeaders {
        /// Its number in the file's table, from 0.
        number: usize,
        /// Where they would be.
        at: AddressRange,
    },
    /// elf: physical addresses that were never set.
    #[error("all physical addresses are 0, the virtual ones are not")]
    NoPhysical {
        /// The lowest virtual address.
        virtual_address: u64,
    },
}

impl Problem {
    /// What was found, and what was expected: the words under the caret.
    pub fn label(&self) -> String {
        match self {
            Problem::NoMark { expected } => format!("expected `{expected}` here"),
            Problem::NotHex => "expected one of 0-9, A-F".into(),
            Problem::OddDigits { digits } => {
                format!("{digits} digits: bytes are pairs, so one digit is missing or too many")
            }
            Problem::TooShort { least, digits } => {
                format!("{digits} digits here, a record has at least {least}")
            }
            Problem::Length { says, has } => {
                format!("says {says}, but {has} follow")
            }
            Problem::Checksum {
                says,
                gives,
                digits,
            } => format!("says {says:0digits$X}, the record's bytes give {gives:0digits$X}"),
            Problem::UnknownType { known } => format!("known types: {known}"),
            Problem::FixedLength { wanted, has, .. } => format!("{has} here, expected {wanted}"),
            Problem::AddressNotZero { .. } => "expected 0000".into(),
            Problem::Reserved { .. } => "not read".into(),
            Problem::LongLine { length, most } => {
                format!("{length} characters, a record has at most {most}")
            }
            Problem::NoEnd { example } => format!("expected `{example}` as the last record"),
            Problem::EmptyEnd => "read as the end".into(),
            Problem::EndWithAddress { address } => {
                format!("read as the entry point 0x{address:04X}")
            }
            Problem::AfterEnd { lines, records } => match records {
                0 => format!("{} from here on", plural(*lines, "line")),
                _ => format!(
                    "{} from here on, {} of them sound: a second program?",
                    plural(*lines, "line"),
                    plural(*records, "record")
                ),
            },
            Problem::Untidy { .. } => "here".into(),
            Problem::SecondEntry { kept, other } => {
                format!("0x{other:04X}; 0x{kept:04X} came first and is kept")
            }
            Problem::Count { says, has } => {
                format!("says {}, {has} were read", plural(*says, "data record"))
            }
            Problem::LateHeader => "expected in the first line".into(),
            Problem::MixedKinds { first, here } => {
                format!("S{here} here, the data began as S{first}")
            }
            Problem::EndKind { has, wants } => {
                format!("S{has} here, S{wants} fits the data")
            }
            Problem::Overlap(overlap) => overlap.to_string(),
            Problem::Contested(contest) => contest.to_string(),
            Problem::NoBase { records, last } => format!(
                "may have been a base record (02 or 04): {} left out, up to line {last}",
                plural(*records, "data record")
            ),
            Problem::Uncertain { .. } => {
                "left out: other lines contradict them, as where text is lost or there twice".into()
            }
            Problem::OtherKinds { most, records } => format!(
                "most are S{most}; {} of another kind, perhaps with a damaged type digit",
                plural(*records, "record")
            ),
            Problem::OutOfSpace => "too high".into(),
            Problem::NoData | Problem::NoMemory(_) => String::new(),
            Problem::TransferTail { .. } => String::new(),
            Problem::LooksLike { .. } | Problem::NamedOtherwise { .. } => String::new(),
            Problem::FileTooShort { wanted, has } => {
                format!(
                    "byte {wanted} is asked for, the file has {}",
                    plural(*has, "byte")
                )
            }
            Problem::OutOfRange { least, most, .. } => format!("expected {least} to {most}"),
            Problem::WriteOnly { .. } => String::new(),
            Problem::PastLast { .. } => "no address is left for it".into(),
            Problem::Outside => "here".into(),
            Problem::NoAddress => "expected `@` and an address first".into(),
            Problem::LongAddress { digits } => {
                format!("{digits} digits, expected at most 16; nothing up to the next `@` is used")
            }
            Problem::BareMark => {
                "expected hex digits after `@`; nothing up to the next `@` is used".into()
            }
            Problem::NoPair { has } => format!(
                "{}, expected 2; nothing up to the next `@` is used",
                plural(*has as u64, "character")
            ),
            Problem::OddStart { address } => format!("0x{address:04X} is odd"),
            Problem::WideWord { digits, word } => format!(
                "{digits} digits, expected at most {}; nothing up to the next `@` is used",
                2 * usize::from(*word)
            ),
            Problem::NarrowWords { word, .. } => {
                format!("a word of {word} bytes has {}", 2 * usize::from(*word))
            }
            Problem::UnknownBits => "expected 0-9, A-F".into(),
            Problem::OpenComment => "opened here, expected `*/` after it".into(),
            Problem::LongWord { most } => {
                format!("no blank in {most} characters; nothing up to the next `@` is used")
            }
            Problem::UnitAndWord => "a unit of several bytes does not apply".into(),
            Problem::NotElf => "expected 7F 45 4C 46 as its first bytes".into(),
            Problem::ElfDamaged { what } => (*what).into(),
            Problem::NotExecutable { .. } | Problem::NothingToLoad { .. } => String::new(),
            Problem::CutOff { end, has, .. } => {
                format!(
                    "it ends at byte {end}, the file has {}",
                    plural(*has, "byte")
                )
            }
            Problem::NoRoom {
                in_file, in_memory, ..
            } => format!(
                "{} in the file, {} in memory",
                plural(*in_file, "byte"),
                plural(*in_memory, "byte")
            ),
            Problem::PastSpace { first, size, .. } => {
                format!(
                    "it starts at 0x{first:04X} and has {}",
                    plural(*size, "byte")
                )
            }
            Problem::Compressed { .. } => {
                "its bytes in the file are not those that belong in memory".into()
            }
            Problem::Swollen { has, .. } => format!("the file has {}", plural(*has, "byte")),
            Problem::OwnHeaders { at, .. } => format!("they would be at {at}"),
            Problem::NoPhysical { virtual_address } => {
                format!("the lowest virtual address is 0x{virtual_address:04X}")
            }
        }
    }
}
