//! What would explain a damage: said only where the arithmetic agrees.
//!
//! A record that is not sound is changed in the ways in which files get damaged, one at a time, and checked again by the
//! format's own rules. What makes it sound *would explain* the damage; nothing more is ever said. Only errors that are
//! shown are tried, so it is cheap enough.

use std::ops::Range;

use super::explanation::Explanation;
use super::line::{LineEnd, TextLine};
use super::place::TextPlace;

/// Records longer than this, in characters, are not tried: two of the longest on one line.
const LONGEST: usize = 1100;

/// What trying changes needs to know of a format's records.
pub(super) struct RecordRules<'r> {
    /// What a record begins with.
    pub mark: u8,
    /// Whether a text is one sound record.
    pub sound: &'r dyn Fn(&[u8]) -> bool,
    /// Characters of the whole record, according to its own length field.
    pub whole: Option<usize>,
    /// Fields that may be damaged, with the evidence for another value.
    pub fields: Vec<RecordField>,
}

/// A field of a damaged record.
pub(super) struct RecordField {
    pub name: &'static str,
    /// Where it is in the record.
    pub at: Range<usize>,
    /// What it would have to say.
    pub wanted: String,
    /// The evidence for that.
    pub because: &'static str,
}

impl RecordField {
    /// The length field at `at`, if it gave the number of bytes that follow.
    pub fn length(at: Range<usize>, wanted: String) -> Self {
        let because = "that many bytes follow";
        Self {
            name: "length",
            at,
            wanted,
            because,
        }
    }

    /// The address field at `at`, if the record continued where the one before it ended.
    pub fn address(at: Range<usize>, wanted: String) -> Self {
        let because = "it continues where the record before it ended";
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
pub(super) fn of_record(
    line: &TextLine<'_>,
    text: Range<usize>,
    rules: &RecordRules<'_>,
) -> Vec<Explanation> {
    let record = &line.bytes[text.clone()];
    if record.len() > LONGEST || record.is_empty() {
        return Vec::new();
    }
    let column = |i: usize| TextPlace::new(line, text.start + i..text.start + i).column;
    let found = of_text(record, rules, column)
        .or_else(|| of_mark(record, rules, column))
        .or_else(|| of_characters(record, rules, column));
    match found {
        Some(cause) => vec![cause],
        None => of_digits(record, line.end == LineEnd::EndOfFile, rules, column),
    }
}

/// What would explain that neither of the lines `first` and `second` is sound.
pub(super) fn of_two(
    first: (u64, &[u8]),
    second: &[u8],
    rules: &RecordRules<'_>,
) -> Option<Explanation> {
    let (line, first) = first;
    let fits = first.len() + second.len() <= LONGEST;
    (fits && (rules.sound)(&[first, second].concat())).then_some(Explanation::Broken { line })
}

/// Damage done to the file as a text.
fn of_text(
    record: &[u8],
    rules: &RecordRules<'_>,
    column: impl Fn(usize) -> u64,
) -> Option<Explanation> {
    const REPLACED: &[u8] = b"\xEF\xBF\xBD";
    let without =
        |is: fn(&u8) -> bool| -> Vec<u8> { record.iter().copied().filter(|b| !is(b)).collect() };
    let changed = |made: &[u8]| made.len() < record.len() && (rules.sound)(made);
    if let Some(rest) = record.strip_prefix(b"\xEF\xBB\xBF") {
        if (rules.sound)(rest) {
            return Some(Explanation::ByteOrderMark);
        }
    }
    if let Some(i) = memchr::memmem::find(record, REPLACED) {
        return Some(Explanation::Replaced { column: column(i) });
    }
    if changed(&without(|b| matches!(b, 0 | 0xFE | 0xFF))) {
        return Some(Explanation::TwoByteText);
    }
    let seven: Vec<u8> = record.iter().map(|b| b & 0x7F).collect();
    if seven != record && (rules.sound)(&seven) {
        return Some(Explanation::BitSeven);
    }
    if changed(&without(|b| matches!(b, b' ' | b'\t'))) {
        return Some(Explanation::Blanks);
    }
    None
}

/// Damage to a record's mark: lost, changed, or a second one.
fn of_mark(
    record: &[u8],
    rules: &RecordRules<'_>,
    column: impl Fn(usize) -> u64,
) -> Option<Explanation> {
    let wanted = char::from(rules.mark);
    if record[0] != rules.mark {
        let behind = [&[rules.mark], &record[1..]].concat();
        if (rules.sound)(&behind) {
            return Some(Explanation::Mark { wanted });
        }
        let before = [&[rules.mark], record].concat();
        if (rules.sound)(&before) {
            return Some(Explanation::MarkLost { wanted });
        }
    }
    for second in memchr::memchr_iter(rules.mark, record).filter(|i| *i > 0) {
        let first_sound = (rules.sound)(&record[..second]);
        let second_sound = (rules.sound)(&record[second..]);
        if first_sound || second_sound {
            let column = column(second);
            return Some(Explanation::Merged {
                column,
                first_sound,
                second_sound,
            });
        }
    }
    if let Some(whole) = rules.whole.filter(|whole| *whole < record.len()) {
        if !record[whole].is_ascii_alphanumeric() && (rules.sound)(&record[..whole]) {
            return Some(Explanation::Behind {
                column: column(whole),
            });
        }
    }
    None
}

/// Characters that are not digits.
fn of_characters(
    record: &[u8],
    rules: &RecordRules<'_>,
    column: impl Fn(usize) -> u64,
) -> Option<Explanation> {
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
            return Some(Explanation::LookAlike {
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
        (Some(&wanted), None) => Some(Explanation::Unreadable {
            column: column(i),
            wanted: wanted.into(),
        }),
        _ => {
            made.remove(i);
            let found = char::from(record[i]);
            (record[i].is_ascii_graphic() && (rules.sound)(&made)).then(|| Explanation::Extra {
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
    rules: &RecordRules<'_>,
    column: impl Fn(usize) -> u64,
) -> Vec<Explanation> {
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
            (true, _) => vec![Explanation::CutOff { missing }],
            (_, 1) if one_is_lost(record, rules) => vec![Explanation::LostDigit],
            _ => Vec::new(),
        };
    }
    if whole < record.len() {
        return of_extra(record, rules, column).into_iter().collect();
    }
    let mut explanations = Vec::new();
    let mut made = record.to_vec();
    let mut swaps = (1..record.len() - 1).filter(|&i| {
        made.swap(i, i + 1);
        let fits = record[i] != record[i + 1] && (rules.sound)(&made);
        made.swap(i, i + 1);
        fits
    });
    if let (Some(i), None) = (swaps.next(), swaps.next()) {
        let digits = [record[i].into(), record[i + 1].into()];
        explanations.push(Explanation::Swapped {
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
        places => explanations.push(Explanation::OneDigit { places }),
    }
    explanations
}

/// Whether one more digit somewhere makes the record sound.
fn one_is_lost(record: &[u8], rules: &RecordRules<'_>) -> bool {
    (1..=record.len()).any(|i| {
        let mut made = record.to_vec();
        made.insert(i, b'0');
        HEX.iter().any(|digit| {
            made[i] = *digit;
            (rules.sound)(&made)
        })
    })
}

fn of_field(record: &[u8], field: &RecordField, rules: &RecordRules<'_>) -> Option<Explanation> {
    let says = record.get(field.at.clone())?;
    if says.len() != field.wanted.len() || says.eq_ignore_ascii_case(field.wanted.as_bytes()) {
        return None;
    }
    let mut made = record.to_vec();
    made[field.at.clone()].copy_from_slice(field.wanted.as_bytes());
    (rules.sound)(&made).then(|| Explanation::Field {
        name: field.name,
        says: String::from_utf8_lossy(says).into_owned(),
        wanted: field.wanted.clone(),
        because: field.because,
    })
}

/// A character whose removal makes the record sound; of a run of equal ones, the first.
fn of_extra(
    record: &[u8],
    rules: &RecordRules<'_>,
    column: impl Fn(usize) -> u64,
) -> Option<Explanation> {
    let mut fitting = (1..record.len()).filter(|&i| {
        let mut made = record.to_vec();
        made.remove(i);
        record[i] != record[i - 1] && (rules.sound)(&made)
    });
    match (fitting.next(), fitting.next()) {
        (Some(i), None) => {
            let found = record[i].into();
            Some(Explanation::Extra {
                column: column(i),
                found,
            })
        }
        _ => None,
    }
}
