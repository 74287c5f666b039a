//! `adapter`: a chip in a socket that is wired for another part.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Result, anyhow};
use clap::{ArgMatches, Args, FromArgMatches, ValueEnum};

use super::picture::write_picture;
use super::run_options::RunOptions;
use super::say::print;
use super::tables::catalogue;
use crate::board::{Adapter, AdapterOptions, SelectLevel, UpperLines};
use crate::cli::bench::on_output;
use crate::cli::report::{self, AdapterOutcome, AdapterReport, Report, advice};
use crate::values::{self, BadValue};

/// Plan the wires for a chip in a socket that is wired for another part
///
/// The first line says whether the chip fits as it is, fits if something is so that must be measured, needs wiring, or
/// why wires alone don't do it. Then come the wires, the levels, the pins to keep out of the socket, the content that the
/// chip takes as an entry of a board file, and what else decides. It is for reading the chip in the board, never for
/// programming it there.
///
/// The plan knows two pin tables and nothing of the board: which level selects at a CS, and whether the board keeps a
/// select all the time, has to be said. Exit code 1 where there is no whole plan.
#[derive(Args)]
pub struct AdapterArgs {
    /// The part that the socket is wired for
    #[arg(value_name = "SOCKET")]
    socket: String,
    /// The chip that is to go there
    #[arg(value_name = "CHIP")]
    chip: String,
    /// Pins of the socket and the level at which the board selects there: 20=low, 20=high, or 20=always where the board
    /// keeps the pin
    #[arg(long, value_name = "PIN=LEVEL,...", value_delimiter = ',', value_parser = select)]
    select: Vec<(u8, SelectLevel)>,
    /// CS pins of the chip and the level that enables it: 18=low or 18=high
    #[arg(long, value_name = "PIN=LEVEL,...", value_delimiter = ',', value_parser = chip_select)]
    chip_select: Vec<(u8, bool)>,
    /// Address lines of the chip that the socket lacks: held low, held high, held with the same content for both, or each
    /// on a switch [default: low; high where that spares all wires]
    #[arg(long, value_enum)]
    upper: Option<Upper>,
    /// Nothing else drives the data lines while the chip answers, in a socket for open-collector outputs
    #[arg(long)]
    alone: bool,
    /// Where the bus sees the socket, for the board entry [default: 0]
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    /// Draw the chip with what each pin gets into this file
    #[arg(long, value_name = "FILE.svg")]
    picture: Option<PathBuf>,
    /// Parts of your own, in TOML, beside the built-in ones
    #[arg(long = "parts", value_name = "FILE")]
    own: Option<PathBuf>,
    /// Say what would be written, and write nothing
    #[arg(long = "dry-run")]
    trial: bool,
    /// Print the plan as JSON
    #[arg(long)]
    json: bool,
}

#[derive(ValueEnum, Clone, Copy)]
enum Upper {
    Low,
    High,
    Any,
    Switch,
}

impl From<Upper> for UpperLines {
    fn from(upper: Upper) -> Self {
        match upper {
            Upper::Low => Self::Low,
            Upper::High => Self::High,
            Upper::Any => Self::Any,
            Upper::Switch => Self::Switch,
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A part that is not in the table, a pin that selects nothing, a picture that can't be written.
pub fn adapter(matches: &ArgMatches, options: RunOptions) -> Result<ExitCode> {
    let asked = AdapterArgs::from_arg_matches(matches)?;
    let options = &options.or(RunOptions {
        parts: asked.own,
        dry_run: asked.trial,
        json: asked.json,
        ..RunOptions::default()
    });
    let parts = catalogue(options.parts.as_deref())?;
    let find = |name: &str| {
        let found = parts.find(name);
        found.map_err(|error| anyhow!(advice::told(&error)))
    };
    let (socket, chip) = (find(&asked.socket)?, find(&asked.chip)?);
    let known = AdapterOptions {
        selects: asked.select,
        chip_selects: asked.chip_select,
        upper: asked.upper.map(Into::into),
        alone: asked.alone,
    };
    let planned = match Adapter::plan(socket, chip, &known) {
        Ok(plan) => AdapterOutcome::Plan(Box::new(plan)),
        Err(error) if error.is_about_options() => return Err(anyhow!(advice::told(&error))),
        Err(error) => AdapterOutcome::Refused(error),
    };
    if let (Some(picture), AdapterOutcome::Plan(plan)) = (&asked.picture, &planned) {
        let drawn = report::adapter_picture(plan);
        write_picture(picture, &drawn, "picture of an adapter", options)?;
    }
    let report = AdapterReport::new(socket, chip, planned, asked.at.unwrap_or(0));
    print(&match options.json {
        true => format!("{:#}\n", report.json()),
        false => report.shown(on_output()),
    })?;
    Ok(match report.is_settled() {
        true => ExitCode::SUCCESS,
        false => ExitCode::from(1),
    })
}

/// A pin and what comes after `=`.
fn pin_and_level<'t>(text: &'t str, levels: &str) -> Result<(u8, &'t str), BadValue> {
    let (pin, level) = text.split_once('=').unwrap_or((text, ""));
    match pin.parse() {
        Ok(pin) if !level.is_empty() => Ok((pin, level)),
        _ => Err(BadValue::new(
            format!("`{text}` is not a pin and its level"),
            format!("write the number of the pin, =, and {levels}, such as 20=low"),
        )),
    }
}

fn other_level(text: &str, levels: &str) -> BadValue {
    let problem = format!("`{text}` does not say a level");
    BadValue::new(problem, format!("after = write {levels}"))
}

fn select(text: &str) -> Result<(u8, SelectLevel), BadValue> {
    const LEVELS: &str = "low, high or always";
    let (pin, level) = pin_and_level(text, LEVELS)?;
    Ok(match level {
        "low" => (pin, SelectLevel::Low),
        "high" => (pin, SelectLevel::High),
        "always" => (pin, SelectLevel::Always),
        _ => return Err(other_level(text, LEVELS)),
    })
}

fn chip_select(text: &str) -> Result<(u8, bool), BadValue> {
    const LEVELS: &str = "low or high";
    let (pin, level) = pin_and_level(text, LEVELS)?;
    Ok(match level {
        "low" => (pin, false),
        "high" => (pin, true),
        _ => return Err(other_level(text, LEVELS)),
    })
}
