//! A sum while it is made.

use std::fmt;

use super::algo::Family;
use super::plain::{self, Plain};
use super::sum::Value;
use super::{Algo, Sum, SumError, crc, digest};

/// A sum under way. Where the feeds are cut makes no difference.
#[derive(Clone)]
pub struct Summing {
    algo: Algo,
    state: Running,
}

#[derive(Clone)]
enum Running {
    Plain(Plain, plain::Total),
    Crc(crc::Register),
    Digest(digest::Hashing),
}

impl Summing {
    /// Begins from a value that fits the width; a digest takes none.
    pub(super) fn begin(algo: Algo, init: u128) -> Self {
        let state = match algo.0 {
            Family::Plain(plain) => Running::Plain(plain, plain.start(init as u32)),
            Family::Crc(index) => Running::Crc(crc::Register::start(index, init)),
            Family::Digest(digest) => Running::Digest(digest.start()),
        };
        Self { algo, state }
    }

    /// Takes the next bytes.
    pub fn feed(&mut self, bytes: &[u8]) {
        match &mut self.state {
            Running::Plain(_, total) => total.feed(bytes),
            Running::Crc(register) => register.feed(bytes),
            Running::Digest(hashing) => hashing.feed(bytes),
        }
    }

    /// The sum of all bytes fed.
    ///
    /// # Errors
    /// [`SumError::PartWord`] when a word sum was fed no whole number of words. No other kind
    /// of sum fails.
    pub fn finish(self) -> Result<Sum, SumError> {
        let value = match self.state {
            Running::Plain(plain, total) => {
                Value::Number(u128::from(total.finish(plain)?) & self.algo.mask())
            }
            Running::Crc(register) => Value::Number(register.finish()),
            Running::Digest(hashing) => Value::Digest(hashing.finish()),
        };
        Ok(Sum {
            algo: self.algo,
            value,
        })
    }
}

impl fmt::Debug for Summing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Summing")
            .field("algo", &self.algo)
            .finish_non_exhaustive()
    }
}
