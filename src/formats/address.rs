//! Addresses in the units of a file: in bytes or in words of several bytes, and up to a limit.

use super::findings::Findings;
use super::meta::{ReadOption, WriteOption};
use super::options::{AddressForm, EntryChoice, ReadOptions, WriteOptions};
use super::problem::Problem;
use super::written::{LeftOut, WriteError, Written};
use crate::image::{Entry, Image};

/// The most bytes that one address can count for.
const MOST: u64 = 8;

/// Bytes for each address of a file being read.
pub(super) fn unit(how: &ReadOptions, findings: &mut Findings) -> u64 {
    in_range(ReadOption::Unit, how.unit, findings)
}

/// Bytes in a word of a file being read.
pub(super) fn word(how: &ReadOptions, findings: &mut Findings) -> u8 {
    in_range(ReadOption::Word, how.word, findings) as u8
}

/// `value` when it is 1 to 8; otherwise an error is noted and 1 is used, so that the reader can go on.
fn in_range(option: ReadOption, value: u8, findings: &mut Findings) -> u64 {
    match u64::from(value) {
        value @ 1..=MOST => value,
        value => {
            let problem = Problem::OutOfRange {
                option,
                value,
                least: 1,
                most: MOST,
            };
            findings.error(None, problem);
            1
        }
    }
}

/// How addresses are counted in a file being written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Counting {
    /// Bytes for each address.
    pub unit: u64,
}

impl Counting {
    /// From the option `unit`; checks that `image` consists of whole units.
    pub fn new(image: &Image, how: &WriteOptions) -> Result<Self, WriteError> {
        Self::by(WriteOption::Unit, how.unit, image)
    }

    /// The same, from the value of another option.
    pub fn by(option: WriteOption, unit: u8, image: &Image) -> Result<Self, WriteError> {
        let unit = u64::from(unit);
        if !(1..=MOST).contains(&unit) {
            return Err(WriteError::OutOfRange {
                option,
                value: unit,
                least: 1,
                most: MOST,
            });
        }
        let mut ranges = image.ranges();
        match ranges.find(|r| r.first() % unit != 0 || r.len() % unit != 0) {
            Some(range) => Err(WriteError::PartWord { unit, range }),
            None => Ok(Self { unit }),
        }
    }

    /// Data bytes in a record, in whole units. At most `most` fit, and `usual` are used when the user does not say.
    pub fn width(
        self,
        asked: Option<u16>,
        format: &'static str,
        usual: u16,
        most: u16,
    ) -> Result<usize, WriteError> {
        let unit = self.unit as u16;
        match asked {
            None => {
                let usual = usual.min(most);
                Ok((usual - usual % unit).into())
            }
            Some(width) if !(1..=most).contains(&width) => Err(WriteError::Width {
                format,
                width,
                most,
            }),
            Some(width) if width % unit != 0 => Err(WriteError::WidthUnit {
                width,
                unit: self.unit,
            }),
            Some(width) => Ok(width.into()),
        }
    }

    /// The image's last address in the file's units; 0 for an empty image.
    pub fn last(self, image: &Image) -> u64 {
        image.extent().map_or(0, |e| e.last() / self.unit)
    }

    /// The entry point in the file's units.
    pub fn entry(self, entry: Entry) -> Result<Entry, WriteError> {
        let address = entry.address();
        match (self.unit, address % self.unit) {
            (1, _) => Ok(entry),
            (unit, 0) => Ok(Entry::Linear(address / unit)),
            (unit, _) => Err(WriteError::EntryUnit {
                entry: address,
                unit,
            }),
        }
    }
}

/// The last address of a form that only limits the digits; `None` where the format's own limit applies.
pub(super) fn limit(form: AddressForm) -> Option<u64> {
    let bits = match form {
        AddressForm::Smallest => return None,
        AddressForm::Bits16 => 16,
        AddressForm::Bits20 => 20,
        AddressForm::Bits24 => 24,
        AddressForm::Bits32 => 32,
    };
    Some((1 << bits) - 1)
}

/// The name of such a form in messages.
pub(super) fn form_name(form: AddressForm) -> &'static str {
    match form {
        AddressForm::Smallest => "64-bit",
        AddressForm::Bits16 => "16-bit",
        AddressForm::Bits20 => "20-bit",
        AddressForm::Bits24 => "24-bit",
        AddressForm::Bits32 => "32-bit",
    }
}

/// Whether `last` fits the form that was asked for.
pub(super) fn check_limit(form: AddressForm, last: u64) -> Result<(), WriteError> {
    match limit(form) {
        Some(limit) if last > limit => Err(WriteError::AddressTooLarge {
            form: form_name(form),
            last,
            limit,
            widest: u64::MAX,
        }),
        _ => Ok(()),
    }
}

/// Fewest hex digits for addresses of this form; what the format usually has when no form was asked for.
pub(super) fn digits(form: AddressForm) -> Option<usize> {
    match form {
        AddressForm::Smallest => None,
        AddressForm::Bits16 => Some(4),
        AddressForm::Bits20 => Some(5),
        AddressForm::Bits24 => Some(6),
        AddressForm::Bits32 => Some(8),
    }
}

/// Reports an entry point that is lost; the address 0, which often means none, only when it was asked for.
pub(super) fn leave_out_entry(
    image: &Image,
    how: &WriteOptions,
    format: &'static str,
    written: &mut Written,
) {
    let Some(entry) = how.entry_of(image) else {
        return;
    };
    if entry.address() != 0 || how.entry != EntryChoice::Own {
        let entry = entry.address();
        written.left_out.push(LeftOut::Entry { format, entry });
    }
}
