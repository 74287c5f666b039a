//! `sheet`: the page for the place beside the programmer.

use std::path::Path;

use clap::Args;

use super::Step;
use super::common::{On, date, sums_of, usual_sums};
use super::pages::{page_name, page_of_each, put_page};
use super::placeholders::NameOfEach;
use crate::cli::bench::{Argument, Bench, Blame, Piece, Stop, argument};
use crate::cli::report::{BurnSheet, HeldFile, SheetChip, plural};
use crate::parts::Catalogue;

/// Write the burn sheet: which file goes into which chip, and which sum the programmer must show
#[derive(Args, Debug)]
pub struct SheetArgs {
    /// File name: .html for the page, .svg for its memory map alone
    #[arg(value_name = "FILE", help = FILE_HELP)]
    file: String,
    /// Heading of the sheet [default: the file's name]
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// Date on the sheet and its labels [default: the day of SOURCE_DATE_EPOCH, never today]
    #[arg(long, value_name = "TEXT")]
    date: Option<String>,
    #[command(flatten)]
    on: On,
}

/// The parser reads a plain `{n}` in help as a line break; a colour reset inside hides it, and is invisible when printed.
const FILE_HELP: &str = "File name: .html for the page, .svg for its memory map alone; with {name}, {part}, \
                         {\u{1b}[0mn}, {sum16} or {crc32} in it each piece gets a sheet of its own";

impl Step for SheetArgs {
    const NAME: &'static str = "sheet";
    const ABOUT: &'static str = "write the burn sheet: which file goes into which chip, and which sum the programmer must show";
    const SENTENCE: &'static str = "Writes the page for the bench: which file goes into which chip, and which sum the programmer must show.";
    const HELP: &'static str = "\
The sheet is one page that needs no other files, for the screen and for A4 and Letter paper, in the order of the work: the \
lines that decide a burn; a table with each socket's part, file and sum and with boxes to tick; a card \
for each chip with its pins drawn, how to load its file, its sums, and lines to fill in; the memory map; the usual \
cautions for these parts; labels to cut out. For one chip it is one sheet of paper. It names the files that the run has \
written before it, so put it after `write`. It knows parts and CPU addresses of chips that were seated. Its values \
for a part are typical: the maker's data sheet decides, and no voltage to set is printed.";
    const EXAMPLE: &'static str = "\
$ romloom load heron-16/selftest.s19 --entry none + seat 27C256 --at 0 --lanes 2 + write out/{name}.bin + sheet out/heron-16.html
wrote out/even.bin       raw, 32,768 bytes, sum16 9BF6 sum32 007C9BF6 crc32 56139729
wrote out/odd.bin        raw, 32,768 bytes, sum16 15FA sum32 007D15FA crc32 56A7A0F2
wrote out/heron-16.html  sheet of 2 chips
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        self.name_of_each()?;
        date(self.date.as_deref()).map(|_| ())
    }

    fn outputs(&self) -> Vec<(Argument, &str)> {
        let name = page_name(&self.file);
        name.map(|name| (argument!(self.file), name))
            .into_iter()
            .collect()
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        bench.warn_of_stale_stamps();
        let name = self.name_of_each()?;
        let chosen = bench.chosen(&self.on.only)?;
        // Each piece with its number, on one sheet or on one each.
        let numbered: Vec<(usize, usize)> = chosen.into_iter().enumerate().collect();
        let sheets: Vec<Vec<(usize, usize)>> = match name.is_of_each() {
            true => numbered.into_iter().map(|one| vec![one]).collect(),
            false => vec![numbered],
        };
        for on_it in sheets {
            let (n, first) = on_it[0];
            let file = name
                .of(&bench.pieces[first], n)
                .blame(argument!(self.file))?;
            let pieces: Vec<&Piece> = on_it.iter().map(|(_, i)| &bench.pieces[*i]).collect();
            let page = BurnSheet {
                title: self.title(&file),
                date: date(self.date.as_deref())?,
                chips: chips(bench, &pieces)?,
            };
            let (text, what) = match is_map(&file) {
                false => (page.html(), "sheet"),
                true => (page.svg(), "map"),
            };
            let format = format!("{what} of {}", plural(pieces.len() as u64, "chip"));
            put_page(bench, &file, &text, format).blame(argument!(self.file))?;
        }
        Ok(())
    }
}

impl SheetArgs {
    fn name_of_each(&self) -> Result<NameOfEach, Stop> {
        let what = "a sheet or a map";
        page_of_each(&self.file, &["html", "htm", "svg"], what).blame(argument!(self.file))
    }

    fn title(&self, file: &str) -> String {
        let stem = Path::new(file).file_stem().unwrap_or_default();
        self.title
            .clone()
            .unwrap_or_else(|| stem.to_string_lossy().into_owned())
    }
}

/// Whether only the memory map is asked for.
fn is_map(file: &str) -> bool {
    let extension = Path::new(file).extension().unwrap_or_default();
    extension.eq_ignore_ascii_case("svg")
}

fn chips<'b>(bench: &Bench, pieces: &[&'b Piece]) -> Result<Vec<SheetChip<'b>>, Stop> {
    let chip = |piece: &&'b Piece| {
        Ok(SheetChip {
            name: &piece.name,
            image: piece.image(),
            part: piece.part(),
            seat: piece.seat(),
            rearranged_by: piece.rearranged_by(),
            files: files_of(bench, piece)?,
            sums: sums_of(piece, &usual_sums(piece)).map_err(|(_, e)| e)?,
        })
    };
    pieces.iter().map(chip).collect()
}

/// Files of this run that contain the piece as it is now, by the names that the steps gave.
fn files_of(bench: &Bench, piece: &Piece) -> Result<Vec<HeldFile>, Stop> {
    let now = super::write::held_piece(piece)?;
    let same = bench.made.iter().filter(|o| o.holds.as_ref() == Some(&now));
    let named = same.map(|output| HeldFile {
        name: bench
            .as_given(Path::new(&output.file))
            .display()
            .to_string(),
        format: output.format.clone(),
    });
    Ok(named.collect())
}
