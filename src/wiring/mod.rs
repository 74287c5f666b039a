//! Address and data lines that a board has swapped or inverted, and what they do to an image.
//!
//! A [`Wiring`] says for each line of a chip which line of the image it is wired to. It is always
//! valid: [`Wiring::new`] refuses a list that is not a permutation.
//!
//! ```
//! use romloom::image::{Image, Source};
//! use romloom::wiring::{Width, Wiring};
//!
//! // A0 and A1 are swapped on the board, and D7 is inverted.
//! let wiring = Wiring::new(Width::Eight, vec![1, 0], vec![])?.inverting(0, 0x80)?;
//! let image = Image::from_bytes(0, vec![0x10, 0x11, 0x12, 0x13], Source::File("prog".into()))?;
//! let mut chip = image.clone();
//! wiring.rewire(&mut chip)?;
//! assert_eq!(chip.byte(1), Some(0x92));
//! wiring.inverse().rewire(&mut chip)?;
//! assert!(chip.same_bytes(&image));
//!
//! // A list that names one line twice is not a wiring.
//! let error = Wiring::new(Width::Eight, vec![1, 1], vec![]).unwrap_err();
//! assert_eq!(error.to_string(), "A1 is there twice and A0 is missing");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod error;
mod line;
mod lookup;
mod turn;
mod width;
mod wires;

pub use error::WiringError;
pub use line::Line;
pub(crate) use lookup::Lookup;
pub use width::Width;
pub use wires::Wiring;
