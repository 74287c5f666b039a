//! The beginning of a file, and how much it looks like one format.

use std::cell::OnceCell;
use std::mem;

// The one that does not ask what the processor can do, which takes longer than to look through so few bytes.
use memchr::arch::all::memchr::Two;

/// How many lines of the beginning are looked at.
const LINES: usize = 200;

/// The beginning of a file, as format detection sees it.
pub struct Head<'a> {
    bytes: &'a [u8],
    is_whole: bool,
    lines: OnceCell<Vec<&'a [u8]>>,
}

impl<'a> Head<'a> {
    /// The first bytes of a file, up to 64 KiB, and whether they are all of it.
    pub fn new(bytes: &'a [u8], is_whole: bool) -> Self {
        Self {
            bytes,
            is_whole,
            lines: OnceCell::new(),
        }
    }

    /// The bytes.
    pub fn bytes(&self) -> &'a [u8] {
        self.bytes
    }

    /// Whether this is the whole file.
    pub fn is_whole(&self) -> bool {
        self.is_whole
    }

    /// The first 200 lines that are whole, without blanks around them; blank ones left out.
    pub fn lines(&self) -> &[&'a [u8]] {
        self.lines.get_or_init(|| {
            let is_end = |b: &u8| matches!(b, b'\n' | b'\r');
            let end = match self.is_whole {
                true => self.bytes.len(),
                false => self.bytes.iter().rposition(is_end).unwrap_or(0),
            };
            let text = &self.bytes[..end];
            let mut from = 0;
            let ends = Two::new(b'\n', b'\r');
            let ends = ends.iter(text).chain([end]);
            let lines = ends.map(|at| text[mem::replace(&mut from, at + 1)..at].trim_ascii());
            let lines = lines.filter(|l| !l.is_empty());
            lines.take(LINES).collect()
        })
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
