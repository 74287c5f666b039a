//! A user's own parts, read from TOML.

use std::collections::HashSet;
use std::fmt;

use serde::de::{self, Deserialize, Deserializer, SeqAccess, Visitor};
use toml::Spanned;

use super::{Drive, Kind, OwnPartsError, Part, Pin, Sectors, check};
use crate::prose::{plural, shown, thousands};

/// A longer text is not a list of parts.
const LARGEST: usize = 1 << 20;

/// What kind of text parts are read from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Within {
    /// A list of parts: at least one, and nothing else.
    List,
    /// A board, which has other tables too, and perhaps no part.
    Board,
}

/// The parts of `text`, checked, with names that are not `known` and that no two of them share.
pub(super) fn rows(
    file: &str,
    text: &str,
    within: Within,
    known: impl Fn(&str) -> bool,
) -> Result<Vec<Part>, OwnPartsError> {
    let fail = |at: usize, message: &str| error(file, text, at, message);
    if text.len() > LARGEST {
        let message = format!(
            "the file has {}; a list of parts has at most {}",
            plural(text.len() as u64, "byte"),
            thousands(LARGEST as u64)
        );
        return Err(fail(0, &message));
    }
    let parsed = match within {
        Within::List => toml::from_str::<File>(text).map(|file| file.part),
        Within::Board => toml::from_str::<BoardFile>(text).map(|file| file.part),
    };
    let rows =
        parsed.map_err(|error| fail(error.span().map_or(0, |span| span.start), error.message()))?;
    if rows.0.is_empty() && within == Within::List {
        return Err(fail(
            text.len(),
            "the file has no part; begin each part with a line `[[part]]`",
        ));
    }
    let mut taken = HashSet::new();
    let mut parts = Vec::with_capacity(rows.0.len());
    for row in rows.0 {
        let places = ColumnPlaces::of(&row);
        let part = row.part(file).map_err(|(at, message)| fail(at, &message))?;
        for (name, &at) in part.names().zip(&places.names) {
            check::name(name).map_err(|message| fail(at, &message))?;
            if known(name) || !taken.insert(name.to_ascii_lowercase()) {
                let message = format!(
                    "`{name}` is already in the table; give this part another name, such as `{name}-own`"
                );
                return Err(fail(at, &message));
            }
        }
        if let Some(fault) = part.fault() {
            return Err(fail(places.column(fault.column), &fault.message));
        }
        parts.push(part);
    }
    Ok(parts)
}

/// The whole file.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    part: Rows,
}

/// The parts of a board file; the rest is checked by what reads the board.
#[derive(serde::Deserialize)]
struct BoardFile {
    #[serde(default)]
    part: Rows,
}

/// One part as it is written in the file; the columns are those of [`Part`].
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: Spanned<Text>,
    #[serde(default)]
    also: Vec<Spanned<Text>>,
    words: Spanned<u32>,
    width: Spanned<u8>,
    kind: Kind,
    erased: Option<Spanned<u8>>,
    page: Option<Spanned<u32>>,
    sector: Option<Spanned<u32>>,
    sectors: Option<Spanned<Vec<Text>>>,
    pins: Spanned<u8>,
    pinout: Option<Spanned<Vec<Spanned<Text>>>>,
    pinout_source: Option<Spanned<Text>>,
    #[serde(default)]
    outputs: Drive,
    write_us: Option<Spanned<u32>>,
    program_volts: Option<Spanned<f64>>,
    source: Option<Spanned<Text>>,
    note: Option<Spanned<Text>>,
}

impl Row {
    /// The part; the error is the place in the text and what is wrong there.
    fn part(self, file: &str) -> Result<Part, (usize, String)> {
        let pinout = self.pinout.map(|pinout| {
            let pins = pinout.into_inner().into_iter();
            pins.map(|pin| {
                let at = pin.span().start;
                let word = pin.into_inner().0;
                let found = shown(&word);
                word.parse::<Pin>()
                    .map_err(|expected| (at, format!("`{found}`: {expected}")))
            })
            .collect()
        });
        let told = |source: Option<Spanned<Text>>| {
            source.map_or_else(|| shown(file), |text| text.into_inner().0)
        };
        let sectors = self.sectors.map(|sectors| {
            let at = sectors.span().start;
            let texts = sectors.get_ref().iter().map(|text| text.0.as_str());
            Sectors::read(texts).map_err(|error| (at, error.to_string()))
        });
        Ok(Part {
            name: self.name.into_inner().0,
            also: self
                .also
                .into_iter()
                .map(|name| name.into_inner().0)
                .collect(),
            words: self.words.into_inner(),
            width: self.width.into_inner(),
            kind: self.kind,
            erased: self.erased.map(Spanned::into_inner),
            page: self.page.map(Spanned::into_inner),
            sector: self.sector.map(Spanned::into_inner),
            sectors: sectors.transpose()?,
            pins: self.pins.into_inner(),
            pinout: pinout.transpose()?,
            pinout_source: told(self.pinout_source),
            outputs: self.outputs,
            write_us: self.write_us.map(Spanned::into_inner),
            program_volts: self.program_volts.map(Spanned::into_inner),
            source: told(self.source),
            note: self
                .note
                .map_or_else(String::new, |text| text.into_inner().0),
        })
    }
}

/// Where the columns of a row are in the text.
struct ColumnPlaces {
    /// `name`, then `also`.
    names: Vec<usize>,
    others: [(&'static str, Option<usize>); 13],
}

impl ColumnPlaces {
    fn of(row: &Row) -> ColumnPlaces {
        fn start<T>(value: &Spanned<T>) -> usize {
            value.span().start
        }
        ColumnPlaces {
            names: std::iter::once(&row.name)
                .chain(&row.also)
                .map(start)
                .collect(),
            others: [
                ("words", Some(start(&row.words))),
                ("width", Some(start(&row.width))),
                ("erased", row.erased.as_ref().map(start)),
                ("page", row.page.as_ref().map(start)),
                ("sector", row.sector.as_ref().map(start)),
                ("sectors", row.sectors.as_ref().map(start)),
                ("pins", Some(start(&row.pins))),
                ("pinout", row.pinout.as_ref().map(start)),
                ("pinout_source", row.pinout_source.as_ref().map(start)),
                ("write_us", row.write_us.as_ref().map(start)),
                ("program_volts", row.program_volts.as_ref().map(start)),
                ("source", row.source.as_ref().map(start)),
                ("note", row.note.as_ref().map(start)),
            ],
        }
    }

    /// Where a column's value starts; that of the name when it is not there.
    fn column(&self, column: &str) -> usize {
        let found = self.others.iter().find(|(name, _)| *name == column);
        found.and_then(|&(_, at)| at).unwrap_or(self.names[0])
    }
}

/// The tables `[[part]]`.
#[derive(Default)]
struct Rows(Vec<Row>);

impl<'de> Deserialize<'de> for Rows {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Rows, D::Error> {
        struct Tables;
        impl<'de> Visitor<'de> for Tables {
            type Value = Rows;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("tables, each begun by `[[part]]` in double brackets")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut tables: A) -> Result<Rows, A::Error> {
                let mut rows = Vec::new();
                while let Some(row) = tables.next_element()? {
                    rows.push(row);
                }
                Ok(Rows(rows))
            }
        }
        deserializer.deserialize_seq(Tables)
    }
}

/// A text, which must be in quotes even when it is all digits.
struct Text(String);

impl<'de> Deserialize<'de> for Text {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Text, D::Error> {
        struct Quoted;
        impl Visitor<'_> for Quoted {
            type Value = Text;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a text in quotes, such as \"2716\"")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Text, E> {
                Ok(Text(text.to_owned()))
            }
        }
        deserializer.deserialize_str(Quoted)
    }
}

/// The error for the place `at`, counted in bytes.
fn error(file: &str, text: &str, at: usize, message: &str) -> OwnPartsError {
    let mut ends = (0..=at.min(text.len())).rev();
    let end = ends.find(|end| text.is_char_boundary(*end)).unwrap_or(0);
    let before = &text[..end];
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    OwnPartsError {
        file: file.to_owned(),
        line: before.matches('\n').count() + 1,
        column: before[line_start..].chars().count() + 1,
        // The TOML reader's messages have several lines, and may contain control characters that the file wrote as escapes.
        message: message
            .trim_end()
            .replace('\n', "; ")
            .chars()
            .map(|c| {
                if c.is_control() {
                    c.escape_default().to_string()
                } else {
                    c.to_string()
                }
            })
            .collect(),
    }
}
