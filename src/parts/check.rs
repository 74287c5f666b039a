//! What must be true of every row, built-in or the user's own.

use super::{Kind, Part, Pin};
use crate::prose;

/// The first column of a row that can't be accepted, and why.
pub(super) struct RowFault {
    /// The column's name.
    pub column: &'static str,
    /// What was found, and what was expected.
    pub message: String,
}

/// The most words a part may have: 26 address lines, which is more than any part in a socket has.
const MOST_WORDS: u32 = 1 << 26;
const MOST_PINS: u8 = 64;
const LONGEST_NAME: usize = 32;
const LONGEST_REMARK: usize = 1000;

impl Part {
    /// What is wrong with this row, if anything. Its names are [checked](name) one by one.
    pub(super) fn fault(&self) -> Option<RowFault> {
        let checks = [
            ("words", self.check_words()),
            ("width", self.check_width()),
            ("erased", self.check_erased()),
            (
                "page",
                self.check_block(self.page, self.kind.may_have_pages(), "pages"),
            ),
            (
                "sector",
                self.check_block(self.sector, self.kind == Kind::SectorFlash, "sectors"),
            ),
            ("sectors", self.check_sectors()),
            ("pins", self.check_pins()),
            ("pinout", self.check_pinout()),
            ("pinout_source", check_remark(&self.pinout_source)),
            ("write_us", self.check_write_us()),
            ("program_volts", self.check_volts()),
            ("source", check_remark(&self.source)),
            ("note", check_remark(&self.note)),
        ];
        checks.into_iter().find_map(|(column, check)| {
            let message = check.err()?;
            Some(RowFault { column, message })
        })
    }

    fn check_words(&self) -> Result<(), String> {
        holds(
            self.words.is_power_of_two() && self.words <= MOST_WORDS,
            || {
                format!(
                    "{} words; expected a power of two up to {MOST_WORDS}, such as 32768",
                    self.words
                )
            },
        )
    }

    fn check_width(&self) -> Result<(), String> {
        holds(matches!(self.width, 4 | 8 | 16), || {
            format!("{} bits in a word; expected 4, 8 or 16", self.width)
        })
    }

    fn check_erased(&self) -> Result<(), String> {
        let ones = if self.width == 4 { 0x0F } else { 0xFF };
        match self.erased {
            Some(value) if self.kind == Kind::MaskRom => Err(format!(
                "{value:#04X} as the erased value of a mask ROM, which does not have one; leave it out"
            )),
            Some(0) if self.kind == Kind::PageFlash => Err(
                "0x00 as the erased value of page flash, which turns bytes that were not loaded \
                 into 0xFF"
                    .to_owned(),
            ),
            Some(value) => holds(value == 0 || value == ones, || {
                format!(
                    "{value:#04X} as the erased value; expected all ones ({ones:#04X}) or all zeros (0x00)"
                )
            }),
            None => holds(!self.kind.has_erased_value(), || {
                format!(
                    "no erased value; write `erased = {ones:#04X}`, or `erased = 0x00` if its \
                     erased cells read as zeros"
                )
            }),
        }
    }

    /// Pages and sectors: bytes that divide the part.
    fn check_block(&self, block: Option<u32>, possible: bool, what: &str) -> Result<(), String> {
        let Some(bytes) = block else { return Ok(()) };
        holds(possible, || {
            format!(
                "{what} for the kind {}, which does not have them; leave it out",
                self.kind.name()
            )
        })?;
        let fits = bytes.is_power_of_two() && u64::from(bytes) <= self.bytes();
        holds(fits, || {
            format!(
                "{what} of {}; expected a power of two up to the part's {}",
                prose::plural(bytes.into(), "byte"),
                prose::plural(self.bytes(), "byte")
            )
        })
    }

    /// Sectors of different sizes, which together are the part. Each may have any size, such as 96K.
    fn check_sectors(&self) -> Result<(), String> {
        let Some(sectors) = &self.sectors else {
            return Ok(());
        };
        holds(self.kind == Kind::SectorFlash, || {
            format!(
                "sectors for the kind {}, which does not have them; leave them out",
                self.kind.name()
            )
        })?;
        holds(self.sector.is_none(), || {
            "sectors of different sizes beside `sector`, which is for equal ones; leave one out"
                .to_owned()
        })?;
        holds(sectors.bytes() == self.bytes(), || {
            format!(
                "sectors of {} in all; the part has {}",
                prose::plural(sectors.bytes(), "byte"),
                prose::thousands(self.bytes())
            )
        })
    }

    fn check_pins(&self) -> Result<(), String> {
        holds(
            self.pins % 2 == 0 && (8..=MOST_PINS).contains(&self.pins),
            || {
                format!(
                    "{} pins; expected an even number from 8 to {MOST_PINS}",
                    self.pins
                )
            },
        )
    }

    fn check_pinout(&self) -> Result<(), String> {
        let Some(pinout) = &self.pinout else {
            return Ok(());
        };
        holds(pinout.len() == usize::from(self.pins), || {
            format!(
                "{} pins listed for a part with {}; list every pin from pin 1 up, \"NC\" for one \
                 with no connection",
                pinout.len(),
                self.pins
            )
        })?;
        let lines = (0..self.address_lines()).map(Pin::Address);
        let lines: Vec<Pin> = lines.chain((0..self.width).map(Pin::Data)).collect();
        for &line in &lines {
            let times = self.pins_of(line).count();
            holds(times == 1, || {
                format!("{line} is there {times} times; expected every line of the part once")
            })?;
        }
        for (number, pin) in (1..).zip(pinout) {
            let is_line = matches!(pin, Pin::Address(_) | Pin::Data(_));
            let number: usize = number;
            holds(!is_line || lines.contains(pin), || {
                format!(
                    "pin {number} carries {pin}, but {} has {} address lines and {} data lines, \
                     counted from A0 and D0",
                    self.organisation(),
                    self.address_lines(),
                    self.width
                )
            })?;
        }
        for supply in [Pin::Vcc, Pin::Ground] {
            holds(pinout.contains(&supply), || {
                format!("no pin carries {supply}")
            })?;
        }
        Ok(())
    }

    fn check_write_us(&self) -> Result<(), String> {
        let Some(time) = self.write_us else {
            return Ok(());
        };
        holds(self.kind.is_writable(), || {
            "a time to write a mask ROM, which can't be written; leave it out".to_owned()
        })?;
        holds(time > 0, || {
            "0 microseconds to write; leave it out if you don't know it".to_owned()
        })
    }

    fn check_volts(&self) -> Result<(), String> {
        let Some(volts) = self.program_volts else {
            return Ok(());
        };
        holds(self.kind.is_writable(), || {
            "a programming voltage for a mask ROM, which can't be written; leave it out".to_owned()
        })?;
        // A value that is not a number fails both comparisons, so it is refused.
        holds((1.0..=60.0).contains(&volts), || {
            format!("{volts} V as the programming voltage; expected 1 to 60")
        })
    }
}

fn holds(condition: bool, message: impl FnOnce() -> String) -> Result<(), String> {
    if condition { Ok(()) } else { Err(message()) }
}

/// Checks a remark, which is printed on terminals and sheets.
fn check_remark(text: &str) -> Result<(), String> {
    holds(
        text.len() <= LONGEST_REMARK && !text.contains(char::is_control),
        || {
            format!(
                "`{}`; expected one line of up to {LONGEST_REMARK} bytes without control characters",
                prose::shown(text)
            )
        },
    )
}

/// Checks a name: names are used in commands, in the same places as sizes and ranges, and in
/// file names.
pub(super) fn name(name: &str) -> Result<(), String> {
    let shown = prose::shown(name);
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._".contains(&b);
    holds(
        !name.is_empty()
            && name.len() <= LONGEST_NAME
            && name.bytes().all(plain)
            && name.as_bytes()[0].is_ascii_alphanumeric(),
        || {
            format!(
                "`{shown}` as a name; expected up to {LONGEST_NAME} letters, digits, `-`, `.` and \
                 `_`, first a letter or digit"
            )
        },
    )?;
    let all_digits = name.bytes().all(|b| b.is_ascii_digit());
    holds(all_digits || !name.split('-').all(reads_as_number), || {
        format!("`{shown}` as a name; it could be read as a number or range, so use another")
    })
}

/// Whether a word is a number as people write sizes and addresses: `32768`, `32K`, `0x8000`,
/// `8000h`.
fn reads_as_number(word: &str) -> bool {
    let word = word.to_ascii_lowercase();
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let hex = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_hexdigit());
    digits(word.strip_suffix(['k', 'm']).unwrap_or(&word))
        || word.strip_prefix("0x").is_some_and(hex)
        || word.strip_suffix('h').is_some_and(hex)
}
