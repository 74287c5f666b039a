//! Models in words.

use super::blocks::{banks_sentences, edits_sentences, moves_sentences};
use super::cells::{cells_sentences, pages_left_sentences};
use super::lengths::length_sentences;
use super::lines::{Opening, address_sentences, data_sentences, wanted_is_faulty_sentences};
use super::transfers::damage_sentences;
use super::{Names, Sentences};
use crate::faults::story::{Before, Holds, Lands, Model, ShiftedIn, Story};
use crate::wiring::{Line, Width};

impl Story {
    /// What is said about the one or two models.
    pub fn sentences(&self, names: &Names) -> Sentences {
        let mut said = self.first.sentences(names);
        if let Some(second) = &self.second {
            let more = second.said(names, Opening::AfterAnd);
            said.finding = format!("{}, and {}", said.finding, more.finding);
            said.look_next = format!("{} {}", said.look_next, more.look_next);
        }
        said
    }
}

impl Model {
    /// What is said about the model.
    pub fn sentences(&self, names: &Names) -> Sentences {
        self.said(names, Opening::Sentence)
    }

    fn said(&self, names: &Names, opening: Opening) -> Sentences {
        match self {
            Model::Transfer(damage) => damage_sentences(*damage),
            Model::Address { fault, when } => address_sentences(*fault, *when, names, opening),
            Model::Data(fault) => data_sentences(*fault, names),
            Model::WantedIsFaulty(line) => wanted_is_faulty_sentences(*line, names),
            Model::Edits(edits) => edits_sentences(edits, names),
            Model::Banks { size, map } => banks_sentences(*size, map),
            Model::Moves(moves) => moves_sentences(moves),
            Model::Length(length) => length_sentences(*length, names),
            Model::Cells(kind) => cells_sentences(*kind, names),
            Model::PagesLeft {
                page,
                pages,
                before,
            } => pages_left_sentences(*page, *pages, *before, names),
            other => {
                let (finding, look_next) = other.whole_chip(names);
                Sentences {
                    finding: opening.begin(&finding),
                    look_next,
                }
            }
        }
    }

    /// What is said about everything that hits the whole chip or file.
    fn whole_chip(&self, names: &Names) -> (String, String) {
        match self {
            Model::OtherImage(n) => (
                format!("This read is {}", names.other(*n)),
                "Compare the labels: two chips may be swapped.".to_owned(),
            ),
            Model::Blank => (
                "Every bit reads 1".to_owned(),
                "The chip is blank, not selected, or not there: check its orientation, the \
                 select and output-enable pins, and the part chosen in the programmer."
                    .to_owned(),
            ),
            Model::AllZeros => (
                "Every bit reads 0".to_owned(),
                "Check the supply pins, and that nothing else pulls the data lines down. \
                 A chip overwritten with 00 looks the same."
                    .to_owned(),
            ),
            Model::StillOld => (
                "Nothing was programmed: the chip still contains the old image".to_owned(),
                "Check that the programmer reached the end without a message, that the part is right and \
                 not write-protected, and that the programming voltage is right; then burn again."
                    .to_owned(),
            ),
            Model::Stopped { at, above } => (
                format!(
                    "Nothing is written from {} up{}",
                    names.cell(*at),
                    match above {
                        Before::Erased => "",
                        Before::Old => ": the old image is still there",
                    }
                ),
                "Burn again and watch at which address it stops. Check the \
                 programming voltage under load and the length of the file."
                    .to_owned(),
            ),
            Model::Smaller { lines, holds } => (
                format!(
                    "The chip repeats after {:#X}, like one with {lines} address lines, and contains {}",
                    (1usize << lines) * names.width().bytes(),
                    match holds {
                        Holds::First => "the first part of the image",
                        Holds::Last => "the last part of the image",
                        Holds::All => "all parts of the image burned over each other",
                    }
                ),
                "Read the marking on the chip: it may be smaller than its socket. If it is not, upper \
                 address lines do not reach it."
                    .to_owned(),
            ),
            Model::LanesSwapped { lanes } => (
                format!("The {lanes} bytes of each word are in reverse order"),
                "Check the byte order chosen when the image was split or burned.".to_owned(),
            ),
            Model::BitsReversed => (
                "The data lines are reversed: the lowest is the highest".to_owned(),
                "Check the numbering of the data lines on the adapter or board.".to_owned(),
            ),
            Model::AllInverted => (
                "Every bit is inverted".to_owned(),
                "Look for an inverting buffer on the data lines, or a file saved inverted."
                    .to_owned(),
            ),
            Model::Shifted { by, fill } => {
                let bytes = by.unsigned_abs() * names.width().bytes();
                (
                    format!(
                        "Everything is {bytes:#X} {} than wanted{}",
                        if *by > 0 { "higher" } else { "lower" },
                        match fill {
                            ShiftedIn::Wrapped => ", and wraps around",
                            ShiftedIn::Erased => "",
                        }
                    ),
                    match by {
                        -1 | 1 => {
                            "Check the start address in the programmer, and read again slower: \
                             a read that is always one access late looks the same."
                        }
                        _ => {
                            "Check the start address and the file offset in the programmer, and \
                             whether a header comes before the image."
                        }
                    }
                    .to_owned(),
                )
            }
            Model::PageCut { page, kept } => (
                format!("Only the first {kept} of every {page} bytes are written"),
                "Choose the part's own page size in the programmer.".to_owned(),
            ),
            Model::PageWrapped { page, burst, lands } => (
                format!(
                    "Bursts of {burst} bytes wrapped in a page of {page}, and the {} page took them",
                    match lands {
                        Lands::First => "first",
                        Lands::Last => "last",
                    }
                ),
                "Choose the part's own page size in the programmer, and burn again.".to_owned(),
            ),
            Model::Cousin(n) => (
                format!("This is what a {} reads like here", names.cousin(*n)),
                "Read the marking on the chip. Its pins differ from those of the part that the reader was set \
                 for: set the reader for the part that it is, or read it through an adapter."
                    .to_owned(),
            ),
            Model::NotBlank => (
                "Every byte is the wanted one AND the old one".to_owned(),
                "The chip was not blank before: erase it (a UV-C lamp harms eyes and skin, keep \
                 it shielded), check that it is blank, and burn again."
                    .to_owned(),
            ),
            Model::OtherOnBus(n) => (
                format!("Every byte is the wanted one AND that of {}", names.other(*n)),
                "Two chips answer at once: check the select lines of both.".to_owned(),
            ),
            Model::Array {
                lines,
                levels,
                data,
                high,
            } => (
                array_finding(*lines, *levels, *data, *high, names.width()),
                "A row or column inside the chip is dead, which is how mask and bipolar ROMs fail: cleaning contacts will not \
                 help. Read it in another reader to be sure, and replace the chip."
                    .to_owned(),
            ),
            Model::UnlockStored {
                first,
                second,
                command,
            } => (
                format!(
                    "The bytes that unlock a chip are stored as data: {command:02X} at {} and 55 at {}",
                    names.cell(*first),
                    names.cell(*second)
                ),
                "The programmer sent the write-protect sequence of another part: set the type that is printed on the \
                 chip, and burn it again."
                    .to_owned(),
            ),
            Model::RecordText => (
                "The chip contains the text of a record file, not the bytes of its records".to_owned(),
                "Load the file as Intel HEX or S-record in the programmer, or write it as raw binary first: \
                 `write FILE.bin`. Then burn again."
                    .to_owned(),
            ),
            _ => (
                "The read has nothing in common with the wanted image".to_owned(),
                "It is another program: look at the label, and let `recognise` say which known image it is.".to_owned(),
            ),
        }
    }
}

/// `D3 reads 0 wherever A4 is 0 and A7 is 1`.
fn array_finding(lines: usize, levels: usize, data: u16, high: bool, width: Width) -> String {
    let level = |line: u8| levels >> line & 1;
    let agree = (0..32u8).filter(|line| lines >> line & 1 == 1);
    let conditions: Vec<String> = agree
        .map(|line| format!("{} is {}", Line::Address(line), level(line)))
        .collect();
    let where_to = match &conditions[..] {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    };
    let what = match data.count_ones() {
        1 => format!("{} reads", Line::Data(data.trailing_zeros() as u8)),
        _ => format!("All {} data lines read", width.lines()),
    };
    format!("{what} {} wherever {where_to}", u8::from(high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::{Case, Pass, Pattern};

    #[test]
    fn the_sentence_of_a_dead_address_line() {
        let wanted = Pattern::Telltale(Pass::First).image(32768).unwrap();
        let mut read = wanted.clone();
        // Half of the bytes have A7 set; this image turns each of them into another.
        for (a, byte) in read.iter_mut().enumerate() {
            *byte = wanted[a & !(1 << 7)];
        }
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        let found = &diagnosis.candidates[0];
        let pin = |line| (line == Line::Address(7)).then_some(3);
        let words = found.equals[0].sentences(&Names::new(&pin));
        assert_eq!(words.finding, "The chip sees A7 as 0 everywhere");
        assert_eq!(
            found.score.because(Width::Eight),
            "that explains all 16,384 differences and contradicts none of the 16,384 equal bytes"
        );
        assert_eq!(
            words.look_next.to_string(),
            "Check pin 3 and its socket contact. Read again: if the bytes change between reads, the pin has no contact."
        );
        assert_eq!(diagnosis.to_settle(&Case::new(&wanted, &read)), None);
    }

    #[test]
    fn a_dead_row_names_its_lines() {
        assert_eq!(
            array_finding(0b1001_0000, 0b1000_0000, 1 << 3, false, Width::Eight),
            "D3 reads 0 wherever A4 is 0 and A7 is 1"
        );
        assert_eq!(
            array_finding(0b10, 0b10, 0xFFFF, true, Width::Sixteen),
            "All 16 data lines read 1 wherever A1 is 1"
        );
    }

    /// Every finding, with pins and names where there are any.
    #[test]
    fn every_model_is_said() {
        use crate::faults::cost::{Size, model_bits};
        use crate::faults::line_fault::{Cells, LineFault};
        use crate::faults::story::{CellKind, Edit, Length, LineOf, Moves, OpenBus};
        let pin = |line| match line {
            Line::Address(line) => Some(10 - line),
            Line::Data(3) => Some(15),
            Line::Data(_) => None,
        };
        let others = ["u7".to_owned()];
        let names = Names::new(&pin).others(&others).cousins(&others);
        let names = names.at(0x8000, Width::Sixteen);
        let low = LineFault::StuckLow(2);
        let burning = Model::burning(low, Cells::Overwrite);
        let moved = (0x100, 0x80, 0x400);
        let (from, len, to) = moved;
        let moves = Moves {
            in_place: 1,
            moved: 2000,
            constant: 0,
            new: 3,
            stretches: 1,
        };
        let size = Size {
            cells: 64,
            bytes: 64,
            data_lines: 8,
            others: 1,
            cousins: 1,
        };
        for (model, finding) in [
            (Model::OtherImage(0), "This read is u7"),
            (
                Model::OtherImage(1),
                "This read is the other image number 2",
            ),
            (
                Model::OtherOnBus(0),
                "Every byte is the wanted one AND that of u7",
            ),
            (Model::Cousin(0), "This is what a u7 reads like here"),
            (
                Model::Cousin(2),
                "This is what a part number 3 of those given reads like here",
            ),
            (Model::Blank, "Every bit reads 1"),
            (Model::AllZeros, "Every bit reads 0"),
            (
                Model::StillOld,
                "Nothing was programmed: the chip still contains the old image",
            ),
            (
                Model::NotBlank,
                "Every byte is the wanted one AND the old one",
            ),
            (
                Model::Stopped {
                    at: 0x10,
                    above: Before::Erased,
                },
                "Nothing is written from 0x8020 up",
            ),
            (
                Model::Stopped {
                    at: 0x10,
                    above: Before::Old,
                },
                "Nothing is written from 0x8020 up: the old image is still there",
            ),
            (
                Model::Smaller {
                    lines: 10,
                    holds: Holds::First,
                },
                "The chip repeats after 0x800, like one with 10 address lines, and contains the first part of the image",
            ),
            (
                Model::Smaller {
                    lines: 10,
                    holds: Holds::All,
                },
                "The chip repeats after 0x800, like one with 10 address lines, and contains all parts of the image burned over each other",
            ),
            (
                Model::LanesSwapped { lanes: 4 },
                "The 4 bytes of each word are in reverse order",
            ),
            (
                Model::BitsReversed,
                "The data lines are reversed: the lowest is the highest",
            ),
            (Model::AllInverted, "Every bit is inverted"),
            (
                Model::Shifted {
                    by: 3,
                    fill: ShiftedIn::Wrapped,
                },
                "Everything is 0x6 higher than wanted, and wraps around",
            ),
            (
                Model::Shifted {
                    by: -1,
                    fill: ShiftedIn::Erased,
                },
                "Everything is 0x2 lower than wanted",
            ),
            (
                Model::PageCut { page: 64, kept: 32 },
                "Only the first 32 of every 64 bytes are written",
            ),
            (
                Model::PageWrapped {
                    page: 32,
                    burst: 64,
                    lands: Lands::Last,
                },
                "Bursts of 64 bytes wrapped in a page of 32, and the last page took them",
            ),
            (
                Model::Array {
                    lines: 6,
                    levels: 2,
                    data: 8,
                    high: false,
                },
                "D3 reads 0 wherever A1 is 1 and A2 is 0",
            ),
            (
                Model::UnlockStored {
                    first: 5,
                    second: 2,
                    command: 0xA0,
                },
                "The bytes that unlock a chip are stored as data: A0 at 0x800A and 55 at 0x8004",
            ),
            (
                Model::RecordText,
                "The chip contains the text of a record file, not the bytes of its records",
            ),
            (
                Model::NothingInCommon,
                "The read has nothing in common with the wanted image",
            ),
            (Model::reading(low), "The chip sees A2 as 0 everywhere"),
            (
                burning,
                "While burning the chip saw A2 as 0 everywhere, and later writes won",
            ),
            (Model::Data(low), "D2 never moves, it reads 0 everywhere"),
            (
                Model::WantedIsFaulty(LineOf::Data(low)),
                "The wanted image looks faulty: it is what this chip gives with the fault \"D2 never moves, it reads 0 everywhere\"",
            ),
            (
                Model::Edits(vec![Edit::Swapped {
                    one: 0,
                    other: 64,
                    len: 2,
                }]),
                "The blocks at 0x8000-0x8001 and 0x8040-0x8041 are swapped",
            ),
            (
                Model::Edits(vec![Edit::Repeated { from, len, to }]),
                "The 128 bytes of 0x8100-0x817F are at 0x8400-0x847F a second time",
            ),
            (
                Model::Edits(vec![Edit::Missing {
                    at: 1,
                    len: 3,
                    reads: 0xA5,
                }]),
                "The 3 bytes of 0x8001-0x8003 are missing and read A5",
            ),
            (
                Model::Edits(vec![Edit::Lost { at: 1, len: 2 }]),
                "2 bytes were lost at 0x8001, and everything after them is lower by as much",
            ),
            (
                Model::Edits(vec![Edit::PutIn {
                    at: 1,
                    len: 1,
                    doubled: false,
                }]),
                "1 byte came in at 0x8001, and everything after it is higher by as much",
            ),
            (
                Model::Edits(vec![Edit::PutIn {
                    at: 1,
                    len: 2,
                    doubled: true,
                }]),
                "2 bytes came twice at 0x8001, and everything after them is higher by as much",
            ),
            (
                Model::Moves(moves),
                "The read consists of 1 stretch: 1 byte are in their place, 2,000 from elsewhere in the image, 3 new",
            ),
            (
                Model::Length(Length::Padded(0xE5)),
                "The wanted image is there, and E5 after it to the end",
            ),
            (
                Model::Length(Length::FilledInFront(0)),
                "00 comes before the wanted image, which is at the end",
            ),
            (
                Model::Length(Length::OpenBus(OpenBus::LowAddress)),
                "After the wanted image the open bus was read: the low byte of each address",
            ),
            (
                Model::Length(Length::Window { from: 16 }),
                "This read is the part of the wanted image that begins at 0x8010",
            ),
            (
                Model::Length(Length::OneLaneOf2 { n: 1, other: 0xFF }),
                "The wanted image is in the odd bytes, and all others read FF",
            ),
            (
                Model::Cells(CellKind::OneLine(3)),
                "Only D3 (pin 15) differs",
            ),
            (
                Model::Cells(CellKind::AsPartner(1)),
                "What differs reads as it would with A1 (pin 9) at the other level",
            ),
            (
                Model::PagesLeft {
                    page: 64,
                    pages: 1,
                    before: Before::Erased,
                },
                "A page of 128 bytes contains only erased bytes",
            ),
            (
                Model::PagesLeft {
                    page: 64,
                    pages: 3,
                    before: Before::Old,
                },
                "3 pages of 128 bytes contain what was there before",
            ),
        ] {
            let said = model.sentences(&names);
            assert_eq!(said.finding, finding);
            assert!(
                said.look_next.ends_with('.'),
                "{model:?}: {}",
                said.look_next
            );
            assert!(model_bits(&model, size) > 0.0);
        }
        // One access late looks the same as one address.
        let advice = |by| {
            let fill = ShiftedIn::Wrapped;
            Model::Shifted { by, fill }.sentences(&names).look_next
        };
        assert!(advice(-1).contains("slower") && advice(1).contains("slower"));
        assert!(advice(2).contains("header") && !advice(2).contains("slower"));
    }

    /// The second begins in the middle of a sentence, unless it begins with a name.
    #[test]
    fn two_models_are_one_sentence() {
        use crate::faults::line_fault::{Cells, LineFault};
        let said = |second: Model| {
            let story = Story::two(Model::Blank, second);
            story.sentences(&Names::NONE).finding
        };
        assert_eq!(
            said(Model::AllInverted),
            "Every bit reads 1, and every bit is inverted"
        );
        let low = LineFault::StuckLow(2);
        assert_eq!(
            said(Model::reading(low)),
            "Every bit reads 1, and the chip sees A2 as 0 everywhere"
        );
        assert_eq!(
            said(Model::Data(low)),
            "Every bit reads 1, and D2 never moves, it reads 0 everywhere"
        );
        assert_eq!(
            said(Model::burning(low, Cells::OnlyClear)),
            "Every bit reads 1, and while burning the chip saw A2 as 0 everywhere, and cells written twice contain \
             the AND of both"
        );
        let row = Model::Array {
            lines: 2,
            levels: 2,
            data: 8,
            high: true,
        };
        assert_eq!(
            said(row),
            "Every bit reads 1, and D3 reads 1 wherever A1 is 1"
        );
    }
}
