//! How to read and how to write a file.

use crate::image::{Clash, Entry, Image};
use crate::sums::Order;

use super::findings::Strictness;

/// How to read a file.
#[derive(Clone, Debug)]
pub struct ReadOptions {
    /// How strictly.
    pub strictness: Strictness,
    /// What to do where two records of the file want one address.
    pub clash: Clash,
    /// Raw files: address of the first byte.
    pub at: u64,
    /// Raw files: bytes skipped at the beginning.
    pub skip: u64,
    /// Raw files: bytes taken; `None` takes all.
    pub length: Option<u64>,
    /// Text formats with addresses: bytes for each address of the file; 1 to 8.
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
#[non_exhaustive]
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
    /// Data bytes in a record or line; `None` for the format's usual number (mostly 16).
    pub width: Option<u16>,
    /// Header text; `None` takes the image's own.
    pub header: Option<Vec<u8>>,
    /// What to write as the entry point.
    pub entry: EntryChoice,
    /// CR LF instead of LF after each line.
    pub crlf: bool,
    /// S-records: a count record before the end.
    pub count: bool,
    /// Text formats with addresses: bytes for each address of the file; 1 to 8.
    pub unit: u8,
    /// readmem: bytes in a word; 1 to 8. Its addresses count words, so `unit` stays 1.
    pub word: u8,
    /// readmem: which byte of a word comes first.
    pub order: Order,
    /// Text for source code: the name of the array.
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

/// Which entry point is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
#[non_exhaustive]
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
    /// The line end that these options ask for.
    pub fn line_end(&self) -> &'static [u8] {
        if self.crlf { b"\r\n" } else { b"\n" }
    }

    /// The entry point to write, if any.
    pub(crate) fn entry_of(&self, image: &Image) -> Option<Entry> {
        match self.entry {
            EntryChoice::Own => image.entry,
            EntryChoice::None => None,
            EntryChoice::At(address) => Some(Entry::Linear(address)),
        }
    }
}
