//! Words and numbers as messages show them, and the nearest known word to a mistyped one. Knows nothing of ROMs.

mod bytes;
mod debug;
mod nearest;
mod numbers;
mod word;

pub(crate) use bytes::{hex, holds};
pub(crate) use debug::debug_as_display;
pub(crate) use nearest::nearest;
pub(crate) use numbers::{plural, thousands};
pub(crate) use word::shown;
