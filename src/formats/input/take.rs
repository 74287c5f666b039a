//! Taking the bytes of a file as they are.

use std::io::{self, Read};
use std::panic::resume_unwind;
use std::thread;

use super::{Input, no_memory};
use crate::image::{NoMemory, ask_memory, begin_aside, has_second_core};

/// Bytes that are asked for at once where all of them are wanted, so that progress is seen.
const PART: usize = 1 << 20;

/// So many bytes are among the little things for which memory was asked for when the file was first read.
const LITTLE: usize = 64 << 10;

/// What [`Input::take_bytes`] took.
pub struct Taken {
    /// The bytes.
    pub bytes: Vec<u8>,
    /// How many bytes were skipped: fewer than asked when the file is shorter.
    pub skipped: u64,
}

impl Input<'_> {
    /// Takes up to `limit` bytes of what is left; `None` takes all. Skips `skip` bytes first.
    ///
    /// # Errors
    /// What the reader says.
    pub fn take_bytes(&mut self, skip: u64, limit: Option<u64>) -> io::Result<Taken> {
        let mut skipped = 0;
        while skipped < skip {
            if self.from == self.to {
                if self.ended {
                    break;
                }
                self.refill()?;
                continue;
            }
            let step = (skip - skipped).min((self.to - self.from) as u64);
            self.from += step as usize;
            skipped += step;
        }
        let limit = limit.unwrap_or(u64::MAX);
        let waiting = ((self.to - self.from) as u64).min(limit) as usize;
        let mut bytes = Vec::new();
        make_room(&mut bytes, waiting)?;
        bytes.extend_from_slice(&self.window[self.from..self.from + waiting]);
        self.from += waiting;
        if self.from == self.to && !self.ended {
            self.take_in_two(&mut bytes, limit)?;
        }
        // Window by window: memory that `bytes` has in reserve is not touched before there is something to put there.
        while self.from == self.to && !self.ended && (bytes.len() as u64) < limit {
            self.refill()?;
            let more = self.ahead();
            let most = (more.len() as u64).min(limit - bytes.len() as u64);
            let more = &more[..most as usize];
            make_room(&mut bytes, more.len())?;
            bytes.extend_from_slice(more);
            self.from += more.len();
        }
        Ok(Taken { bytes, skipped })
    }

    /// Takes most of what is left on two cores, where it is much, and can be read in two places. The window is empty.
    ///
    /// # Errors
    /// What the reader says.
    fn take_in_two(&mut self, bytes: &mut Vec<u8>, limit: u64) -> io::Result<()> {
        let rest = self.left.min(limit - bytes.len() as u64);
        let half = rest / 2;
        if half < self.stretch || !has_second_core() {
            return Ok(());
        }
        let before = bytes.len();
        let Ok(total) = usize::try_from(before as u64 + rest) else {
            return Ok(());
        };
        let Some(mut later) = self.later(half) else {
            return Ok(());
        };
        if ask_memory(total as u64).is_err() {
            return Ok(());
        }
        // Memory that comes as zeros is not used before something is written there.
        let mut all = vec![0; total];
        all[..before].copy_from_slice(bytes);
        let (here, there) = all[before..].split_at_mut(half as usize);
        let here_is_all = here.len();
        let reader = &mut self.reader;
        let taken = thread::scope(|scope| {
            let other = begin_aside(scope, 0, || read_up_to(&mut later, there))?;
            let own = read_up_to(reader, here);
            let other = other.join().unwrap_or_else(|panic| resume_unwind(panic));
            Some((own, other))
        });
        let Some((own, other)) = taken else {
            return Ok(());
        };
        let own = own?;
        self.count(own as u64);
        // What the other one could not read is tried once more from here, which says why.
        let other = match own == here_is_all {
            true => other.unwrap_or(0),
            false => 0,
        };
        self.reader.pass(other as u64)?;
        self.count(other as u64);
        all.truncate(before + own + other);
        *bytes = all;
        Ok(())
    }
}

/// Makes room for more; where it becomes large, there must be some for little things too.
fn make_room(bytes: &mut Vec<u8>, more: usize) -> io::Result<()> {
    if bytes.capacity() - bytes.len() >= more {
        return Ok(());
    }
    let is_little = bytes.len() + more <= LITTLE;
    match bytes.try_reserve(more).is_ok() && (is_little || ask_memory(0).is_ok()) {
        true => Ok(()),
        false => Err(no_memory(NoMemory {
            bytes: 2 * bytes.len() as u64 + more as u64,
        })),
    }
}

/// Reads until it is full, or there is no more.
fn read_up_to(reader: &mut (impl Read + ?Sized), to: &mut [u8]) -> io::Result<usize> {
    let mut n = 0;
    while n < to.len() {
        let end = to.len().min(n + PART);
        match reader.read(&mut to[n..end]) {
            Ok(0) => break,
            Ok(more) => n += more,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(n)
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;
    use std::rc::Rc;

    use proptest::prelude::*;

    use super::super::ReadAhead;
    use super::*;

    /// A file of which a second reader may have less than the first.
    struct Odd<'a> {
        inner: &'a [u8],
        later: Later,
        passed: Rc<Cell<u64>>,
    }

    #[derive(Clone, Copy, Debug)]
    enum Later {
        Whole,
        Ends(u64),
        Fails(u64),
        None,
    }

    impl Read for Odd<'_> {
        fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
            // Not all at once, as from a disk.
            let most = to.len().min(100_000);
            self.inner.read(&mut to[..most])
        }
    }

    struct Fails;

    impl Read for Fails {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::ErrorKind::Other.into())
        }
    }

    impl<'a> ReadAhead<'a> for Odd<'a> {
        fn left(&self) -> u64 {
            self.inner.left()
        }

        fn ahead(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
            let later = self.inner.ahead(skip)?;
            match self.later {
                Later::Whole => Some(later),
                Later::Ends(after) => Some(Box::new(later.take(after))),
                Later::Fails(after) => Some(Box::new(later.take(after).chain(Fails))),
                Later::None => None,
            }
        }

        fn pass(&mut self, bytes: u64) -> io::Result<()> {
            self.passed.set(self.passed.get() + bytes);
            self.inner.pass(bytes)
        }
    }

    fn laters() -> impl Strategy<Value = Later> {
        prop_oneof![
            3 => Just(Later::Whole),
            1 => (0u64..900_000).prop_map(Later::Ends),
            1 => (0u64..900_000).prop_map(Later::Fails),
            1 => Just(Later::None),
        ]
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        /// Whether one core reads or two, the same bytes are taken, and what comes after them is still there.
        #[test]
        fn the_bytes_that_are_asked_for_are_taken(
            len in 0usize..1_200_000,
            skip in prop_oneof![2 => Just(0u64), 1 => 0u64..1_300_000],
            limit in prop::option::of(0u64..1_300_000),
            stretch in 1u64..400_000,
            later in laters(),
        ) {
            let file: Vec<u8> = (0..len).map(|i| ((i * 37) >> 5) as u8).collect();
            let passed = Rc::new(Cell::new(0));
            let odd = Odd { inner: &file, later, passed: passed.clone() };
            let mut input = Input::in_two("a", odd).in_stretches_of(stretch);
            let taken = input.take_bytes(skip, limit).unwrap();
            let from = len.min(skip as usize);
            let to = limit.map_or(len, |limit| len.min(from + limit as usize));
            prop_assert_eq!(taken.skipped, from as u64);
            prop_assert!(taken.bytes == file[from..to]);
            // Without a skip the window is empty at first, and all of it is halved.
            let half = to as u64 / 2;
            let in_two = skip == 0 && half >= stretch;
            let expected = match later {
                _ if !in_two => passed.get(),
                Later::Whole => to as u64 - half,
                Later::Ends(after) => after.min(to as u64 - half),
                Later::Fails(_) | Later::None => 0,
            };
            if !matches!(later, Later::Fails(after) if after >= to as u64 - half) {
                prop_assert_eq!(passed.get(), expected);
            }
            let rest = input.take_bytes(0, None).unwrap();
            prop_assert!(rest.bytes == file[to..]);
            prop_assert_eq!(input.place(), len as u64);
        }
    }
}
