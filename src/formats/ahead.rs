//! What an input reads from, where it can be read in two places at once.

use std::fs::File;
use std::io::{self, Read};

/// A reader that knows how much is left, and can give a second reader of what comes later.
pub trait ReadAhead<'a>: Read {
    /// Bytes that are left, as far as is known now; 0 where it is not, or where there is no second reader.
    fn left(&self) -> u64;

    /// A second reader, which begins `skip` bytes after where this one is. Neither moves the other.
    fn ahead(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>>;

    /// Passes over bytes that the second reader has read.
    ///
    /// # Errors
    /// What the system says.
    fn pass(&mut self, bytes: u64) -> io::Result<()>;
}

impl<'a> ReadAhead<'a> for &'a [u8] {
    fn left(&self) -> u64 {
        self.len() as u64
    }

    fn ahead(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        let later = self.get(usize::try_from(skip).ok()?..)?;
        Some(Box::new(later))
    }

    fn pass(&mut self, bytes: u64) -> io::Result<()> {
        let bytes = usize::try_from(bytes).unwrap_or(usize::MAX);
        *self = &self[bytes.min(self.len())..];
        Ok(())
    }
}

/// Only systems that can read at a place without moving there have a second reader.
impl<'a> ReadAhead<'a> for File {
    #[cfg(unix)]
    fn left(&self) -> u64 {
        let len = self.metadata().ok().filter(|meta| meta.is_file());
        let len = len.map_or(0, |meta| meta.len());
        len.saturating_sub(place_in(self).unwrap_or(len))
    }

    #[cfg(unix)]
    fn ahead(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        let at = place_in(self)?.checked_add(skip)?;
        let file = self.try_clone().ok()?;
        Some(Box::new(ReadFrom { file, at }))
    }

    #[cfg(not(unix))]
    fn left(&self) -> u64 {
        0
    }

    #[cfg(not(unix))]
    fn ahead(&self, _skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        None
    }

    fn pass(&mut self, bytes: u64) -> io::Result<()> {
        let bytes = i64::try_from(bytes).map_err(io::Error::other)?;
        io::Seek::seek_relative(self, bytes)
    }
}

/// Where a file is read next.
#[cfg(unix)]
fn place_in(mut file: &File) -> Option<u64> {
    io::Seek::stream_position(&mut file).ok()
}

/// A file read from a place of its own, whose other readers stay where they are.
#[cfg(unix)]
struct ReadFrom {
    file: File,
    at: u64,
}

#[cfg(unix)]
impl Read for ReadFrom {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let n = std::os::unix::fs::FileExt::read_at(&self.file, to, self.at)?;
        self.at += n as u64;
        Ok(n)
    }
}

/// A reader without a second one.
pub(super) struct OneReader<R>(pub R);

impl<R: Read> Read for OneReader<R> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        self.0.read(to)
    }
}

impl<'a, R: Read> ReadAhead<'a> for OneReader<R> {
    fn left(&self) -> u64 {
        0
    }

    fn ahead(&self, _skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        None
    }

    fn pass(&mut self, _bytes: u64) -> io::Result<()> {
        Ok(())
    }
}
