//! Which of the lists of advice has an entry for an error.

use std::error::Error;

use super::{adapter, board, faults, lay, problem, work};

/// What helps against this error, to be said after it; `None` where the fact is enough.
pub fn of(error: &(dyn Error + 'static)) -> Option<String> {
    problem::of(error)
        .or_else(|| faults::of(error))
        .or_else(|| lay::of(error))
        .or_else(|| work::of(error))
        .or_else(|| board::of(error))
        .or_else(|| adapter::of(error))
}

/// A fact and what helps, in one sentence; lines of their own follow unchanged.
pub fn joined(fact: &str, advice: &str) -> String {
    match advice.starts_with('\n') {
        true => format!("{fact}{advice}"),
        false => format!("{fact}; {advice}"),
    }
}

/// An error as it is printed: the fact, then what helps.
pub fn told(error: &(dyn Error + 'static)) -> String {
    let fact = error.to_string();
    match of(error) {
        Some(advice) => joined(&fact, &advice),
        None => fact,
    }
}
