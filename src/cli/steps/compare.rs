//! `compare`: how a piece differs from a file.

use std::path::PathBuf;

use clap::Args;

use super::Step;
use super::common::{Json, On};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::cli::report;
use crate::faults::Width;
use crate::image::AddressRange;
use crate::{ops, values};

/// Compare each piece with a file, byte by byte
#[derive(Args, Debug)]
pub struct CompareArgs {
    /// The file it should be the same as
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Address of a raw file's first byte; else the piece's own first address
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    /// Compare only where both have bytes
    #[arg(long)]
    ignore_holes: bool,
    /// Ranges to list at most
    #[arg(long, value_name = "N", default_value = "16", value_parser = values::number)]
    limit: u64,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for CompareArgs {
    const NAME: &'static str = "compare";
    const ABOUT: &'static str = "compare each piece with a file, byte by byte";
    const HELP: &'static str = "\
Counts bytes and bits, says in which direction bits differ, from the file to the piece, and on which data lines. A \
byte against a hole is a difference too, unless --ignore-holes is given. Exit code 1 when anything differs, or when \
there is nothing to compare; the run goes on. `show changes` prints the bytes themselves, `diagnose` says what may explain them.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + patch 0x7FE0 text:HERON-9 + compare chip.bin
? 1
chip against chip.bin: 32,768 bytes compared, 1 byte with 1 bit different
  from chip.bin to chip: 1 bit 0 to 1
  D0   1 bit 0 to 1
  7FE6-7FE6
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let limit = usize::try_from(self.limit).unwrap_or(usize::MAX);
        let holes = match self.ignore_holes {
            true => ops::Holes::Ignored,
            false => ops::Holes::Differ,
        };
        for i in bench.chosen(&self.on.labels)? {
            let own = bench.pieces[i]
                .image()
                .extent()
                .map_or(0, AddressRange::first);
            let file = super::load::read_other(bench, &self.file, self.at.unwrap_or(own))
                .blame(argument!(self.file))?;
            let piece = &bench.pieces[i];
            let width = match piece.part() {
                Some(part) if part.width == 16 => Width::Sixteen,
                _ => Width::Eight,
            };
            let found = ops::compare(&file, piece.image(), width);
            let name = self.file.display().to_string();
            let report = report::CompareReport::new(&piece.label, &name, &found, holes, limit);
            if !report.same {
                bench.say_no();
            }
            bench.console.report(&report, self.json.json);
        }
        Ok(())
    }
}
