//! One line of a text file, as readers get it.

/// A line up to this length, in bytes, is kept whole; no record format needs more than 600.
pub const LONGEST_LINE: usize = 64 * 1024;

/// How a line ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// Line feed.
    Lf,
    /// Carriage return and line feed.
    CrLf,
    /// Carriage return alone.
    Cr,
    /// The file ended.
    EndOfFile,
}

/// One line, without its end.
#[derive(Clone, Copy, Debug)]
pub struct TextLine<'a> {
    /// Counted from 1; CR, LF and CR LF each end a line.
    pub number: u64,
    /// The bytes, at most [`LONGEST_LINE`] of them.
    pub bytes: &'a [u8],
    /// Length of the whole line in bytes; more than that of `bytes` when the line was cut. Blanks, NULs and 0x1A after
    /// the cut don't count: files may be padded with any number of them.
    pub length: u64,
    /// What ended it.
    pub end: LineEnd,
}

/// What is around the text of a line and belongs to no record: blanks, and the 0x1A or NULs that some systems put at the
/// end of a file.
pub(super) fn is_padding(byte: u8) -> bool {
    byte == b' ' || byte == b'\t' || byte == 0x1A || byte == 0
}
