//! `burnable`: can this be programmed without erasing.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Step;
use super::common::{Json, LargeFiles, On, noun_of, raw_base, row_limit};
use super::references::{FILE_OF_EACH, References, check_reference};
use crate::cli::bench::{Bench, Blame, Piece, Stop, argument};
use crate::cli::report::{BurnableReport, BurntOver, plural, size_text};
use crate::image::Image;
use crate::ops::{self, Burning, ErasureNeeded};
use crate::parts::{Catalogue, Kind, Part, Sectors};
use crate::values;

/// Check whether a piece can be programmed over what is in its chip now
#[derive(Args, Debug)]
pub struct BurnableArgs {
    /// A read of the chip as it is now; with [`FILE_OF_EACH`] each piece has its own
    #[arg(value_name = "FILE", help = format!("A read of the chip as it is now; {FILE_OF_EACH}"))]
    file: PathBuf,
    /// The part [default: the one the piece is seated in]
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// What an erased byte reads as [default: the part's erased value, or FF if no part is named]
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    erased: Option<u8>,
    /// The most ranges to list [default: 12; all with --json]
    #[arg(long, value_name = "N", value_parser = values::number)]
    limit: Option<u64>,
    #[command(flatten)]
    large: LargeFiles,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for BurnableArgs {
    const NAME: &'static str = "burnable";
    const ABOUT: &'static str =
        "check whether a piece can be programmed over what is in its chip now";
    const SENTENCE: &'static str = "Asks whether the image can be programmed over what the chip contains now, without erasing it.";
    const HELP: &'static str = "\
Programming changes bits away from the erased value, and only erasing changes them back. The step counts every bit that \
would have to go from programmed to erased, by sector if the part erases by sectors. The part's size and kind count too: \
an image that is larger than the part does not fit, only its maker can program a mask ROM, and for fuses \
--erased must say what they read as before they are blown. With `'read-{name}.bin'` each piece has a read of its own, like in \
`compare`. Exit code 1 when any piece can't be programmed over; the run goes on. Check the maker's data sheet before you \
program over old contents.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + patch 0x7FE0 text:HERON-9 + burnable chip.bin --part 39SF010
? 1
chip can't be programmed over chip.bin in a 39SF010
  1 bit in 1 byte would have to go back to the erased state
  7FE6
  sectors to erase begin at 7000
  1 of 8 sectors of 4K must be erased first
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        check_reference(&self.file).blame(argument!(self.file))?;
        match &self.part {
            Some(name) => parts.find(name).map(|_| ()).blame(argument!(self.part)),
            None => Ok(()),
        }
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let references = References::of(bench, &self.file, &self.on);
        let References { found, unpaired } = references.blame(argument!(self.file))?;
        let noun = noun_of(bench, &bench.chosen(&self.on.only)?);
        let mut pieces = Vec::new();
        let answered = found.iter().try_for_each(|(i, file)| {
            pieces.push(self.answer(bench, *i, file)?);
            Ok(())
        });
        let mut report = BurnableReport::new(pieces, unpaired, noun);
        if answered.is_err() {
            report = report.cut_short();
        } else if !report.burnable {
            bench.say_no();
        }
        bench.console.report(&report, self.json.json);
        answered
    }
}

impl BurnableArgs {
    fn answer(&self, bench: &mut Bench, piece: usize, file: &Path) -> Result<BurntOver, Stop> {
        let at = raw_base(&bench.pieces[piece]);
        let now = super::load::read_other(bench, file, at, self.large.limit())
            .blame(argument!(self.file))?;
        let limit = row_limit(self.limit, 12, bench, self.json);
        let limit = usize::try_from(limit).unwrap_or(usize::MAX);
        let piece = &bench.pieces[piece];
        let part = self.part(piece, &bench.parts)?;
        let against = file.display().to_string();
        let mut remarks = Vec::new();
        let mut found = ErasureNeeded::default();
        let mut sectors = None;
        let fits = part
            .as_ref()
            .map_or(Ok(()), |part| has_room(part, piece.image(), &now, &against));
        let burnable = match (fits, part.as_ref().map(|part| part.kind)) {
            (_, Some(Kind::MaskRom)) => {
                remarks.push(
                    "a mask ROM gets its content from its maker; nobody else can program it".into(),
                );
                false
            }
            (Err(why_not), _) => {
                remarks.push(why_not);
                false
            }
            (Ok(()), Some(Kind::Eeprom)) => {
                remarks.push("an EEPROM erases each byte or page as it writes it".into());
                true
            }
            (Ok(()), Some(Kind::PageFlash)) => {
                remarks.push("page flash erases each page as it writes it, and bytes of a page that are not loaded become FF".into());
                true
            }
            _ => {
                sectors = part.as_ref().and_then(Part::erased_in);
                found = self.needed(piece.image(), &now, part.as_ref())?;
                remarks.extend(self.remarks(&found, part.as_ref()));
                found.is_yes()
            }
        };
        let ranges = found.ranges.iter().take(limit);
        Ok(BurntOver {
            piece: piece.name.clone(),
            against,
            width: part.as_ref().map_or(8, |part| part.width),
            part: part.map(|part| part.name),
            burnable,
            words: found.words,
            bytes: found.bytes,
            bits: found.bits,
            ranges: ranges.map(|range| (*range).into()).collect(),
            ranges_left_out: found.ranges.len().saturating_sub(limit) as u64,
            sectors: sectors.map_or(Vec::new(), |_| found.sectors),
            remarks,
        })
    }

    /// The part that is named, otherwise that of the piece.
    fn part(&self, piece: &Piece, parts: &Catalogue) -> Result<Option<Part>, Stop> {
        match &self.part {
            Some(name) => {
                let part = parts.find(name).blame(argument!(self.part))?;
                Ok(Some(part.clone()))
            }
            None => Ok(piece.part().cloned()),
        }
    }

    /// What would have to be erased.
    fn needed(
        &self,
        wanted: &Image,
        now: &Image,
        part: Option<&Part>,
    ) -> Result<ErasureNeeded, Stop> {
        let erased = match (self.erased, part) {
            (Some(erased), _) => erased,
            (None, None) => 0xFF,
            (None, Some(part)) => part.erased.ok_or_else(|| {
                let name = &part.name;
                Stop::trouble(format!("a {name} has no erased value of its own"))
                    .advise("add --erased 00 or --erased FF, which is what its fuses read as before they are blown (see its maker's data sheet)")
                    .at(argument!(self.part))
            })?,
        };
        let whole = Sectors::equal(part.map_or(u64::MAX, Part::bytes));
        let how = Burning {
            erased,
            width: part.map_or(8, |part| part.width),
            sectors: &part.and_then(Part::erased_in).unwrap_or(whole),
        };
        Ok(ops::burnable(wanted, now, &how))
    }

    fn remarks(&self, found: &ErasureNeeded, part: Option<&Part>) -> Vec<String> {
        let mut remarks = Vec::new();
        if found.unknown > 0 {
            remarks.push(format!(
                "the read has nothing for {} of the image",
                plural(found.unknown, "byte")
            ));
        }
        if part.is_none() && self.erased.is_none() {
            remarks.push("no part is named, so an erased byte counts as FF".into());
        }
        if found.bits > 0 {
            remarks.push(match part {
                None => "the part must be erased first".into(),
                Some(part) => first(part, found),
            });
        }
        remarks
    }
}

/// What must be done with a part before it can be programmed.
fn first(part: &Part, found: &ErasureNeeded) -> String {
    if part.erased_in().is_some() {
        let size = part.sector.map(u64::from);
        let size = size.map_or(String::new(), |size| format!(" of {}", size_text(size)));
        let (these, all) = (found.sectors.len(), found.touched);
        return format!("{these} of {all} sectors{size} must be erased first");
    }
    match part.kind {
        Kind::OneTimeEprom | Kind::BipolarProm => {
            format!(
                "nothing can change these bits back: use a new chip. {}",
                part.kind.erasing()
            )
        }
        kind => format!("the part must be erased first. {}", kind.erasing()),
    }
}

/// Whether the part has room for the image, and what was read can be of such a part.
fn has_room(part: &Part, wanted: &Image, now: &Image, file: &str) -> Result<(), String> {
    let holds = match part.width {
        16 => format!(
            "{} ({} of 16 bits)",
            plural(part.bytes(), "byte"),
            plural(part.words.into(), "word")
        ),
        _ => plural(part.bytes(), "byte"),
    };
    let name = &part.name;
    match (
        ops::bytes_beyond(wanted, part.bytes()),
        ops::bytes_beyond(now, part.bytes()),
    ) {
        (0, 0) => Ok(()),
        (0, over) => Err(format!(
            "{file} has {} more than a {name}, which has {holds}: it was not read from such a part",
            plural(over, "byte")
        )),
        (over, _) => Err(format!(
            "the image is {} too long: a {name} has {holds}",
            plural(over, "byte")
        )),
    }
}
