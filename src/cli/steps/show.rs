//! `show`: the map of an image, its bytes, or what changed.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::Step;
use super::common::{Json, On};
use crate::cli::bench::{Bench, Blame, PieceInBank, Stop, argument};
use crate::cli::report;
use crate::image::AddressRange;
use crate::values;
use crate::values::{InSpace, Place};

/// Show the map of each piece, its bytes, or what changed against a file
#[derive(Args, Debug)]
#[command(args_conflicts_with_subcommands = true)]
pub struct ShowArgs {
    #[command(subcommand)]
    what: Option<Showing>,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

#[derive(Subcommand, Debug)]
enum Showing {
    /// The bytes, in rows of sixteen
    Hex {
        /// FIRST-LAST or START+LENGTH; else everything
        #[arg(value_name = "RANGE", value_parser = values::addresses)]
        range: Option<InSpace<AddressRange>>,
        #[command(flatten)]
        json: Json,
        #[command(flatten)]
        on: On,
    },
    /// Where the bytes differ from a file's, as rows of was and now
    Changes {
        /// The file that shows how it was
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// Address of a raw file's first byte; else the piece's own first address
        #[arg(long, value_name = "ADDR", value_parser = values::number)]
        at: Option<u64>,
        /// Rows to print at most
        #[arg(long, value_name = "N", default_value = "64", value_parser = values::number)]
        limit: u64,
        #[command(flatten)]
        json: Json,
        #[command(flatten)]
        on: On,
    },
}

impl Step for ShowArgs {
    const NAME: &'static str = "show";
    const ABOUT: &'static str = "show the map of each piece, its bytes, or what changed";
    const HELP: &'static str = "\
The map has one letter per origin; a cell shows the origin with the fewest bytes, so that nothing small hides behind \
something large. A seated chip is shown whole, by the CPU's addresses; where they don't simply follow the chip's, both \
stand at every group of cells. In rows of bytes `__` is a hole.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex basic.s19 + show + show hex 0x8568-0x858F
monitor   8000-FFFF   one cell = 1K
8000 bb______  A000 ________  C000 ________  E000 mm_____m  FFFF
b basic.s19   m monitor.hex   _ hollow
data 2,484, filler 0, hollow 30,284, entry point 8000
monitor
8568 > 49 4E 45 20 . 00 __ __ __ < 856F  basic.s19 line 45
8570 > hollow, 32 bytes < 858F
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        match &self.what {
            None => bench.each(&self.on.labels, |piece, console| {
                console.report(
                    &report::MapReport::new(
                        &piece.label,
                        piece.image(),
                        piece.seat(),
                        piece.rearranged_by(),
                    ),
                    self.json.json,
                );
                Ok(())
            }),
            Some(Showing::Hex { range, json, on }) => {
                let place = range.as_ref().map_or(Place::Own, |r| r.place.clone());
                let wanted = range.as_ref().map(|r| r.value);
                let shown = bench.view(
                    &place,
                    wanted.as_ref().map(std::slice::from_ref),
                    &on.labels,
                    |image, shown, console| {
                        let whole = wanted.or(image.extent());
                        let range = whole.ok_or(crate::ops::OpError::Empty)?;
                        console.report(
                            &report::DumpReport::new(&in_bank(shown), image, range),
                            json.json,
                        );
                        Ok(())
                    },
                );
                shown.blame(argument!(range))
            }
            Some(Showing::Changes {
                file,
                at,
                limit,
                json,
                on,
            }) => {
                let chosen = bench.chosen(&on.labels)?;
                for i in chosen {
                    let own = bench.pieces[i]
                        .image()
                        .extent()
                        .map_or(0, AddressRange::first);
                    let old = super::load::read_other(bench, file, at.unwrap_or(own))
                        .blame(argument!(file))?;
                    let piece = &bench.pieces[i];
                    let name = file.display().to_string();
                    let changes = report::ChangesReport::new(
                        &piece.label,
                        &name,
                        &old,
                        piece.image(),
                        *limit,
                    );
                    bench.console.report(&changes, json.json);
                }
                Ok(())
            }
        }
    }
}

/// The pieces' names, and the bank where one is looked at.
fn in_bank(shown: &PieceInBank) -> String {
    match shown.bank {
        Some(bank) => format!("{} bank {bank}", shown.label),
        None => shown.label.to_owned(),
    }
}
