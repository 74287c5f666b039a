//! The bytes of a file on their way to its waiting place.

use std::fs::File;
use std::io::{self, Write};

use super::super::Progress;
use super::super::beside::{LARGE, WriteBeside};

/// Passes bytes on, counts them, and keeps what went wrong. Of a large file all but the beginning is written beside.
pub struct Watched<'a> {
    file: &'a mut File,
    progress: &'a Progress,
    written: u64,
    beside: Option<WriteBeside>,
    /// What went wrong.
    pub failed: Option<io::Error>,
}

impl<'a> Watched<'a> {
    /// Writes to this file from its position on.
    pub fn new(file: &'a mut File, progress: &'a Progress) -> Self {
        Self {
            file,
            progress,
            written: 0,
            beside: None,
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
        if self.written >= LARGE && self.beside.is_none() {
            let beside = WriteBeside::new(self.file);
            self.beside = Some(self.keep(beside)?);
        }
        let written = match &mut self.beside {
            None => {
                let written = self.file.write(bytes);
                self.keep(written)?
            }
            Some(beside) => match beside.hand_over(bytes) {
                true => bytes.len(),
                false => {
                    // It says what went wrong.
                    self.flush()?;
                    0
                }
            },
        };
        self.written += written as u64;
        self.progress.add(written);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        if let Some(beside) = self.beside.take() {
            let finished = beside.finish();
            self.keep(finished)?;
        }
        self.file.flush()
    }
}
