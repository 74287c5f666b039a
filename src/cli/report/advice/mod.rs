//! What helps, for each fact that the library states. The library's errors say what is wrong; which step or option mends
//! it is known here only.

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
