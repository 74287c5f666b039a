//! Which chip of a known set is this read?
//!
//! A read is looked for in the forms that people and machines put it in: whole, as a half, a bank, a lane or any stretch,
//! inverted, with the bytes of its words swapped, repeated, padded, with a header before it. What is known by its content may
//! also have been read through a bad line, or be another version; the story that explains the read in the fewest bits says
//! which. Chips of which only a sum is known are looked for among the forms of the read, and among two reads put together.
//!
//! ```
//! use romloom::identify::{Recognised, KnownBy, KnownChip, Lane, recognise};
//!
//! let rom: Vec<u8> = (0..=255u8).map(|n| n.wrapping_mul(7)).collect();
//! let odd: Vec<u8> = rom.iter().copied().skip(1).step_by(2).collect();
//! let known = [KnownChip { name: "monitor".into(), by: KnownBy::Image(rom) }];
//! let found = &recognise(&[&odd], &known)[0];
//! assert_eq!(found.answer, Recognised::Is);
//! assert_eq!(found.matches[0].known, 0);
//! assert_eq!(found.matches[0].form.lane, Some(Lane { n: 1, of: 2 }));
//! ```

mod candidates;
mod fit;
mod form;
mod grams;
mod identity;
mod known;
mod listed;
mod price;
mod reads;
mod recogniser;
mod samples;
#[cfg(test)]
mod tests;

pub use form::{Cut, InRead, Lane, ReadForm, Rest};
pub use identity::{Difference, Identity, Match, Recognised};
pub use known::{KnownBy, KnownChip};
pub use recogniser::{Recogniser, recognise};
