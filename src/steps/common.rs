//! Arguments that several steps share.

use clap::{Args, ValueEnum};

use crate::bench::Stop;
use crate::formats::{self, FORMATS, Format, Strictness};
use crate::ops::Large;
use crate::parts::{self, Catalogue, Part};
use crate::values::Space;
use crate::{image, sums, values};

/// Which pieces a step works on.
#[derive(Args, Debug, Clone, Default)]
pub struct On {
    /// Work on the piece of this name only; may be given several times
    #[arg(long = "on", value_name = "LABEL")]
    pub labels: Vec<String>,
}

/// How a result is printed.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct Json {
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Whether very much may be made.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct YesLarge {
    /// Allow more than 256 MiB to be made
    #[arg(long)]
    pub yes_large: bool,
}

impl YesLarge {
    /// For the functions that ask.
    pub fn large(self) -> Large {
        match self.yes_large {
            true => Large::Allow,
            false => Large::Refuse,
        }
    }
}

/// What happens where two sources want one address.
#[derive(ValueEnum, Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Clash {
    /// Any overlap is an error
    #[default]
    Refuse,
    /// Equal bytes may overlap, different ones are an error
    Same,
    /// The bytes loaded first stay
    First,
    /// The bytes loaded last replace them
    Last,
}

impl From<Clash> for image::Clash {
    fn from(clash: Clash) -> Self {
        match clash {
            Clash::Refuse => Self::Refuse,
            Clash::Same => Self::Same,
            Clash::First => Self::First,
            Clash::Last => Self::Last,
        }
    }
}

/// Byte order of a stored number.
#[derive(ValueEnum, Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Low byte first
    Little,
    /// High byte first
    Big,
}

impl From<Order> for sums::Order {
    fn from(order: Order) -> Self {
        match order {
            Order::Little => Self::Little,
            Order::Big => Self::Big,
        }
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
    /// So many bytes.
    Bytes(u64),
    /// As large as this part.
    Part(String),
}

/// A size, or the name of a part; whether there is such a part is known only when the table is at hand.
pub fn extent(text: &str) -> Result<Extent, String> {
    if let Some(name) = text.strip_prefix("part:") {
        return Ok(Extent::Part(name.into()));
    }
    match values::size(text) {
        Ok(bytes) => {
            let all_digits = text.bytes().all(|b| b.is_ascii_digit());
            match parts::find(text) {
                Ok(part) if all_digits => Err(format!(
                    "{text} is a number and a part: write part:{text} or {}",
                    part.bytes()
                )),
                _ => Ok(Extent::Bytes(bytes)),
            }
        }
        Err(_) if text.bytes().any(|b| b.is_ascii_alphabetic()) => Ok(Extent::Part(text.into())),
        Err(error) => Err(error.to_string()),
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
            // `32Q`: a size that went wrong rather than a part.
            (Err(_), Err(error))
                if name.starts_with(|c: char| c.is_ascii_digit()) && name.len() < 4 =>
            {
                Err(Stop::Trouble(error.to_string()))
            }
            (Err(error), _) => Err(Stop::Trouble(error.to_string())),
        }
    }
}

/// Whose addresses a step means, when it has several: all the CPU's or all the piece's own.
pub fn space_of(all: impl IntoIterator<Item = Space>) -> Result<Space, Stop> {
    let mut all = all.into_iter();
    let first = all.next().unwrap_or_default();
    match all.all(|other| other == first) {
        true => Ok(first),
        false => Err(Stop::Trouble(
            "some of these addresses have cpu: in front and some don't: write it before all of them, or none".into(),
        )),
    }
}

/// The name of a format that can be read.
pub fn readable_format(name: &str) -> Result<String, String> {
    format_name(name, "read", |format| format.can_read())
}

/// The name of a format that can be written.
pub fn writable_format(name: &str) -> Result<String, String> {
    format_name(name, "written", |format| format.can_write())
}

fn format_name(name: &str, done: &str, fits: fn(&dyn Format) -> bool) -> Result<String, String> {
    let names = format_names(fits);
    match formats::by_name(name) {
        Some(format) if fits(format) => return Ok(name.into()),
        Some(_) => {
            return Err(format!(
                "{name} can't be {done} here; known are {}",
                names.join(", ")
            ));
        }
        None => {}
    }
    // `hex` is no name of a format, but it says which one.
    let by_extension = formats::by_extension(name).filter(|f| fits(*f));
    let near = sums::nearest(name, names.iter().copied());
    let near = by_extension.map(|f| f.name()).or(near.first().copied());
    let guess = near.map_or(String::new(), |near| format!("did you mean {near}? "));
    Err(format!(
        "unknown format; {guess}known are {}",
        names.join(", ")
    ))
}

/// Names of the formats that `fits` takes, for lists.
pub fn format_names(fits: fn(&dyn Format) -> bool) -> Vec<&'static str> {
    let all = FORMATS.iter().copied();
    all.filter(|f| fits(*f)).map(|f| f.name()).collect()
}
