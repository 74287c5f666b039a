//! What helps, for each fact that the library reports. The library's errors say what is wrong; only this folder knows
//! which step or option helps.

mod adapter;
mod board;
mod faults;
mod lay;
mod problem;
mod table;
mod work;

pub(in crate::cli) use adapter::asked;
pub(in crate::cli) use board::for_options;
pub use problem::{of_left_out, of_problem};
pub use table::{joined, of, told};
