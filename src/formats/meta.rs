//! What is known of a format before any file is seen.

use std::fmt;

/// Facts about one format. Each format has one constant of this type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Metadata {
    /// The format's name: lower case, words joined by hyphens.
    pub name: &'static str,
    /// One line for lists.
    pub about: &'static str,
    /// The publication of its rules; "common practice" where there is none.
    pub rules: &'static str,
    /// Usual file name extensions, in lower case and without the dot.
    pub extensions: &'static [&'static str],
    /// Whether it is read, written or both.
    pub access: Access,
    /// Whether addresses are in the file.
    pub has_addresses: bool,
    /// Whether a file can leave out addresses between others.
    pub has_holes: bool,
    /// The last byte address that a file can name, or that a file without addresses can be given.
    pub last_address: u64,
    /// Whether any bytes are a sound file of this format: reading never shows a wrong choice, and writing has next to nothing to make.
    pub takes_anything: bool,
    /// Options of [`ReadOptions`](super::ReadOptions) that mean something to it, beyond strictness and clash.
    pub reading: &'static [ReadOption],
    /// Options of [`WriteOptions`](super::WriteOptions) that mean something to it, beyond the entry point.
    pub writing: &'static [WriteOption],
}

impl Metadata {
    /// A format that is read and written, has addresses of up to 64 bits and holes, and uses no options.
    pub(super) const USUAL: Self = Self {
        name: "",
        about: "",
        rules: "common practice",
        extensions: &[],
        access: Access::ReadAndWrite,
        has_addresses: true,
        has_holes: true,
        last_address: u64::MAX - 1,
        takes_anything: false,
        reading: &[],
        writing: &[],
    };
}

/// Whether romloom reads files of a format, writes them, or both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// Both.
    ReadAndWrite,
    /// Read only.
    ReadOnly,
    /// Written only.
    WriteOnly,
}

/// One option of [`ReadOptions`](super::ReadOptions).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ReadOption {
    /// [`at`](super::ReadOptions::at).
    At,
    /// [`skip`](super::ReadOptions::skip).
    Skip,
    /// [`length`](super::ReadOptions::length).
    Length,
    /// [`unit`](super::ReadOptions::unit).
    Unit,
    /// [`word`](super::ReadOptions::word).
    Word,
    /// [`order`](super::ReadOptions::order).
    Order,
    /// [`virtual_addresses`](super::ReadOptions::virtual_addresses).
    VirtualAddresses,
    /// [`sections`](super::ReadOptions::sections).
    Sections,
}

/// Its field's name.
impl fmt::Display for ReadOption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            ReadOption::At => "at",
            ReadOption::Skip => "skip",
            ReadOption::Length => "length",
            ReadOption::Unit => "unit",
            ReadOption::Word => "word",
            ReadOption::Order => "order",
            ReadOption::VirtualAddresses => "virtual_addresses",
            ReadOption::Sections => "sections",
        })
    }
}

/// One option of [`WriteOptions`](super::WriteOptions).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum WriteOption {
    /// [`address`](super::WriteOptions::address).
    Address,
    /// [`width`](super::WriteOptions::width).
    Width,
    /// [`header`](super::WriteOptions::header).
    Header,
    /// [`crlf`](super::WriteOptions::crlf).
    Crlf,
    /// [`count`](super::WriteOptions::count).
    Count,
    /// [`unit`](super::WriteOptions::unit).
    Unit,
    /// [`word`](super::WriteOptions::word).
    Word,
    /// [`order`](super::WriteOptions::order).
    Order,
    /// [`name`](super::WriteOptions::name).
    Name,
}

/// Its field's name.
impl fmt::Display for WriteOption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            WriteOption::Address => "address",
            WriteOption::Width => "width",
            WriteOption::Header => "header",
            WriteOption::Crlf => "crlf",
            WriteOption::Count => "count",
            WriteOption::Unit => "unit",
            WriteOption::Word => "word",
            WriteOption::Order => "order",
            WriteOption::Name => "name",
        })
    }
}
