//! The costs of the stories, in bits, and where each figure comes from.
//!
//! A story costs what it takes to name it: first its kind (a kind that happens once in 2^n bad reads costs n bits), then its
//! choice among all of that kind that this size of chip allows. The kinds' figures are judgement, common practice
//! at the bench, and were checked with injected faults (docs/evidence.md says how often the answers are right). What
//! matters is their order, and that they are a few bits apart; the evidence of a real fault is hundreds of bits.
//!
//! docs/diagnosis.md has this table for people.

use super::code::{choose, integer, log2, log2_factorial, place};
use crate::faults::line_fault::{LineFault, When};
use crate::faults::story::{CellKind, Edit, Length, LineOf, Model, OpenBus, Story};

/// More bits than this between a story and every one that would read differently: certain. By this measure alone, chance
/// would be wrong once in a million reads.
pub(in crate::faults) const CERTAIN: f64 = 20.0;
/// The same for likely: once in a thousand.
pub(in crate::faults) const LIKELY: f64 = 10.0;
/// What takes more bits to name than this is a list, however short the sentence.
pub(in crate::faults) const A_LIST: f64 = 80.0;
/// A parse of more stretches than this is a list, and one of more than that says nothing.
pub(in crate::faults) const MANY_STRETCHES: usize = 8;
pub(in crate::faults) const TOO_MANY_STRETCHES: usize = 40;
/// One more moved block could be named with this many bits.
pub(in crate::faults) const A_MOVED_BLOCK: f64 = 12.0;
/// That something is left over, before it is listed: once in eight.
pub(in crate::faults) const LEFT_OVER: f64 = 3.0;
/// A wrong cell costs at least about this much, in any list.
pub(in crate::faults) const A_WRONG_CELL: f64 = 5.0;
/// A second fault beside the first: once in 16 ...
const A_SECOND: f64 = 4.0;
/// ... and whether it is of the address or of the data.
const WHICH_LINES: f64 = 1.0;
/// The read is something else altogether: once in 32.
pub(in crate::faults) const NOTHING_IN_COMMON: f64 = 5.0;
/// The parse as a story of its own.
pub(in crate::faults) const A_PARSE: f64 = 4.0;
/// Block edits: that there are any, and one more step for each further edit.
const AN_EDIT: f64 = 4.0;
pub(in crate::faults) const ONE_MORE_EDIT: f64 = 2.0;
/// Damage by a transfer: one kind of [`Damage`](crate::faults::Damage), and rare.
const A_TRANSFER: f64 = 6.0;

/// The chip as the costs see it.
#[derive(Clone, Copy, Debug)]
pub(in crate::faults) struct Size {
    /// Cells of the chip, bytes or words.
    pub cells: usize,
    /// Bytes of it.
    pub bytes: usize,
    /// 8 or 16.
    pub data_lines: usize,
    /// Other images and cousins given with the case.
    pub others: usize,
    pub cousins: usize,
}

impl Size {
    fn address_lines(self) -> usize {
        self.cells.max(1).ilog2() as usize
    }
}

/// One fault among all of its kind on this many lines. Stuck lines (no contact) are the commonest; joined and swapped ones
/// are half as common, inverted ones rarer, and that one driver wins over another is the rarest.
fn line_fault(fault: LineFault, lines: usize) -> f64 {
    let one = log2(lines);
    let two = log2(lines * lines.saturating_sub(1) / 2);
    match fault {
        LineFault::StuckLow(_) | LineFault::StuckHigh(_) => 2.0 + one,
        LineFault::Inverted(_) => 4.0 + one,
        LineFault::Swapped(..) | LineFault::ShortedLow(..) | LineFault::ShortedHigh(..) => {
            3.0 + two
        }
        LineFault::Overdriven { .. } => 5.0 + two,
    }
}

/// What a model costs. For a list only its kind: what it lists is priced where the list is made.
pub(in crate::faults) fn model_bits(model: &Model, size: Size) -> f64 {
    let lines = size.address_lines();
    match model {
        // One bad read in eight is an address line's, one in eight a data line's; while reading is the commonest
        // time, and the other four are equally rare.
        Model::Address { fault, when } => {
            let time = match when {
                When::Reading => 1.0,
                When::Burning(_) | When::Both(_) => 3.0,
            };
            3.0 + line_fault(*fault, lines) + time
        }
        Model::Data(fault) => 3.0 + line_fault(*fault, size.data_lines),
        Model::Blank => 4.0,
        Model::AllZeros => 6.0,
        Model::StillOld => 4.0,
        Model::NotBlank => 5.0,
        Model::OtherImage(_) => 5.0 + log2(size.others),
        Model::OtherOnBus(_) => 7.0 + log2(size.others),
        Model::Cousin(_) => 8.0 + log2(size.cousins),
        Model::LanesSwapped { .. } => 6.0,
        Model::AllInverted => 7.0,
        Model::BitsReversed => 8.0,
        Model::RecordText => 6.0,
        Model::UnlockStored { .. } => 8.0,
        // How many lines fewer, of four (1.5 bits, because few are likelier), and what it contains (2 bits).
        Model::Smaller { .. } => 5.0 + 1.5 + 2.0,
        Model::Stopped { at, .. } => 4.0 + place(*at, size.cells),
        // Which of six page sizes, three bursts and two pages.
        Model::PageWrapped { .. } => 6.0 + log2(36),
        Model::PageCut { page, .. } => 6.0 + log2(6) + log2(*page),
        Model::PagesLeft { .. } => 6.0 + log2(6),
        Model::Shifted { by, .. } => {
            let by = by.unsigned_abs();
            7.0 + place(by, size.cells).min(2.0 + 2.0 * log2(by + 1))
        }
        // How many lines agree and which, their levels, which data lines, and what they read.
        Model::Array {
            lines: mask, data, ..
        } => {
            let agree = mask.count_ones() as usize;
            let which = match data.count_ones() {
                1 => 1.0 + log2(size.data_lines),
                _ => 1.0,
            };
            5.0 + log2(lines) + choose(lines, agree) + agree as f64 + which + 1.0
        }
        Model::WantedIsFaulty(LineOf::Address(fault)) => 8.0 + line_fault(*fault, lines),
        Model::WantedIsFaulty(LineOf::Data(fault)) => 4.0 + line_fault(*fault, size.data_lines),
        Model::Transfer(_) => A_TRANSFER,
        Model::Banks { map, .. } => 4.0 + bank_map(map, size.bytes),
        Model::Length(length) => length_kind(*length),
        Model::Cells(kind) => cell_kind(*kind),
        Model::Edits(_) => AN_EDIT,
        Model::Moves(_) => A_PARSE,
        Model::NothingInCommon => NOTHING_IN_COMMON,
    }
}

/// A story of one model or two, without what it lists. Two lines share the time at which they were bad.
pub(in crate::faults) fn story_bits(story: &Story, size: Size) -> f64 {
    let first = model_bits(&story.first, size);
    let Some(second) = &story.second else {
        return first;
    };
    let both_lines = story.first.is_line() && second.is_line();
    let more = match second {
        Model::Address { fault, .. } if both_lines => {
            WHICH_LINES + line_fault(*fault, size.address_lines())
        }
        Model::Data(fault) if both_lines => WHICH_LINES + line_fault(*fault, size.data_lines),
        other => model_bits(other, size),
    };
    first + A_SECOND + more
}

/// Cells that are wrong, before they are counted and chosen. Scattered bits, leaked bits and another version are about as
/// common as bad lines; that all of them are on one data line, or those of a partner address, has to save more before
/// it is worth saying.
fn cell_kind(kind: CellKind) -> f64 {
    match kind {
        CellKind::Scattered | CellKind::ReadAsOne | CellKind::Rewritten => 3.0,
        CellKind::ReadAsZero | CellKind::OneLine(_) => 4.0,
        CellKind::Changed => 5.0,
        CellKind::AsPartner(_) => 6.0,
        CellKind::AsBefore => 8.0,
    }
}

/// What it takes to name which bank is where.
fn bank_map(map: &[u32], bytes: usize) -> f64 {
    let banks = map.len();
    let sizes = log2((bytes / 512).max(2)).max(1.0).log2() + 1.0;
    let shape = map_kind(map);
    let moved = shape.moved;
    let any = integer(moved) + choose(banks, moved) + moved as f64 * log2(banks);
    let code = match shape.kind {
        MapKind::Swapped => 2.0 + log2(banks * (banks - 1) / 2),
        MapKind::Permuted => 2.0 + log2_factorial(banks),
        MapKind::Twice | MapKind::Any => any,
    };
    sizes + 1.0 + code.min(any)
}

/// What kind of order banks are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::faults) enum MapKind {
    /// Two are in each other's place.
    Swapped,
    /// One is also in the place of another.
    Twice,
    /// Each is there once.
    Permuted,
    /// Neither.
    Any,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::faults) struct MapShape {
    pub kind: MapKind,
    /// Places that have another bank.
    pub moved: usize,
}

/// The kind of a map of banks.
pub(in crate::faults) fn map_kind(map: &[u32]) -> MapShape {
    let moved = map
        .iter()
        .zip(0..)
        .filter(|(bank, place)| **bank != *place)
        .count();
    let mut sorted = map.to_vec();
    sorted.sort_unstable();
    let each_once = sorted.iter().zip(0..).all(|(&bank, place)| bank == place);
    let kind = match (each_once, moved) {
        (true, 2) => MapKind::Swapped,
        (true, _) => MapKind::Permuted,
        (false, 1) => MapKind::Twice,
        (false, _) => MapKind::Any,
    };
    MapShape { kind, moved }
}

/// Another length, before its number of bytes and what is in them.
fn length_kind(length: Length) -> f64 {
    match length {
        Length::CutShort | Length::Repeats => 2.0,
        Length::StartMissing => 4.0,
        // 1A, 00 and FF are what is padded with; any other byte has to be named.
        Length::Padded(0x1A | 0x00 | 0xFF) => 4.0,
        Length::Padded(_) => 12.0,
        Length::More | Length::InFront => 3.0,
        Length::FilledInFront(_) => 5.0,
        Length::OpenBus(OpenBus::HighAddress | OpenBus::LowAddress | OpenBus::LastByte) => 6.0,
        Length::Lane { of, .. } => 5.0 + log2(of),
        Length::Part { of, .. } => 4.0 + log2(of),
        Length::Window { .. } => 4.0,
        Length::OneLaneOf2 { .. } => 7.0,
        Length::EachTwice => 6.0,
    }
}

/// How many bytes a read is longer or shorter: a round number, or any.
pub(in crate::faults) fn length_bits(bytes: usize, largest: usize) -> f64 {
    place(bytes, largest).min(integer(bytes))
}

/// An edit, before its places.
pub(in crate::faults) fn edit_bits(edit: &Edit) -> f64 {
    match edit {
        Edit::Swapped { .. } | Edit::PutIn { .. } => 4.0,
        Edit::Missing { reads: 0xFF, .. } => 4.0,
        Edit::Missing { reads: 0x00, .. } => 5.0,
        Edit::Missing { .. } => 12.0,
        Edit::Moved { .. } | Edit::Repeated { .. } | Edit::Lost { .. } => 3.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Size = Size {
        cells: 32768,
        bytes: 32768,
        data_lines: 8,
        others: 0,
        cousins: 0,
    };

    #[test]
    fn the_usual_costs_less() {
        let bits = |model: Model| model_bits(&model, SIZE);
        let stuck = bits(Model::reading(LineFault::StuckLow(7)));
        assert!(stuck < bits(Model::reading(LineFault::Inverted(7))));
        let burning = crate::faults::Cells::OnlyClear;
        assert!(stuck < bits(Model::burning(LineFault::StuckLow(7), burning)));
        // A chip of half the size is likelier than a line that is stuck with it.
        let smaller = bits(Model::Smaller {
            lines: 14,
            holds: crate::faults::Holds::First,
        });
        assert!(smaller < stuck, "{smaller} {stuck}");
        let two = Story::two(
            Model::Data(LineFault::StuckLow(1)),
            Model::Data(LineFault::StuckLow(2)),
        );
        assert!(story_bits(&two, SIZE) > stuck + 4.0);
    }

    /// The figures of the table in docs/diagnosis.md, "What a story costs", worked out again for a chip of 32K.
    #[test]
    fn every_story_costs_what_the_page_says() {
        use crate::faults::{Cells, Damage, Holds, story::Before, story::Lands, story::ShiftedIn};
        use LineFault::*;
        let size = Size {
            others: 4,
            cousins: 2,
            ..SIZE
        };
        // 15 address lines and 105 pairs of them, 8 data lines and 28 pairs.
        let (one, two) = (15f64.log2(), 105f64.log2());
        let data_pair = 28f64.log2();
        let overwrite = Cells::Overwrite;
        for (model, wanted) in [
            (Model::reading(StuckLow(3)), 3.0 + 2.0 + one + 1.0),
            (Model::reading(StuckHigh(3)), 3.0 + 2.0 + one + 1.0),
            (
                Model::burning(Inverted(3), overwrite),
                3.0 + 4.0 + one + 3.0,
            ),
            (Model::reading(Swapped(1, 2)), 3.0 + 3.0 + two + 1.0),
            (Model::Data(StuckLow(1)), 3.0 + 2.0 + 3.0),
            (Model::Data(ShortedHigh(1, 2)), 3.0 + 3.0 + data_pair),
            (
                Model::Data(Overdriven {
                    winner: 1,
                    loser: 2,
                }),
                3.0 + 5.0 + data_pair,
            ),
            (Model::Blank, 4.0),
            (Model::AllZeros, 6.0),
            (Model::StillOld, 4.0),
            (Model::NotBlank, 5.0),
            (Model::OtherImage(1), 5.0 + 2.0),
            (Model::OtherOnBus(1), 7.0 + 2.0),
            (Model::Cousin(0), 8.0 + 1.0),
            (Model::LanesSwapped { lanes: 2 }, 6.0),
            (Model::AllInverted, 7.0),
            (Model::BitsReversed, 8.0),
            (Model::RecordText, 6.0),
            (Model::Transfer(Damage::LfToCrLf), 6.0),
            (
                Model::Smaller {
                    lines: 14,
                    holds: Holds::First,
                },
                8.5,
            ),
            (
                Model::Stopped {
                    at: 0x4000,
                    above: Before::Erased,
                },
                4.0 + 5.0,
            ),
            (
                Model::PageWrapped {
                    page: 64,
                    burst: 128,
                    lands: Lands::First,
                },
                6.0 + 36f64.log2(),
            ),
            (
                Model::PageCut { page: 64, kept: 1 },
                6.0 + 6f64.log2() + 6.0,
            ),
            (
                Model::PagesLeft {
                    page: 64,
                    pages: 3,
                    before: Before::Erased,
                },
                6.0 + 6f64.log2(),
            ),
            // A shift by little costs its number, one by much its place.
            (
                Model::Shifted {
                    by: -3,
                    fill: ShiftedIn::Erased,
                },
                7.0 + 2.0 + 2.0 * 2.0,
            ),
            (
                Model::Shifted {
                    by: 0x4000,
                    fill: ShiftedIn::Wrapped,
                },
                7.0 + 5.0,
            ),
            // Two of 15 lines agree, at two levels; one data line of 8, or all of them.
            (
                Model::Array {
                    lines: 0x30,
                    levels: 0x10,
                    data: 0x08,
                    high: true,
                },
                5.0 + one + two + 2.0 + 4.0 + 1.0,
            ),
            (
                Model::Array {
                    lines: 0x30,
                    levels: 0x10,
                    data: 0xFF,
                    high: true,
                },
                5.0 + one + two + 2.0 + 1.0 + 1.0,
            ),
            (
                Model::WantedIsFaulty(LineOf::Address(StuckLow(0))),
                8.0 + 2.0 + one,
            ),
            (
                Model::WantedIsFaulty(LineOf::Data(StuckLow(0))),
                4.0 + 2.0 + 3.0,
            ),
            (Model::NothingInCommon, 5.0),
            // The size, one of six; two of 8 banks are swapped, or one place of 8 has one of 8.
            (
                Model::Banks {
                    size: 4096,
                    map: vec![0, 2, 1, 3, 4, 5, 6, 7],
                },
                4.0 + 1.0 + 6f64.log2() + 1.0 + 2.0 + data_pair,
            ),
            (
                Model::Banks {
                    size: 4096,
                    map: vec![0, 1, 1, 3, 4, 5, 6, 7],
                },
                4.0 + 1.0 + 6f64.log2() + 1.0 + 1.0 + 3.0 + 3.0,
            ),
            (
                Model::Banks {
                    size: 8192,
                    map: vec![1, 2, 3, 0],
                },
                4.0 + 1.0 + 6f64.log2() + 1.0 + 2.0 + 24f64.log2(),
            ),
        ] {
            let bits = model_bits(&model, size);
            assert!((bits - wanted).abs() < 1e-9, "{model:?}: {bits}, {wanted}");
        }
        // The first line, 4, 1, and the kind of the second.
        let lines = Story::two(Model::reading(StuckLow(1)), Model::Data(StuckHigh(2)));
        let wanted = (6.0 + one) + 4.0 + 1.0 + (2.0 + 3.0);
        assert!((story_bits(&lines, size) - wanted).abs() < 1e-9);
        let other = Story::two(Model::Blank, Model::AllInverted);
        assert_eq!(story_bits(&other, size), 4.0 + 4.0 + 7.0);
    }

    #[test]
    fn orders_of_banks() {
        let shape = |map: &[u32]| map_kind(map);
        assert_eq!(shape(&[0, 2, 1, 3]).kind, MapKind::Swapped);
        assert_eq!(shape(&[0, 2, 2, 3]).kind, MapKind::Twice);
        assert_eq!(shape(&[3, 0, 1, 2]).kind, MapKind::Permuted);
        assert_eq!(
            shape(&[1, 1, 1, 3]),
            MapShape {
                kind: MapKind::Any,
                moved: 2
            }
        );
    }

    /// The rest of the page's table: what comes before the places and the lists.
    #[test]
    fn every_list_and_length_costs_what_the_page_says() {
        use crate::faults::story::Holds;
        let cells = |kind| model_bits(&Model::Cells(kind), SIZE);
        assert_eq!(cells(CellKind::Scattered), 3.0);
        assert_eq!(cells(CellKind::ReadAsOne), 3.0);
        assert_eq!(cells(CellKind::ReadAsZero), 4.0);
        assert_eq!(cells(CellKind::OneLine(2)), 4.0);
        assert_eq!(cells(CellKind::Changed), 5.0);
        assert_eq!(cells(CellKind::Rewritten), 3.0);
        assert_eq!(cells(CellKind::AsPartner(1)), 6.0);
        assert_eq!(cells(CellKind::AsBefore), 8.0);
        let length = |length| model_bits(&Model::Length(length), SIZE);
        for (kind, bits) in [
            (Length::CutShort, 2.0),
            (Length::Repeats, 2.0),
            (Length::StartMissing, 4.0),
            (Length::Padded(0x1A), 4.0),
            (Length::Padded(0x1B), 12.0),
            (Length::More, 3.0),
            (Length::InFront, 3.0),
            (Length::FilledInFront(0), 5.0),
            (Length::OpenBus(OpenBus::LastByte), 6.0),
            (Length::Lane { n: 0, of: 4 }, 7.0),
            (Length::Part { n: 0, of: 4 }, 6.0),
            (Length::Window { from: 9 }, 4.0),
            (Length::OneLaneOf2 { n: 0, other: 0 }, 7.0),
            (Length::EachTwice, 6.0),
        ] {
            assert_eq!(length(kind), bits, "{kind:?}");
        }
        let (at, len, to) = (0, 9, 40);
        let from = at;
        assert_eq!(edit_bits(&Edit::Moved { from, len, to }), 3.0);
        assert_eq!(edit_bits(&Edit::Repeated { from, len, to }), 3.0);
        assert_eq!(edit_bits(&Edit::Lost { at, len }), 3.0);
        let (one, other, doubled) = (0, 40, true);
        assert_eq!(edit_bits(&Edit::Swapped { one, other, len }), 4.0);
        assert_eq!(edit_bits(&Edit::PutIn { at, len, doubled }), 4.0);
        for (reads, bits) in [(0xFF, 4.0), (0x00, 5.0), (0x01, 12.0)] {
            assert_eq!(edit_bits(&Edit::Missing { at, len, reads }), bits);
        }
        assert_eq!(length_bits(16, 4096), 9.0);
        assert_eq!(length_bits(1024, 4096), 6.0);
        assert_eq!(length_bits(4096, 4096), 2.0);
        // A line with something else shares nothing with it: each has its time.
        let low = || Model::reading(LineFault::StuckLow(3));
        let line = 6.0 + 15f64.log2();
        let bits = |first, second| story_bits(&Story::two(first, second), SIZE);
        let blank = bits(Model::Blank, low());
        assert!((blank - (4.0 + 4.0 + line)).abs() < 1e-9, "{blank}");
        let data = bits(Model::Blank, Model::Data(LineFault::StuckLow(3)));
        assert!((data - (4.0 + 4.0 + 8.0)).abs() < 1e-9, "{data}");
        let edits = bits(low(), Model::Edits(Vec::new()));
        assert!((edits - (line + 4.0 + 4.0)).abs() < 1e-9);
        // Two address lines, the second burned at the same time: only its kind.
        let both = bits(
            low(),
            Model::burning(LineFault::Inverted(2), crate::faults::Cells::Overwrite),
        );
        assert!((both - (line + 4.0 + 1.0 + 4.0 + 15f64.log2())).abs() < 1e-9);
        // A list of three places in eight is cheaper than an order of all eight banks.
        let turned = Model::Banks {
            size: 4096,
            map: vec![1, 2, 0, 3, 4, 5, 6, 7],
        };
        let any = integer(3) + choose(8, 3) + 9.0;
        let wanted = 4.0 + 1.0 + 6f64.log2() + 1.0 + any.min(2.0 + log2_factorial(8));
        assert!((model_bits(&turned, SIZE) - wanted).abs() < 1e-9);
        // The smallest images have one size of banks.
        let tiny = Size {
            bytes: 512,
            cells: 512,
            ..SIZE
        };
        let map = vec![1, 0];
        assert_eq!(
            model_bits(&Model::Banks { size: 256, map }, tiny),
            4.0 + 1.0 + 1.0 + 2.0
        );
        // A chip with one line less is as likely whatever it contains.
        for holds in [Holds::Last, Holds::All] {
            assert_eq!(model_bits(&Model::Smaller { lines: 1, holds }, SIZE), 8.5);
        }
        let (first, second, command) = (0x5555, 0x2AAA, 0xA0);
        let unlock = Model::UnlockStored {
            first,
            second,
            command,
        };
        assert_eq!(model_bits(&unlock, SIZE), 8.0);
    }
}
