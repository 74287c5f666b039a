//! `board`: who answers where on a board, and its picture.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use clap::{ArgMatches, Args, FromArgMatches};

use super::picture::write_picture;
use super::run_options::RunOptions;
use super::say::{LaidOut, print};
use super::tables::{catalogue, read_text};
use crate::board::{Board, BoardFileError};
use crate::cli::bench::{on_errors, on_output};
use crate::cli::report::{self, Report, advice};

/// Describe a board: who answers where on each bus, and which bytes of the chips no bus sees
///
/// A board file says which chips are in which sockets and how each bus sees them, in TOML; romloom new
/// --board prints one to start from. Two chips that would answer at one address are an error, as is
/// anything else that a board can't be; the answer says where in the file.
#[derive(Args)]
pub struct BoardArgs {
    /// The board file
    #[arg(value_name = "BOARD")]
    file: PathBuf,
    /// Draw the buses and the chips into this file
    #[arg(long, value_name = "FILE.svg")]
    picture: Option<PathBuf>,
    /// Parts of your own, in TOML, beside the built-in ones and those of the board's file
    #[arg(long = "parts", value_name = "FILE")]
    own: Option<PathBuf>,
    /// Say what would be written, and write nothing
    #[arg(long = "dry-run")]
    trial: bool,
    /// Print the description as JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
///
/// # Errors
/// A file that is not a sound board, with its line; a picture that can't be written.
pub fn board(matches: &ArgMatches, options: RunOptions) -> Result<ExitCode> {
    let asked = BoardArgs::from_arg_matches(matches)?;
    let options = &options.or(RunOptions {
        parts: asked.own,
        dry_run: asked.trial,
        json: asked.json,
        ..RunOptions::default()
    });
    let name = asked.file.display().to_string();
    let mut parts = catalogue(options.parts.as_deref())?;
    let text = read_text(&asked.file)?;
    let board =
        Board::from_toml(&name, &text, &mut parts).map_err(|error| refused(&error, &text))?;
    if let Some(picture) = &asked.picture {
        let stem = asked.file.file_stem().unwrap_or_default();
        let drawn = report::board_picture(&board, &stem.to_string_lossy());
        write_picture(picture, &drawn, "picture of a board", options)?;
    }
    let report = report::BoardReport::new(&board);
    print(&match options.json {
        true => format!("{:#}\n", report.json()),
        false => report.shown(on_output()),
    })
}

/// The line of a board file that is wrong, with a caret under what is meant, and what helps.
pub fn refused(error: &BoardFileError, text: &str) -> anyhow::Error {
    let advice = advice::of(error);
    // An empty file has no line to show.
    let line = text.lines().nth(error.line.saturating_sub(1)).unwrap_or("");
    let start = line.char_indices().nth(error.column.saturating_sub(1));
    let start = start.map_or(line.len(), |(at, _)| at);
    let end = (start + error.span.len()).min(line.len());
    // Nothing of a character is cut off.
    let end = (end..=line.len())
        .find(|end| line.is_char_boundary(*end))
        .unwrap_or(line.len());
    let advice: Vec<&str> = advice.as_deref().into_iter().collect();
    let shown = report::pointed(
        Some(&error.file),
        (error.line as u64, line),
        start..end,
        &error.problem.to_string(),
        &advice,
        on_errors(),
    );
    LaidOut(shown).into()
}
