//! Pages and pictures as outputs of a run.

use std::io;
use std::path::Path;

use super::placeholders::{NameOfEach, OF_OUTPUTS};
use crate::cli::bench::{Bench, StagingError, Stop, plain};
use crate::cli::report::Output;

/// The name of a page, to find two outputs of one name; none if each piece has its own.
pub(super) fn page_name(name: &str) -> Option<&str> {
    (!name.contains(['{', '}'])).then_some(name)
}

/// The name of a page, cut at its words in braces; it ends with one of `extensions`.
///
/// # Errors
/// Another extension, and what is wrong with the words in braces.
pub(super) fn page_of_each(
    name: &str,
    extensions: &[&str],
    what: &str,
) -> Result<NameOfEach, Stop> {
    let extension = Path::new(name).extension().unwrap_or_default();
    let extension = extension.to_ascii_lowercase();
    if !extensions.iter().any(|known| extension == *known) {
        return Err(Stop::trouble(format!("{name} is not the name of {what}"))
            .advise(format!("end it with .{}", extensions.join(" or ."))));
    }
    NameOfEach::read(name, OF_OUTPUTS)
}

/// Puts a page or a picture among the files of the run, and in the list of what was made.
///
/// # Errors
/// What is wrong with its place.
pub(super) fn put_page(
    bench: &mut Bench,
    name: &str,
    text: &str,
    format: String,
) -> Result<(), Stop> {
    let path = bench.path(Path::new(name));
    let name = path.display().to_string();
    let state = bench.staging.stage::<PutPageError>(
        &name,
        &path,
        |out| Ok(out.write_all(text.as_bytes())?),
        |_| Ok(()),
    )?;
    bench.made.push(Output {
        file: name,
        state,
        format,
        holds: None,
    });
    Ok(())
}

#[derive(Debug, thiserror::Error)]
enum PutPageError {
    #[error(transparent)]
    Staging(#[from] StagingError),
    #[error("the page: {}", plain(.0))]
    Io(#[from] io::Error),
}
