//! What the steps do, as plain functions on images: the part of the library that a build script uses.
//!
//! ```
//! use romloom::image::{AddressRange, Image, Source};
//! use romloom::{ops, sums::{Algo, Order}};
//!
//! let mut rom = Image::from_bytes(0x8000, b"\xA9\x2A\x60".to_vec(), Source::File("prog".into()))?;
//! ops::pad(&mut rom, 0x100, ops::PartBase::OfImage, 0xFF, ops::Large::Refuse)?;
//! let all = AddressRange::new(0x8000, 0x80FD).unwrap();
//! let sum = ops::Stamp::new(Algo::SUM16, vec![all], 0x80FE).put(&mut rom)?;
//! assert_eq!(rom.byte(0x80FE), Some(sum.to_bytes(Order::Little)[0]));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod burnable;
mod check;
mod compare;
mod copy;
mod edit;
mod error;
mod reads;
mod rewire;
mod space;
mod split;
mod stamp;

pub use burnable::{Burning, ErasureNeeded, burnable, bytes_beyond};
pub use check::{Pointer, blank, bytes_at, full, pointer};
pub use compare::{Comparison, Holes, compare};
pub use copy::{OverData, copy, find_bytes, spread};
pub use edit::{ListedPatch, Patch, PatchedHole, mark, patch, patch_list, swap};
pub use error::{LARGE, Measured, OpError, SCATTERED};
pub use reads::{dense, tail_behind};
pub use rewire::rewire;
pub use space::{Large, Moved, PartBase, Runs, fill, hollow, pad, relocate, relocate_to, repeat};
pub use split::{
    join, join_banks, join_lanes, join_nibbles, split_banks, split_lanes, split_nibbles,
};
pub use stamp::{Blank, Fit, Stamp, put_block, stored_number, sum_over};

#[cfg(test)]
mod tests;
