//! `show`: the map of an image, its bytes, or what changed.

use std::borrow::Cow;
use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::Step;
use super::common::{Json, LargeFiles, On, raw_base, row_limit};
use super::references::{FILE_OF_EACH, References, check_reference};
use crate::cli::bench::{Bench, Blame, MessageKind, PieceInBank, Stop, argument};
use crate::cli::report::{self, Unpaired};
use crate::image::{AddressRange, Image};
use crate::ops::OpError;
use crate::parts::Catalogue;
use crate::prose::shown;
use crate::values;
use crate::values::{InSpace, Place};

/// Show the map of each piece, its bytes, or what changed since a file
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
        /// FIRST-LAST or START+LENGTH [default: everything]
        #[arg(value_name = "RANGE", value_parser = values::addresses)]
        range: Option<InSpace<AddressRange>>,
        #[command(flatten)]
        json: Json,
        #[command(flatten)]
        on: On,
    },
    /// Where the bytes differ from a file's, as rows of was and now
    Changes {
        /// The file that shows how it was; with [`FILE_OF_EACH`] each piece has its own
        #[arg(value_name = "FILE", help = format!("The file that shows how it was; {FILE_OF_EACH}"))]
        file: PathBuf,
        /// Address of a raw file's first byte [default: 0 for a chip in a socket, otherwise the piece's first address]
        #[arg(long, value_name = "ADDR", value_parser = values::number)]
        at: Option<u64>,
        /// The most rows to print [default: 64; all with --json]
        #[arg(long, value_name = "N", value_parser = values::number)]
        limit: Option<u64>,
        #[command(flatten)]
        large: LargeFiles,
        #[command(flatten)]
        json: Json,
        #[command(flatten)]
        on: On,
    },
}

impl Step for ShowArgs {
    const NAME: &'static str = "show";
    const ABOUT: &'static str = "show the map of each piece, its bytes, or what changed";
    const SENTENCE: &'static str = "Shows a map of each piece, its bytes, or what changed in it.";
    const HELP: &'static str = "\
The map has one letter per origin; a cell shows the origin with the fewest bytes, so that nothing small hides behind \
something large. A seated chip is shown whole, with the CPU's addresses; if they don't simply follow the chip's, both \
are at every group of cells. In rows of bytes `__` is a hole.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex basic.s19 + show + show hex 0x8580-0x85AF
monitor   8000-FFFF   one cell = 1K
8000 bb______  A000 ________  C000 ________  E000 mm_____m  FFFF
b basic.s19   m monitor.hex   _ hollow
data 2,735, filler 0, hollow 30,033, entry point 8000
monitor
8580 > 45 20 00 __ . __ __ __ __ . __ __ __ __ . __ __ __ __ < 858F  basic.s19 line 46
8590 > hollow, 32 bytes < 85AF
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        match &self.what {
            Some(Showing::Changes { file, .. }) => check_reference(file).blame(argument!(file)),
            _ => Ok(()),
        }
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        match &self.what {
            None => {
                let maps = bench.chosen(&self.on.only)?.into_iter().map(|i| {
                    let piece = &bench.pieces[i];
                    report::MapReport::new(
                        &piece.name,
                        piece.image(),
                        piece.seat(),
                        piece.rearranged_by(),
                    )
                });
                let maps = maps.collect();
                bench.console.report_each(maps, self.json.json);
                Ok(())
            }
            Some(Showing::Hex { range, json, on }) => {
                let place = range.as_ref().map_or(Place::Own, |r| r.place.clone());
                let wanted = range.as_ref().map(|r| r.value);
                let mut dumps = Vec::new();
                let mut add = |name: &str, image| {
                    let image: Cow<Image> = image;
                    let whole = wanted.or(image.extent());
                    let range = whole.ok_or(OpError::Empty)?;
                    dumps.push(report::DumpReport::new(name, image, range));
                    Ok(())
                };
                let shown = match place {
                    Place::Own => bench.chosen(&on.only).and_then(|chosen| {
                        let several = bench.pieces.len() > 1;
                        chosen.into_iter().try_for_each(|i| {
                            let piece = &bench.pieces[i];
                            add(&piece.name, Cow::Borrowed(piece.image())).map_err(|stop: Stop| {
                                match several {
                                    true => stop.about(&piece.name),
                                    false => stop,
                                }
                            })
                        })
                    }),
                    _ => bench.view(
                        &place,
                        wanted.as_ref().map(std::slice::from_ref),
                        &on.only,
                        |image, shown, _| add(&in_bank(shown), Cow::Owned(image.clone())),
                    ),
                };
                bench.console.report_each(dumps, json.json);
                shown.blame(argument!(range))
            }
            Some(Showing::Changes {
                file,
                at,
                limit,
                large,
                json,
                on,
            }) => {
                let references = References::of(bench, file, on).blame(argument!(file))?;
                let limit = row_limit(*limit, 64, bench, *json);
                let mut all = Vec::new();
                let read = references.found.iter().try_for_each(|(i, file)| {
                    let at = at.unwrap_or(raw_base(&bench.pieces[*i]));
                    let old = super::load::read_other(bench, file, at, large.limit())?;
                    let piece = &bench.pieces[*i];
                    let name = file.display().to_string();
                    let now = piece.image();
                    let changes = report::ChangesReport::new(&piece.name, &name, &old, now, limit);
                    all.push(changes);
                    Ok(())
                });
                bench.console.report_each(all, json.json);
                read.and_then(|()| are_paired(bench, &references.unpaired))
                    .blame(argument!(file))
            }
        }
    }
}

/// Whether every piece has its file; a file without a piece is worth a note.
fn are_paired(bench: &Bench, unpaired: &Unpaired) -> Result<(), Stop> {
    for file in &unpaired.surplus {
        let text = format!("{}: no piece on the bench belongs to it", shown(file));
        bench.console.say(MessageKind::Note, &text);
    }
    let missing = unpaired.missing.iter();
    let missing: Vec<String> = missing.map(|m| shown(&m.file)).collect();
    match missing[..] {
        [] => Ok(()),
        _ => Err(Stop::trouble(format!(
            "there is no {}: the others are shown",
            missing.join(", no ")
        ))),
    }
}

/// The pieces' names, and the bank if one is looked at.
fn in_bank(shown: &PieceInBank) -> String {
    match shown.bank {
        Some(bank) => format!("{} bank {bank}", shown.name),
        None => shown.name.to_owned(),
    }
}
