//! `load`: read files into the bench.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Step;
use super::common::{LargeFiles, Reading, readable_format};
use super::fresh_names::FreshNames;
use super::named::within;
use crate::cli::bench::{
    Argument, Bench, Blame, Cause, MOST_READ, MessageKind, Piece, ReadLimit, Stop, argument, plain,
};
use crate::cli::report::{self, carets, plural};
use crate::formats::raw::Raw;
use crate::formats::{
    self, Format, Input, LoadError, ReadOption, ReadOptions, Salvaged, Strictness, Undetected,
};
use crate::image::{Clash, Entry, Image, Order};
use crate::parts::Catalogue;
use crate::values;
use crate::values::Place;

/// Read files into the bench
#[derive(Args, Debug)]
pub struct LoadArgs {
    /// Files to read, in this order; - is standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Read as this format, whatever content and name say (see `romloom formats`)
    #[arg(long = "as", value_name = "FORMAT", value_parser = readable_format)]
    format: Option<String>,
    /// Address of a raw file's first byte
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    /// Put each raw file after the one before it
    #[arg(long)]
    follow: bool,
    /// Skip this many bytes of a raw file
    #[arg(long, value_name = "N", value_parser = values::number)]
    skip: Option<u64>,
    /// Take only this many bytes of a raw file
    #[arg(long, value_name = "N", value_parser = values::size)]
    length: Option<u64>,
    /// What happens where two records or files want one address
    #[arg(long, value_enum, default_value_t)]
    clash: Clash,
    /// Make each file a piece of its own, named as the file without extension
    #[arg(long)]
    apart: bool,
    /// Where on a board it will go: bank1, video, video:bank3, or a socket if it is the content of that chip; makes a piece of its own
    #[arg(long = "for", value_name = "PLACE")]
    place: Option<Place>,
    /// Name of the piece [default: the first file's name without extension]
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Addresses in the file count words of this many bytes
    #[arg(long, value_name = "N", value_parser = within(1..=8))]
    unit: Option<u8>,
    /// readmem: bytes in a word
    #[arg(long, value_name = "N", value_parser = within(1..=8))]
    word: Option<u8>,
    /// readmem: which byte of a word has the lowest address
    #[arg(long, value_enum)]
    order: Option<Order>,
    /// elf: place segments at their virtual addresses instead of the physical ones
    #[arg(long = "virtual")]
    virtual_addresses: bool,
    /// elf: load the allocated sections instead of the segments
    #[arg(long)]
    sections: bool,
    #[command(flatten)]
    reading: Reading,
    /// Entry point, if files name different ones
    #[arg(long, value_name = "ADDR|first|last|none", value_parser = which_entry)]
    entry: Option<WhichEntry>,
    #[command(flatten)]
    large: LargeFiles,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum WhichEntry {
    First,
    Last,
    None,
    At(u64),
}

fn which_entry(text: &str) -> Result<WhichEntry, values::BadValue> {
    Ok(match text {
        "first" => WhichEntry::First,
        "last" => WhichEntry::Last,
        "none" => WhichEntry::None,
        _ => WhichEntry::At(values::number(text)?),
    })
}

impl Step for LoadArgs {
    const NAME: &'static str = "load";
    const ABOUT: &'static str = "read files into the bench";
    const SENTENCE: &'static str = "Reads the files and puts every byte at its own address.";
    const HELP: &'static str = "\
All files go into one piece, each byte at its own address, unless --apart makes each a piece of its own. \
The format is found out from the content, or from the file name if the content does not decide. Raw files have no \
addresses: byte 0 goes to --at, or to 0. To move files with addresses use `relocate`.

A damaged record is an error that shows the line; a harmless oddity is a warning. With --salvage every sound record \
of a damaged file is taken, what is missing is listed, and the run ends with exit code 1. Several damaged copies of one \
file fill each other's holes: load a.hex b.hex --salvage; if both are sound at one place and differ, that is an error. An \
entry point of 0 in an S-record counts as none if another file names one.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex basic.s19 + show
monitor   8000-FFFF   one cell = 1K
8000 bb______  A000 ________  C000 ________  E000 mm_____m  FFFF
b basic.s19   m monitor.hex   _ hollow
data 2,735, filler 0, hollow 30,033, entry point 8000
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        let several = self.files.len() > 1;
        if self.follow && self.apart {
            return Err(
                Stop::trouble("--follow puts files into one piece, --apart makes several")
                    .advise("use one of them")
                    .at(argument!(self.apart)),
            );
        }
        if several && self.apart && self.name.is_some() {
            return Err(
                Stop::trouble("--apart makes several pieces, but --name has one name")
                    .advise("give each file its own `load --apart --name`")
                    .at(argument!(self.name)),
            );
        }
        if several && (self.skip.is_some() || self.length.is_some()) {
            let argument = match self.skip {
                Some(_) => argument!(self.skip),
                None => argument!(self.length),
            };
            return Err(Stop::trouble("--skip and --length concern one file")
                .advise("give each file its own `load`")
                .at(argument));
        }
        if self.length.is_some_and(|length| length > MOST_READ) && !self.large.allow_large {
            return Err(Stop::trouble("there is more than 1 GiB to read")
                .advise("is the length right? --allow-large reads all of it")
                .at(argument!(self.length)));
        }
        let mut streams = (0..self.files.len()).filter(|i| self.files[*i] == Path::new("-"));
        if let Some(second) = streams.nth(1) {
            return Err(Stop::trouble("standard input can be read only once")
                .at(argument!(self.files[second])));
        }
        Ok(())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let mut raw_before: Option<PathBuf> = None;
        let mut next_raw = self.at.unwrap_or(0);
        let mut merged: Option<Piece> = None;
        let mut salvaged: Option<Salvaged> = None;
        let mut names = FreshNames::on(bench);
        for (i, file) in self.files.iter().enumerate() {
            let this = argument!(self.files[i]);
            let (image, addressed, found) = self.read(bench, file, next_raw).blame(this)?;
            if !addressed {
                if let Some(before) = raw_before.replace(file.clone()) {
                    if !self.follow && !self.is_apart() {
                        return Err(Stop::trouble(format!(
                        "{} and {} are both raw and would both begin at 0x{next_raw:04X}",
                        before.display(),
                        file.display(),
                    ))
                    .advise("put the second after the first with --follow, make two pieces with --apart, or give each its own `load --at`")
                    .at(this));
                    }
                }
                if self.follow {
                    next_raw = image.extent().map_or(next_raw, |e| e.last() + 1);
                }
            }
            let piece = Piece::new(names.of(file), image);
            match &mut merged {
                _ if self.is_apart() => {
                    let piece = self.settled(piece);
                    names.take(&piece.name);
                    bench.pieces.push(piece);
                }
                None => merged = Some(piece),
                Some(first) => self.merge(bench, first, piece).blame(this)?,
            }
            match (found, &mut salvaged, &merged) {
                (Some(found), _, None) => {
                    report_salvage(bench, std::slice::from_ref(file), &found);
                }
                (Some(found), Some(first), Some(piece)) => first.add(found, piece.image()),
                (found, first, _) => *first = found,
            }
        }
        if let Some(salvaged) = salvaged {
            report_salvage(bench, &self.files, &salvaged);
        }
        let Some(piece) = merged else {
            let same = bench.refuse_same_names("--name");
            return same.blame(argument!(self.name));
        };
        match bench.pieces.len() {
            0 => bench.pieces.push(self.settled(piece)),
            1 => {
                let mut first = bench.pieces.remove(0);
                self.merge(bench, &mut first, piece)
                    .blame(argument!(self.files))?;
                bench.pieces.push(self.settled(first));
            }
            n => {
                return Err(Stop::trouble(format!(
                    "there are {n} pieces on the bench, and nothing says to which this belongs"
                ))
                .advise(
                    "make it a piece of its own with `load --apart`, or `join` the others first",
                )
                .at(argument!(self.files)));
            }
        }
        Ok(())
    }
}

impl LoadArgs {
    /// Whether each file is a piece of its own: what goes to one place of a board is not for another.
    fn is_apart(&self) -> bool {
        self.apart || self.place.is_some()
    }

    /// The finished piece, with the name and entry point that were asked for.
    fn settled(&self, mut piece: Piece) -> Piece {
        if let Some(name) = &self.name {
            piece.name.clone_from(name);
        }
        if let Some(place) = &self.place {
            piece = piece.with_place(place.clone());
        }
        match self.entry {
            Some(WhichEntry::None) => piece.start_at(None),
            Some(WhichEntry::At(address)) => piece.start_at(Some(Entry::Linear(address))),
            Some(WhichEntry::First | WhichEntry::Last) | None => {}
        }
        piece
    }

    /// Reads one file; also whether its format has addresses, and what a salvage gave.
    fn read(
        &self,
        bench: &mut Bench,
        file: &Path,
        raw_at: u64,
    ) -> Result<(Image, bool, Option<Salvaged>), Stop> {
        let how = ReadOptions {
            strictness: self.reading.into(),
            clash: self.clash,
            at: raw_at,
            skip: self.skip.unwrap_or(0),
            length: self.length,
            unit: self.unit.unwrap_or(1),
            word: self.word.unwrap_or(1),
            order: self.order.unwrap_or(Order::Little),
            virtual_addresses: self.virtual_addresses,
            sections: self.sections,
        };
        let given = [
            (ReadOption::At, self.at.is_some(), argument!(self.at)),
            (ReadOption::Skip, self.skip.is_some(), argument!(self.skip)),
            (
                ReadOption::Length,
                self.length.is_some(),
                argument!(self.length),
            ),
            (ReadOption::Unit, self.unit.is_some(), argument!(self.unit)),
            (ReadOption::Word, self.word.is_some(), argument!(self.word)),
            (
                ReadOption::Order,
                self.order.is_some(),
                argument!(self.order),
            ),
            (
                ReadOption::VirtualAddresses,
                self.virtual_addresses,
                argument!(self.virtual_addresses),
            ),
            (
                ReadOption::Sections,
                self.sections,
                argument!(self.sections),
            ),
        ];
        let format = self.format.as_deref();
        let limit = match (self.large.limit(), self.skip, self.length) {
            (ReadLimit::Usual, None, None) => ReadLimit::Usual,
            (ReadLimit::Usual, skip, length) => ReadLimit::Part {
                skip: skip.unwrap_or(0),
                has_length: length.is_some(),
            },
            (limit, ..) => limit,
        };
        read(
            bench,
            file,
            FormatOf::Content(format),
            &how,
            limit,
            |format| {
                let heeds = format.meta().reading;
                let idle = given
                    .iter()
                    .find(|(name, given, _)| *given && !heeds.contains(name));
                match idle {
                    None => Ok(()),
                    Some((option, _, argument)) => Err((
                        format!(
                            "{} means nothing to {} files{}",
                            flag(*option),
                            format.name(),
                            instead(*option, format)
                        ),
                        *argument,
                    )),
                }
            },
        )
    }

    fn merge(&self, bench: &mut Bench, first: &mut Piece, more: Piece) -> Result<(), Stop> {
        let (kept, other) = (first.image().entry, more.image().entry);
        let header = more.image().header.clone();
        let later = more.name.clone();
        let clash = match self.clash {
            // Damaged copies of one file agree wherever both are sound.
            Clash::Refuse if self.reading.salvage => Clash::Same,
            clash => clash,
        };
        let image = first.edit()?;
        image
            .merge(more.into_image(), clash)
            .map_err(|o| crate::ops::OpError::Clash(Box::new(o)))
            .map_err(|clash| {
                Stop::from(clash).advise(
                    "settle it with --clash same, first or last, or keep the programs apart with --apart",
                )
            })?;
        image.header = image.header.take().or(header);
        let entry = match (kept, other) {
            (Some(a), Some(b)) if a.address() == b.address() => kept,
            // An S-record without an entry point says 0.
            (Some(a), Some(_)) if a.address() == 0 => other,
            (Some(_), Some(b)) if b.address() == 0 => kept,
            (Some(a), Some(b)) => match self.entry {
                Some(WhichEntry::Last) => other,
                Some(_) => kept,
                None => {
                    bench.console.say(MessageKind::Warning, &format!(
                            "{} names the entry point 0x{:04X}, {} names 0x{:04X}: the first is kept; choose one with --entry",
                            first.name, a.address(), later, b.address()
                        ));
                    kept
                }
            },
            _ => kept.or(other),
        };
        first.start_at(entry);
        Ok(())
    }
}

/// How an option is written here.
fn flag(option: ReadOption) -> String {
    match option {
        ReadOption::VirtualAddresses => "--virtual".into(),
        other => format!("--{other}"),
    }
}

/// What to do instead of an option that a format does not use.
fn instead(option: ReadOption, format: &dyn Format) -> &'static str {
    match option {
        ReadOption::At if format.meta().has_addresses => {
            ", which have addresses of their own: `relocate` moves them"
        }
        ReadOption::Skip if format.meta().has_addresses => ": `drop` takes bytes out",
        ReadOption::Length if format.meta().has_addresses => ": `keep` cuts them down",
        _ => "",
    }
}

/// Says what could be read of damaged files, and that the run will end with 1.
fn report_salvage(bench: &mut Bench, files: &[PathBuf], salvaged: &Salvaged) {
    let files = files.iter().map(|f| f.display().to_string()).collect();
    bench
        .console
        .report(&report::Salvage::new(files, salvaged), false);
}

/// Extensions of files of our own that contain no image.
const OF_OURS: [&str; 2] = ["loom", "board"];

/// How the format of a file is found out.
#[derive(Clone, Copy, Debug)]
enum FormatOf<'n> {
    /// For what goes into a chip: as named, otherwise by content and extension, otherwise not at all.
    Content(Option<&'n str>),
    /// For what a piece is compared with: by content and extension, and what has neither is raw. Chips that were read are
    /// often named after their sockets.
    Reference,
}

/// Reads one file for any step, and finds out its format when none is named; also whether the format has addresses, and
/// what a salvage gave.
///
/// What the reader found is shown; `fits` may refuse the format before anything is read.
fn read(
    bench: &mut Bench,
    file: &Path,
    format: FormatOf,
    how: &ReadOptions,
    limit: ReadLimit,
    fits: impl FnOnce(&dyn Format) -> Result<(), (String, Argument)>,
) -> Result<(Image, bool, Option<Salvaged>), Stop> {
    let mut input = bench.open(file, limit)?;
    let shown = bench.shown(file);
    let trouble = |text: String| Stop::trouble(format!("{shown}: {text}"));
    let told = match format {
        FormatOf::Content(named) => chosen_format(&mut input, named),
        FormatOf::Reference => chosen_format(&mut input, None).or_else(|error| {
            let raw = raw_by_default(file, error)?;
            let text =
                format!("{shown}: the format can't be told from the content or the file name, so it is read as raw binary");
            bench.console.say_once(MessageKind::Note, &text);
            Ok(raw)
        }),
    };
    let format = told.map_err(|e| match (&e, format) {
        (LoadError::Undetected { .. }, FormatOf::Reference) => unreadable(e, file)
            .advise("if it is raw binary, give it a name that ends in .bin; otherwise convert it with `load --as FORMAT + write FILE`"),
        _ => unreadable(e, file),
    })?;
    fits(format).map_err(|(text, argument)| trouble(text).at(argument))?;
    let loaded = formats::read_as(format, &mut input, how).map_err(|e| unreadable(e, file))?;
    let (image, findings) = (loaded.image, loaded.findings);
    bench
        .console
        .show_block(&carets(&findings, bench.console.style()));
    let count = plural(findings.errors(), "error");
    let salvaged = match (findings.errors(), how.strictness) {
        (_, Strictness::Salvage) => Some(Salvaged::of(&findings, &image)),
        (0, _) => None,
        _ => return Err(Stop::trouble(format!("{shown} could not be read: {count}"))),
    };
    if findings.errors() > 0 {
        bench.say_no();
    }
    Ok((image, format.meta().has_addresses, salvaged))
}

/// The format that was named, which the parser has checked; otherwise the one that content and name say.
pub fn chosen_format(
    input: &mut Input<'_>,
    named: Option<&str>,
) -> Result<&'static dyn Format, LoadError> {
    match named.and_then(formats::by_name) {
        Some(format) => Ok(format),
        None => formats::format_of(input),
    }
}

/// Raw, for a file whose name says nothing; a file that is not what its name says is still an error.
///
/// # Errors
/// The one that was given.
pub fn raw_by_default(file: &Path, error: LoadError) -> Result<&'static dyn Format, LoadError> {
    let is_open = matches!(
        error,
        LoadError::Undetected {
            error: Undetected::Nothing,
            ..
        }
    );
    let extension = file.extension().and_then(|e| e.to_str()).unwrap_or("");
    let tells = OF_OURS.contains(&extension) || formats::by_extension(extension).is_some();
    match is_open && !tells {
        true => Ok(&Raw),
        false => Err(error),
    }
}

/// What the library could not read, as a stop.
pub fn unreadable(error: LoadError, file: &Path) -> Stop {
    match error {
        LoadError::Io { name, error } => Stop::trouble(format!("{name}: {}", plain(&error))),
        LoadError::Undetected { .. } => {
            Stop::from(error).because(Cause::UnknownFormat(file.to_owned()))
        }
        other => other.into(),
    }
}

/// Reads a file that a piece is compared with; a raw one begins at `raw_at`, and one whose name and content say nothing is raw.
pub(super) fn read_other(
    bench: &mut Bench,
    file: &Path,
    raw_at: u64,
    limit: ReadLimit,
) -> Result<Image, Stop> {
    let how = ReadOptions {
        at: raw_at,
        ..ReadOptions::default()
    };
    let format = FormatOf::Reference;
    read(bench, file, format, &how, limit, |_| Ok(())).map(|(image, ..)| image)
}
