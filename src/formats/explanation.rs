//! Something that would explain a damage, as data.

use std::fmt;

use crate::image::AddressRange;
use crate::prose::plural;

/// Something that would explain a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Explanation {
    /// The file stops inside the record.
    CutOff {
        /// Characters that are missing according to the record's own length field.
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
        /// The line with its beginning.
        line: u64,
    },
    /// The record is sound without what comes after it.
    Behind {
        /// Where that begins.
        column: u64,
    },
    /// A letter that looks like a digit.
    LookAlike {
        /// Where the first is.
        column: u64,
        /// What is there.
        found: char,
        /// The digit it looks like.
        wanted: char,
    },
    /// One character is damaged, and the check leaves one digit for it.
    Unreadable {
        /// Where it is.
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
        /// Where it is.
        column: u64,
        /// The character.
        found: char,
    },
    /// Another value of one field makes length and check right, and there is other evidence for that value.
    Field {
        /// The field.
        name: &'static str,
        /// What it says.
        says: String,
        /// What it would have to say.
        wanted: String,
        /// The evidence for it.
        because: &'static str,
    },
    /// Two neighbouring digits were swapped; no other pair of neighbours makes the check right.
    Swapped {
        /// Where the first is.
        column: u64,
        /// The two digits that are there.
        digits: [char; 2],
    },
    /// One digit was changed; nothing says which.
    OneDigit {
        /// In how many places changing one digit makes the check right.
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
    /// A conversion of text wrote a replacement character (EF BF BD) for a byte it did not know.
    Replaced {
        /// Where it is.
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
        /// The line after which it was.
        behind: u64,
        /// The addresses that nothing covers.
        range: AddressRange,
    },
    /// Several end records: several files in one.
    SeveralEnds {
        /// End records after the first.
        more: u64,
    },
}

impl fmt::Display for Explanation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Explanation::CutOff { missing } => {
                write!(
                    f,
                    "the file ends inside this record, {missing} characters short of its length: a file cut off in transfer would explain it"
                )
            }
            Explanation::Merged {
                column,
                first_sound: true,
                second_sound: true,
            } => write!(
                f,
                "this line contains two sound records, the second from column {column} on: a lost line end would explain it"
            ),
            Explanation::Merged {
                column,
                first_sound,
                ..
            } => write!(
                f,
                "this line contains two records, the second from column {column} on, and the {} is sound: a lost line end would explain part of it",
                if *first_sound { "first" } else { "second" }
            ),
            Explanation::Broken { line } => write!(
                f,
                "joined to line {line}, this line makes one sound record: a line end put into it would explain both"
            ),
            Explanation::Behind { column } => write!(
                f,
                "up to column {} this is a sound record: characters added after it would explain it",
                column - 1
            ),
            Explanation::LookAlike {
                column,
                found,
                wanted,
            } => write!(
                f,
                "the record is sound with the digit {wanted} instead of `{found}` (column {column}): typing or reading by eye would explain it"
            ),
            Explanation::Unreadable { column, wanted } => write!(
                f,
                "only the digit {wanted} in column {column} makes the record sound: one damaged character would explain it"
            ),
            Explanation::Mark { wanted } => write!(
                f,
                "the record is sound with `{wanted}` as its first character: one damaged character would explain it"
            ),
            Explanation::MarkLost { wanted } => write!(
                f,
                "the record is sound with `{wanted}` before it: one lost character would explain it"
            ),
            Explanation::LostDigit => write!(
                f,
                "the length field counts one digit more than there are: one lost digit would explain it"
            ),
            Explanation::Extra { column, found } => write!(
                f,
                "the record is sound without the `{found}` in column {column}: one added character would explain it"
            ),
            Explanation::Field {
                name,
                says,
                wanted,
                because,
            } => write!(
                f,
                "with {wanted} as its {name} instead of {says} the record is sound, and {because}: damage to the {name} would explain it"
            ),
            Explanation::Swapped {
                column,
                digits: [a, b],
            } => write!(
                f,
                "the record is sound with {b}{a} instead of {a}{b} in column {column}, and with no other two neighbours swapped: two swapped digits would explain it"
            ),
            Explanation::OneDigit { places } => write!(
                f,
                "one changed digit would explain it, in any of {}",
                plural(*places as u64, "place")
            ),
            Explanation::ByteOrderMark => write!(
                f,
                "the record is sound without the bytes EF BB BF at its start: an editor's byte order mark would explain it"
            ),
            Explanation::TwoByteText => write!(
                f,
                "the record is sound without its NULs: text saved with two bytes for each character would explain it"
            ),
            Explanation::BitSeven => write!(
                f,
                "the record is sound with bit 7 of each character cleared: a transfer with a parity bit would explain it"
            ),
            Explanation::Blanks => write!(
                f,
                "the record is sound without the blanks in it: a conversion as text would explain it"
            ),
            Explanation::Replaced { column } => write!(
                f,
                "EF BF BD in column {column} is what text conversions write for a byte they don't know: a transfer as text would explain it"
            ),
            Explanation::Doubled { line, again } => write!(
                f,
                "line {again} says the same as line {line}: a doubled line would explain it"
            ),
            Explanation::LostLine { behind, range } => write!(
                f,
                "nothing covers {range} between lines {behind} and {}, which is as much as the missing records contain: a line lost there would explain it",
                behind + 1
            ),
            Explanation::SeveralEnds { more } => write!(
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
