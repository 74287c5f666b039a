//! Many files into one folder: all of them, or none.

use std::borrow::Cow;
use std::io;
use std::path::Path;

use anyhow::{Result, anyhow};

use super::run_options::RunOptions;
use crate::cli::bench::{Console, StagingError, plain};

/// A file's name in the folder, and its bytes.
pub type NamedFile<'a> = (Cow<'a, str>, Cow<'a, [u8]>);

/// Why a file could not be put into the folder.
#[derive(Debug, thiserror::Error)]
enum FolderError {
    /// Its place.
    #[error(transparent)]
    Staging(#[from] StagingError),
    /// Its bytes.
    #[error("{}", plain(.0))]
    Io(#[from] io::Error),
}

/// Puts these files into a folder, which is made where it is missing.
///
/// # Errors
/// A file that can't be written; then none of them is there.
pub fn write_folder(folder: &Path, files: &[NamedFile<'_>], options: &RunOptions) -> Result<()> {
    let mut staging = options.staging()?;
    for (name, bytes) in files {
        let path = folder.join(name.as_ref());
        let staged = staging.stage::<FolderError>(
            &path.display().to_string(),
            &path,
            |out| Ok(out.write_all(bytes)?),
            |_| Ok(()),
        );
        staged.map_err(|error| anyhow!("{error}"))?;
    }
    let console = Console::new(options.mode(false));
    for (what, text) in staging.half_new(true) {
        console.say(what, &text);
    }
    staging.put_in_place().map_err(|error| anyhow!("{error}"))
}
