//! Words that don't become a step, and why.

use std::io::Write;
use std::process::ExitCode;

use super::slips::{LineAnswer, Slip};
use super::written::Wording;
use crate::cli::bench::{on_errors, on_output};
use crate::cli::steps::HARD_BLANK;

/// Why words don't become a step or command.
#[derive(Debug, thiserror::Error)]
pub enum Refusal {
    /// Help or version is asked for, and nothing is wrong.
    #[error("help and version can't be asked for in a recipe")]
    Asked(Asked),
    /// Something is wrong with the words.
    #[error("{0}")]
    Slip(Slip),
}

/// Help or version, ready to be printed.
#[derive(Debug)]
pub struct Asked(pub Box<clap::Error>);

impl Asked {
    /// Prints it where it belongs, and gives the exit code.
    pub fn print(&self) -> ExitCode {
        // Nobody is left to tell when the output is closed.
        let text = self.0.render().ansi().to_string().replace(HARD_BLANK, " ");
        let _ = match self.0.use_stderr() {
            true => write!(anstream::stderr(), "{}", on_errors().fitted(&text)),
            false => write!(anstream::stdout(), "{}", on_output().fitted(&text)),
        };
        ExitCode::from(if self.0.use_stderr() { 2 } else { 0 })
    }
}

impl From<Slip> for Refusal {
    fn from(slip: Slip) -> Self {
        Refusal::Slip(slip)
    }
}

impl Refusal {
    /// The same, shown at the word; a wish for help stays one.
    pub fn shown(self, wording: &Wording) -> anyhow::Error {
        match self {
            Refusal::Asked(_) => self.into(),
            Refusal::Slip(slip) => shown_slip(&slip, wording),
        }
    }

    /// The same in a recipe, where nobody can ask for help.
    pub fn in_recipe(self, wording: &Wording) -> anyhow::Error {
        match &self {
            Refusal::Asked(_) => wording.pointed(None, &self.to_string(), &[]).into(),
            Refusal::Slip(slip) => shown_slip(slip, wording),
        }
    }
}

/// A slip, shown at its word.
pub fn shown_slip(slip: &Slip, wording: &Wording) -> anyhow::Error {
    let advice: Vec<&str> = slip.advice.iter().map(String::as_str).collect();
    wording
        .pointed(slip.at.as_ref(), &slip.fact, &advice)
        .into()
}

/// What is wrong with a line, shown at the word of the step meant. Each step has its wording.
pub fn shown_answer(answer: &LineAnswer, wordings: &[Wording]) -> anyhow::Error {
    let (slip, advice) = (&answer.slip, answer.advice());
    match wordings.get(answer.step) {
        Some(wording) => wording
            .pointed(slip.at.as_ref(), &slip.fact, &advice)
            .into(),
        None => anyhow::anyhow!("{slip}"),
    }
}
