//! A second opinion: what was written is decoded by a library that is not ours, and compared with the image.

use super::{Findings, Format, Input, ReadOptions, Strictness, WriteOptions};
use crate::image::{Builder, Clash, Image, Source};

/// The written file does not decode to the image.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the proof failed, nothing was put in place: {0}")]
pub struct ProofError(String);

/// Decodes `file` and compares bytes and holes with `image`.
///
/// Intel HEX goes through the crate `ihex`, S-records through the crate `srec`; other formats through our own reader.
///
/// `how` is what the file was written with.
///
/// # Errors
/// [`ProofError`] with the first address that differs; or for a format that can only be written.
pub fn prove(
    format: &dyn Format,
    file: &[u8],
    image: &Image,
    how: &WriteOptions,
) -> Result<(), ProofError> {
    if !format.can_read() {
        let text = format!(
            "there is no reader for {} files: leave out --proof",
            format.name()
        );
        return Err(ProofError(text));
    }
    let unit = u64::from(how.unit);
    let read = match format.name() {
        "intel-hex" => by_ihex(text(file)?, unit)?,
        "s-record" => by_srec(text(file)?, unit)?,
        _ => by_our_reader(format, file, image, how)?,
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
    let say = |byte: Option<u8>| byte.map_or("a hole".into(), |b| format!("{b:02X}"));
    Err(ProofError(format!(
        "at 0x{at:04X} the image holds {}, the file says {}",
        say(image.byte(at)),
        say(read.byte(at))
    )))
}

fn text(file: &[u8]) -> Result<&str, ProofError> {
    std::str::from_utf8(file).map_err(|e| ProofError(e.to_string()))
}

fn collect<'r>(
    unit: u64,
    records: impl Iterator<Item = Result<Option<(u64, Vec<u8>)>, String>> + 'r,
) -> Result<Image, ProofError> {
    let mut builder = Builder::new(Source::File("proof".into()));
    for (i, record) in records.enumerate() {
        let line = i as u64 + 1;
        let wrong = |e: String| ProofError(format!("record {line}: {e}"));
        if let Some((address, bytes)) = record.map_err(wrong)? {
            let pushed = builder.push(address * unit, &bytes, line);
            pushed.map_err(|e| wrong(e.to_string()))?;
        }
    }
    builder
        .finish(Clash::Refuse)
        .map_err(|e| ProofError(e.to_string()))
}

fn by_ihex(text: &str, unit: u64) -> Result<Image, ProofError> {
    use ihex::Record::{Data, ExtendedLinearAddress, ExtendedSegmentAddress};
    let mut base = 0u64;
    collect(
        unit,
        ihex::Reader::new(text).map(move |record| {
            Ok(match record.map_err(|e| e.to_string())? {
                Data { offset, value } => Some((base + u64::from(offset), value)),
                ExtendedSegmentAddress(segment) => {
                    base = u64::from(segment) << 4;
                    None
                }
                ExtendedLinearAddress(upper) => {
                    base = u64::from(upper) << 16;
                    None
                }
                _ => None,
            })
        }),
    )
}

fn by_srec(text: &str, unit: u64) -> Result<Image, ProofError> {
    use srec::Record::{S1, S2, S3};
    collect(
        unit,
        srec::reader::read_records(text).map(|record| {
            let record = record.map_err(|e| format!("{e:?}"))?;
            Ok(match record {
                S1(data) => Some((u32::from(data.address).into(), data.data)),
                S2(data) => Some((u32::from(data.address).into(), data.data)),
                S3(data) => Some((u32::from(data.address).into(), data.data)),
                _ => None,
            })
        }),
    )
}

fn by_our_reader(
    format: &dyn Format,
    file: &[u8],
    image: &Image,
    how: &WriteOptions,
) -> Result<Image, ProofError> {
    let how = ReadOptions {
        // What has no addresses of its own is held against the image's.
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
        .map_err(|e| ProofError(e.to_string()))?;
    let error = findings
        .list()
        .iter()
        .find(|f| f.severity == super::Severity::Error);
    match error {
        Some(error) => Err(ProofError(error.to_string())),
        None => Ok(read),
    }
}
