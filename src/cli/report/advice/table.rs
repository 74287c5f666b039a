//! The table: each error of the library finds its advice here.

use std::error::Error;

use super::problem;

/// What helps against this error, to be said after it; `None` where the fact is enough.
pub fn of(error: &(dyn Error + 'static)) -> Option<String> {
    problem::of(error)
}
