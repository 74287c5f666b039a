//! The command: from words to steps to files, and everything it says. Nothing here is for callers of the library; only
//! what the program, the tests and the fuzz targets need can be seen from outside.

mod bench;
mod main;
mod pipeline;
mod report;
mod steps;

pub use bench::{Staging, StagingError, WritePolicy};
pub use main::main;
pub use pipeline::{definitions, parse_recipe};
pub use report::{Style, carets};
