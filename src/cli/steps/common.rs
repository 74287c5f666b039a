//! Arguments that several steps share.

use std::time::{Duration, SystemTime};

use clap::Args;

use crate::cli::bench::{Argument, Bench, Blame, Piece, ReadLimit, Stop, argument};
use crate::cli::report::NamedSum;
use crate::formats::{self, FORMATS, Format, Strictness};
use crate::image::{AddressRange, Image};
use crate::ops::{Large, OpError, OverData, PartBase};
use crate::parts::{self, Catalogue, Part};
use crate::sums::{Algo, SumError, Summing};
use crate::values::{BadValue, Place};
use crate::{prose, values};

/// Which pieces a step works on.
#[derive(Args, Debug, Clone, Default)]
pub struct On {
    /// Work on the piece of this name only; may be given several times
    #[arg(long = "on", value_name = "PIECE")]
    pub only: Vec<String>,
}

/// Which sockets of a board a program is laid out for.
#[derive(Args, Debug, Clone)]
pub struct Sockets {
    /// CPU address of the first byte of these sockets
    #[arg(long, value_name = "BASE", value_parser = values::number)]
    pub at: u64,
    /// Chips side by side on a wide bus
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub lanes: u32,
    /// Sockets, or groups of lanes, one after another in the address space
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub rows: u32,
}

/// Bytes of the smallest bank: with fewer, the size of a bank was probably confused with the number of banks.
const LEAST_BANK: u64 = 256;

/// Whether a step is done once, or once for each bank.
#[derive(Args, Debug, Clone, Default)]
pub struct Banks {
    /// Do it for each bank of this size that has bytes; addresses are those of the first bank, which begins at 0
    #[arg(long = "bank-size", value_name = "SIZE", value_parser = extent)]
    pub size: Option<Extent>,
}

impl Banks {
    /// Whether there is such a part.
    ///
    /// # Errors
    /// No such part.
    pub fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let size = self.size.as_ref();
        let bytes = size.map(|size| size.bytes(parts).blame(argument!(self.size)));
        bytes.transpose().map(|_| ())
    }

    /// What to add to the addresses for each bank of `image`: only 0 if no banks are meant. Each range comes with its
    /// argument.
    ///
    /// # Errors
    /// Addresses of the CPU, and addresses outside the first bank.
    pub fn offsets(
        &self,
        parts: &Catalogue,
        image: &Image,
        place: &Place,
        ranges: impl IntoIterator<Item = (AddressRange, Argument)>,
    ) -> Result<Vec<u64>, Stop> {
        let Some(size) = &self.size else {
            return Ok(vec![0]);
        };
        let size = size.bytes(parts).blame(argument!(self.size))?;
        if size < LEAST_BANK {
            return Err(Stop::trouble(format!(
                "a bank has at least {LEAST_BANK} bytes, not {size}"
            ))
            .at(argument!(self.size)));
        }
        let mut ranges = ranges.into_iter();
        if *place != Place::Own {
            let argument = ranges.next().map_or(argument!(self.size), |(_, own)| own);
            return Err(Stop::trouble("--bank-size counts a piece's own addresses")
                .advise(format!("leave {place} out"))
                .at(argument));
        }
        if let Some((outside, argument)) = ranges.find(|(r, _)| r.last() >= size) {
            return Err(Stop::trouble(format!(
                "{outside} is not in the first bank of --bank-size, 0x0000-0x{:04X}",
                size - 1
            ))
            .advise("use the addresses of the first bank")
            .at(argument));
        }
        // A bank without bytes does not count: what is made grows with the data, not with its addresses.
        let banks = image.ranges();
        let banks = banks.flat_map(|r| r.first() / size..=r.last() / size);
        let mut offsets: Vec<u64> = banks.map(|bank| bank * size).collect();
        offsets.dedup();
        Ok(offsets)
    }
}

/// How a result is printed.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct Json {
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// How many rows of a list are shown: as many as were asked for; otherwise a number that a person can read, and all
/// of them to a script.
pub fn row_limit(limit: Option<u64>, for_people: u64, bench: &Bench, json: Json) -> u64 {
    match bench.console.makes_json(json.json) {
        true => limit.unwrap_or(u64::MAX),
        false => limit.unwrap_or(for_people),
    }
}

/// The noun for these pieces in a sentence: chips, when all of them are in sockets.
pub fn noun_of(bench: &Bench, pieces: &[usize]) -> &'static str {
    let mut pieces = pieces.iter().map(|i| &bench.pieces[*i]);
    match pieces.all(|piece| piece.seat().is_some()) {
        true => "chip",
        false => "piece",
    }
}

/// Where a raw file begins that a piece is compared with: a chip's file at chip address 0, otherwise where the piece does.
pub fn raw_base(piece: &Piece) -> u64 {
    let own = piece.image().extent().map_or(0, AddressRange::first);
    match piece.seat().filter(|_| piece.rearranged_by().is_none()) {
        Some(_) => 0,
        None => own,
    }
}

/// Whether very much may be made.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct AllowLarge {
    /// Allow more than 256 MiB to be made
    #[arg(long)]
    pub allow_large: bool,
}

impl AllowLarge {
    /// For the functions that need it.
    pub fn large(self) -> Large {
        match self.allow_large {
            true => Large::Allow,
            false => Large::Refuse,
        }
    }
}

/// Whether very long files may be read.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct LargeFiles {
    /// Allow files of more than 1 GiB to be read
    #[arg(long)]
    pub allow_large: bool,
}

impl LargeFiles {
    /// For the functions that ask.
    pub fn limit(self) -> ReadLimit {
        match self.allow_large {
            true => ReadLimit::Lifted,
            false => ReadLimit::Usual,
        }
    }
}

/// Where a part begins, as `--at` says it or leaves it open.
pub fn base(at: Option<u64>) -> PartBase {
    at.map_or(PartBase::OfImage, PartBase::At)
}

/// Whether an error is about where a part begins, not about its size.
pub fn is_about_base(error: &OpError) -> bool {
    matches!(error, OpError::Before { .. } | OpError::OutOfSpace(_))
}

/// What `--replace` says.
pub fn over_data(replace: bool) -> OverData {
    match replace {
        true => OverData::Replace,
        false => OverData::Refuse,
    }
}

/// How strictly files are read.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct Reading {
    /// Refuse everything that the format's rules refuse
    #[arg(long)]
    pub strict: bool,
    /// Take every sound record of a damaged file, leave holes for the rest, exit with 1
    #[arg(long, conflicts_with = "strict")]
    pub salvage: bool,
}

impl From<Reading> for Strictness {
    fn from(reading: Reading) -> Self {
        match reading {
            Reading { strict: true, .. } => Strictness::Strict,
            Reading { salvage: true, .. } => Strictness::Salvage,
            _ => Strictness::Usual,
        }
    }
}

/// How large something is: bytes, or a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Extent {
    /// This many bytes.
    Bytes(u64),
    /// As large as this part.
    Part(String),
}

/// A size, or the name of a part; whether there is such a part is known only when the table is at hand.
pub fn extent(text: &str) -> Result<Extent, BadValue> {
    if let Some(name) = text.strip_prefix("part:") {
        return Ok(Extent::Part(name.into()));
    }
    match values::size(text) {
        Ok(bytes) => {
            let all_digits = text.bytes().all(|b| b.is_ascii_digit());
            match parts::find(text) {
                Ok(part) if all_digits => Err(BadValue::new(
                    format!("`{text}` is a number and a part"),
                    format!("write part:{text} or {}", part.bytes()),
                )),
                _ => Ok(Extent::Bytes(bytes)),
            }
        }
        // `32KB`: a size of another notation, and no part.
        Err(error) if error.meant().is_some_and(|meant| !meant.starts_with("0x")) => Err(error),
        Err(_) if text.bytes().any(|b| b.is_ascii_alphabetic()) => Ok(Extent::Part(text.into())),
        Err(error) => Err(error),
    }
}

impl Extent {
    /// The size in bytes.
    ///
    /// # Errors
    /// No such part.
    pub fn bytes(&self, parts: &Catalogue) -> Result<u64, Stop> {
        match self {
            Extent::Bytes(bytes) => Ok(*bytes),
            Extent::Part(_) => Ok(self.part(parts)?.map_or(0, Part::bytes)),
        }
    }

    /// The part, when it is one.
    ///
    /// # Errors
    /// No such part.
    pub fn part<'p>(&self, parts: &'p Catalogue) -> Result<Option<&'p Part>, Stop> {
        let Extent::Part(name) = self else {
            return Ok(None);
        };
        match (parts.find(name), values::size(name)) {
            (Ok(part), _) => Ok(Some(part)),
            // `32Q`: probably a wrong size, not a part.
            (Err(_), Err(error))
                if name.starts_with(|c: char| c.is_ascii_digit()) && name.len() < 4 =>
            {
                Err(Stop::trouble(error.to_string()))
            }
            (Err(error), _) => Err(error.into()),
        }
    }
}

/// The error for a part without an erased value.
pub fn no_erased_value(part: &str) -> Stop {
    Stop::trouble(format!("a {part} has no erased value of its own"))
        .advise("add --with FF, or another byte for the unused places")
}

/// Whose addresses a step means, when it has several: all of one bus or all the piece's own. Each comes with its argument.
/// Addresses that name no bank go with those of their bus that do.
///
/// # Errors
/// Some have a place before them that others don't have, with the first that is not like those before it.
pub fn place_of<'p>(all: impl IntoIterator<Item = (&'p Place, Argument)>) -> Result<Place, Stop> {
    let mut place: Option<&Place> = None;
    for (other, argument) in all {
        place = match place {
            None => Some(other),
            Some(before) if before == other => Some(before),
            Some(before) => match (before.has_banks(), other.has_banks()) {
                (true, false) if before.bus() == other.bus() => Some(before),
                (false, true) if before.bus() == other.bus() => Some(other),
                _ => {
                    let name = [before, other].map(ToString::to_string);
                    let fact = match (before, other) {
                        (Place::Own, _) | (_, Place::Own) => format!(
                            "some of these addresses have {} before them and some don't",
                            name.concat()
                        ),
                        _ => format!("these addresses are in {} and in {}", name[0], name[1]),
                    };
                    return Err(Stop::trouble(fact)
                        .advise("write it before all of these addresses or before none")
                        .at(argument));
                }
            },
        };
    }
    Ok(place.cloned().unwrap_or_default())
}

/// The name of a format that can be read.
pub fn readable_format(name: &str) -> Result<String, BadValue> {
    format_name(name, "read", |format| format.can_read())
}

/// The name of a format that can be written.
pub fn writable_format(name: &str) -> Result<String, BadValue> {
    format_name(name, "written", |format| format.can_write())
}

fn format_name(name: &str, done: &str, fits: fn(&dyn Format) -> bool) -> Result<String, BadValue> {
    let names = format_names(fits);
    match formats::by_name(name) {
        Some(format) if fits(format) => return Ok(name.into()),
        Some(_) => {
            let fact = format!("`{name}` can't be {done} here");
            return Err(BadValue::new(
                fact,
                format!("known are {}", names.join(", ")),
            ));
        }
        None => {}
    }
    // `hex` is not the name of a format, but it says which one.
    let by_extension = formats::by_extension(name).filter(|f| fits(*f));
    let near = prose::nearest(name, names.iter().copied());
    let near = by_extension.map(|f| f.name()).or(near.first().copied());
    let unknown = BadValue::new(
        format!("there is no format `{}`", prose::shown(name)),
        format!("known are {}", names.join(", ")),
    );
    Err(match near {
        Some(near) => unknown.meaning(near),
        None => unknown,
    })
}

/// Names of the formats that `fits` takes, for lists.
pub fn format_names(fits: fn(&dyn Format) -> bool) -> Vec<&'static str> {
    let all = FORMATS.iter().copied();
    all.filter(|f| fits(*f)).map(|f| f.name()).collect()
}

/// The date as given, or the day of SOURCE_DATE_EPOCH; never the clock's.
///
/// # Errors
/// SOURCE_DATE_EPOCH is not a number of seconds since 1970-01-01.
pub fn date(given: Option<&str>) -> Result<Option<String>, Stop> {
    if let Some(date) = given {
        return Ok(Some(date.to_owned()));
    }
    let Some(epoch) = std::env::var_os("SOURCE_DATE_EPOCH") else {
        return Ok(None);
    };
    let epoch = epoch.to_string_lossy();
    let day = epoch
        .parse()
        .ok()
        .and_then(|s| SystemTime::UNIX_EPOCH.checked_add(Duration::from_secs(s)))
        // Later years have five digits, which the date text has no room for.
        .filter(|t| {
            t.duration_since(SystemTime::UNIX_EPOCH)
                .is_ok_and(|d| d.as_secs() < 253_402_300_800)
        })
        .map(|t| humantime::format_rfc3339_seconds(t).to_string());
    match day {
        Some(day) => Ok(Some(day[..10].to_owned())),
        None => Err(Stop::trouble(format!(
            "SOURCE_DATE_EPOCH is `{epoch}`; it must be seconds since 1970-01-01"
        ))),
    }
}

/// The sums asked for, of all bytes of a piece.
///
/// # Errors
/// A sum of words when the bytes are not a whole number of words, with which of the sums it is.
pub fn sums_of(piece: &Piece, algos: &[Algo]) -> Result<Vec<NamedSum>, (usize, SumError)> {
    let mut sums: Vec<Summing> = algos.iter().map(|algo| algo.start()).collect();
    // All sums of one block while it is in the processor's cache.
    let blocks = piece.image().spans().iter();
    for block in blocks.flat_map(|span| span.bytes().chunks(16 * 1024)) {
        sums.iter_mut().for_each(|summing| summing.feed(block));
    }
    let named = |(i, (algo, summing)): (usize, (&Algo, Summing))| {
        Ok(NamedSum {
            algo: *algo,
            value: summing.finish().map_err(|error| (i, error))?.to_string(),
            remark: match *algo {
                Algo::SUM16 | Algo::SUM32 => "of all bytes, as programmers show it",
                Algo::SUM16LE => "of all words, as programmers show it for 16-bit parts",
                _ => "",
            },
        })
    };
    algos.iter().zip(sums).enumerate().map(named).collect()
}

/// What a programmer shows for a piece, in bytes and for a 16-bit part in words too, its CRC-32 and SHA-256.
pub fn usual_sums(piece: &Piece) -> Vec<Algo> {
    let mut algos = vec![Algo::SUM16, Algo::SUM32, Algo::CRC32, Algo::SHA256];
    let of_words = piece.part().is_some_and(|part| part.width == 16);
    let mut spans = piece.image().spans().iter();
    if of_words && spans.all(|s| s.start() % 2 == 0 && s.bytes().len() % 2 == 0) {
        algos.insert(2, Algo::SUM16LE);
    }
    algos
}
