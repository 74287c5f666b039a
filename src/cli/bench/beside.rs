//! Large files read and written beside the work on them, on a thread of their own: the system's copying and ours take turns
//! on one core otherwise.
//!
//! No more than a few blocks are on their way at any time. What goes wrong there is told here, in its place.

use std::fs::File;
use std::io::{self, Read, Write};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{self, JoinHandle};

/// Bytes of a block.
const BLOCK: usize = 256 * 1024;
/// Blocks on their way at most.
const BLOCKS: usize = 4;
/// A smaller file is done before a thread has started.
pub const LARGE: u64 = 4 << 20;

/// What a thread has read, in order.
#[derive(Debug)]
pub struct ReadBeside {
    filled: Receiver<io::Result<Vec<u8>>>,
    emptied: SyncSender<Vec<u8>>,
    block: Vec<u8>,
    at: usize,
}

impl ReadBeside {
    /// Begins to read.
    pub fn new(mut from: impl Read + Send + 'static) -> Self {
        let (fill, filled) = sync_channel(BLOCKS);
        let (emptied, empty) = sync_channel::<Vec<u8>>(BLOCKS);
        for _ in 0..BLOCKS {
            // There is room for all of them.
            let _ = emptied.try_send(Vec::new());
        }
        thread::spawn(move || {
            // Either side ends when the other has.
            while let Ok(mut block) = empty.recv() {
                block.resize(BLOCK, 0);
                let read = from.read(&mut block);
                let is_end = !matches!(read, Ok(n) if n > 0);
                let read = read.map(|n| {
                    block.truncate(n);
                    block
                });
                let is_interrupted =
                    matches!(&read, Err(e) if e.kind() == io::ErrorKind::Interrupted);
                if fill.send(read).is_err() || is_end && !is_interrupted {
                    return;
                }
            }
        });
        Self {
            filled,
            emptied,
            block: Vec::new(),
            at: 0,
        }
    }
}

impl Read for ReadBeside {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.at == self.block.len() {
            let Ok(next) = self.filled.recv() else {
                return Ok(0);
            };
            let used = std::mem::replace(&mut self.block, next?);
            self.at = 0;
            // A thread that has come to the end takes none back.
            let _ = self.emptied.try_send(used);
        }
        let n = into.len().min(self.block.len() - self.at);
        into[..n].copy_from_slice(&self.block[self.at..self.at + n]);
        self.at += n;
        Ok(n)
    }
}

/// A file that a thread writes.
#[derive(Debug)]
pub struct WriteBeside {
    fill: SyncSender<Vec<u8>>,
    emptied: Receiver<Vec<u8>>,
    thread: JoinHandle<io::Result<()>>,
}

impl WriteBeside {
    /// Writes from the file's position on.
    ///
    /// # Errors
    /// The file can't be shared with a thread.
    pub fn new(file: &File) -> io::Result<Self> {
        let mut file = file.try_clone()?;
        let (fill, filled) = sync_channel::<Vec<u8>>(BLOCKS);
        let (empty, emptied) = sync_channel(BLOCKS);
        let thread = thread::spawn(move || {
            while let Ok(block) = filled.recv() {
                file.write_all(&block)?;
                // Nobody may want it back.
                let _ = empty.try_send(block);
            }
            Ok(())
        });
        Ok(Self {
            fill,
            emptied,
            thread,
        })
    }

    /// Hands bytes over; whether the thread still takes any. If not, [`finish`](Self::finish) says why.
    pub fn hand_over(&mut self, bytes: &[u8]) -> bool {
        let mut block = self.emptied.try_recv().unwrap_or_default();
        block.clear();
        block.extend_from_slice(bytes);
        self.fill.send(block).is_ok()
    }

    /// Waits until all is written.
    ///
    /// # Errors
    /// What the system said.
    pub fn finish(self) -> io::Result<()> {
        drop(self.fill);
        match self.thread.join() {
            Ok(written) => written,
            Err(_) => Err(io::Error::other("the thread that writes has ended")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes(n: usize) -> Vec<u8> {
        (0..n).map(|i| (i * 7 + i / 251) as u8).collect()
    }

    /// Gives what it has in odd pieces, and an error at its end.
    struct Odd(Vec<u8>, usize, bool);

    impl Read for Odd {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            if self.1 == self.0.len() && self.2 {
                return Err(io::Error::other("broken"));
            }
            let n = into.len().min(self.0.len() - self.1).min(100_003);
            into[..n].copy_from_slice(&self.0[self.1..self.1 + n]);
            self.1 += n;
            Ok(n)
        }
    }

    #[test]
    fn what_is_read_beside_is_what_is_there() {
        for n in [0, 1, BLOCK - 1, BLOCK, 5 * BLOCK + 17] {
            let mut all = Vec::new();
            let mut reader = ReadBeside::new(Odd(bytes(n), 0, false));
            reader.read_to_end(&mut all).expect("read");
            assert!(all == bytes(n), "{n}");
            assert_eq!(reader.read(&mut [0; 10]).expect("still the end"), 0);
        }
        // What came before an error is there, and then the error.
        let mut all = Vec::new();
        let mut reader = ReadBeside::new(Odd(bytes(3 * BLOCK), 0, true));
        let error = reader.read_to_end(&mut all).expect_err("broken");
        assert_eq!(error.to_string(), "broken");
        assert!(all == bytes(3 * BLOCK));
        // A reader that stops early stops the thread.
        let mut reader = ReadBeside::new(io::repeat(0x55));
        reader.read_exact(&mut [0; 10]).expect("read");
    }

    #[test]
    fn what_is_written_beside_is_written_or_an_error() {
        let mut temp = tempfile::tempfile().expect("a file");
        let all = bytes(6 * BLOCK + 5);
        let mut writer = WriteBeside::new(&temp).expect("a thread");
        assert!(all.chunks(70_001).all(|chunk| writer.hand_over(chunk)));
        writer.finish().expect("written");
        io::Seek::rewind(&mut temp).expect("back");
        let mut read = Vec::new();
        temp.read_to_end(&mut read).expect("read");
        assert!(read == all);

        // A file that was opened for reading takes nothing.
        let only = tempfile::NamedTempFile::new().expect("a file");
        let only = File::open(only.path()).expect("opened");
        let mut writer = WriteBeside::new(&only).expect("a thread");
        while writer.hand_over(&all[..1000]) {}
        assert!(writer.finish().is_err());
    }
}
