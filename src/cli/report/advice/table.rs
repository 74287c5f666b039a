//! Where the advice for an error is found: each area of the library has a file of its own.

use std::error::Error;

use super::faults;

/// What helps against this error, to be said after it; `None` where the fact is enough.
pub fn of(error: &(dyn Error + 'static)) -> Option<String> {
    faults::of(error)
}
