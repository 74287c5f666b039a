//! How errors and results of commands reach the screen.

use std::io::{self, Write};
use std::process::ExitCode;

use anyhow::{Result, anyhow};

use crate::cli::bench::{Stop, on_errors, on_output};

/// An error that is laid out already, with the word before it.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct LaidOut(pub String);

/// An error on standard error, in the one form all errors have.
pub fn complain(error: &anyhow::Error) {
    // Nobody is left to tell when standard error is closed.
    let _ = match error.downcast_ref::<LaidOut>() {
        Some(LaidOut(text)) => write!(anstream::stderr(), "{text}"),
        None => {
            let style = anstyle::AnsiColor::Red.on_default().bold();
            let text = format!("{style}error{style:#}: {error:#}\n");
            write!(anstream::stderr(), "{}", on_errors().fitted(&text))
        }
    };
}

/// Prints what a command was asked for, for people to read.
///
/// # Errors
/// As [`print`] has them.
pub fn show(text: &str) -> Result<ExitCode> {
    print(&on_output().fitted(text))
}

/// Prints what a command was asked for as it is: a document, a script, a recipe.
///
/// # Errors
/// Standard output can't be written to; a reader that has seen enough is none.
pub fn print(text: &str) -> Result<ExitCode> {
    match anstream::stdout().write_all(text.as_bytes()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(e.into()),
        _ => Ok(ExitCode::SUCCESS),
    }
}

/// A step's stop as an error.
pub fn stopped(stop: Stop) -> anyhow::Error {
    anyhow!(stop.text())
}
