//! The answer to a slip.

use std::fmt;

use crate::cli::pipeline::written::WordRange;

/// What is wrong with the words of a step, where, and what to type instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    /// What is wrong.
    pub fact: String,
    /// What to do.
    pub advice: Option<Advice>,
    /// The word meant; none for the step as a whole.
    pub at: Option<WordRange>,
}

/// What to do, and how it follows what is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Advice {
    /// What to do against it.
    So(String),
    /// A sentence of its own.
    Also(String),
}

impl Slip {
    /// What is wrong with the step as a whole.
    pub fn new(fact: impl Into<String>) -> Self {
        Self {
            fact: fact.into(),
            advice: None,
            at: None,
        }
    }

    /// The same, about this word.
    pub fn at(self, at: Option<WordRange>) -> Self {
        Self { at, ..self }
    }

    /// The same, with what to do against it.
    pub fn so(self, advice: impl Into<String>) -> Self {
        Self {
            advice: Some(Advice::So(advice.into())),
            ..self
        }
    }

    /// The same, with a sentence about what to do.
    pub fn also(self, advice: impl Into<String>) -> Self {
        Self {
            advice: Some(Advice::Also(advice.into())),
            ..self
        }
    }
}

impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.advice {
            None => write!(f, "{}", self.fact),
            Some(Advice::So(advice)) => write!(f, "{}: {advice}", self.fact),
            Some(Advice::Also(advice)) => write!(f, "{}; {advice}", self.fact),
        }
    }
}
