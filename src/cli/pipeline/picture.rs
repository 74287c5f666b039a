//! Pictures that plain commands draw into a file.

use std::io;
use std::path::Path;

use anyhow::{Result, anyhow, bail};

use super::run_options::RunOptions;
use crate::cli::bench::{Console, StagingError, plain};
use crate::cli::report::{self, Report};

#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error(transparent)]
    Staging(#[from] StagingError),
    #[error("{}", plain(.0))]
    Io(#[from] io::Error),
}

/// Puts a picture into its file, and says so unless nothing is to be said.
///
/// # Errors
/// A name that does not end in `.svg`, and a file that can't be written.
pub fn write_picture(file: &Path, drawn: &str, what: &str, options: &RunOptions) -> Result<()> {
    let name = file.display().to_string();
    let is_svg = |e: &std::ffi::OsStr| e.eq_ignore_ascii_case("svg");
    if !file.extension().is_some_and(is_svg) {
        bail!("{name} is not the name of a picture: end it with .svg");
    }
    let mut staging = options.staging()?;
    let console = Console::new(options.mode(false));
    let staged = staging.stage::<Failure>(
        &name,
        file,
        |out| Ok(out.write_all(drawn.as_bytes())?),
        |_| Ok(()),
    );
    let state = staged.map_err(|e| anyhow!("{e}"))?;
    for (what, text) in staging.half_new(true) {
        console.say(what, &text);
    }
    staging.put_in_place().map_err(|e| anyhow!("{e}"))?;
    if !options.quiet && !options.json {
        let made = report::Outputs {
            outputs: vec![report::Output {
                file: name,
                state,
                format: what.into(),
                holds: None,
            }],
            dry_run: options.dry_run,
        };
        console.show_block(&made.shown(console.style()));
    }
    Ok(())
}
