//! Steps that are parsed and wait to run, each with how it is written.

use super::parsed::Places;
use super::written::Wording;
use crate::cli::steps::{Planned, StepEntry};

/// A parsed step.
pub struct PlannedStep {
    /// Its line in the table of steps.
    pub entry: &'static StepEntry,
    /// The step with its arguments.
    pub planned: Box<dyn Planned>,
    /// Where its arguments are.
    pub places: Places,
    /// Whether it prints a JSON document of its own.
    pub json: bool,
}

/// The steps of one pipeline.
#[derive(Default)]
pub struct Plan {
    /// In order, each with how it is written.
    pub steps: Vec<(PlannedStep, Wording)>,
}

impl PlannedStep {
    /// The word that names it.
    pub fn name(&self) -> &'static str {
        self.entry.name
    }
}
