//! What helps, for each fact that the library states. The library's errors say what is wrong; which step or option mends
//! it is known here only.

mod faults;
mod table;

pub use table::of;
