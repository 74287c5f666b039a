//! What helps against the errors of images, boards, parts and sums.

use std::error::Error;

use crate::ops::{Measured, OpError};
use crate::parts::{Doubt, PartHint, UnknownPart};

/// What helps against an error of one of these folders.
pub(super) fn of(error: &(dyn Error + 'static)) -> Option<String> {
    if let Some(error) = error.downcast_ref::<OpError>() {
        return op(error).map(str::to_owned);
    }
    error.downcast_ref::<UnknownPart>().map(|error| {
        part(
            error,
            "`romloom parts` lists all, and `--parts FILE` adds your own",
        )
    })
}

/// What each part is that a marking may mean, a line each, and then where to look. For names that are only spelled
/// alike the error says enough.
pub(super) fn part(error: &UnknownPart, look: &str) -> String {
    let width = |text: fn(&PartHint) -> &str| {
        let texts = error.candidates.iter().map(text);
        texts.map(str::len).max().unwrap_or(0)
    };
    let (name, size) = (width(|part| &part.name), width(|part| &part.organisation));
    let line = |part: &PartHint| {
        let what = format!(
            "\n  {:name$}  {:size$}  {}, {} pins",
            part.name,
            part.organisation,
            part.kind.name(),
            part.pins
        );
        match part.note.is_empty() {
            true => what,
            false => format!("{what}. {}", part.note),
        }
    };
    match error.doubt {
        Doubt::Unlike => look.to_owned(),
        _ => {
            let lines: String = error.candidates.iter().map(line).collect();
            format!("{lines}\n{look}")
        }
    }
}

fn op(error: &OpError) -> Option<&'static str> {
    Some(match error {
        OpError::Empty => "`load` something first",
        OpError::Large { .. } => {
            "is an address wrong? `show` says where the bytes are; --allow-large allows it"
        }
        OpError::Scattered { .. } => {
            "are there bytes far apart, or is a size too small? --allow-large allows it"
        }
        OpError::NoBase { .. } => "say where the part begins with --at",
        OpError::Before { .. } => "`drop` or `relocate` them",
        OpError::After { .. } => "cut it down with `keep`, or use a larger part",
        OpError::NotPowerOfTwo {
            what: Measured::Image,
            ..
        } => "`pad` it to one first",
        OpError::Hole { .. } | OpError::BrokenWord { .. } => "`fill` it first",
        OpError::Clash(_) => "settle it with --clash same, first or last",
        OpError::Banks(_) => "`relocate --to 0` first, or choose a larger size",
        OpError::UnequalLanes { .. } => "`pad` them to one size",
        OpError::OutsideBank { .. } => "`relocate --to 0` it, or choose a larger size",
        OpError::TextTooLong { .. } => "shorten it, or give it more --length",
        OpError::StampOverData { .. } | OpError::MarkOverData { .. } => {
            "choose another place, or allow it with --replace"
        }
        OpError::NoRange => "name it with --across",
        OpError::BalanceOutside { .. } => "put it inside --across",
        OpError::BalanceAcrossWords { .. } => "words are counted from the first --across on",
        OpError::BalanceTwice { .. } => "don't let one --across overlap another there",
        OpError::BalanceBlank { .. } => "leave out --blank-as or --zero-sum",
        OpError::SpreadOverData { .. } => "--replace allows it to be overwritten",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::super::told;
    use super::*;
    use crate::image::AddressRange;
    use crate::parts;

    fn r(first: u64, last: u64) -> AddressRange {
        AddressRange::new(first, last).unwrap()
    }

    /// What helps, for each error of `ops` that has more to say than what is wrong.
    #[test]
    fn every_advice_follows_its_fact() {
        let (range, place) = (r(0, 3), r(2, 3));
        let origin = crate::image::Origin {
            source: crate::image::Source::Filler.into(),
            line: None,
        };
        let (before, behind, data) = (Some(origin.clone()), Some(origin.clone()), origin);
        let what = "a sum needs every byte";
        for (error, sentence) in [
            (
                OpError::Large { bytes: 1 << 30 },
                "this makes 1,073,741,824 bytes, more than 268,435,456; is an address wrong? `show` says where the bytes are; --allow-large allows it",
            ),
            (
                OpError::NoBase {
                    first: 0x8001,
                    size: 16384,
                },
                "the image begins at 0x8001, which is not a multiple of the size (16,384 bytes); say where the part begins with --at",
            ),
            (
                OpError::Before {
                    base: 0x8000,
                    first: 0x7FFC,
                    count: 3,
                    origin: before,
                },
                "there are 3 bytes before 0x8000; the first is at 0x7FFC (filler); `drop` or `relocate` them",
            ),
            (
                OpError::After {
                    window: range,
                    last: 4,
                    count: 1,
                    origin: behind,
                },
                "the image is 1 byte too long for 0x0000-0x0003; the last byte is at 0x0004 (filler); cut it down with `keep`, or use a larger part",
            ),
            (
                OpError::Hole { hole: place, what },
                "0x0002-0x0003 is a hole, but a sum needs every byte; `fill` it first",
            ),
            (
                OpError::BrokenWord { word: 8, hole: 10 },
                "the word at 0x0008 has a hole at 0x000A; `fill` it first",
            ),
            (
                OpError::Banks(4097),
                "this would make 4097 banks, numbered from address 0; `relocate --to 0` first, or choose a larger size",
            ),
            (
                OpError::UnequalLanes {
                    lane: 2,
                    last: 6,
                    first_last: 7,
                },
                "lanes must be equally long, but lane 2 goes up to 0x0006 and lane 0 up to 0x0007; `pad` them to one size",
            ),
            (
                OpError::OutsideBank {
                    bank: 1,
                    address: 8,
                    last: 7,
                },
                "bank 1 has a byte at 0x0008, but a bank ends at 0x0007; `relocate --to 0` it, or choose a larger size",
            ),
            (
                OpError::TextTooLong { has: 3, length: 2 },
                "the text has 3 bytes, but its place has only 2; shorten it, or give it more --length",
            ),
            (
                OpError::StampOverData {
                    place,
                    origin: data.clone(),
                },
                "there is data at the stamp's place 0x0002-0x0003 (filler); choose another place, or allow it with --replace",
            ),
            (
                OpError::MarkOverData {
                    place,
                    origin: data.clone(),
                },
                "there is data at the mark's place 0x0002-0x0003 (filler); choose another place, or allow it with --replace",
            ),
            (
                OpError::SpreadOverData {
                    bank: 1,
                    address: 2,
                    origin: data,
                },
                "bank 1 has other data at 0x0002 (filler); --replace allows it to be overwritten",
            ),
            (
                OpError::NoRange,
                "there is no range to sum over; name it with --across",
            ),
            (
                OpError::BalanceOutside { place },
                "the stamp's place 0x0002-0x0003 is not inside the range, so nothing there can balance it; put it inside --across",
            ),
            (
                OpError::BalanceAcrossWords { place, word: 2 },
                "the stamp's place 0x0002-0x0003 is not on a 2-byte word of the range; words are counted from the first --across on",
            ),
            (
                OpError::BalanceTwice { place },
                "the stamp's place 0x0002-0x0003 is in more than one of the ranges, so it would count twice; don't let one --across overlap another there",
            ),
            (
                OpError::BalanceBlank { place },
                "the stamp's place 0x0002-0x0003 can't balance the sum and also count as other bytes; leave out --blank-as or --zero-sum",
            ),
        ] {
            assert_eq!(told(&error), sentence);
            // The library by itself names no step and no option.
            let fact = error.to_string();
            assert!(!fact.contains(['`']) && !fact.contains("--"), "{fact}");
        }
    }

    #[test]
    fn a_fact_and_its_advice_are_one_sentence() {
        let size = |what| OpError::NotPowerOfTwo { what, size: 3 };
        assert_eq!(
            told(&size(Measured::Image)),
            "the image has 3 bytes, which is not a power of two; `pad` it to one first"
        );
        assert_eq!(
            told(&size(Measured::Part)),
            "the part has 3 bytes, which is not a power of two"
        );
        assert_eq!(
            told(&OpError::Empty),
            "the image is empty; `load` something first"
        );
        let part = parts::find("27C265").unwrap_err();
        let (fact, told) = (part.to_string(), told(&part));
        assert!(fact.starts_with("`27C265` is not in the part table; nearest: 27C256"));
        assert!(told.ends_with("; `romloom parts` lists all, and `--parts FILE` adds your own"));
        let nothing = parts::find("transistor").unwrap_err();
        assert_eq!(
            super::super::told(&nothing),
            "`transistor` is not in the part table; `romloom parts` lists all, and `--parts FILE` adds your own"
        );
    }
}
