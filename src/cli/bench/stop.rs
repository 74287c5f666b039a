//! Why a step stops, and which of its words that is about.

use std::error::Error;
use std::path::PathBuf;

use crate::cli::report::advice;

/// Why a step stops the pipeline.
#[derive(Debug)]
pub struct Stop {
    /// Whether a check said no, or something is wrong.
    pub ending: Ending,
    /// What is known of it in addition to the sentence.
    pub cause: Cause,
    /// The argument that it is about; none if it is about the whole step.
    pub argument: Option<Argument>,
    fact: String,
    advice: Option<String>,
}

/// Which of the two ways to end a run early this is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// A check said no: exit code 1.
    No,
    /// Bad input, bad use, or a file that can't be read or written: exit code 2.
    Trouble,
}

/// What later advice can be made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Nothing special.
    Other,
    /// There is no such file; its name as the step gave it.
    NoSuchFile(PathBuf),
    /// Nothing says which format this file has.
    UnknownFormat(PathBuf),
}

/// An argument of a step: its id in the parser, and which of its values is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Argument {
    /// The parser's id, which is the field's name.
    pub id: &'static str,
    /// Which of several values, counted from 0.
    pub value: usize,
}

/// The [`Argument`] of a field: `argument!(self.size)`, `argument!(self.files[2])`, or a variable that has the
/// field's name. The field must exist, so that an error always points somewhere, even when a field is renamed.
macro_rules! argument {
    ($field:ident) => {
        argument!(@ $field, $field, 0)
    };
    ($field:ident [ $value:expr ]) => {
        argument!(@ $field, $field, $value)
    };
    ($owner:ident . $($path:ident).+) => {
        argument!(@last $owner.$($path).+; 0; $($path).+)
    };
    ($owner:ident . $($path:ident).+ [ $value:expr ]) => {
        argument!(@last $owner.$($path).+; $value; $($path).+)
    };
    (@last $whole:expr; $value:expr; $field:ident) => {
        argument!(@ $whole, $field, $value)
    };
    (@last $whole:expr; $value:expr; $first:ident . $($rest:ident).+) => {
        argument!(@last $whole; $value; $($rest).+)
    };
    (@ $whole:expr, $field:ident, $value:expr) => {{
        let _ = &$whole;
        $crate::cli::bench::Argument { id: stringify!($field), value: $value }
    }};
}
pub(crate) use argument;

impl<E: Error + 'static> From<E> for Stop {
    fn from(error: E) -> Self {
        Stop {
            advice: advice::of(&error),
            ..Stop::trouble(error.to_string())
        }
    }
}

/// Says which argument a failure is about.
pub trait Blame<T> {
    /// The failure as a stop, about this argument unless it is about another one already.
    ///
    /// # Errors
    /// The failure, if it is one.
    fn blame(self, argument: Argument) -> Result<T, Stop>;
}

impl<T, E: Into<Stop>> Blame<T> for Result<T, E> {
    fn blame(self, argument: Argument) -> Result<T, Stop> {
        self.map_err(|error| error.into().at(argument))
    }
}

impl Stop {
    /// A check said no.
    pub fn said_no(fact: impl Into<String>) -> Self {
        Self {
            ending: Ending::No,
            ..Self::trouble(fact)
        }
    }

    /// Something is wrong.
    pub fn trouble(fact: impl Into<String>) -> Self {
        Self {
            ending: Ending::Trouble,
            cause: Cause::Other,
            argument: None,
            fact: fact.into(),
            advice: None,
        }
    }

    /// The same, as an answer that says no.
    pub fn into_no(self) -> Self {
        Self {
            ending: Ending::No,
            ..self
        }
    }

    /// The same, with what helps.
    pub fn advise(self, advice: impl Into<String>) -> Self {
        Self {
            advice: Some(advice.into()),
            ..self
        }
    }

    /// The same, about this argument, unless it is about another one already.
    pub fn at(self, argument: Argument) -> Self {
        Self {
            argument: self.argument.or(Some(argument)),
            ..self
        }
    }

    /// The same, with what it came from.
    pub fn because(self, cause: Cause) -> Self {
        Self { cause, ..self }
    }

    /// The same, with the piece it is about.
    pub fn about(self, name: &str) -> Self {
        Self {
            fact: format!("{name}: {}", self.fact),
            ..self
        }
    }

    /// The fact alone.
    pub fn fact(&self) -> &str {
        &self.fact
    }

    /// The fact, and what helps as a line of its own. A list that continues the fact stays with it.
    pub fn fact_and_advice(&self) -> (String, Option<&str>) {
        match self.advice.as_deref() {
            Some(list) if list.starts_with('\n') => (self.text(), None),
            advice => (self.fact.clone(), advice),
        }
    }

    /// The fact, then what helps.
    pub fn text(&self) -> String {
        match &self.advice {
            Some(advice) => advice::joined(&self.fact, advice),
            None => self.fact.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_argument_is_named_by_its_field() {
        struct On {
            only: Vec<String>,
        }
        struct Step {
            size: u64,
            on: On,
        }
        let step = Step {
            size: 0,
            on: On { only: Vec::new() },
        };
        let size = step.size;
        let named = |argument: Argument| (argument.id, argument.value);
        assert_eq!(named(argument!(step.size)), ("size", 0));
        assert_eq!(named(argument!(step.on.only[2])), ("only", 2));
        assert_eq!(named(argument!(size)), ("size", 0));
        assert_eq!(named(argument!(size[1])), ("size", 1));
    }
}
