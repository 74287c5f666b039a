//! The bytes of a file on their way to its waiting place.

use std::fs::File;
use std::io::{self, Write};

use super::super::Progress;

/// Passes bytes on, counts them, and keeps what went wrong.
pub struct Watched<'a> {
    file: &'a mut File,
    progress: &'a Progress,
    /// What went wrong.
    pub failed: Option<io::Error>,
}

impl<'a> Watched<'a> {
    /// Writes to this file from its position on.
    pub fn new(file: &'a mut File, progress: &'a Progress) -> Self {
        Self {
            file,
            progress,
            failed: None,
        }
    }

    /// Keeps an error, and says that there was one.
    fn keep<T>(&mut self, result: io::Result<T>) -> io::Result<T> {
        result.map_err(|e| {
            let told = io::Error::from(e.kind());
            if e.kind() != io::ErrorKind::Interrupted {
                self.failed = Some(e);
            }
            told
        })
    }
}

impl Write for Watched<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.file.write(bytes);
        let written = self.keep(written)?;
        self.progress.add(written);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}
