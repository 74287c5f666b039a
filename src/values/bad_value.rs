//! Why a text is not the value it should be.

use crate::prose::debug_as_display;

/// What is wrong with a text, and what to write instead where that is known. The sentence names the text that
/// it is about, so that it can be read without the text.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("{problem}{}", .advice.as_ref().map(|advice| format!(": {advice}")).unwrap_or_default())]
pub struct BadValue {
    problem: String,
    advice: Option<String>,
    meant: Option<String>,
}

impl BadValue {
    /// What is wrong, and what to write instead; both without a full stop.
    pub fn new(problem: impl Into<String>, advice: impl Into<String>) -> Self {
        Self {
            problem: problem.into(),
            advice: Some(advice.into()),
            meant: None,
        }
    }

    /// What is wrong, where that is enough; without a full stop.
    pub fn fact(problem: impl Into<String>) -> Self {
        Self {
            problem: problem.into(),
            advice: None,
            meant: None,
        }
    }

    /// The same, with the value as it is written here, where what was meant is clear.
    #[must_use]
    pub fn meaning(self, value: impl Into<String>) -> Self {
        Self {
            meant: Some(value.into()),
            ..self
        }
    }

    /// The same, where it is about a part of a value only, and what that meant is not the value.
    pub(super) fn meaning_nothing(self) -> Self {
        Self {
            meant: None,
            ..self
        }
    }

    /// What is wrong.
    pub fn problem(&self) -> &str {
        &self.problem
    }

    /// What to write instead, where that is known.
    pub fn advice(&self) -> Option<&str> {
        self.advice.as_deref()
    }

    /// The value that was likely meant, as it is written here.
    pub fn meant(&self) -> Option<&str> {
        self.meant.as_deref()
    }
}

debug_as_display!(BadValue);
