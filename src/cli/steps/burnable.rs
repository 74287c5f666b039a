//! `burnable`: can this be programmed without erasing.

use std::path::PathBuf;

use clap::Args;

use super::Step;
use super::common::{Json, On};
use crate::cli::bench::{Bench, Blame, Piece, Stop, argument};
use crate::cli::report::{self, plural};
use crate::image::AddressRange;
use crate::parts::{Catalogue, Kind, Part, Sectors};
use crate::{ops, values};

/// Ask whether a piece can be programmed over what its chip holds now
#[derive(Args, Debug)]
pub struct BurnableArgs {
    /// A read of the chip as it is now
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The part; else the one the piece is seated in
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// The erased value; else the part's, or FF
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    erased: Option<u8>,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for BurnableArgs {
    const NAME: &'static str = "burnable";
    const ABOUT: &'static str =
        "ask whether a piece can be programmed over what its chip holds now";
    const HELP: &'static str = "\
Programming turns bits away from the erased value, and only erasing brings them back: every bit that would have to go \
from programmed to erased is counted, by sector where the part erases by sectors. Exit code 1 when the answer is no; \
the run goes on. Check the maker's data sheet before you program over old contents.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + patch 0x7FE0 text:HERON-9 + burnable chip.bin --part 39SF010
? 1
chip can't be programmed over chip.bin in a 39SF010
  1 bit in 1 byte would have to go back to the erased state
  7FE6-7FE6
  sectors to erase begin at 7000
  1 of 8 sectors of 4K must be erased first
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        match &self.part {
            Some(name) => parts.find(name).map(|_| ()).blame(argument!(self.part)),
            None => Ok(()),
        }
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        for i in bench.chosen(&self.on.labels)? {
            let own = bench.pieces[i]
                .image()
                .extent()
                .map_or(0, AddressRange::first);
            let now =
                super::load::read_other(bench, &self.file, own).blame(argument!(self.file))?;
            let piece = &bench.pieces[i];
            let part = self.part(piece, &bench.parts)?;
            let report = self.answer(piece, part.as_ref(), &now);
            if !report.burnable {
                bench.say_no();
            }
            bench.console.report(&report, self.json.json);
        }
        Ok(())
    }
}

impl BurnableArgs {
    fn part(&self, piece: &Piece, parts: &Catalogue) -> Result<Option<Part>, Stop> {
        match (&self.part, piece.part()) {
            (Some(name), _) => {
                let part = parts.find(name).blame(argument!(self.part))?;
                Ok(Some(part.clone()))
            }
            (None, Some(part)) => Ok(Some(part.clone())),
            (None, None) => Ok(None),
        }
    }

    fn answer(
        &self,
        piece: &Piece,
        part: Option<&Part>,
        now: &crate::image::Image,
    ) -> report::BurnableReport {
        let erased = self.erased.or(part.and_then(|p| p.erased)).unwrap_or(0xFF);
        let sectors = part.and_then(Part::erased_in);
        let whole = Sectors::equal(part.map_or(u64::MAX, Part::bytes));
        let cut = sectors.as_ref().unwrap_or(&whole);
        let found = ops::burnable(piece.image(), now, erased, cut);
        let kind = part.map(|p| p.kind);
        // What the part's kind decides, whatever the bits say.
        let by_kind = match kind {
            Some(Kind::MaskRom) => Some((false, "a mask ROM can't be programmed at all")),
            Some(Kind::Eeprom) => {
                Some((true, "an EEPROM erases each byte or page as it writes it"))
            }
            Some(Kind::PageFlash) => Some((
                true,
                "page flash erases each page as it writes it, and bytes of a page that are not loaded become FF",
            )),
            _ => None,
        };
        let burnable = by_kind.map_or(found.is_yes(), |(yes, _)| yes);
        let mut remarks = Vec::new();
        remarks.extend(by_kind.map(|(_, why)| why.to_owned()));
        if found.unknown > 0 {
            remarks.push(format!(
                "the read shows nothing for {} that the image wants",
                plural(found.unknown, "byte")
            ));
        }
        if by_kind.is_none() && found.bits > 0 {
            remarks.push(match (&sectors, kind) {
                (Some(_), _) => {
                    let of = part.and_then(|p| p.sector).map(u64::from);
                    format!(
                        "{} of {} sectors{} must be erased first",
                        found.sectors.len(),
                        found.touched,
                        of.map_or(String::new(), |size| format!(
                            " of {}",
                            report::size_text(size)
                        ))
                    )
                }
                (None, Some(kind)) => format!("the part must be erased first: {}", kind.erasing()),
                (None, None) => "the part must be erased first".into(),
            });
        }
        report::BurnableReport {
            piece: piece.label.clone(),
            against: self.file.display().to_string(),
            part: part.map(|p| p.name.clone()),
            burnable,
            bytes: found.bytes,
            bits: found.bits,
            ranges: found.ranges.iter().map(|r| (*r).into()).collect(),
            sectors: match sectors {
                Some(_) => found.sectors,
                None => Vec::new(),
            },
            remarks,
        }
    }
}
