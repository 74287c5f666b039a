//! The doors for reading: from a path or a reader to an image.

use std::fmt;
use std::fs::File;
use std::io;
use std::path::Path;

use super::detect::{Undetected, detect};
use super::findings::{Findings, Severity};
use super::format::Format;
use super::input::Input;
use super::likeness::{Head, Likeness};
use super::options::ReadOptions;
use super::problem::Problem;
use super::registry::{FORMATS, by_extension};
use crate::image::Image;
use crate::prose::debug_as_display;

/// A file that was read.
#[derive(Debug)]
pub struct Loaded {
    /// Its bytes.
    pub image: Image,
    /// Its format: the one that was given, or the one that the content or the name says.
    pub format: &'static dyn Format,
    /// What was odd about it; after [`read_as`] and under [`Strictness::Salvage`](super::Strictness::Salvage) also what was broken.
    pub findings: Findings,
}

impl Loaded {
    /// The same, or an error if something in the file was broken; salvage takes broken files too.
    ///
    /// # Errors
    /// [`LoadError::Broken`].
    pub fn unless_broken(self) -> Result<Self, LoadError> {
        match self.findings.errors() > 0 && !self.findings.is_salvage() {
            true => Err(LoadError::Broken(Box::new(self.findings))),
            false => Ok(self),
        }
    }
}

/// Why a file could not be read.
#[derive(thiserror::Error)]
#[non_exhaustive]
pub enum LoadError {
    /// The system can't read it.
    #[error("{name}: {error}")]
    Io {
        /// The file's name.
        name: String,
        /// What it says.
        #[source]
        error: io::Error,
    },
    /// Nothing says which format it has.
    #[error("{name}: {error}")]
    Undetected {
        /// The file's name.
        name: String,
        /// Why not.
        #[source]
        error: Undetected,
    },
    /// The file breaks its format's rules: the first broken one with its place, and how many more there are.
    #[error("{}", Broken(.0))]
    Broken(Box<Findings>),
}

debug_as_display!(LoadError);

/// One sentence: the first error with its place, and how many more there are.
struct Broken<'a>(&'a Findings);

impl fmt::Display for Broken<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut errors = self.0.list().iter();
        let first = errors.find(|f| f.severity == Severity::Error);
        write!(f, "{}: ", self.0.file)?;
        match first {
            Some(first) => write!(f, "{first}")?,
            None => f.write_str("the file is broken")?,
        }
        match self.0.errors() {
            0 | 1 => Ok(()),
            n => write!(f, " (and {} more)", n - 1),
        }
    }
}

/// Reads the file at `path`. Its format is found out from its content, or from the extension where the content does not decide.
///
/// # Errors
/// [`LoadError`]; not for a broken file under [`Strictness::Salvage`](super::Strictness::Salvage), whose findings say what is missing.
pub fn load(path: impl AsRef<Path>, how: &ReadOptions) -> Result<Loaded, LoadError> {
    load_from(&mut open(path.as_ref())?, how)
}

/// Reads the file at `path` as this format, whatever content and name say.
///
/// # Errors
/// As for [`load`].
///
/// ```
/// use romloom::formats::{self, ReadOptions, raw::Raw};
///
/// # let folder = tempfile::tempdir()?;
/// # let path = folder.path().join("chip.read");
/// # std::fs::write(&path, [0xA9, 0x00])?;
/// let at = ReadOptions { at: 0x8000, ..ReadOptions::default() };
/// let image = formats::load_as(&Raw, &path, &at)?.image;
/// assert_eq!(image.byte(0x8000), Some(0xA9));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn load_as(
    format: &'static dyn Format,
    path: impl AsRef<Path>,
    how: &ReadOptions,
) -> Result<Loaded, LoadError> {
    read_as(format, &mut open(path.as_ref())?, how)?.unless_broken()
}

/// Reads from any reader, as [`load`] does from a file; the input's name is used like a file's name.
///
/// # Errors
/// As for [`load`].
pub fn load_from(input: &mut Input<'_>, how: &ReadOptions) -> Result<Loaded, LoadError> {
    let format = format_of(input)?;
    read_as(format, input, how)?.unless_broken()
}

fn open(path: &Path) -> Result<Input<'static>, LoadError> {
    let name = path.display().to_string();
    match File::open(path) {
        Ok(file) => Ok(Input::in_two(name, file)),
        Err(error) => Err(LoadError::Io { name, error }),
    }
}

/// The first half of [`load_from`]: finds out the format from the content, or from the name where the content does not decide.
///
/// # Errors
/// [`LoadError::Io`] and [`LoadError::Undetected`].
pub fn format_of(input: &mut Input<'_>) -> Result<&'static dyn Format, LoadError> {
    let name = input.name().clone();
    let extension = Path::new(&*name).extension().and_then(|e| e.to_str());
    let (bytes, whole) = input.head().map_err(failed(&name))?;
    let told = detect(&Head::new(bytes, whole), extension);
    let format = told.map_err(|error| LoadError::Undetected {
        name: name.to_string(),
        error,
    })?;
    input.tell(format.name());
    let by_name = extension.and_then(by_extension);
    if let Some(named) = by_name.filter(|f| f.meta().takes_anything && f.name() != format.name()) {
        // A chip into which the text of a record file was burned reads as that text, and must not pass as what it says.
        let (named, format) = (named.name(), format.name());
        input.note(Problem::NamedOtherwise { named, format });
    }
    Ok(format)
}

/// The second half of [`load_from`]: reads everything, and leaves it to the caller what to do about broken rules.
///
/// # Errors
/// [`LoadError::Io`].
pub fn read_as(
    format: &'static dyn Format,
    input: &mut Input<'_>,
    how: &ReadOptions,
) -> Result<Loaded, LoadError> {
    let name = input.name().clone();
    let mut findings = Findings::new(name.clone(), how.strictness);
    if let Some(odd) = input.take_note() {
        findings.warning(None, odd);
    }
    // What `format_of` told has been compared with all other formats.
    if format.meta().takes_anything && input.told() != Some(format.name()) {
        let (bytes, whole) = input.head().map_err(failed(&name))?;
        let head = Head::new(bytes, whole);
        let others = FORMATS.iter().filter(|f| f.name() != format.name());
        for other in others.filter(|f| f.likeness(&head) == Likeness::Proven) {
            let format = other.name();
            findings.odd(None, Problem::LooksLike { format });
        }
    }
    let image = format
        .read(input, how, &mut findings)
        .map_err(failed(&name))?;
    Ok(Loaded {
        image,
        format,
        findings,
    })
}

fn failed(name: &str) -> impl Fn(io::Error) -> LoadError {
    move |error| LoadError::Io {
        name: name.into(),
        error,
    }
}

#[cfg(test)]
mod tests;
