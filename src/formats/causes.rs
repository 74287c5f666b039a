//! What would explain a damage: stated only where its arithmetic holds.
//!
//! A record that is not sound is changed in the ways in which files get damaged, one at a time, and put to the format's
//! own check again. What makes it sound *would explain* the damage; that is all that is ever said. Only errors that are
//! shown get here, so trying is cheap enough.

use std::fmt;
use std::ops::Range;

use super::findings::Place;
use super::input::{Line, LineEnd};
use crate::image::AddressRange;

/// Records longer than this, in characters, are not tried: two of the longest on one line.
const LONGEST: usize = 1100;

/// Something that would explain a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cause {
    /// The file stops inside the record.
    CutOff {
        /// Characters that are missing by the record's own length field.
        missing: usize,
    },
    /// A line end was lost between two records.
    Merged {
        /// Where the second begins.
        column: u64,
        /// Whether the first is sound.
        first_sound: bool,
        /// Whether the second is sound.
        second_sound: bool,
    },
    /// A line end was put into a record.
    Broken {
        /// The line that holds its beginning.
        line: u64,
    },
    /// The record is sound without what stands behind it.
    Behind {
        /// Where that begins.
        column: u64,
    },
    /// A letter that looks like a digit.
    LookAlike {
        /// Where the first stands.
        column: u64,
        /// What stands there.
        found: char,
        /// The digit it looks like.
        wanted: char,
    },
    /// One character is damaged, and the check leaves one digit for it.
    Unreadable {
        /// Where it stands.
        column: u64,
        /// The digit.
        wanted: char,
    },
    /// The record's first character is damaged.
    Mark {
        /// What it has to be.
        wanted: char,
    },
    /// The record's first character is lost.
    MarkLost {
        /// What it has to be.
        wanted: char,
    },
    /// A digit is lost: the length field counts one more.
    LostDigit,
    /// One character too many.
    Extra {
        /// Where it stands.
        column: u64,
        /// The character.
        found: char,
    },
    /// Another value of one field makes length and check right, and something else speaks for that value.
    Field {
        /// The field.
        name: &'static str,
        /// What it says.
        says: String,
        /// What it would have to say.
        wanted: String,
        /// What speaks for it.
        because: &'static str,
    },
    /// Two neighbouring digits changed places; no other pair of neighbours makes the check right.
    Swapped {
        /// Where the first stands.
        column: u64,
        /// The two as they stand there.
        digits: [char; 2],
    },
    /// One digit was changed; which one can't be told.
    OneDigit {
        /// In how many places a change of one digit makes the check right.
        places: usize,
    },
    /// An editor put a byte order mark at the beginning.
    ByteOrderMark,
    /// Text with two bytes for each character.
    TwoByteText,
    /// Bit 7 is set in some characters.
    BitSeven,
    /// Blanks inside the record.
    Blanks,
    /// A conversion of text put a replacement character (EF BF BD) for what it did not know.
    Replaced {
        /// Where it stands.
        column: u64,
    },
    /// A line was doubled.
    Doubled {
        /// The line.
        line: u64,
        /// The one that repeats it.
        again: u64,
    },
    /// A line was lost.
    LostLine {
        /// The line behind which it stood.
        behind: u64,
        /// The addresses nothing covers.
        range: AddressRange,
    },
    /// Several end records: several files in one.
    SeveralEnds {
        /// End records behind the first.
        more: u64,
    },
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cause::CutOff { missing } => {
                write!(
                    f,
                    "the file ends inside this record, {missing} characters short of its length: a file cut off in transfer would explain it"
                )
            }
            Cause::Merged {
                column,
                first_sound: true,
                second_sound: true,
            } => write!(
                f,
                "two sound records stand on this line, the second from column {column} on: a lost line end would explain it"
            ),
            Cause::Merged {
                column,
                first_sound,
                ..
            } => write!(
                f,
                "two records stand on this line, the second from column {column} on, and the {} is sound: a lost line end would explain part of it",
                if *first_sound { "first" } else { "second" }
            ),
            Cause::Broken { line } => write!(
                f,
                "behind line {line} this line makes one sound record: a line end put into it would explain both"
            ),
            Cause::Behind { column } => write!(
                f,
                "up to column {} this is a sound record: something added behind it would explain it",
                column - 1
            ),
            Cause::LookAlike {
                column,
                found,
                wanted,
            } => write!(
                f,
                "the record is sound with the digit {wanted} for `{found}` (column {column}): typing or reading by eye would explain it"
            ),
            Cause::Unreadable { column, wanted } => write!(
                f,
                "of all digits only {wanted} in column {column} makes the record sound: one damaged character would explain it"
            ),
            Cause::Mark { wanted } => write!(
                f,
                "the record is sound with `{wanted}` as its first character: one damaged character would explain it"
            ),
            Cause::MarkLost { wanted } => write!(
                f,
                "the record is sound with `{wanted}` in front: one lost character would explain it"
            ),
            Cause::LostDigit => write!(
                f,
                "the length field counts one digit more than there is: one lost digit would explain it"
            ),
            Cause::Extra { column, found } => write!(
                f,
                "the record is sound without the `{found}` in column {column}: one added character would explain it"
            ),
            Cause::Field {
                name,
                says,
                wanted,
                because,
            } => write!(
                f,
                "with {wanted} as its {name} instead of {says} the record is sound, and {because}: damage to the {name} would explain it"
            ),
            Cause::Swapped {
                column,
                digits: [a, b],
            } => write!(
                f,
                "the record is sound with {b}{a} for {a}{b} in column {column}, and with no other two neighbours exchanged: two swapped digits would explain it"
            ),
            Cause::OneDigit { places } => write!(
                f,
                "one changed digit would explain it, in any of {}",
                super::findings::plural(*places as u64, "place")
            ),
            Cause::ByteOrderMark => write!(
                f,
                "the record is sound without the bytes EF BB BF in front: an editor's byte order mark would explain it"
            ),
            Cause::TwoByteText => write!(
                f,
                "the record is sound without its NULs: text saved with two bytes for each character would explain it"
            ),
            Cause::BitSeven => write!(
                f,
                "the record is sound with bit 7 of each character cleared: a transfer with a parity bit would explain it"
            ),
            Cause::Blanks => write!(
                f,
                "the record is sound without the blanks in it: a conversion as text would explain it"
            ),
            Cause::Replaced { column } => write!(
                f,
                "EF BF BD in column {column} is what text conversions put for a byte they don't know: a transfer as text would explain it"
            ),
            Cause::Doubled { line, again } => write!(
                f,
                "line {again} says the same as line {line}: a doubled line would explain it"
            ),
            Cause::LostLine { behind, range } => write!(
                f,
                "nothing covers {range} between lines {behind} and {}, just as much as the missing records hold: a line lost there would explain it",
                behind + 1
            ),
            Cause::SeveralEnds { more } => write!(
                f,
                "{} more: several files put into one would explain it",
                match more {
                    1 => "1 end record follows,".to_string(),
                    n => format!("{n} end records follow,"),
                }
            ),
        }
    }
}

/// How a format's records are made, as far as trying changes needs it.
pub(super) struct Rules<'r> {
    /// What a record begins with.
    pub mark: u8,
    /// Whether a text is one sound record.
    pub sound: &'r dyn Fn(&[u8]) -> bool,
    /// Characters of the whole record, by its own length field.
    pub whole: Option<usize>,
    /// Fields that may be damaged, with what speaks for another value.
    pub fields: Vec<Field>,
}

/// A field of a damaged record.
pub(super) struct Field {
    pub name: &'static str,
    /// Where it stands in the record.
    pub at: Range<usize>,
    /// What it would have to say.
    pub wanted: String,
    /// What speaks for that.
    pub because: &'static str,
}

impl Field {
    /// The length field at `at`, if the record had as many bytes as it has.
    pub fn length(at: Range<usize>, wanted: String) -> Self {
        let because = "as many follow";
        Self {
            name: "length",
            at,
            wanted,
            because,
        }
    }

    /// The address field at `at`, if the record went on where the one before it ended.
    pub fn address(at: Range<usize>, wanted: String) -> Self {
        let because = "it goes on where the record before it ended";
        Self {
            name: "address",
            at,
            wanted,
            because,
        }
    }

    /// The type field at `at`.
    pub fn kind(at: Range<usize>, wanted: &str, because: &'static str) -> Self {
        let wanted = wanted.into();
        Self {
            name: "type",
            at,
            wanted,
            because,
        }
    }
}

const HEX: &[u8; 16] = b"0123456789ABCDEF";

/// What would explain that `line.bytes[text]` is not sound.
pub(super) fn of_record(line: &Line<'_>, text: Range<usize>, rules: &Rules<'_>) -> Vec<Cause> {
    let record = &line.bytes[text.clone()];
    if record.len() > LONGEST || record.is_empty() {
        return Vec::new();
    }
    let column = |i: usize| Place::new(line, text.start + i..text.start + i).column;
    let found = of_text(record, rules, column)
        .or_else(|| of_mark(record, rules, column))
        .or_else(|| of_characters(record, rules, column));
    match found {
        Some(cause) => vec![cause],
        None => of_digits(record, line.end == LineEnd::EndOfFile, rules, column),
    }
}

/// What would explain that the lines `first` and `second` are both not sound.
pub(super) fn of_two(first: (u64, &[u8]), second: &[u8], rules: &Rules<'_>) -> Option<Cause> {
    let (line, first) = first;
    let fits = first.len() + second.len() <= LONGEST;
    (fits && (rules.sound)(&[first, second].concat())).then_some(Cause::Broken { line })
}

/// Damage done to the file as a text.
fn of_text(record: &[u8], rules: &Rules<'_>, column: impl Fn(usize) -> u64) -> Option<Cause> {
    const REPLACED: &[u8] = b"\xEF\xBF\xBD";
    let without =
        |is: fn(&u8) -> bool| -> Vec<u8> { record.iter().copied().filter(|b| !is(b)).collect() };
    let changed = |made: &[u8]| made.len() < record.len() && (rules.sound)(made);
    if let Some(rest) = record.strip_prefix(b"\xEF\xBB\xBF")
        && (rules.sound)(rest)
    {
        return Some(Cause::ByteOrderMark);
    }
    if let Some(i) = memchr::memmem::find(record, REPLACED) {
        return Some(Cause::Replaced { column: column(i) });
    }
    if changed(&without(|b| matches!(b, 0 | 0xFE | 0xFF))) {
        return Some(Cause::TwoByteText);
    }
    let seven: Vec<u8> = record.iter().map(|b| b & 0x7F).collect();
    if seven != record && (rules.sound)(&seven) {
        return Some(Cause::BitSeven);
    }
    if changed(&without(|b| matches!(b, b' ' | b'\t'))) {
        return Some(Cause::Blanks);
    }
    None
}

/// Damage that shows at a mark: lost, changed, or a second one.
fn of_mark(record: &[u8], rules: &Rules<'_>, column: impl Fn(usize) -> u64) -> Option<Cause> {
    let wanted = char::from(rules.mark);
    if record[0] != rules.mark {
        let behind = [&[rules.mark], &record[1..]].concat();
        if (rules.sound)(&behind) {
            return Some(Cause::Mark { wanted });
        }
        let before = [&[rules.mark], record].concat();
        if (rules.sound)(&before) {
            return Some(Cause::MarkLost { wanted });
        }
    }
    for second in memchr::memchr_iter(rules.mark, record).filter(|i| *i > 0) {
        let first_sound = (rules.sound)(&record[..second]);
        let second_sound = (rules.sound)(&record[second..]);
        if first_sound || second_sound {
            let column = column(second);
            return Some(Cause::Merged {
                column,
                first_sound,
                second_sound,
            });
        }
    }
    if let Some(whole) = rules.whole.filter(|whole| *whole < record.len())
        && !record[whole].is_ascii_alphanumeric()
        && (rules.sound)(&record[..whole])
    {
        return Some(Cause::Behind {
            column: column(whole),
        });
    }
    None
}

/// Characters that are no digits.
fn of_characters(record: &[u8], rules: &Rules<'_>, column: impl Fn(usize) -> u64) -> Option<Cause> {
    let looks_like = |byte: u8| match byte {
        b'O' | b'o' => Some(b'0'),
        b'l' | b'I' | b'i' => Some(b'1'),
        _ => None,
    };
    let letters = record.iter().skip(1).position(|b| looks_like(*b).is_some());
    if let Some(i) = letters.map(|i| i + 1) {
        let mut made = record.to_vec();
        for byte in &mut made[1..] {
            *byte = looks_like(*byte).unwrap_or(*byte);
        }
        if (rules.sound)(&made) {
            let (found, wanted) = (record[i].into(), made[i].into());
            return Some(Cause::LookAlike {
                column: column(i),
                found,
                wanted,
            });
        }
    }
    let mut odd = (1..record.len()).filter(|i| !record[*i].is_ascii_hexdigit());
    let (Some(i), None) = (odd.next(), odd.next()) else {
        return None;
    };
    let mut made = record.to_vec();
    let mut fitting = HEX.iter().filter(|digit| {
        made[i] = **digit;
        (rules.sound)(&made)
    });
    match (fitting.next(), fitting.next()) {
        (Some(&wanted), None) => Some(Cause::Unreadable {
            column: column(i),
            wanted: wanted.into(),
        }),
        _ => {
            made.remove(i);
            let found = char::from(record[i]);
            (record[i].is_ascii_graphic() && (rules.sound)(&made)).then(|| Cause::Extra {
                column: column(i),
                found,
            })
        }
    }
}

/// Digits that were changed, lost, added or swapped.
fn of_digits(
    record: &[u8],
    ends_file: bool,
    rules: &Rules<'_>,
    column: impl Fn(usize) -> u64,
) -> Vec<Cause> {
    if !record[1..].iter().all(u8::is_ascii_alphanumeric) {
        return Vec::new();
    }
    if let Some(field) = rules
        .fields
        .iter()
        .find_map(|field| of_field(record, field, rules))
    {
        return vec![field];
    }
    let whole = rules.whole.unwrap_or(record.len());
    if whole > record.len() {
        let missing = whole - record.len();
        return match (ends_file, missing) {
            (true, _) => vec![Cause::CutOff { missing }],
            (_, 1) if one_is_lost(record, rules) => vec![Cause::LostDigit],
            _ => Vec::new(),
        };
    }
    if whole < record.len() {
        return of_extra(record, rules, column).into_iter().collect();
    }
    let mut causes = Vec::new();
    let mut made = record.to_vec();
    let mut swaps = (1..record.len() - 1).filter(|&i| {
        made.swap(i, i + 1);
        let fits = record[i] != record[i + 1] && (rules.sound)(&made);
        made.swap(i, i + 1);
        fits
    });
    if let (Some(i), None) = (swaps.next(), swaps.next()) {
        let digits = [record[i].into(), record[i + 1].into()];
        causes.push(Cause::Swapped {
            column: column(i),
            digits,
        });
    }
    let mut made = record.to_vec();
    let places = (1..record.len()).filter(|&i| {
        let fits = HEX.iter().any(|digit| {
            made[i] = *digit;
            (rules.sound)(&made)
        });
        made[i] = record[i];
        fits
    });
    match places.count() {
        0 => {}
        places => causes.push(Cause::OneDigit { places }),
    }
    causes
}

/// Whether one more digit somewhere makes the record sound.
fn one_is_lost(record: &[u8], rules: &Rules<'_>) -> bool {
    (1..=record.len()).any(|i| {
        let mut made = record.to_vec();
        made.insert(i, b'0');
        HEX.iter().any(|digit| {
            made[i] = *digit;
            (rules.sound)(&made)
        })
    })
}

fn of_field(record: &[u8], field: &Field, rules: &Rules<'_>) -> Option<Cause> {
    let says = record.get(field.at.clone())?;
    if says.len() != field.wanted.len() || says.eq_ignore_ascii_case(field.wanted.as_bytes()) {
        return None;
    }
    let mut made = record.to_vec();
    made[field.at.clone()].copy_from_slice(field.wanted.as_bytes());
    (rules.sound)(&made).then(|| Cause::Field {
        name: field.name,
        says: String::from_utf8_lossy(says).into_owned(),
        wanted: field.wanted.clone(),
        because: field.because,
    })
}

/// A character whose loss makes the record sound; in a run of equal ones the first stands for all.
fn of_extra(record: &[u8], rules: &Rules<'_>, column: impl Fn(usize) -> u64) -> Option<Cause> {
    let mut fitting = (1..record.len()).filter(|&i| {
        let mut made = record.to_vec();
        made.remove(i);
        record[i] != record[i - 1] && (rules.sound)(&made)
    });
    match (fitting.next(), fitting.next()) {
        (Some(i), None) => {
            let found = record[i].into();
            Some(Cause::Extra {
                column: column(i),
                found,
            })
        }
        _ => None,
    }
}
