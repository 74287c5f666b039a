//! Models in words.

use super::lines::{Opening, address_sentences, data_sentences};
use super::{LookNext, Names, Sentences};
use crate::faults::models::{Damage, Holds, Lands, Model, ShiftedIn, Story};
use crate::wiring::Line;

impl Story {
    /// What is said about the one or two models.
    pub fn sentences(self, names: &Names) -> Sentences {
        let mut said = self.first.sentences(names);
        if let Some(second) = self.second {
            let more = second.said(names, Opening::AfterAnd);
            said.finding = format!("{}, and {}", said.finding, more.finding);
            said.look_next = said.look_next.and(&more.look_next.to_string());
        }
        said
    }
}

impl Model {
    /// What is said about the model.
    pub fn sentences(self, names: &Names) -> Sentences {
        self.said(names, Opening::Sentence)
    }

    fn said(self, names: &Names, opening: Opening) -> Sentences {
        let (finding, look_next) = match self {
            Model::Transfer(damage) => return damage.sentences(),
            Model::Address { fault, when } => {
                return address_sentences(fault, when, names, opening);
            }
            Model::Data(fault) => return data_sentences(fault, names),
            Model::OtherImage(n) => (
                match names.other(n) {
                    Some(name) => format!("This read is {name}"),
                    None => format!("This read is the other image number {}", n + 1),
                },
                "Compare the labels: two chips may have changed places.".to_owned(),
            ),
            Model::Blank => (
                "Every bit reads 1".to_owned(),
                "The chip is blank, not selected, or not there: check its orientation, the \
                 select and output-enable pins, and the part chosen in the programmer."
                    .to_owned(),
            ),
            Model::AllZeros => (
                "Every bit reads 0".to_owned(),
                "Check the supply pins and that nothing else pulls the data lines down; \
                 a chip overwritten with 00 looks the same."
                    .to_owned(),
            ),
            Model::Stopped { at } => (
                format!("Nothing is written from {at:#06X} up"),
                "Burn again and watch for the address at which it stops; check the \
                 programming voltage under load and the length of the file."
                    .to_owned(),
            ),
            Model::Smaller { lines, holds } => (
                format!(
                    "The chip repeats after {:#X}, as one of {lines} address lines does, and holds {}",
                    1usize << lines,
                    match holds {
                        Holds::First => "the first part of the image",
                        Holds::Last => "the last part of the image",
                        Holds::All => "all parts of the image burnt over each other",
                    }
                ),
                "Read the marking on the chip: it may be smaller than its socket. The upper \
                 address lines not reaching a larger chip look the same."
                    .to_owned(),
            ),
            Model::LanesExchanged { lanes } => (
                format!("The {lanes} bytes of each word stand in reverse order"),
                "Check the byte order chosen when the image was split or burnt.".to_owned(),
            ),
            Model::BanksExchanged {
                size,
                first,
                second,
            } => (
                format!("Banks {first} and {second} of {size:#X} stand in each other's place"),
                "Check the order in which the banks were joined, and the switch lines.".to_owned(),
            ),
            Model::BitsReversed => (
                "The data lines are reversed, the lowest for the highest".to_owned(),
                "Check the numbering of the data lines on the adapter or board.".to_owned(),
            ),
            Model::AllInverted => (
                "Every bit is inverted".to_owned(),
                "Look for an inverting buffer on the data lines, or a file saved inverted."
                    .to_owned(),
            ),
            Model::Shifted { by, fill } => (
                format!(
                    "Everything stands {:#X} {} than wanted{}",
                    by.unsigned_abs(),
                    if by > 0 { "higher" } else { "lower" },
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
                          whether a header stands before the image."
                    }
                }
                .to_owned(),
            ),
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
            Model::Cousin { selects, a11 } => (
                format!(
                    "The chip answers only while A11 is {}, and sees its own A11 as {}",
                    u8::from(selects),
                    u8::from(a11)
                ),
                "A11 and a select are exchanged, as between 24-pin parts of different families: \
                 read it as its cousin, or through an adapter."
                    .to_owned(),
            ),
            Model::NotBlank => (
                "Every byte is the wanted one AND the old one".to_owned(),
                "The chip was not blank before: erase it (a UV-C lamp harms eyes and skin, keep \
                 it shielded), check that it is blank, and burn again."
                    .to_owned(),
            ),
            Model::OtherOnBus(n) => (
                match names.other(n) {
                    Some(name) => format!("Every byte is the wanted one AND that of {name}"),
                    None => format!(
                        "Every byte is the wanted one AND that of other image number {}",
                        n + 1
                    ),
                },
                "Two chips answer at once: check the select lines of both.".to_owned(),
            ),
            Model::Floating(line) => (
                match line {
                    Line::Address(_) => {
                        format!("Each byte is that of its address with {line} at 0 or at 1")
                    }
                    Line::Data(_) => format!("Only {line} differs"),
                },
                format!(
                    "Read again: if the bytes change from read to read, {line} floats. Look at {} \
                     and its socket contact.",
                    names.pin_of(line)
                ),
            ),
            Model::Late => (
                "What differs is left over from the byte before".to_owned(),
                "The access time may be too short: read again slower, or choose a faster part."
                    .to_owned(),
            ),
            Model::PagesLeft { page } => (
                format!("Whole pages of {page} bytes hold what was there before"),
                "Check the chip's write protection, then burn again with more time between \
                 pages."
                    .to_owned(),
            ),
            Model::OnlyToZero => (
                "All differences are bits that read 0 and should read 1".to_owned(),
                "The chip may not have been blank, or another chip answers with it: take it out \
                 of the board and read it alone."
                    .to_owned(),
            ),
            Model::OnlyToOne => (
                "All differences are bits that read 1 and should read 0".to_owned(),
                "Bits may have leaked away or were not programmed well: read again at the lowest \
                 and the highest supply voltage the data sheet allows; weak bits change with it."
                    .to_owned(),
            ),
        };
        Sentences {
            finding,
            look_next: LookNext::Advice(look_next),
        }
    }
}

impl Damage {
    fn sentences(self) -> Sentences {
        let (finding, look_next) = match self {
            Damage::Bit7Stripped => (
                "Bit 7 of every byte reads 0",
                "If the file came over a serial line, send it with 8 data bits and no parity. \
                 D7 stuck at 0 looks the same: compare the file itself before the chip.",
            ),
            Damage::LfToCrLf => (
                "Every 0A has become 0D 0A",
                "The file was sent as text: send it again as binary.",
            ),
            Damage::CrLfToLf => (
                "Every 0D 0A has become 0A",
                "The file was sent as text: send it again as binary.",
            ),
            Damage::FlowControlSwallowed => (
                "Every 11 and 13 is missing",
                "They were taken as flow control: send the file with hardware flow control, or \
                 as hex records.",
            ),
            Damage::NotAsciiReplaced | Damage::NotUtf8Replaced => (
                "Bytes that are no text have become EF BF BD",
                "A program opened the file as text and saved it: take the original again.",
            ),
            Damage::Tail1A => (
                "Behind the content stands 1A up to a multiple of 128",
                "The transfer padded its last block: cut the tail off.",
            ),
            Damage::EndedAt1A => (
                "Nothing follows where the first 1A should stand",
                "1A was taken as the end of a text: send the file as binary.",
            ),
        };
        Sentences {
            finding: finding.to_owned(),
            look_next: LookNext::Advice(look_next.to_owned()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::{Case, Pass, Pattern};
    use crate::wiring::Width;

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
        let words = found.equals[0].sentences(&Names::new(&pin, &[]));
        assert_eq!(words.finding, "The chip sees A7 as 0 everywhere");
        assert_eq!(
            found.score.because(Width::Eight),
            "that explains all 16,384 differences and contradicts none of the 16,384 equal bytes"
        );
        assert_eq!(
            words.look_next.to_string(),
            "Look next at pin 3 and its socket contact; read again, and if the bytes change from \
             read to read the pin floats."
        );
        assert_eq!(diagnosis.to_settle(32768), None);
    }
}
