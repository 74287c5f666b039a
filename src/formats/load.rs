//! The short way from a file to an image, for programs that use the library.

use std::fmt;
use std::io;

use super::{
    Findings, Format, Head, Input, ReadOptions, Severity, Strictness, Unrecognised, recognise,
};
use crate::image::Image;

/// A file that was read.
#[derive(Debug)]
pub struct Loaded {
    /// Its bytes.
    pub image: Image,
    /// Its format, as the content or the name told it.
    pub format: &'static dyn Format,
    /// What was odd about it; under [`Strictness::Salvage`] also what was broken.
    pub findings: Findings,
}

/// Why a file could not be read.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// The system says so.
    #[error("{name}: {error}")]
    Io {
        /// The file's name.
        name: String,
        /// What it says.
        #[source]
        error: io::Error,
    },
    /// The format can't be told.
    #[error("{name}: {error}")]
    Unrecognised {
        /// The file's name.
        name: String,
        /// Why not.
        #[source]
        error: Unrecognised,
    },
    /// The file breaks its format's rules.
    #[error("{}", Broken(.0))]
    Broken(Box<Findings>),
}

/// One line an error, each with its place.
struct Broken<'a>(&'a Findings);

impl fmt::Display for Broken<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let errors = self
            .0
            .list()
            .iter()
            .filter(|f| f.severity == Severity::Error);
        for (i, error) in errors.enumerate() {
            let separator = if i == 0 { "" } else { "\n" };
            write!(f, "{separator}{}: {error}", self.0.file)?;
        }
        match self.0.errors_not_shown() {
            0 => Ok(()),
            n => write!(f, "\n{}: and {n} more", self.0.file),
        }
    }
}

/// Reads a file whose format its content tells, or the name's `extension` where content leaves it open.
///
/// # Errors
/// [`LoadError`]; a broken file under [`Strictness::Salvage`] is no error, its findings say what is missing.
pub fn load(
    input: &mut Input<'_>,
    extension: Option<&str>,
    how: &ReadOptions,
) -> Result<Loaded, LoadError> {
    let name = input.name().to_string();
    let io = |error| LoadError::Io {
        name: name.clone(),
        error,
    };
    let (bytes, whole) = input.head().map_err(io)?;
    let format =
        recognise(&Head { bytes, whole }, extension).map_err(|error| LoadError::Unrecognised {
            name: name.clone(),
            error,
        })?;
    let mut findings = Findings::new(name.as_str().into(), how.strictness);
    let image = format.read(input, how, &mut findings).map_err(io)?;
    match findings.errors() > 0 && how.strictness != Strictness::Salvage {
        true => Err(LoadError::Broken(Box::new(findings))),
        false => Ok(Loaded {
            image,
            format,
            findings,
        }),
    }
}
