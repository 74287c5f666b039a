//! Reading a file that others may change at the same time.

use std::fs::File;
use std::io::{self, Read};

use super::Progress;
use super::beside::{LARGE, ReadBeside};
use crate::prose::{plural, thousands};

/// A file that must not change its length while it is read, and how much of it has been.
#[derive(Debug)]
pub struct Reader<R> {
    inner: R,
    /// The file once more, to ask for its length when it ends early.
    again: Option<File>,
    progress: Progress,
    read: u64,
    /// Length when it was opened; pipes, devices and the system's own files have none.
    length: Option<u64>,
}

/// A file, read beside the work on it when it is large.
#[derive(Debug)]
pub enum FileBytes {
    /// A small one, or one without a length.
    Plain(File),
    /// A large one.
    Beside(ReadBeside),
}

impl Read for FileBytes {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Plain(file) => file.read(into),
            Self::Beside(bytes) => bytes.read(into),
        }
    }
}

impl Reader<FileBytes> {
    /// Reads from the beginning; `shown` is its name in the line of progress.
    ///
    /// # Errors
    /// What the system says; a folder is not a file.
    pub fn new(file: File, shown: &str, progress: &Progress) -> io::Result<Self> {
        let meta = file.metadata()?;
        if meta.is_dir() {
            return Err(io::Error::other("this is a folder, not a file"));
        }
        let length = (meta.is_file() && meta.len() > 0).then_some(meta.len());
        let again = file.try_clone().ok();
        let file = match length {
            Some(LARGE..) => FileBytes::Beside(ReadBeside::new(file)),
            _ => FileBytes::Plain(file),
        };
        Ok(Self {
            again,
            ..Self::of_length(file, length, shown, progress)
        })
    }
}

impl<R> Reader<R> {
    /// Reads from what has no length.
    pub fn endless(inner: R, shown: &str, progress: &Progress) -> Self {
        Self::of_length(inner, None, shown, progress)
    }

    fn of_length(inner: R, length: Option<u64>, shown: &str, progress: &Progress) -> Self {
        progress.now(|| format!("reading {shown}"), length);
        Self {
            inner,
            again: None,
            progress: progress.clone(),
            read: 0,
            length,
        }
    }
}

impl<R> Reader<R> {
    /// Why the file has not as many bytes as it had when it was opened.
    fn other_length(&self, length: u64, ends: bool) -> io::Error {
        let read = self.read;
        let now = self.again.as_ref().and_then(|file| file.metadata().ok());
        // Files that a system makes up when they are read may have any length.
        if ends && now.is_some_and(|meta| meta.len() == length) {
            return io::Error::other(format!(
                "the system says that this file has {}, but it ends after {}; if that is all of it, copy it with `cat` and read the copy",
                plural(length, "byte"),
                thousands(read)
            ));
        }
        let now = match ends {
            true => format!("ends after {}", thousands(read)),
            false => "has more".into(),
        };
        io::Error::other(format!(
            "this file is being changed while it is read: it had {}, and now it {now}; try again when that is finished",
            plural(length, "byte")
        ))
    }
}

impl<R: Read> Read for Reader<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let n = self.inner.read(into)?;
        self.progress.add(n);
        self.read += n as u64;
        match self.length {
            Some(length)
                if (n == 0 && self.read < length && !into.is_empty()) || self.read > length =>
            {
                Err(self.other_length(length, n == 0))
            }
            _ => Ok(n),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn open(bytes: usize) -> (tempfile::NamedTempFile, Reader<FileBytes>) {
        let mut temp = tempfile::NamedTempFile::new().expect("a file");
        temp.write_all(&vec![0x55; bytes]).expect("written");
        let file = temp.reopen().expect("opened");
        let reader = Reader::new(file, "a", &Progress::default()).expect("a file");
        (temp, reader)
    }

    #[test]
    fn a_file_that_is_cut_or_grows_while_it_is_read_is_an_error() {
        let mut all = Vec::new();
        let (_temp, mut reader) = open(1000);
        assert_eq!(reader.read_to_end(&mut all).expect("unchanged"), 1000);

        let (temp, mut reader) = open(1000);
        reader.read_exact(&mut [0; 100]).expect("the beginning");
        temp.as_file().set_len(400).expect("cut");
        let error = reader.read_to_end(&mut all).expect_err("cut");
        assert!(
            error.to_string().ends_with(
                "it had 1,000 bytes, and now it ends after 400; try again when that is finished"
            ),
            "{error}"
        );

        let (mut temp, mut reader) = open(1000);
        reader.read_exact(&mut [0; 100]).expect("the beginning");
        temp.write_all(b"more").expect("grown");
        let error = reader.read_to_end(&mut all).expect_err("grown");
        assert!(
            error.to_string().ends_with(
                "it had 1,000 bytes, and now it has more; try again when that is finished"
            ),
            "{error}"
        );
    }

    #[test]
    fn a_file_whose_size_the_system_overstates_is_told_from_one_that_changes() {
        let (temp, _) = open(1000);
        let handle = temp.reopen().expect("opened");
        let mut reader = Reader {
            again: Some(handle),
            ..Reader::of_length(&b"made up"[..], Some(1000), "a", &Progress::default())
        };
        let error = reader.read_to_end(&mut Vec::new()).expect_err("shorter");
        assert_eq!(
            error.to_string(),
            "the system says that this file has 1,000 bytes, but it ends after 7; if that is all of it, copy it with `cat` and read the copy"
        );
    }
}
