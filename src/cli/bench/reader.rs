//! Reading a file that others may change at the same time.

use std::fs::File;
use std::io::{self, Read};

use super::Progress;
use crate::formats::ReadAhead;
use crate::prose::{plural, thousands};

/// Bytes of one file that are read without being asked for: 1 GiB.
pub const MOST_READ: u64 = 1 << 30;

/// How much of a file is read at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadLimit {
    /// [`MOST_READ`]; the step has --allow-large, which lifts it.
    Usual,
    /// [`MOST_READ`] after so many bytes that are passed over, and the file may be longer than what is taken of it.
    Part {
        /// Bytes passed over.
        skip: u64,
        /// Whether what is taken has a length of its own.
        has_length: bool,
    },
    /// [`MOST_READ`], and nothing lifts it: the step has no use for more.
    Fixed,
    /// As much as there is.
    Lifted,
}

impl ReadLimit {
    fn most(self) -> u64 {
        match self {
            ReadLimit::Lifted => u64::MAX,
            // It is read by blocks: a little more than what is taken.
            ReadLimit::Part { skip, has_length } => MOST_READ
                .saturating_add(skip)
                .saturating_add(u64::from(has_length) << 20),
            ReadLimit::Usual | ReadLimit::Fixed => MOST_READ,
        }
    }

    fn error(self) -> io::Error {
        let lifted = match self {
            ReadLimit::Fixed => "",
            _ => " --allow-large reads all of it",
        };
        io::Error::other(format!(
            "there is more than 1 GiB to read: is this the right file?{lifted}"
        ))
    }
}

/// A file that must not change its length while it is read, and how much of it has been.
#[derive(Debug)]
pub struct Reader<R> {
    inner: R,
    /// The file once more, to ask for its length when it ends early.
    again: Option<File>,
    progress: Progress,
    read: u64,
    limit: ReadLimit,
    /// Length when it was opened; pipes, devices and the system's own files have none.
    length: Option<u64>,
}

impl<R> Reader<R> {
    /// Whether there are so few bytes that reading them takes little memory.
    pub fn is_small(&self) -> bool {
        const SMALL: u64 = 128 << 10;
        self.length.is_some_and(|length| length <= SMALL)
    }
}

impl Reader<File> {
    /// Reads from the beginning; `shown` is its name in the line of progress.
    ///
    /// # Errors
    /// What the system says; a folder is not a file; more than the limit.
    pub fn new(file: File, shown: &str, progress: &Progress, limit: ReadLimit) -> io::Result<Self> {
        let meta = file.metadata()?;
        if meta.is_dir() {
            return Err(io::Error::other("this is a folder, not a file"));
        }
        let length = (meta.is_file() && meta.len() > 0).then_some(meta.len());
        let takes_part = matches!(
            limit,
            ReadLimit::Part {
                has_length: true,
                ..
            }
        );
        if length.is_some_and(|length| length > limit.most()) && !takes_part {
            return Err(limit.error());
        }
        let again = file.try_clone().ok();
        Ok(Self {
            again,
            ..Self::of_length(file, length, shown, progress, limit)
        })
    }
}

impl<R> Reader<R> {
    /// Reads from what has no length.
    pub fn endless(inner: R, shown: &str, progress: &Progress, limit: ReadLimit) -> Self {
        Self::of_length(inner, None, shown, progress, limit)
    }

    fn of_length(
        inner: R,
        length: Option<u64>,
        shown: &str,
        progress: &Progress,
        limit: ReadLimit,
    ) -> Self {
        progress.now(|| format!("reading {shown}"), length);
        Self {
            inner,
            again: None,
            progress: progress.clone(),
            read: 0,
            limit,
            length,
        }
    }
}

impl<R> Reader<R> {
    fn count(&mut self, bytes: u64) -> io::Result<()> {
        self.progress.add(bytes as usize);
        self.read += bytes;
        match self.read > self.limit.most() {
            true => Err(self.limit.error()),
            false => Ok(()),
        }
    }

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
        self.count(n as u64)?;
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

impl<'a, R: ReadAhead<'a>> ReadAhead<'a> for Reader<R> {
    /// No more than it had when it was opened: what has been added since is an error, which only reading on shows.
    fn left(&self) -> u64 {
        let left = self
            .length
            .map_or(0, |length| length.saturating_sub(self.read));
        self.inner.left().min(left)
    }

    fn ahead(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        self.inner.ahead(skip)
    }

    fn pass(&mut self, bytes: u64) -> io::Result<()> {
        self.inner.pass(bytes)?;
        self.count(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Seek, Write};

    fn open(bytes: usize) -> (tempfile::NamedTempFile, Reader<File>) {
        let mut temp = tempfile::NamedTempFile::new().expect("a file");
        temp.write_all(&vec![0x55; bytes]).expect("written");
        let file = temp.reopen().expect("opened");
        let reader =
            Reader::new(file, "a", &Progress::default(), ReadLimit::Usual).expect("a file");
        (temp, reader)
    }

    /// Of a sparse file nothing is read, and what has no length ends at the limit.
    #[test]
    fn more_than_a_gigabyte_has_to_be_asked_for() {
        let temp = tempfile::NamedTempFile::new().expect("a file");
        temp.as_file().set_len(MOST_READ + 1).expect("sparse");
        let open = |limit| {
            let file = temp.reopen().expect("opened");
            Reader::new(file, "a", &Progress::default(), limit)
        };
        let part = |skip, has_length| ReadLimit::Part { skip, has_length };
        for (limit, is_read) in [
            (ReadLimit::Usual, false),
            (ReadLimit::Fixed, false),
            (ReadLimit::Lifted, true),
            (part(0, false), false),
            (part(1, false), true),
            (part(0, true), true),
            (part(u64::MAX, false), true),
        ] {
            assert_eq!(open(limit).is_ok(), is_read, "{limit:?}");
        }
        let text = |limit| open(limit).expect_err("too long").to_string();
        assert!(text(ReadLimit::Usual).ends_with("--allow-large reads all of it"));
        assert!(text(ReadLimit::Fixed).ends_with("is this the right file?"));

        let progress = Progress::default();
        let mut reader = Reader::endless(io::repeat(0), "a", &progress, ReadLimit::Usual);
        reader.read = MOST_READ - 8;
        let error = io::copy(&mut reader, &mut io::sink()).expect_err("it never ends");
        assert!(error.to_string().starts_with("there is more than 1 GiB"));
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

        // Bytes that change and keep their number are not noticed.
        let (mut temp, mut reader) = open(1000);
        reader.read_exact(&mut [0; 100]).expect("the beginning");
        temp.rewind().expect("at the beginning");
        temp.write_all(&[0xAA; 1000]).expect("written");
        reader.read_to_end(&mut all).expect("as long as before");

        // A file that was empty may be one that the system makes up when it is read.
        let (mut temp, mut reader) = open(0);
        temp.write_all(b"more").expect("grown");
        all.clear();
        assert_eq!(reader.read_to_end(&mut all).expect("grown"), 4);
    }

    #[test]
    fn a_file_whose_size_the_system_overstates_is_told_from_one_that_changes() {
        let (temp, _) = open(1000);
        let handle = temp.reopen().expect("opened");
        let mut reader = Reader {
            again: Some(handle),
            ..Reader::of_length(
                &b"made up"[..],
                Some(1000),
                "a",
                &Progress::default(),
                ReadLimit::Usual,
            )
        };
        let error = reader.read_to_end(&mut Vec::new()).expect_err("shorter");
        assert_eq!(
            error.to_string(),
            "the system says that this file has 1,000 bytes, but it ends after 7; if that is all of it, copy it with `cat` and read the copy"
        );
    }
}
