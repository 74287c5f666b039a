//! The answer to a slip.

use std::fmt;

use crate::cli::pipeline::written::WordRange;

/// What is wrong with the words of a step, where, and what to type instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    /// What is wrong.
    pub fact: String,
    /// The words to type instead, where they are known.
    pub instead: Option<Box<Instead>>,
    /// What to do, in a sentence.
    pub advice: Option<String>,
    /// The word meant; none for the step as a whole.
    pub at: Option<WordRange>,
}

/// Words in place of those of a slip. What only the reader knows is a name in capitals.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Instead {
    /// These steps, in place of the one.
    Steps(Vec<Vec<String>>),
    /// These words before the whole line, and of the step what is left.
    InFront(Vec<String>, Vec<String>),
    /// This step of the line before all others.
    First(usize),
}

impl Slip {
    /// What is wrong with the step as a whole.
    pub fn new(fact: impl Into<String>) -> Self {
        Self {
            fact: fact.into(),
            instead: None,
            advice: None,
            at: None,
        }
    }

    /// The same, about this word.
    pub fn at(self, at: Option<WordRange>) -> Self {
        Self { at, ..self }
    }

    /// The same, with what to do in a sentence.
    pub fn so(self, advice: impl Into<String>) -> Self {
        Self {
            advice: Some(advice.into()),
            ..self
        }
    }

    /// The same, with the steps to type in place of the one.
    pub fn write(self, steps: Vec<Vec<String>>) -> Self {
        Self {
            instead: Some(Box::new(Instead::Steps(steps))),
            ..self
        }
    }

    /// The same, with the words to type in place of the step's.
    pub fn write_one(self, words: Vec<String>) -> Self {
        self.write(vec![words])
    }
}

impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.advice {
            None => write!(f, "{}", self.fact),
            Some(advice) => write!(f, "{}: {advice}", self.fact),
        }
    }
}
