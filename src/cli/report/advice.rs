//! What helps, for each fact that the library states. The library's errors say what is wrong; which step or option mends
//! it is known here only.

use std::error::Error;

/// What helps against this error, to be said after it; `None` where the fact is enough.
pub fn of(error: &(dyn Error + 'static)) -> Option<String> {
    let _ = error;
    None
}
