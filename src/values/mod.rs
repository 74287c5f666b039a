//! Numbers, ranges and byte strings as people write them.

mod bytes;
mod number;
mod range;
mod space;

pub use bytes::{byte, bytes, pairs, text};
pub use number::{number, offset, size};
pub use range::range;
pub use space::{Reach, Space, Spot, reach, spot};

/// Something that is not what it should be, with what to write instead.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{problem}: {advice}")]
pub struct BadValue {
    /// What is wrong, without a full stop.
    pub problem: String,
    /// What to write instead.
    pub advice: String,
}

impl BadValue {
    fn new(problem: impl Into<String>, advice: impl Into<String>) -> Self {
        Self {
            problem: problem.into(),
            advice: advice.into(),
        }
    }
}
