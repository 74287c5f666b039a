//! `write`: write files.

use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::Step;
use super::common::{On, format_names, sums_of, writable_format};
use super::named::within;
use super::pages::page_name;
use super::placeholders::{NameOfEach, OF_OUTPUTS};
use crate::cli::bench::{
    Argument, Bench, Blame, MessageKind, Piece, StagingError, Stop, argument, do_both, write_aside,
};
use crate::cli::report;
use crate::formats::{
    self, AddressForm, EntryChoice, Format, WriteError, WriteOption, WriteOptions, Written,
};
use crate::image::{Image, Order};
use crate::parts::Catalogue;
use crate::prose::{plural, thousands};
use crate::sums::{Algo, SumError};
use crate::values::{self, BadValue};

/// Write each piece to a file
#[derive(Args, Debug)]
pub struct WriteArgs {
    /// File name; for several pieces, with one or more of [`OF_OUTPUTS`]
    #[arg(value_name = "FILE", help = FILE_HELP)]
    file: String,
    /// Write this format, whatever the name says (see `romloom formats`)
    #[arg(long = "as", value_name = "FORMAT", value_parser = writable_format)]
    format: Option<String>,
    /// Address width in bits [default: as small as the image allows]
    #[arg(long, value_enum, value_name = "16|20|24|32")]
    address_bits: Option<Bits>,
    /// Data bytes in a record [default: 16]
    #[arg(long, value_name = "N", value_parser = per_record)]
    per_record: Option<u16>,
    /// Header text of an S-record
    #[arg(long, value_name = "TEXT")]
    header: Option<String>,
    /// Entry point [default: the image's own]
    #[arg(long, value_name = "ADDR|none", value_parser = entry)]
    entry: Option<EntryChoice>,
    /// Line ends [default: lf]
    #[arg(long, value_enum)]
    line_end: Option<LineEndArg>,
    /// Add a count record to S-records
    #[arg(long)]
    count: bool,
    /// Let addresses in the file count words of this many bytes
    #[arg(long, value_name = "N", value_parser = within(1..=8))]
    unit: Option<u8>,
    /// readmem: bytes in a word
    #[arg(long, value_name = "N", value_parser = within(1..=8))]
    word: Option<u8>,
    /// readmem: which byte of a word has the lowest address
    #[arg(long, value_enum)]
    order: Option<Order>,
    /// Text for source code: name of the array
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Decode what was written before it takes its place: intel-hex and s-record by a library that is not ours, the rest by reading it back
    #[arg(long)]
    proof: bool,
    /// Also write chips without data, which are erased anyway
    #[arg(long)]
    erased_too: bool,
    #[command(flatten)]
    on: On,
}

/// The parser reads a plain `{n}` in help as a line break; a colour reset inside hides it, and is invisible when printed.
const FILE_HELP: &str = "File name; {name} {part} {\u{1b}[0mn} {sum16} {crc32} in it are replaced for each piece; \
                         - is standard output";

#[derive(ValueEnum, Debug, Clone, Copy)]
enum Bits {
    #[value(name = "16")]
    B16,
    #[value(name = "20")]
    B20,
    #[value(name = "24")]
    B24,
    #[value(name = "32")]
    B32,
}

#[derive(ValueEnum, Debug, Clone, Copy)]
enum LineEndArg {
    /// Line feed
    Lf,
    /// Carriage return and line feed
    Crlf,
}

fn per_record(text: &str) -> Result<u16, BadValue> {
    match values::size(text)? {
        n @ 1..=255 => Ok(n as u16),
        n => Err(BadValue::fact(format!(
            "`{n}` is not possible here: a record has 1 to 255 data bytes"
        ))),
    }
}

fn entry(text: &str) -> Result<EntryChoice, BadValue> {
    match text {
        "none" => Ok(EntryChoice::None),
        _ => values::number(text).map(EntryChoice::At),
    }
}

impl Step for WriteArgs {
    const NAME: &'static str = "write";
    const ABOUT: &'static str = "write each piece to a file";
    const SENTENCE: &'static str = "Writes each piece to a file.";
    const HELP: &'static str = "\
The extension decides the format, or --as. Nothing is put in place until every step of the run has succeeded; a \
file that would be byte-identical is not touched. A missing folder is made. An address that does not fit the chosen \
width is an error and never cut short. A raw file can't contain a hole: `fill` or `pad` first.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex basic.s19 + pad 32K --at 0x8000 + fill FF + relocate --to 0 + write out/new.bin
wrote out/new.bin  raw, 32,768 bytes, sum16 660F sum32 0079660F crc32 1369FEF5
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        self.choose_format()?;
        self.name_of_each().map(|_| ())
    }

    fn outputs(&self) -> Vec<(Argument, &str)> {
        let name = page_name(&self.file);
        name.map(|name| (argument!(self.file), name))
            .into_iter()
            .collect()
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        bench.warn_of_stale_stamps();
        let format = self.choose_format()?;
        let name = self.name_of_each()?;
        let chosen = bench.chosen(&self.on.only)?;
        if chosen.len() > 1 && !name.is_of_each() {
            const TOLD: usize = 4;
            let names = chosen.iter().map(|i| bench.pieces[*i].name.as_str());
            let mut names: Vec<&str> = names.take(TOLD).collect();
            names.extend((chosen.len() > TOLD).then_some("..."));
            return Err(Stop::trouble(format!(
                "there are {} pieces ({}) but one name",
                thousands(chosen.len() as u64),
                names.join(", ")
            ))
            .advise("put {name} into it, or choose one with --on")
            .at(argument!(self.file)));
        }
        for (n, i) in chosen.into_iter().enumerate() {
            let piece = &bench.pieces[i];
            let is_erased = piece.seat().is_some() && piece.is_erased();
            if is_erased && name.is_of_each() && !self.erased_too {
                let text = format!(
                    "{} is erased: nothing to burn, so no file is written (--erased-too writes one)",
                    piece.name
                );
                bench.console.say(MessageKind::Note, &text);
                continue;
            }
            let name = name.of(piece, n).blame(argument!(self.file))?;
            self.write_piece(bench, i, &name, format)?;
        }
        Ok(())
    }
}

/// A raw file has no addresses: if its beginning is missing, a programmer puts the rest into the wrong cells.
fn warn_of_part_of_a_chip(bench: &Bench, piece: &Piece) {
    let (Some(part), Some(extent)) = (piece.part(), piece.image().extent()) else {
        return;
    };
    if piece.seat().is_some() && (extent.first(), extent.len()) != (0, part.bytes()) {
        let text = format!(
            "{}: there is only {extent} of a {} with {}: `pad {} --at 0` completes it",
            piece.name,
            part.name,
            plural(part.bytes(), "byte"),
            part.name
        );
        bench.console.say(MessageKind::Warning, &text);
    }
}

/// A programmer that shows a CRC-32 can't tell such chips apart.
fn warn_of_same_crc(bench: &Bench, holds: &report::HeldPiece) {
    if u128::from_str_radix(&holds.crc32, 16).ok() == Algo::CRC32.residue() {
        let text = format!(
            "{}: crc32 {} is that of every image that ends in its own crc32, so it can't tell chips apart: compare sum16 or sum32",
            holds.piece, holds.crc32
        );
        bench.console.say(MessageKind::Note, &text);
    }
}

impl WriteArgs {
    fn name_of_each(&self) -> Result<NameOfEach, Stop> {
        NameOfEach::read(&self.file, OF_OUTPUTS).blame(argument!(self.file))
    }

    fn choose_format(&self) -> Result<&'static dyn Format, Stop> {
        let extension = Path::new(&self.file).extension().and_then(|e| e.to_str());
        let format = match &self.format {
            Some(name) => formats::by_name(name),
            None => extension
                // A .txt may be any text, so it tells only a reader something.
                .filter(|extension| !extension.eq_ignore_ascii_case("txt"))
                .and_then(formats::by_extension)
                .filter(|f| f.can_write()),
        };
        if self.file.ends_with('/') {
            let fact = format!("{} is a folder", self.file);
            let advice = format!("name a file in it, such as {}chip.bin", self.file);
            return Err(Stop::trouble(fact).advise(advice).at(argument!(self.file)));
        }
        let format = format.ok_or_else(|| {
            let names = format_names(|f| f.can_write()).join(", ");
            let raw = match extension {
                None if self.file == "-" => "write - --as raw, or ".to_owned(),
                None => format!("name it {}.bin, or ", self.file),
                Some("txt") => format!("write {} --as ti-txt, or ", self.file),
                Some(_) => String::new(),
            };
            Stop::trouble(format!("the name {} does not say the format", self.file))
                .advise(format!("{raw}name one with --as ({names})"))
                .at(argument!(self.file))
        })?;
        let given = [
            (
                WriteOption::Address,
                self.address_bits.is_some(),
                argument!(self.address_bits),
            ),
            (
                WriteOption::Width,
                self.per_record.is_some(),
                argument!(self.per_record),
            ),
            (
                WriteOption::Header,
                self.header.is_some(),
                argument!(self.header),
            ),
            (
                WriteOption::Crlf,
                self.line_end.is_some(),
                argument!(self.line_end),
            ),
            (WriteOption::Count, self.count, argument!(self.count)),
            (WriteOption::Unit, self.unit.is_some(), argument!(self.unit)),
            (WriteOption::Word, self.word.is_some(), argument!(self.word)),
            (
                WriteOption::Order,
                self.order.is_some(),
                argument!(self.order),
            ),
            (WriteOption::Name, self.name.is_some(), argument!(self.name)),
        ];
        let heeds = format.meta().writing;
        match given
            .iter()
            .find(|(name, given, _)| *given && !heeds.contains(name))
        {
            None => Ok(format),
            Some((option, _, argument)) => Err(Stop::trouble(format!(
                "{} means nothing to {} files",
                flag(*option),
                format.name()
            ))
            .at(*argument)),
        }
    }

    /// The argument that a failure is about.
    fn blamed(&self, failure: &WriteFailure) -> Argument {
        let WriteFailure::Write(error) = failure else {
            return argument!(self.file);
        };
        match error {
            WriteError::AddressTooLarge { .. } | WriteError::NoSuchForm { .. } => {
                argument!(self.address_bits)
            }
            WriteError::EntryTooLarge { .. } | WriteError::EntryUnit { .. } => {
                argument!(self.entry)
            }
            WriteError::Width { .. }
            | WriteError::WidthUnit { .. }
            | WriteError::TooManyRecords { .. } => argument!(self.per_record),
            WriteError::HeaderTooLong { .. } => argument!(self.header),
            WriteError::PartWord { .. } | WriteError::UnitAndWord => argument!(self.unit),
            _ => argument!(self.file),
        }
    }

    fn options(&self) -> WriteOptions {
        WriteOptions {
            address: match self.address_bits {
                None => AddressForm::Smallest,
                Some(Bits::B16) => AddressForm::Bits16,
                Some(Bits::B20) => AddressForm::Bits20,
                Some(Bits::B24) => AddressForm::Bits24,
                Some(Bits::B32) => AddressForm::Bits32,
            },
            width: self.per_record,
            header: self.header.as_ref().map(|h| h.as_bytes().to_vec()),
            entry: self.entry.unwrap_or_default(),
            crlf: matches!(self.line_end, Some(LineEndArg::Crlf)),
            count: self.count,
            unit: self.unit.unwrap_or(1),
            word: self.word.unwrap_or(1),
            order: self.order.unwrap_or(Order::Little),
            name: self.name.clone(),
        }
    }

    fn write_piece(
        &self,
        bench: &mut Bench,
        index: usize,
        name: &str,
        format: &'static dyn Format,
    ) -> Result<(), Stop> {
        let piece = &bench.pieces[index];
        let image = piece.image();
        if format.name() == "raw" {
            warn_of_part_of_a_chip(bench, piece);
        }
        let path = match name {
            "-" => PathBuf::from("-"),
            _ => bench.path(Path::new(name)),
        };
        let name = path.display().to_string();
        let how = self.options();
        let mut written = Written::default();
        let piece_name = piece.name.clone();
        let stage = || {
            bench.staging.stage::<WriteFailure>(
                &name,
                &path,
                |out| {
                    let write = |out: &mut dyn io::Write| format.write(image, &how, out);
                    written = match format.meta().takes_anything {
                        // There is nothing to make: the bytes are written as they are.
                        true => write(out)?,
                        false => write_aside(image.len(), out, write)?,
                    };
                    Ok(())
                },
                |temp| match self.proof {
                    true => prove(format, temp, image, &how),
                    false => Ok(()),
                },
            )
        };
        let (holds, state) = do_both(image.len(), || held_piece(piece), stage);
        let state = state.map_err(|failure| {
            let argument = self.blamed(&failure);
            let stop = match failure {
                WriteFailure::Staging(error) => Stop::from(error),
                WriteFailure::Write(error) => Stop::from(error).about(&name).about(&piece_name),
                WriteFailure::Io(error) => Stop::from(error).about(&name).about(&piece_name),
                WriteFailure::Proof(error) => Stop::from(error)
                    .about("the proof failed, nothing was put in place")
                    .about(&name)
                    .about(&piece_name),
            };
            stop.at(argument)
        })?;
        let holds = holds?;
        warn_of_same_crc(bench, &holds);
        for left_out in &written.left_out {
            let advice = report::advice::of_left_out(left_out);
            let advice = advice.map_or(String::new(), |advice| format!(" ({advice})"));
            bench
                .console
                .say(MessageKind::Warning, &format!("{name}: {left_out}{advice}"));
        }
        let form = written.form.map_or(String::new(), |f| format!(" {f}"));
        bench.made.push(report::Output {
            file: name,
            state,
            format: format!("{}{form}", format.name()),
            holds: Some(holds),
        });
        Ok(())
    }
}

/// How an option is written here.
fn flag(option: WriteOption) -> String {
    match option {
        WriteOption::Crlf => "--line-end".into(),
        other => format!("--{other}"),
    }
}

/// Decodes the file that waits, and compares.
fn prove(
    format: &dyn Format,
    temp: &Path,
    image: &Image,
    how: &WriteOptions,
) -> Result<(), WriteFailure> {
    let file = io::BufReader::new(std::fs::File::open(temp)?);
    Ok(formats::prove(format, file, image, how)?)
}

/// What goes into names and into the list of what was made.
///
/// # Errors
/// None: these sums take any number of bytes.
pub(super) fn held_piece(piece: &Piece) -> Result<report::HeldPiece, SumError> {
    let sums = sums_of(piece, &[Algo::SUM16, Algo::SUM32, Algo::CRC32]).map_err(|(_, e)| e)?;
    let mut values = sums.into_iter().map(|sum| sum.value);
    let mut next = || values.next().unwrap_or_default();
    Ok(report::HeldPiece {
        piece: piece.name.clone(),
        bytes: piece.image().len(),
        sum16: next(),
        sum32: next(),
        crc32: next(),
    })
}

#[derive(Debug, thiserror::Error)]
enum WriteFailure {
    #[error(transparent)]
    Staging(#[from] StagingError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Io(#[from] io::Error),
    #[error(transparent)]
    Proof(#[from] formats::ProofError),
}
