//! A sum while it is made.

use std::fmt;

use super::algo::{Family, listed};
use super::plain::{self, PartWord, Plain};
use super::sum::Value;
use super::{Algo, Sum, SumError, crc, digest};

impl Algo {
    /// Begins a sum, as its definition says.
    pub fn start(self) -> Summing {
        Summing::begin(
            self,
            match self.0 {
                Family::Crc(index) => listed(index).model.widened().init,
                Family::Plain(plain) => plain.initial().into(),
                Family::Digest(_) => 0,
            },
        )
    }

    /// Begins a sum from another initial value: for a plain sum the total to start from (for `fletcher16` and `adler32` both
    /// sums, in their printed form), for a CRC the register, in place of the catalogue's `init` (and like it not reflected).
    ///
    /// # Errors
    /// [`SumError::NoInitialValue`] for a digest, [`SumError::TooLarge`] when the value has more
    /// bits than the sum.
    pub fn start_from(self, init: u128) -> Result<Summing, SumError> {
        if self.is_digest() {
            return Err(SumError::NoInitialValue { algo: self });
        }
        self.check_fits("initial value", init)?;
        Ok(Summing::begin(self, init))
    }

    /// The sum of these bytes, in one go.
    ///
    /// # Errors
    /// As for [`Summing::finish`].
    pub fn sum(self, bytes: &[u8]) -> Result<Sum, SumError> {
        let mut summing = self.start();
        summing.feed(bytes);
        summing.finish()
    }
}

/// A sum under way. It makes no difference where the bytes are cut into feeds.
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
    /// [`SumError::PartWord`] when the bytes fed to a word sum are not a whole number of words; `internet` has a rule for
    /// that. No other kind of sum fails.
    pub fn finish(self) -> Result<Sum, SumError> {
        let value = match self.state {
            Running::Plain(plain, total) => {
                let part = |PartWord { word, length, over }| SumError::PartWord {
                    name: plain.name(),
                    word,
                    length,
                    over,
                };
                Value::Number(u128::from(total.finish().map_err(part)?) & self.algo.mask())
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
