//! The plain command `check`: reads files by the book, reports, changes nothing.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, anyhow};
use clap::{ArgMatches, Args, FromArgMatches};

use super::run_options::RunOptions;
use super::say::{complain, print};
use crate::cli::bench::{Progress, Reader, plain};
use crate::cli::report::{self, CheckedFile, Report, Style};
use crate::cli::steps::common::readable_format;
use crate::formats::{
    self, Findings, Format, Head, Input, Problem, ReadOptions, Severity, Strictness,
};
use crate::image::{Clash, Image};

/// Read files by the book and report what they hold and which rules they break; nothing is changed
#[derive(Args)]
pub struct Check {
    /// Files to read
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Read as this format, whatever content and name say (see `romloom formats`)
    #[arg(long = "as", value_name = "FORMAT", value_parser = readable_format)]
    format: Option<String>,
    /// Allow what `load` allows without --strict
    #[arg(long)]
    usual: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Exit code 0: all rules kept; 1: a rule is broken; 2: a file can't be read.
pub fn check(matches: &ArgMatches, options: &RunOptions) -> Result<ExitCode> {
    let check = Check::from_arg_matches(matches)?;
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
        false => report.text(Style::COLOUR),
    })?;
    Ok(ExitCode::from(code))
}

impl Check {
    fn file(&self, file: &Path, progress: &Progress) -> Result<CheckedFile> {
        let (format, mut image, findings) = self.read(file, Clash::Refuse, progress)?;
        let is_clash = |p: &Problem| matches!(p, Problem::Overlap(_));
        let clashes = findings
            .list()
            .iter()
            .any(|f| f.severity == Severity::Error && is_clash(&f.problem));
        if clashes {
            // Where records clash no image is made; what the file covers is known all the same.
            image = self.read(file, Clash::First, progress)?.1;
        }
        let name = file.display().to_string();
        Ok(CheckedFile::new(name, format, &findings, &image))
    }

    fn read(
        &self,
        file: &Path,
        clash: Clash,
        progress: &Progress,
    ) -> Result<(&'static dyn Format, Image, Findings)> {
        let name = file.display().to_string();
        let trouble = |e: std::io::Error| anyhow!("{name}: {}", plain(&e));
        let opened = File::open(file)
            .and_then(|file| Reader::new(file, &name, progress))
            .map_err(trouble)?;
        let mut input = Input::new(name.as_str(), opened);
        let (bytes, whole) = input.head().map_err(trouble)?;
        let format = match &self.format {
            Some(format) => formats::by_name(format).ok_or_else(|| anyhow!("unknown format"))?,
            None => {
                let extension = file.extension().and_then(|e| e.to_str());
                formats::recognise(&Head { bytes, whole }, extension)
                    .map_err(|e| anyhow!("{name}: {e}"))?
            }
        };
        let how = ReadOptions {
            strictness: match self.usual {
                true => Strictness::Usual,
                false => Strictness::Strict,
            },
            clash,
            ..ReadOptions::default()
        };
        let mut findings = Findings::new(name.as_str().into(), how.strictness);
        let image = format
            .read(&mut input, &how, &mut findings)
            .map_err(trouble)?;
        Ok((format, image, findings))
    }
}
