//! `demo`: a folder to try things in.

mod files;

use std::fs;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Result, anyhow, bail};
use clap::{ArgMatches, Args, FromArgMatches};

use super::folder::write_folder;
use super::run_options::RunOptions;
use super::say::print;
use super::words::quoted;
use crate::cli::bench::plain;
use crate::cli::report::plural;
use files::FILES;

/// Write the samples, and all files that the pages of the documentation use, into a folder
#[derive(Args)]
pub struct DemoArgs {
    /// The folder; it is made where it is missing
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

/// Runs the command. A file of the reader's own is never replaced.
///
/// # Errors
/// A file of that name with another content, and a folder that can't be written to.
pub fn demo(matches: &ArgMatches, options: &RunOptions) -> Result<ExitCode> {
    let DemoArgs { folder } = DemoArgs::from_arg_matches(matches)?;
    for (name, bytes) in FILES {
        let path = folder.join(name);
        match fs::read(&path) {
            Ok(there) if there != *bytes => bail!(
                "`{}` is there already, with another content, so nothing was written: give a folder that is new",
                path.display()
            ),
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                bail!("{}: {}", path.display(), plain(&error))
            }
            _ => {}
        }
    }
    let files: Vec<_> = (FILES.iter())
        .map(|(name, bytes)| ((*name).into(), (*bytes).into()))
        .collect();
    write_folder(&folder, &files, options).map_err(|e| anyhow!(e.to_string()))?;
    if options.quiet {
        return Ok(ExitCode::SUCCESS);
    }
    let count = plural(FILES.len() as u64, "file");
    let to = quoted(&folder.to_string_lossy());
    print(&match options.dry_run {
        true => format!("would write {count} to {to}\n"),
        false => format!("wrote {count} to {to}; to begin:\n  cd {to}\n  romloom run board.loom\n"),
    })
}
