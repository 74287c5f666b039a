//! Banks and stored sums that a read shows, for people and for scripts.

use serde::Serialize;

use super::view::MOST;
use crate::cli::report::address::{RangeView, address_width};
use crate::cli::report::style::size_text;
use crate::cli::report::verdict::sentence;
use crate::faults::alone::{BankStructure, StoredSum, SumRange};
use crate::prose::{plural, thousands};
use crate::sums::Order;
use crate::wiring::Width;

/// The banks of a read.
#[derive(Serialize)]
pub struct BanksView {
    /// Bytes of each.
    pub size: u64,
    /// How many.
    pub count: usize,
    /// How many bits shorter they make the description of the read; null when the size was given.
    pub gain_bits: Option<u64>,
    /// Other sizes that are as good.
    pub or: Vec<u64>,
    /// Banks of one byte throughout.
    pub blank: Vec<BlankBank>,
    /// Banks that end in a blank area.
    pub blank_ends: Vec<usize>,
    /// Groups of banks that are the same.
    pub equal: Vec<Vec<usize>>,
    /// The same bytes at the same place in several banks.
    pub common: Vec<CommonView>,
}

/// A bank of one byte throughout.
#[derive(Serialize)]
pub struct BlankBank {
    /// Its number.
    pub bank: usize,
    /// The byte.
    pub byte: u8,
}

/// The same bytes at the same place in several banks.
#[derive(Serialize)]
pub struct CommonView {
    /// Their place in each bank, counted from its first byte.
    pub place: RangeView,
    /// The banks.
    pub banks: Vec<usize>,
}

/// A sum of the read that is stored in the read.
#[derive(Serialize)]
pub struct SumView {
    /// Which sum.
    pub algo: &'static str,
    /// `little` or `big`.
    pub order: String,
    /// `ones` or `twos`, where its complement is stored.
    pub complement: Option<String>,
    /// Where it is stored, counted from the first byte of the bank.
    pub place: RangeView,
    /// What it is of: `before`, all bytes before it, or `whole`, all bytes with its own as 00.
    pub range: &'static str,
    /// Banks in which it fits; empty when it is one of the whole read.
    pub fits: Vec<usize>,
    /// Banks in which it does not.
    pub fails: Vec<usize>,
    /// Bits by which it fits better than chance.
    pub bits: u64,
}

impl From<&BankStructure> for BanksView {
    fn from(banks: &BankStructure) -> Self {
        let common = banks.common.iter().map(|common| CommonView {
            place: RangeView {
                first: *common.place.start() as u64,
                last: *common.place.end() as u64,
            },
            banks: common.banks.clone(),
        });
        let blank = banks.blank.iter();
        Self {
            size: banks.size as u64,
            count: banks.count,
            gain_bits: banks.gain.map(|bits| bits as u64),
            or: banks.or.iter().map(|size| *size as u64).collect(),
            blank: blank
                .map(|&(bank, byte)| BlankBank { bank, byte })
                .collect(),
            blank_ends: banks.blank_ends.clone(),
            equal: banks.equal.clone(),
            common: common.collect(),
        }
    }
}

impl BanksView {
    /// Sentences.
    pub(super) fn findings(&self, width: Width) -> Vec<String> {
        let size = counted(self.size, width);
        let or: Vec<String> = self.or.iter().map(|size| counted(*size, width)).collect();
        let mut out = vec![match (self.gain_bits, &or[..]) {
            (None, _) => format!("In {} banks of {size}:", self.count),
            (Some(_), []) => format!("It looks like {} banks of {size}:", self.count),
            (Some(_), or) => format!(
                "It looks like {} banks of {size} (or of {}):",
                self.count,
                or.join(", ")
            ),
        }];
        for byte in [0xFF, 0x00] {
            let blank = self.blank.iter().filter(|blank| blank.byte == byte);
            let blank: Vec<usize> = blank.map(|blank| blank.bank).collect();
            if !blank.is_empty() {
                out.push(format!("{} all {byte:02X}.", are(&blank)));
            }
        }
        let other = self.blank.iter().filter(|b| !matches!(b.byte, 0 | 0xFF));
        out.extend(other.map(|b| format!("bank {} is all {:02X}.", b.bank, b.byte)));
        if !self.blank_ends.is_empty() {
            let verb = if self.blank_ends.len() == 1 {
                "ends"
            } else {
                "end"
            };
            out.push(format!(
                "{} {verb} in a blank area.",
                numbered(&self.blank_ends)
            ));
        }
        let equal = self.equal.iter().take(MOST);
        out.extend(equal.map(|group| format!("{} the same.", are(group))));
        if self.equal.len() > MOST {
            out.push(format!(
                "{} more groups of equal banks.",
                self.equal.len() - MOST
            ));
        }
        let w = address_width(self.size - 1);
        for common in self.common.iter().take(MOST) {
            let RangeView { first, last } = common.place;
            out.push(format!(
                "{} {} in common, at {} of each.",
                have(&common.banks),
                plural(last - first + 1, "byte"),
                common.place.text(w)
            ));
        }
        if self.common.len() > MOST {
            out.push(format!(
                "{} more blocks in common.",
                self.common.len() - MOST
            ));
        }
        if out.len() == 1 {
            out[0] = out[0].replace(':', ".");
            out.push(
                "None of them is blank, no two are the same, and no block is in more than one."
                    .into(),
            );
        }
        out.iter_mut()
            .skip(1)
            .for_each(|said| *said = sentence(said));
        out
    }
}

impl SumView {
    /// A sum that is stored in pieces of this size, which are these banks, or the whole.
    pub(super) fn new(sum: &StoredSum, size: usize, banks: &[usize]) -> Self {
        let named = |pieces: &[usize]| -> Vec<usize> {
            let banks = pieces.iter().filter_map(|piece| banks.get(*piece));
            banks.copied().collect()
        };
        let end = (size - sum.after) as u64;
        Self {
            algo: sum.algo.name(),
            order: sum.order.to_string(),
            complement: sum.complement.map(|complement| complement.to_string()),
            place: RangeView {
                first: end - sum.algo.bytes() as u64,
                last: end - 1,
            },
            range: match sum.range {
                SumRange::Before => "before",
                SumRange::Whole => "whole",
            },
            fits: named(&sum.fits),
            fails: named(&sum.fails),
            bits: sum.bits as u64,
        }
    }

    /// A sentence.
    pub(super) fn finding(&self) -> String {
        let complement = match self.complement.as_deref() {
            None => String::new(),
            Some(kind) => format!(" ({kind}' complement)"),
        };
        let order = match self.place.first == self.place.last {
            true => String::new(),
            false if self.order == Order::Little.to_string() => ", low byte first".into(),
            false => ", high byte first".into(),
        };
        let of = match self.range {
            "before" => "all bytes before it",
            _ => "all bytes, with its own as 00",
        };
        let w = address_width(self.place.last);
        let RangeView { first, last } = self.place;
        let place = match first == last {
            true => format!("at {first:0w$X}"),
            false => format!("at {first:0w$X}-{last:0w$X}"),
        };
        let place = match (self.fits.is_empty(), &self.fails[..]) {
            (true, _) => format!("{place} of the whole read"),
            (_, []) => format!("{place} of each bank that is not blank"),
            _ => format!("{place} of {}", numbered(&self.fits)),
        };
        let fails = match &self.fails[..] {
            [] => String::new(),
            fails => format!("; it does not fit in {}", numbered(fails)),
        };
        format!(
            "A stored {}{complement} of {of} fits{order}, {place}, {} bits better than chance{fails}.",
            self.algo,
            thousands(self.bits)
        )
    }
}

/// `bank 1`, `banks 1, 3 and 5-8`.
fn numbered(banks: &[usize]) -> String {
    let runs = banks.chunk_by(|a, b| a + 1 == *b);
    let parts: Vec<String> = runs
        .flat_map(|run| match run {
            [first, _, .., last] => vec![format!("{first}-{last}")],
            some => some.iter().map(usize::to_string).collect(),
        })
        .collect();
    match &parts[..] {
        [one] if banks.len() == 1 => format!("bank {one}"),
        [rest @ .., last] if !rest.is_empty() => format!("banks {} and {last}", rest.join(", ")),
        all => format!("banks {}", all.join(", ")),
    }
}

fn are(banks: &[usize]) -> String {
    format!(
        "{} {}",
        numbered(banks),
        if banks.len() == 1 { "is" } else { "are" }
    )
}

fn have(banks: &[usize]) -> String {
    format!(
        "{} {}",
        numbered(banks),
        if banks.len() == 1 { "has" } else { "have" }
    )
}

/// `8K bytes`, or of a chip 16 bits wide `4K words`.
pub(super) fn counted(bytes: u64, width: Width) -> String {
    match width {
        Width::Eight => format!("{} bytes", size_text(bytes)),
        Width::Sixteen => format!("{} words", size_text(bytes / 2)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn banks_in_a_row_are_a_range() {
        assert_eq!(numbered(&[3]), "bank 3");
        assert_eq!(numbered(&[3, 4]), "banks 3 and 4");
        assert_eq!(numbered(&[0, 2, 3, 4, 7]), "banks 0, 2-4 and 7");
        assert_eq!(numbered(&[0, 1, 2]), "banks 0-2");
    }
}
