//! The plain command `check`: reads files by the book, reports, changes nothing.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, anyhow};
use clap::{ArgMatches, Args, FromArgMatches};

use super::run_options::RunOptions;
use super::say::{complain, print, stopped};
use crate::cli::bench::on_output;
use crate::cli::bench::{Progress, Reader, plain};
use crate::cli::report::{self, CheckedFile, Report};
use crate::cli::steps::common::{LargeFiles, readable_format};
use crate::cli::steps::{chosen_format, unreadable};
use crate::formats::{self, Input, Loaded, Problem, ReadOptions, Severity, Strictness};
use crate::image::Clash;

/// Read files by the book and report what they contain and which rules they break; nothing is changed
#[derive(Args)]
pub struct CheckArgs {
    /// Files to read
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Read as this format, whatever content and name say (see `romloom formats`)
    #[arg(long = "as", value_name = "FORMAT", value_parser = readable_format)]
    format: Option<String>,
    /// Allow what `load` allows without --strict
    #[arg(long)]
    lenient: bool,
    #[command(flatten)]
    large: LargeFiles,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Exit code 0: all rules kept; 1: a rule is broken; 2: a file can't be read.
pub fn check(matches: &ArgMatches, options: &RunOptions) -> Result<ExitCode> {
    let check = CheckArgs::from_arg_matches(matches)?;
    let json = check.json || options.json;
    let progress = match json || options.quiet {
        true => Progress::default(),
        false => Progress::new(),
    };
    let mut code = 0;
    let mut files = Vec::new();
    for file in &check.files {
        match check.file(file, &progress) {
            Ok(checked) => {
                code = code.max(u8::from(checked.broken > 0));
                files.push(checked);
            }
            Err(error) => {
                progress.aside(|| complain(&error));
                code = 2;
            }
        }
    }
    let report = report::Check { files };
    progress.finish();
    print(&match json {
        true => format!("{:#}\n", report.json()),
        false => report.shown(on_output()),
    })?;
    Ok(ExitCode::from(code))
}

impl CheckArgs {
    fn file(&self, file: &Path, progress: &Progress) -> Result<CheckedFile> {
        let Loaded {
            format,
            mut image,
            findings,
        } = self.read(file, Clash::Refuse, progress)?;
        let is_clash = |p: &Problem| matches!(p, Problem::Overlap(_));
        let clashes = findings
            .list()
            .iter()
            .any(|f| f.severity == Severity::Error && is_clash(&f.problem));
        if clashes {
            // Where records clash no image is made; what the file covers is known all the same.
            image = self.read(file, Clash::First, progress)?.image;
        }
        let name = file.display().to_string();
        Ok(CheckedFile::new(name, format, &findings, &image))
    }

    fn read(&self, file: &Path, clash: Clash, progress: &Progress) -> Result<Loaded> {
        let name = file.display().to_string();
        let opened = File::open(file)
            .and_then(|file| Reader::new(file, &name, progress, self.large.limit()))
            .map_err(|e| anyhow!("{name}: {}", plain(&e)))?;
        let mut input = Input::in_two(name.as_str(), opened);
        let format = chosen_format(&mut input, self.format.as_deref())
            .map_err(|e| stopped(unreadable(e, file)))?;
        let how = ReadOptions {
            strictness: match self.lenient {
                true => Strictness::Usual,
                false => Strictness::Strict,
            },
            clash,
            ..ReadOptions::default()
        };
        formats::read_as(format, &mut input, &how).map_err(|e| stopped(unreadable(e, file)))
    }
}
