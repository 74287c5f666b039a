//! `recognise`: which of these reads is which chip of a set.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, anyhow, bail};
use clap::{ArgMatches, Args, FromArgMatches};

use super::grammar::Grammar;
use super::run_options::RunOptions;
use super::say::stopped;
use super::tables::catalogue;
use crate::cli::bench::{Bench, Console, MessageKind, Staging, WritePolicy};
use crate::cli::report::{self, plural};
use crate::formats;
use crate::identify::{self, KnownBy, KnownChip};
use crate::image::Image;
use crate::sums;

/// Tell which of these reads is which chip of a known set.
///
/// A read is looked for whole, as a half, quarter, bank or lane, inverted, with the bytes of each
/// word exchanged, and repeated. A list of sums has lines as sha256sum, sha1sum and md5sum print
/// them, or 8 digits of CRC-32 and a name; images also tell what an unknown read is nearest to.
/// Exit code 1 when a read stays unknown.
#[derive(Args)]
pub struct RecogniseArgs {
    /// The reads
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// What is known: lists of sums, or images
    #[arg(long, required = true, num_args = 1.., value_name = "LIST|IMAGE")]
    among: Vec<PathBuf>,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
///
/// # Errors
/// A file that can't be read, or a list that can't be used.
pub fn recognise(_: &mut Grammar, matches: &ArgMatches, options: RunOptions) -> Result<ExitCode> {
    let asked = RecogniseArgs::from_arg_matches(matches)?;
    let json = asked.json || options.json;
    let console = Console::new(crate::cli::bench::OutputMode {
        json: false,
        progress: !json && !options.quiet,
        ..options.mode(false)
    });
    let parts = catalogue(options.parts.as_deref())?;
    let staging = Staging::new(WritePolicy::default());
    let mut bench = Bench::new(PathBuf::new(), parts, console, staging);
    let mut known = Vec::new();
    for file in &asked.among {
        known.extend(chips_of(&mut bench, file)?);
    }
    let mut reads = Vec::new();
    for file in &asked.files {
        reads.push(bytes_of(&mut bench, file)?);
    }
    let slices: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
    let answers = identify::recognise(&slices, &known);
    let names: Vec<String> = asked
        .files
        .iter()
        .map(|f| f.display().to_string())
        .collect();
    let report = report::RecogniseReport::new(&names, &known, &answers);
    bench.console.progress().finish();
    bench.console.report(&report, json);
    if let Some(lost) = bench.console.lost() {
        bail!(lost);
    }
    Ok(ExitCode::from(u8::from(!report.all_known())))
}

/// The chips of a list of sums, or the one of an image.
fn chips_of(bench: &mut Bench, file: &Path) -> Result<Vec<KnownChip>> {
    let name = file.display().to_string();
    if may_be_a_list(file) {
        if let Ok(text) = bench.read_text(file) {
            if let Some(listed) = sums::read_list(&text).map_err(|e| anyhow!("{name}: {e}"))? {
                return Ok(listed.into_iter().map(KnownChip::from).collect());
            }
        }
    }
    if file == Path::new("-") {
        bail!("standard input holds no list of sums: write an image to a file first");
    }
    let by = KnownBy::Image(bytes_of(bench, file)?);
    Ok(vec![KnownChip { name, by }])
}

/// A word file of 8 digits a word looks like a list: what its name says goes first.
fn may_be_a_list(file: &Path) -> bool {
    let extension = file.extension().and_then(|e| e.to_str());
    let format = extension.and_then(formats::by_extension);
    format.is_none_or(|format| format.name() == "ti-txt")
}

/// All bytes of a file; holes between them count as erased, and a note says so.
fn bytes_of(bench: &mut Bench, file: &Path) -> Result<Vec<u8>> {
    let name = file.display().to_string();
    let image: Image = crate::cli::steps::read_file(bench, file).map_err(stopped)?;
    let extent = image
        .extent()
        .ok_or_else(|| anyhow!("{name}: there is no byte in it"))?;
    let most = crate::faults::Case::LARGEST as u64;
    if extent.len() > most {
        bail!(
            "{name} reaches over {} bytes; a chip has at most {most}",
            extent.len()
        );
    }
    let holes = extent.len() - image.len();
    if holes > 0 {
        let text = format!("{name}: {} count as FF", plural(holes, "hole"));
        bench.console.say(MessageKind::Note, &text);
    }
    // At most `most`, so it fits.
    let mut bytes = vec![0xFF; extent.len() as usize];
    for span in image.spans() {
        let at = (span.start() - extent.first()) as usize;
        bytes[at..at + span.bytes().len()].copy_from_slice(span.bytes());
    }
    Ok(bytes)
}
