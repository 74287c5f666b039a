//! The beginning of a file, and how much it looks like one format.

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
    /// It begins like such a file, but no checksum confirms it.
    Likely,
    /// It contains a record whose checksum is right, or a signature that nothing else has.
    Proven,
}
