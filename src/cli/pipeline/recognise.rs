//! `recognise`: which of these reads is which chip of a known set.

use std::collections::{BTreeSet, HashSet};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, bail};
use clap::{ArgMatches, Args, FromArgMatches};

use super::content::{ChipBytes, FileContent, chip_bytes, content_of, files_of};
use super::grammar::Grammar;
use super::run_options::RunOptions;
use super::say::stopped;
use super::tables::catalogue;
use crate::cli::bench::{Bench, Console, MessageKind, Staging, Stop, WritePolicy};
use crate::cli::report::{self, KnownSet, plural};
use crate::identify::Recogniser;

/// Tell which of these reads is which chip of a known set.
///
/// A read is looked for whole, as a half, bank, lane or any other stretch, inverted, with the bytes of its words swapped,
/// repeated, padded, cut short, or with a header before it; and among images also as read through a bad line, or as another
/// version. A read that is none of them is told what it is nearest to. A list of sums has lines as sha256sum, sha1sum and
/// md5sum print them, or 8 digits of CRC-32 and a name. A folder means all files in it. Files whose content and name tell no
/// format are raw. Exit code 1 unless every read is a known
/// chip byte for byte, in some form.
#[derive(Args)]
pub struct RecogniseArgs {
    /// The reads, or folders of them
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// What is known: images, lists of sums, or folders of them
    #[arg(long, required = true, num_args = 1.., value_name = "LIST|IMAGE|FOLDER")]
    among: Vec<PathBuf>,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

/// The reads, and where each is from.
struct ReadFiles {
    files: Vec<PathBuf>,
    bytes: Vec<Vec<u8>>,
    /// The same files by the names that the system has for them.
    real: HashSet<PathBuf>,
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
    let mut known = KnownSet::default();
    let mut raw = RawByDefault::default();
    let reads = reads(&mut bench, &asked.files, &mut known, &mut raw)?;
    let slices: Vec<&[u8]> = reads.bytes.iter().map(Vec::as_slice).collect();
    let mut recogniser = Recogniser::new(&slices);
    let mut paths = Paths::default();
    for given in &asked.among {
        let files = files_of(given, &mut known.left_out).map_err(stopped)?;
        for file in &files.paths {
            let of_folder = files.of_folder;
            let real = || file.canonicalize().unwrap_or_default();
            if of_folder && reads.real.contains(&real()) {
                known.leave_out(file, "one of the reads");
                continue;
            }
            match content_of(&mut bench, file, of_folder) {
                Ok(content) => {
                    if let FileContent::Bytes(found) = &content {
                        raw.add(file, found.by_default && !of_folder);
                    }
                    paths.add(file, content, &mut known, &mut recogniser);
                }
                Err(stop) if of_folder => known.leave_out(file, stop.fact()),
                Err(stop) => return Err(stopped(stop)),
            }
        }
    }
    if known.names.is_empty() {
        bail!(
            "there is nothing to compare the reads with: `--among` names no image and no list of sums"
        );
    }
    raw.say(&bench);
    if known.with_holes > 0 {
        let text = format!("holes count as FF in {}", plural(known.with_holes, "file"));
        bench.console.say(MessageKind::Note, &text);
    }
    let answers = recogniser
        .answers(|n| paths.fetch(&mut bench, n))
        .map_err(stopped)?;
    let names: Vec<String> = reads
        .files
        .iter()
        .map(|f| f.display().to_string())
        .collect();
    let read = names
        .iter()
        .zip(&slices)
        .map(|(name, bytes)| (&**name, bytes.len()));
    let report = report::RecogniseReport::new(read, &known, &answers);
    bench.console.progress().finish();
    bench.console.report(&report, json);
    if let Some(lost) = bench.console.lost() {
        bail!(lost);
    }
    Ok(ExitCode::from(u8::from(!report.all_known())))
}

/// Which known chip is in which file.
#[derive(Default)]
struct Paths {
    files: Vec<(usize, PathBuf)>,
}

impl Paths {
    fn add(
        &mut self,
        file: &Path,
        content: FileContent,
        known: &mut KnownSet,
        recogniser: &mut Recogniser,
    ) {
        match content {
            FileContent::Bytes(ChipBytes { bytes, holes, .. }) => {
                let n = recogniser.look_at(&bytes);
                self.files.push((n, file.to_owned()));
                known.names.push(file.display().to_string());
                known.references += 1;
                known.with_holes += u64::from(holes > 0);
            }
            FileContent::List(sums) => {
                known.lists += 1;
                known.sums += sums.len() as u64;
                for sum in sums {
                    recogniser.list(sum.algo, &sum.digits);
                    known.names.push(sum.name);
                }
            }
        }
    }

    /// The content of a known chip once more.
    fn fetch(&self, bench: &mut Bench, n: usize) -> Result<Vec<u8>, Stop> {
        let found = self.files.binary_search_by_key(&n, |(n, _)| *n);
        let Some((_, file)) = found.ok().and_then(|at| self.files.get(at)) else {
            return Ok(Vec::new());
        };
        chip_bytes(bench, file, true).map(|found| found.bytes)
    }
}

/// Files that were read as raw because nothing told a format.
#[derive(Default)]
struct RawByDefault(BTreeSet<String>);

impl RawByDefault {
    fn add(&mut self, file: &Path, by_default: bool) {
        if by_default {
            self.0.insert(file.display().to_string());
        }
    }

    fn say(&self, bench: &Bench) {
        let files = match self.0.len() {
            0 => return,
            1 => self.0.first().cloned().unwrap_or_default(),
            n => plural(n as u64, "file"),
        };
        let text = format!(
            "{files}: the format can't be told from the content or the file name, so it is read as raw binary"
        );
        bench.console.say(MessageKind::Note, &text);
    }
}

fn reads(
    bench: &mut Bench,
    given: &[PathBuf],
    known: &mut KnownSet,
    raw: &mut RawByDefault,
) -> Result<ReadFiles> {
    let mut reads = ReadFiles {
        files: Vec::new(),
        bytes: Vec::new(),
        real: HashSet::new(),
    };
    for given in given {
        let files = files_of(given, &mut known.left_out).map_err(stopped)?;
        for file in files.paths {
            let found = match chip_bytes(bench, &file, files.of_folder) {
                Ok(found) => found,
                Err(stop) if files.of_folder => {
                    known.leave_out(&file, stop.fact());
                    continue;
                }
                Err(stop) => return Err(stopped(stop)),
            };
            raw.add(&file, found.by_default && !files.of_folder);
            if found.holes > 0 {
                let holes = plural(found.holes, "hole");
                let text = format!("{}: {holes} count as FF", file.display());
                bench.console.say(MessageKind::Note, &text);
            }
            reads.real.extend(file.canonicalize());
            reads.files.push(file);
            reads.bytes.push(found.bytes);
        }
    }
    if reads.files.is_empty() {
        let why = known.left_out.first().map_or(String::new(), |first| {
            format!(": {} was left out: {}", first.file, first.why)
        });
        bail!("there is no read{why}");
    }
    Ok(reads)
}
