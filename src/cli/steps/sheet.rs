//! `sheet`: the page that lies beside the programmer.

use std::io;
use std::path::Path;

use clap::Args;

use super::Step;
use super::common::{On, date, sums_of, usual_sums};
use crate::cli::bench::{Argument, Bench, Blame, Piece, StagingError, Stop, argument};
use crate::cli::report::{BurnSheet, Output, SheetChip};
use crate::parts::Catalogue;

/// Write the burn sheet: which file goes into which chip, and which sum the programmer must show
#[derive(Args, Debug)]
pub struct SheetArgs {
    /// File name: .html for the page, .svg for its memory map alone
    #[arg(value_name = "FILE")]
    file: String,
    /// Heading of the sheet; else the file's name
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// Date on the sheet and its labels; else the day of SOURCE_DATE_EPOCH, never today's
    #[arg(long, value_name = "TEXT")]
    date: Option<String>,
    #[command(flatten)]
    on: On,
}

#[derive(Clone, Copy)]
enum SheetForm {
    Page,
    Map,
}

impl Step for SheetArgs {
    const NAME: &'static str = "sheet";
    const ABOUT: &'static str = "write the burn sheet: which file goes into which chip, and which sum the programmer must show";
    const HELP: &'static str = "\
The sheet is one page with nothing outside it, for the screen and for A4 and Letter paper: a picture of the memory \
map, a card for each chip with its part, file and sums, labels to cut out, and the usual cautions. It names the files \
that the run has written before it, so it stands behind `write`, and knows parts and CPU addresses of chips that were \
seated. What it says of a part are typical values: the maker's data sheet decides.";
    const EXAMPLE: &'static str = "\
$ romloom load samples/heron-16/selftest.s19 --entry none + seat 27C256 --at 0 --lanes 2 + write out/{name}.bin + sheet out/heron-16.html
wrote out/even.bin       raw, 32,768 bytes, sum16 AECF sum32 007CAECF crc32 CCF82BFE
wrote out/odd.bin        raw, 32,768 bytes, sum16 2C63 sum32 007D2C63 crc32 F61ADFFA
wrote out/heron-16.html  sheet of 2 chips
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        self.form()?;
        date(self.date.as_deref()).map(|_| ())
    }

    fn output(&self) -> Option<(Argument, &str)> {
        Some((argument!(self.file), &self.file))
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        bench.warn_of_stale_stamps();
        let form = self.form()?;
        let chosen = bench.chosen(&self.on.labels)?;
        let mut chips = Vec::new();
        for i in &chosen {
            let piece = &bench.pieces[*i];
            chips.push(SheetChip {
                label: &piece.label,
                image: piece.image(),
                part: piece.part(),
                seat: piece.seat(),
                rearranged_by: piece.rearranged_by(),
                files: files_of(bench, piece)?,
                sums: sums_of(piece, &usual_sums(piece)).map_err(|(_, e)| e)?,
            });
        }
        let page = BurnSheet {
            title: self.title(),
            date: date(self.date.as_deref())?,
            chips,
        };
        let (text, format) = match form {
            SheetForm::Page => (page.html(), "sheet"),
            SheetForm::Map => (page.svg(), "map"),
        };
        let noun = if chosen.len() == 1 { "chip" } else { "chips" };
        let path = bench.path(Path::new(&self.file));
        let name = path.display().to_string();
        let state = bench.staging.stage::<SheetFailure>(
            &name,
            &path,
            |out| Ok(out.write_all(text.as_bytes())?),
            |_| Ok(()),
        );
        let state = state.blame(argument!(self.file))?;
        bench.made.push(Output {
            file: name,
            state,
            format: format!("{format} of {} {noun}", chosen.len()),
            holds: None,
        });
        Ok(())
    }
}

impl SheetArgs {
    fn form(&self) -> Result<SheetForm, Stop> {
        if self.file.contains(['{', '}']) {
            return Err(Stop::trouble(format!(
                "{} has braces, and one sheet is for all chips",
                self.file
            ))
            .advise("give it a name of its own, such as chips.html; --on makes it the sheet of one chip")
            .at(argument!(self.file)));
        }
        let extension = Path::new(&self.file).extension().unwrap_or_default();
        match extension.to_ascii_lowercase().to_str() {
            Some("html" | "htm") => Ok(SheetForm::Page),
            Some("svg") => Ok(SheetForm::Map),
            _ => Err(
                Stop::trouble(format!("{} is neither page nor picture", self.file))
                    .advise("end the name with .html for the sheet, or with .svg for its map alone")
                    .at(argument!(self.file)),
            ),
        }
    }

    fn title(&self) -> String {
        let stem = Path::new(&self.file).file_stem().unwrap_or_default();
        self.title
            .clone()
            .unwrap_or_else(|| stem.to_string_lossy().into_owned())
    }
}

/// Files of this run that hold the piece as it is now, as the steps named them.
fn files_of(bench: &Bench, piece: &Piece) -> Result<Vec<(String, String)>, Stop> {
    let now = super::write::held_piece(piece)?;
    let same = bench.made.iter().filter(|o| o.holds.as_ref() == Some(&now));
    let named = same.map(|output| {
        let path = Path::new(&output.file);
        (
            bench.as_given(path).display().to_string(),
            output.format.clone(),
        )
    });
    Ok(named.collect())
}

#[derive(Debug, thiserror::Error)]
enum SheetFailure {
    #[error(transparent)]
    Staging(#[from] StagingError),
    #[error(transparent)]
    Io(#[from] io::Error),
}
