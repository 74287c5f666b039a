//! Which chip of a known set is this read?
//!
//! A read is looked up whole and in the forms that people and machines put it in: as a half, a bank or a lane, inverted,
//! with its bytes swapped, repeated. What is known by its image is cut into such forms; what is known by a sum only is
//! looked for among the forms of the read, and among two reads put together.
//!
//! ```
//! use romloom::identify::{Identity, Cut, KnownBy, KnownChip, recognise};
//!
//! let rom: Vec<u8> = (0..=255u8).map(|n| n.wrapping_mul(7)).collect();
//! let odd: Vec<u8> = rom.iter().copied().skip(1).step_by(2).collect();
//! let known = [KnownChip { name: "monitor".into(), by: KnownBy::Image(rom) }];
//! match recognise(&[&odd], &known)[0] {
//!     Identity::Is { known: 0, form, .. } => assert_eq!(form.cut, Cut::Lane { n: 1, of: 2 }),
//!     ref other => panic!("{other:?}"),
//! }
//! ```

mod form;
mod known;
mod recognise;
#[cfg(test)]
mod tests;

pub use form::{ContentForm, Cut};
pub use known::{KnownBy, KnownChip};
pub use recognise::{Identity, Nearest, recognise};
