//! `mark`: put a version, date or label text at an address.

use clap::Args;

use super::Step;
use super::common::{On, date, over_data};
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::image::{AddressRange, Image};
use crate::ops::{self, OpError};
use crate::parts::Catalogue;
use crate::prose::shown;
use crate::sums::Algo;
use crate::values;
use crate::values::InSpace;

/// Put a version, date or label text at an address
#[derive(Args, Debug)]
pub struct MarkArgs {
    /// Address of the first character
    #[arg(value_name = "ADDR", value_parser = values::address)]
    address: InSpace<u64>,
    #[arg(value_name = "TEXT", help = TEXT_HELP)]
    text: String,
    /// Bytes of its place
    #[arg(long, value_name = "N", value_parser = values::size)]
    length: Option<u64>,
    /// What fills the rest of its place
    #[arg(long, value_name = "BYTE", default_value = "20", value_parser = values::byte, requires = "length")]
    with: u8,
    /// The text for {date} [default: the day of SOURCE_DATE_EPOCH]
    #[arg(long, value_name = "TEXT")]
    date: Option<String>,
    /// Allow the text to replace loaded data
    #[arg(long)]
    replace: bool,
    #[command(flatten)]
    on: On,
}

/// The parser reads a plain `{n}` in help as a line break; a colour reset inside hides it, and is invisible when printed.
const TEXT_HELP: &str = "The text, with \\n \\r \\t \\0 \\xNN \\\\ and {date} {name} {bank} {\u{1b}[0mn} and sums, \
                         such as {sum16}";

impl Step for MarkArgs {
    const NAME: &'static str = "mark";
    const ABOUT: &'static str = "put a version, date or label text at an address";
    const SENTENCE: &'static str = "Puts a text, such as a version or a date, at an address.";
    const HELP: &'static str = "\
The text is stored in UTF-8, over holes, filler and other marks; loaded data is replaced only with --replace. \
{name} is the piece's name, {n} its number from 0 up among the pieces that are marked, {bank} the bank of the address. \
{sum16}, {crc32} and every other sum by its name (`romloom help sums`) is the sum of all the image's bytes before the \
mark, in the form of `digest`: holes don't count. Any other word in braces is an error; {{ and }} are braces. \
The date never comes from the clock, so that the same inputs \
always give the same bytes: it is what --date says, or the day of the environment variable SOURCE_DATE_EPOCH \
(seconds since 1970-01-01, set by build systems).";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + mark 0xFFE0 \"HERON-8 {date}\" --date 2026-03-01 --length 20 + show hex 0xFFE0-0xFFFF
monitor
FFE0 > 48 45 52 4F . 4E 2D 38 20 . 32 30 32 36 . 2D 30 33 2D < FFEF  FFE0 \"HERON-8 2026-03-\"  mark
FFF0 > 30 31 20 20 . __ __ __ __ . __ __ 53 E3 . 15 E0 6B E3 < FFFF
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        self.look().blame(argument!(self.text))
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let (mut n, mut warned) = (0, false);
        // What is summed is everything; a text of known length is a place.
        let length = match self.text.contains('{') {
            true => self.length,
            false => self.length.or(Some(self.text.len() as u64)),
        };
        let place = length.and_then(|length| AddressRange::from_len(self.address.value, length));
        let ranges = place.filter(|_| !self.sums_anything());
        let edited = bench.edit(
            &self.address.place,
            ranges.as_ref().map(std::slice::from_ref),
            &self.on.only,
            |image, shown, console| {
                let context = Context {
                    image,
                    name: shown.name,
                    n,
                    bank: shown.bank,
                };
                let (bytes, beyond) = self.text(&context).blame(argument!(self.text))?;
                n += 1;
                if beyond && !warned {
                    let text = "this text has characters outside ASCII; they are stored in UTF-8";
                    console.say(MessageKind::Warning, text);
                    warned = true;
                }
                let at = self.address.value;
                let over = over_data(self.replace);
                let marked = ops::mark(image, at, &bytes, self.length, self.with, over);
                marked.map(|_| ()).map_err(|error| match error {
                    OpError::TextTooLong { .. } => Stop::from(error).at(argument!(self.text)),
                    other => other.into(),
                })
            },
        );
        edited.blame(argument!(self.address))
    }
}

/// One piece of the text.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Slot {
    /// Plain text, with its escapes made bytes.
    Bytes(Vec<u8>),
    /// `{date}`
    Date,
    /// `{name}`
    Name,
    /// `{bank}`
    Bank,
    /// `{n}`
    Number,
    /// Any sum by its name.
    Sum(Algo),
}

/// What replaces the words in braces in one place.
struct Context<'a> {
    /// The image, as it is before the mark.
    image: &'a Image,
    /// Its name.
    name: &'a str,
    /// Its number among those that are marked, from 0 up, as in the names of files.
    n: usize,
    /// The bank of the address, where it has one.
    bank: Option<u64>,
}

impl MarkArgs {
    /// The text, cut at its words in braces.
    fn slots(&self) -> Result<Vec<Slot>, Stop> {
        let mut slots = Vec::new();
        let mut plain = String::new();
        let mut rest = self.text.as_str();
        while let Some(at) = rest.find(['{', '}']) {
            let (before, braces) = rest.split_at(at);
            plain += before;
            if let Some(after) = braces.strip_prefix("{{") {
                plain.push('{');
                rest = after;
            } else if let Some(after) = braces.strip_prefix("}}") {
                plain.push('}');
                rest = after;
            } else if let Some((word, after)) = braces[1..]
                .split_once('}')
                .filter(|_| braces.starts_with('{'))
            {
                slots.push(Slot::Bytes(values::text(&plain)?));
                plain.clear();
                slots.push(Self::slot(word)?);
                rest = after;
            } else {
                let fact = format!("`{}` in the text has no partner", &braces[..1]);
                return Err(Stop::trouble(fact).advise("write {{ and }} for braces"));
            }
        }
        slots.push(Slot::Bytes(values::text(&(plain + rest))?));
        Ok(slots)
    }

    /// Whether the text has a sum in it.
    fn sums_anything(&self) -> bool {
        let slots = self.slots().unwrap_or_default();
        slots.iter().any(|slot| matches!(slot, Slot::Sum(_)))
    }

    /// What a word in braces asks for.
    fn slot(word: &str) -> Result<Slot, Stop> {
        match word {
            "date" => Ok(Slot::Date),
            "name" => Ok(Slot::Name),
            "bank" => Ok(Slot::Bank),
            "n" => Ok(Slot::Number),
            _ => word.parse().map(Slot::Sum).map_err(|_| {
                let fact = format!("`{{{}}}` in the text means nothing", shown(word));
                Stop::trouble(fact).advise(
                    "use {date}, {name}, {bank}, {n} or a sum by its name, such as {sum16} or {crc32}; \
                     write {{ and }} for braces",
                )
            }),
        }
    }

    /// Whether the text, and what it needs from outside, is there, as far as that is known before the run.
    fn look(&self) -> Result<(), Stop> {
        if self.text.is_empty() {
            return Err(Stop::trouble("the text is empty"));
        }
        if self.slots()?.contains(&Slot::Date) {
            self.day()?;
        }
        Ok(())
    }

    /// The bytes of the text in one place, and whether some came from characters outside ASCII.
    fn text(&self, context: &Context) -> Result<(Vec<u8>, bool), Stop> {
        let mut bytes = Vec::new();
        // Bytes given as \xNN are taken unchanged.
        let mut beyond = !self.text.is_ascii();
        for slot in self.slots()? {
            let put = match slot {
                Slot::Bytes(own) => {
                    bytes.extend(own);
                    continue;
                }
                Slot::Date => self.day()?,
                Slot::Name => context.name.to_owned(),
                Slot::Bank => bank(context)?.to_string(),
                Slot::Number => context.n.to_string(),
                Slot::Sum(algo) => sum_of(context.image, algo)?,
            };
            beyond |= !put.is_ascii();
            bytes.extend(put.into_bytes());
        }
        match bytes.is_empty() {
            true => Err(Stop::trouble("the text is empty")),
            false => Ok((bytes, beyond)),
        }
    }

    fn day(&self) -> Result<String, Stop> {
        date(self.date.as_deref())?.ok_or_else(|| {
            Stop::trouble("{date} needs --date or the environment variable SOURCE_DATE_EPOCH")
                .advise("the date never comes from the clock, so that builds can be repeated")
        })
    }
}

fn bank(context: &Context) -> Result<u64, Stop> {
    context.bank.ok_or_else(|| {
        Stop::trouble("{bank} is the bank of the address, but this address is not in a bank")
    })
}

/// The sum of all bytes of an image, as `digest` prints it.
fn sum_of(image: &Image, algo: Algo) -> Result<String, Stop> {
    let mut summing = algo.start();
    for span in image.spans() {
        summing.feed(span.bytes());
    }
    Ok(summing.finish().map_err(OpError::from)?.to_string())
}
