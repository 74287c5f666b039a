//! Large outputs are made on one core while another writes them.

use std::io::{self, Write};
use std::mem;
use std::panic::resume_unwind;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;

use crate::image::{ask_memory, begin_aside, has_second_core};

/// Less than this is done sooner on one core.
const LEAST: u64 = 2 << 20;
/// Bytes that are handed over at once.
const BLOCK: usize = 256 << 10;
/// Blocks that are on their way.
const BLOCKS: usize = 3;

/// Whether work on so many bytes of an image is shared.
fn is_shared(bytes: u64) -> bool {
    bytes >= LEAST && has_second_core()
}

/// Does `work`, and `other` at the same time where the image has many bytes and there is a second core.
pub fn do_both<A: Send, B>(
    bytes: u64,
    other: impl Fn() -> A + Sync,
    work: impl FnOnce() -> B,
) -> (A, B) {
    thread::scope(|scope| {
        let begun = is_shared(bytes).then(|| begin_aside(scope, 0, &other));
        let done = work();
        let other = match begun.flatten() {
            Some(thread) => thread.join().unwrap_or_else(|panic| resume_unwind(panic)),
            None => other(),
        };
        (other, done)
    })
}

/// Writes what `make` makes of an image of so many bytes to `out`: both at the same time where the bytes are many and there is a
/// second core.
///
/// # Errors
/// Those of `make`, and those of writing.
pub fn write_aside<T: Send, E: Send + From<io::Error>>(
    bytes: u64,
    out: &mut dyn Write,
    make: impl Fn(&mut dyn Write) -> Result<T, E> + Sync,
) -> Result<T, E> {
    if !is_shared(bytes) || ask_memory(((1 + BLOCKS) * BLOCK) as u64).is_err() {
        return make(out);
    }
    let (full, blocks) = sync_channel(BLOCKS);
    let (give_back, empty) = sync_channel(BLOCKS);
    let block = Vec::with_capacity(BLOCK);
    for _ in 0..BLOCKS {
        // There is a place for each of them, so this never waits.
        let _ = give_back.send(Vec::with_capacity(BLOCK));
    }
    thread::scope(|scope| {
        let make_blocks = || {
            let mut blocks = Blocks { block, full, empty };
            let made = make(&mut blocks)?;
            blocks.hand_over(Vec::new())?;
            Ok(made)
        };
        let Some(thread) = begin_aside(scope, 0, make_blocks) else {
            return make(out);
        };
        let written = write_blocks(blocks, give_back, out);
        let made = thread.join().unwrap_or_else(|panic| resume_unwind(panic));
        // Where nobody takes its blocks any more, the other thread has an error of that, which is not the cause.
        written?;
        made
    })
}

/// Takes blocks until there are no more, and gives their room back.
fn write_blocks(
    blocks: Receiver<Vec<u8>>,
    give_back: SyncSender<Vec<u8>>,
    out: &mut dyn Write,
) -> io::Result<()> {
    for mut block in blocks {
        out.write_all(&block)?;
        block.clear();
        // At the end the other thread needs no more.
        let _ = give_back.send(block);
    }
    Ok(())
}

/// Where what is made on the other thread goes.
struct Blocks {
    block: Vec<u8>,
    full: SyncSender<Vec<u8>>,
    empty: Receiver<Vec<u8>>,
}

impl Blocks {
    fn hand_over(&mut self, next: Vec<u8>) -> io::Result<()> {
        let block = mem::replace(&mut self.block, next);
        self.full.send(block).map_err(|_| nobody_takes_it())
    }
}

fn nobody_takes_it() -> io::Error {
    io::ErrorKind::BrokenPipe.into()
}

impl Write for Blocks {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.block.len() == BLOCK {
            let next = self.empty.recv().map_err(|_| nobody_takes_it())?;
            self.hand_over(next)?;
        }
        let n = bytes.len().min(BLOCK - self.block.len());
        self.block.extend_from_slice(&bytes[..n]);
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Takes so many bytes, and then no more.
    struct Until {
        taken: Vec<u8>,
        most: usize,
    }

    impl Write for Until {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            match bytes.len().min(self.most - self.taken.len()) {
                0 => Err(io::ErrorKind::StorageFull.into()),
                n => {
                    self.taken.extend_from_slice(&bytes[..n]);
                    Ok(n)
                }
            }
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(30))]

        /// What is written is what was made, in order, up to where either of the two threads ends.
        #[test]
        fn all_that_is_made_is_written(
            parts in prop::collection::vec(0usize..700_000, 0..8),
            most in prop_oneof![Just(usize::MAX), 0usize..3_000_000],
            fails: bool,
        ) {
            let all: Vec<u8> = (0..parts.iter().sum()).map(|i: usize| ((i * 31) >> 4) as u8).collect();
            let mut out = Until { taken: Vec::new(), most };
            let result = write_aside(LEAST, &mut out, |out| {
                let mut left = &all[..];
                for part in &parts {
                    let (now, later) = left.split_at(*part);
                    out.write_all(now)?;
                    left = later;
                }
                match fails {
                    true => Err(io::Error::from(io::ErrorKind::InvalidData)),
                    false => Ok(7),
                }
            });
            prop_assert!(out.taken[..] == all[..out.taken.len()]);
            match result {
                Ok(made) => {
                    prop_assert!(!fails && out.taken.len() == all.len());
                    prop_assert_eq!(made, 7);
                }
                // The last block of what failed may be missing.
                Err(error) if error.kind() == io::ErrorKind::InvalidData => {
                    prop_assert!(fails);
                    prop_assert!(out.taken.len() + BLOCK >= all.len());
                }
                Err(error) => {
                    prop_assert_eq!(error.kind(), io::ErrorKind::StorageFull);
                    prop_assert_eq!(out.taken.len(), most);
                }
            }
        }
    }

    #[test]
    fn both_are_done() {
        for bytes in [0, LEAST] {
            assert_eq!(do_both(bytes, || 1, || 2), (1, 2));
        }
    }
}
