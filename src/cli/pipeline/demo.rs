//! `demo`: a folder to try things in.

mod files;

use std::fs;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Result, bail};
use clap::{ArgMatches, Args, FromArgMatches};

use super::folder::{NamedFile, write_folder};
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
    let mut files = samples();
    files.extend(bad_reads());
    for (name, bytes) in &files {
        let path = folder.join(name.as_ref());
        match fs::read(&path) {
            Ok(there) if there != **bytes => bail!(
                "`{}` is there already, with another content, so nothing was written: give a folder that is new",
                path.display()
            ),
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                bail!("{}: {}", path.display(), plain(&error))
            }
            _ => {}
        }
    }
    write_folder(&folder, &files, options)?;
    if options.quiet {
        return Ok(ExitCode::SUCCESS);
    }
    let count = plural(files.len() as u64, "file");
    let to = quoted(&folder.to_string_lossy());
    print(&match options.dry_run {
        true => format!("would write {count} to {to}\n"),
        false => format!("wrote {count} to {to}; to begin:\n  cd {to}\n  romloom run board.loom\n"),
    })
}

fn samples() -> Vec<NamedFile<'static>> {
    let files = FILES.iter();
    files
        .map(|(name, bytes)| ((*name).into(), (*bytes).into()))
        .collect()
}

/// Reads of chips that went wrong, made from the finished ones.
fn bad_reads() -> [NamedFile<'static>; 6] {
    let file = |name: &str| {
        let mut files = FILES.iter();
        let (_, bytes) = files.find(|(own, _)| *own == name).unwrap_or(&FILES[0]);
        *bytes
    };
    let chip = file("chip.bin");
    let erased = |bytes: &[u8]| {
        let mut read = bytes.to_vec();
        read.resize(chip.len(), 0xFF);
        read
    };
    [
        ("reads/blank.bin", erased(&[])),
        ("reads/shifted.bin", erased(&chip[0x100..])),
        (
            "reads/inverted.bin",
            chip.iter().map(|byte| !byte).collect(),
        ),
        ("reads/half-twice.bin", chip[..chip.len() / 2].repeat(2)),
        ("reads/end-missing.bin", erased(&chip[..0x6000])),
        ("reads/even-socket.bin", file("odd.bin").to_vec()),
    ]
    .map(|(name, bytes)| (name.into(), bytes.into()))
}
