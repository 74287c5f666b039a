//! What concerns the whole run.

use std::path::PathBuf;

use crate::cli::bench::{OutputMode, WritePolicy};

/// What concerns the whole run.
#[derive(clap::Args, Clone, Debug, Default)]
pub struct RunOptions {
    /// Write the files each output depends on, in make's syntax
    #[arg(long, value_name = "FILE")]
    pub depfile: Option<PathBuf>,
    /// Do everything but put files in place
    #[arg(long)]
    pub dry_run: bool,
    /// Rewrite files even when they would not change
    #[arg(long)]
    pub always: bool,
    /// Sync every file and its folder to the disk
    #[arg(long)]
    pub durable: bool,
    /// Say nothing but warnings, errors and asked-for results
    #[arg(long)]
    pub quiet: bool,
    /// Print all results as one JSON document
    #[arg(long)]
    pub json: bool,
    /// Say in plain sentences what each step did
    #[arg(long)]
    pub explain: bool,
    /// Parts of your own, in TOML, beside the built-in ones
    #[arg(long, value_name = "FILE")]
    pub parts: Option<PathBuf>,
}

impl RunOptions {
    /// Both, as when options are given before and after `run`.
    pub fn or(self, other: RunOptions) -> RunOptions {
        RunOptions {
            depfile: self.depfile.or(other.depfile),
            dry_run: self.dry_run || other.dry_run,
            always: self.always || other.always,
            durable: self.durable || other.durable,
            quiet: self.quiet || other.quiet,
            json: self.json || other.json,
            explain: self.explain || other.explain,
            parts: self.parts.or(other.parts),
        }
    }

    /// How files are put in place.
    pub fn policy(&self) -> WritePolicy {
        WritePolicy {
            always: self.always,
            durable: self.durable,
            dry_run: self.dry_run,
        }
    }

    /// How the run talks.
    pub fn mode(&self, stdout_is_taken: bool) -> OutputMode {
        OutputMode {
            quiet: self.quiet,
            json: self.json,
            documents_only: false,
            stdout_is_taken,
            progress: !self.quiet && !self.json,
        }
    }
}
