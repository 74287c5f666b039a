//! Sums, CRCs and digests over bytes.
//!
//! An [`Algo`] is found by its name, [started](Algo::start), fed in as many parts as you like,
//! and finished into a [`Sum`], which knows how it is printed and stored:
//!
//! ```
//! use romloom::sums::{Algo, Order};
//!
//! let algo: Algo = "crc-32/iso-hdlc".parse()?;
//! let mut summing = algo.start();
//! summing.feed(b"12345");
//! summing.feed(b"6789");
//! let sum = summing.finish()?;
//! assert_eq!(sum.to_string(), "CBF43926");
//! assert_eq!(sum.to_bytes(Order::Little), [0x26, 0x39, 0xF4, 0xCB]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Plain sums wrap modulo two to the power of their width: `sum8`, `sum16` and `sum32` add bytes,
//! `sum16le` and its like add words, `xor8` is the exclusive-or of bytes. `carry8`, `carry16` and `internet`
//! add each carry back at the low end, `fletcher16` and `adler32` also sum the sums. CRCs are those of the
//! RevEng catalogue under their catalogue names in lower case; `crc32` means
//! `crc-32/iso-hdlc` and `crc16` for `crc-16/arc`. Digests are `md5`, `sha1` and `sha256`.

mod algo;
mod balance;
mod carry;
mod catalogue;
mod complement;
mod crc;
mod digest;
mod error;
mod list;
mod plain;
mod sum;
mod summing;
#[cfg(test)]
mod tests;

pub use algo::{Algo, UnknownAlgo};
pub use balance::balance;
pub use complement::Complement;
pub use error::{SumError, UnknownComplement};
pub use list::{ListError, ListFault, ListedSum, read_list};
pub use sum::Sum;
pub use summing::Summing;

pub use crate::image::Order;
