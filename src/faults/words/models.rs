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
}
