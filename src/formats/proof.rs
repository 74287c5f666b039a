//! A written file is decoded and compared with the image: by a library that is not ours where there is one, otherwise by
//! reading it back.

use std::io::{self, BufRead};

use super::findings::{Findings, Severity, Strictness};
use super::format::Format;
use super::input::Input;
use super::options::{ReadOptions, WriteOptions};
use super::{intel_hex, s_record};
use crate::image::{Builder, Clash, Image, Source};
use crate::prose::debug_as_display;

/// Why a written file was not proved to contain the image.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ProofError {
    /// The format can only be written.
    #[error("there is no reader for {format} files")]
    NoReader {
        /// The format.
        format: &'static str,
    },
    /// The file can't be read back.
    #[error("it can't be read back: {what}")]
    Unread {
        /// What the system says.
        what: String,
    },
    /// The file can't be decoded.
    #[error("{what}")]
    NotSound {
        /// What the decoder says, without a full stop.
        what: String,
    },
    /// A byte differs.
    #[error("at 0x{at:04X} the image has {}, the file has {}", shown(*.image), shown(*.file))]
    Differs {
        /// The first address.
        at: u64,
        /// The image's byte; `None` for a hole.
        image: Option<u8>,
        /// The file's byte; `None` for a hole.
        file: Option<u8>,
    },
}

debug_as_display!(ProofError);

fn shown(byte: Option<u8>) -> String {
    byte.map_or("a hole".into(), |b| format!("{b:02X}"))
}

fn not_sound(what: impl ToString) -> ProofError {
    let what = what.to_string();
    ProofError::NotSound { what }
}

/// Decodes `file`, a record or a window at a time, and compares bytes and holes with `image`.
///
/// Intel HEX goes through the crate `ihex`, S-records through the crate `srec`; other formats through our own reader.
///
/// `how` is what the file was written with.
///
/// # Errors
/// [`ProofError`] with the first address that differs; or for a format that can only be written.
pub fn prove(
    format: &dyn Format,
    file: impl BufRead,
    image: &Image,
    how: &WriteOptions,
) -> Result<(), ProofError> {
    let name = format.name();
    if !format.can_read() {
        return Err(ProofError::NoReader { format: name });
    }
    let unit = u64::from(how.unit);
    let read = if name == intel_hex::IntelHex.name() {
        by_ihex(file, unit)?
    } else if name == s_record::SRecords.name() {
        by_srec(file, unit)?
    } else {
        by_our_reader(format, file, image, how)?
    };
    let all = read.extent().into_iter().chain(image.extent());
    let Some(all) = all.reduce(|a, b| a.hull(b)) else {
        return Ok(());
    };
    if read.same_bytes(image) {
        return Ok(());
    }
    let differs = |a: &Image, b: &Image| {
        a.spans()
            .iter()
            .flat_map(|s| s.range().first()..=s.range().last())
            .find(|at| a.byte(*at) != b.byte(*at))
    };
    let at = [differs(image, &read), differs(&read, image)]
        .into_iter()
        .flatten()
        .min()
        .unwrap_or(all.first());
    Err(ProofError::Differs {
        at,
        image: image.byte(at),
        file: read.byte(at),
    })
}

/// The lines of a file that are not empty, without blanks at their ends.
fn lines(file: impl BufRead) -> impl Iterator<Item = Result<String, ProofError>> {
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::InvalidData => not_sound("it is not text"),
        _ => ProofError::Unread {
            what: error.to_string(),
        },
    };
    file.lines()
        .map(move |line| Ok(line.map_err(failed)?.trim().to_owned()))
        .filter(|line| !line.as_ref().is_ok_and(String::is_empty))
}

/// A record's address and bytes; `None` for one that has none.
type DataRecord = Option<(u64, Vec<u8>)>;

/// The image of a file, one record a line.
fn by_lines(
    file: impl BufRead,
    unit: u64,
    mut decoded: impl FnMut(&str) -> Result<DataRecord, String>,
) -> Result<Image, ProofError> {
    let mut builder = Builder::new(Source::File("proof".into()));
    for (i, record) in lines(file).enumerate() {
        let line = i as u64 + 1;
        let wrong = |e: String| not_sound(format!("record {line}: {e}"));
        if let Some((address, bytes)) = decoded(&record?).map_err(wrong)? {
            let pushed = builder.push(address * unit, &bytes, line);
            pushed.map_err(|e| wrong(e.to_string()))?;
        }
    }
    builder.check_memory().map_err(|lacks| ProofError::Unread {
        what: lacks.to_string(),
    })?;
    builder.finish(Clash::Refuse).map_err(not_sound)
}

fn by_ihex(file: impl BufRead, unit: u64) -> Result<Image, ProofError> {
    use ihex::Record::{Data, EndOfFile, ExtendedLinearAddress, ExtendedSegmentAddress};
    let mut base = 0u64;
    let mut ended = false;
    by_lines(file, unit, |line| {
        if ended {
            return Err("it is after the end record".into());
        }
        Ok(
            match ihex::Record::from_record_string(line).map_err(|e| e.to_string())? {
                Data { offset, value } => Some((base + u64::from(offset), value)),
                ExtendedSegmentAddress(segment) => {
                    base = u64::from(segment) << 4;
                    None
                }
                ExtendedLinearAddress(upper) => {
                    base = u64::from(upper) << 16;
                    None
                }
                other => {
                    ended = other == EndOfFile;
                    None
                }
            },
        )
    })
}

fn by_srec(file: impl BufRead, unit: u64) -> Result<Image, ProofError> {
    use srec::Record::{S1, S2, S3};
    by_lines(file, unit, |line| {
        let record: srec::Record = line.parse().map_err(|e| format!("{e:?}"))?;
        Ok(match record {
            S1(data) => Some((u32::from(data.address).into(), data.data)),
            S2(data) => Some((u32::from(data.address).into(), data.data)),
            S3(data) => Some((u32::from(data.address).into(), data.data)),
            _ => None,
        })
    })
}

fn by_our_reader(
    format: &dyn Format,
    file: impl BufRead,
    image: &Image,
    how: &WriteOptions,
) -> Result<Image, ProofError> {
    let how = ReadOptions {
        // A file without addresses is compared at the image's.
        at: image.extent().map_or(0, |e| e.first()),
        unit: how.unit,
        word: how.word,
        order: how.order,
        ..ReadOptions::default()
    };
    let mut findings = Findings::new("the written file".into(), Strictness::Usual);
    let read = format
        .read(
            &mut Input::new("the written file", file),
            &how,
            &mut findings,
        )
        .map_err(not_sound)?;
    let error = findings
        .list()
        .iter()
        .find(|f| f.severity == Severity::Error);
    match error {
        Some(error) => Err(not_sound(error)),
        None => Ok(read),
    }
}
