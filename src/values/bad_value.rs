//! Why a text is not the value it should be.

use crate::prose::debug_as_display;

/// Something that is not what it should be, with what to write instead.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("{problem}: {advice}")]
pub struct BadValue {
    problem: String,
    advice: String,
}

impl BadValue {
    /// What is wrong, and what to write instead; both without a full stop.
    pub fn new(problem: impl Into<String>, advice: impl Into<String>) -> Self {
        Self {
            problem: problem.into(),
            advice: advice.into(),
        }
    }

    /// What is wrong.
    pub fn problem(&self) -> &str {
        &self.problem
    }

    /// What to write instead.
    pub fn advice(&self) -> &str {
        &self.advice
    }
}

debug_as_display!(BadValue);
