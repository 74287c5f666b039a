//! `compare`: how pieces differ from files.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Step;
use super::common::{Json, LargeFiles, On, noun_of, raw_base, row_limit};
use super::references::{FILE_OF_EACH, References, check_reference};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::cli::report::{CompareReport, Compared};
use crate::faults::Width;
use crate::parts::Catalogue;
use crate::{ops, values};

/// Compare each piece with a file, byte by byte
#[derive(Args, Debug)]
pub struct CompareArgs {
    /// The file it should be the same as; with [`FILE_OF_EACH`] each piece has its own
    #[arg(value_name = "FILE", help = format!("The file it should be the same as; {FILE_OF_EACH}"))]
    file: PathBuf,
    /// Address of a raw file's first byte [default: 0 for a chip in a socket, otherwise the piece's first address]
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    /// Compare only where both have bytes
    #[arg(long)]
    ignore_holes: bool,
    /// The most ranges to list of each kind [default: 16; all with --json]
    #[arg(long, value_name = "N", value_parser = values::number)]
    limit: Option<u64>,
    #[command(flatten)]
    large: LargeFiles,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for CompareArgs {
    const NAME: &'static str = "compare";
    const ABOUT: &'static str = "compare each piece with a file, byte by byte";
    const SENTENCE: &'static str = "Compares each piece with a file, byte by byte.";
    const HELP: &'static str = "\
Counts bytes and bits, and says in which direction bits differ, from the file to the piece, and on which data lines. A \
byte where the other side has a hole is a difference too, unless --ignore-holes is given. `show changes` prints the bytes \
themselves, and `diagnose` says what may explain them.

`compare 'read-{name}.bin'` compares each piece with the file that is named after it, chips in their sockets too; \
{part} and {n} are replaced like in `write`. A piece without a file is reported, unless it is erased, and so is a file of \
such a name that belongs to no piece: a chip that was forgotten. With --on only these pieces are compared. Exit code 1 when \
anything differs, is missing or is left over, or when there is nothing to compare; the run goes on.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + patch 0x7FE0 text:HERON-9 + compare chip.bin
? 1
chip against chip.bin: 32,768 bytes compared, 1 byte with 1 bit different
  from chip.bin to chip: 1 bit 0 to 1
  D0   1 bit 0 to 1
  7FE6
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        check_reference(&self.file).blame(argument!(self.file))
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let references = References::of(bench, &self.file, &self.on);
        let References { found, unpaired } = references.blame(argument!(self.file))?;
        let noun = noun_of(bench, &bench.chosen(&self.on.only)?);
        let mut pieces = Vec::new();
        let compared = found.iter().try_for_each(|(i, file)| {
            pieces.push(self.compared(bench, *i, file)?);
            Ok(())
        });
        let mut report = CompareReport::new(pieces, unpaired, noun);
        if compared.is_err() {
            report = report.cut_short();
        } else if !report.same {
            bench.say_no();
        }
        bench.console.report(&report, self.json.json);
        compared
    }
}

impl CompareArgs {
    fn compared(&self, bench: &mut Bench, piece: usize, file: &Path) -> Result<Compared, Stop> {
        let at = self.at.unwrap_or(raw_base(&bench.pieces[piece]));
        let image = super::load::read_other(bench, file, at, self.large.limit())
            .blame(argument!(self.file))?;
        let limit = row_limit(self.limit, 16, bench, self.json);
        let limit = usize::try_from(limit).unwrap_or(usize::MAX);
        let holes = match self.ignore_holes {
            true => ops::Holes::Ignored,
            false => ops::Holes::Differ,
        };
        let piece = &bench.pieces[piece];
        let width = match piece.part() {
            Some(part) if part.width == 16 => Width::Sixteen,
            _ => Width::Eight,
        };
        let found = ops::compare(&image, piece.image(), width);
        let name = file.display().to_string();
        Ok(Compared::new(&piece.name, &name, &found, holes, limit))
    }
}
