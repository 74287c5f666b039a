//! `mark`: put a version, date or label text at an address.

use clap::Args;

use super::Step;
use super::common::{On, date};
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::image::AddressRange;
use crate::ops::{self, OpError};
use crate::parts::Catalogue;
use crate::values;
use crate::values::InSpace;

/// Put a version, date or label text at an address
#[derive(Args, Debug)]
pub struct MarkArgs {
    /// Address of the first character
    #[arg(value_name = "ADDR", value_parser = values::address)]
    address: InSpace<u64>,
    /// The text, with \n \r \t \0 \xNN \\ and {date}
    #[arg(value_name = "TEXT")]
    text: String,
    /// Bytes of its place
    #[arg(long, value_name = "N", value_parser = values::size)]
    length: Option<u64>,
    /// What fills the rest of its place
    #[arg(long, value_name = "BYTE", default_value = "20", value_parser = values::byte, requires = "length")]
    with: u8,
    /// What {date} stands for; else the day of SOURCE_DATE_EPOCH, never today's
    #[arg(long, value_name = "TEXT")]
    date: Option<String>,
    #[command(flatten)]
    on: On,
}

impl Step for MarkArgs {
    const NAME: &'static str = "mark";
    const ABOUT: &'static str = "put a version, date or label text at an address";
    const HELP: &'static str = "\
The text goes over whatever stands there, in UTF-8. The date never comes from the clock, so that the same inputs \
always give the same bytes: it is what --date says, or the day of the environment variable SOURCE_DATE_EPOCH \
(seconds since 1970-01-01, as build systems set it).";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + mark 0xFFE0 \"HERON-8 {date}\" --date 2026-03-01 --length 20 + show hex 0xFFE0-0xFFFF
monitor
FFE0 > 48 45 52 4F . 4E 2D 38 20 . 32 30 32 36 . 2D 30 33 2D < FFEF  FFE0 \"HERON-8 2026-03-\"  mark
FFF0 > 30 31 20 20 . __ __ __ __ . __ __ F4 E2 . 15 E0 0C E3 < FFFF
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        self.bytes().map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let bytes = self.bytes()?;
        // Bytes given as \xNN are meant as they are.
        if !self.text.is_ascii() {
            let text = "this text has characters outside ASCII; they are stored in UTF-8";
            bench.console.say(MessageKind::Warning, text);
        }
        let length = self
            .length
            .unwrap_or(bytes.len() as u64)
            .max(bytes.len() as u64);
        let range = AddressRange::from_len(self.address.value, length);
        let ranges: Vec<AddressRange> = range.into_iter().collect();
        let edited = bench.edit(
            &self.address.place,
            Some(&ranges),
            &self.on.labels,
            |image, _, _| {
                ops::mark(image, self.address.value, &bytes, self.length, self.with).map_err(
                    |error| match error {
                        OpError::TextTooLong { .. } => Stop::from(error).at(argument!(self.text)),
                        other => other.into(),
                    },
                )?;
                Ok(())
            },
        );
        edited.blame(argument!(self.address))
    }
}

impl MarkArgs {
    fn bytes(&self) -> Result<Vec<u8>, Stop> {
        let text = match self.text.contains("{date}") {
            true => self.text.replace("{date}", &self.day()?),
            false => self.text.clone(),
        };
        let bytes = values::text(&text).blame(argument!(self.text))?;
        match bytes.is_empty() {
            true => Err(Stop::trouble("the text is empty").at(argument!(self.text))),
            false => Ok(bytes),
        }
    }

    fn day(&self) -> Result<String, Stop> {
        let day = date(self.date.as_deref()).blame(argument!(self.text))?;
        day.ok_or_else(|| {
            Stop::trouble("{date} needs --date or the environment variable SOURCE_DATE_EPOCH")
                .advise("the clock is never asked, so that builds can be repeated")
                .at(argument!(self.text))
        })
    }
}
