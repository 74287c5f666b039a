//! Lengths in words.

use super::{Names, Sentences};
use crate::faults::story::{Length, OpenBus};

/// What is said about a read that is longer or shorter than what is wanted.
pub(super) fn length_sentences(length: Length, names: &Names) -> Sentences {
    let (finding, look_next) = match length {
        Length::CutShort => (
            "The read is cut short; what there is, is as wanted".to_owned(),
            "Read the whole chip: check the size or the part that the reader is set for, and whether the file was cut on the way.",
        ),
        Length::StartMissing => (
            "The beginning is missing; the rest is as wanted".to_owned(),
            "Check the start address that the reader is set for.",
        ),
        Length::Padded(byte) => (
            format!("The wanted image is there, and {byte:02X} after it to the end"),
            match byte {
                0x1A => "A transfer padded its last block: cut the end off.",
                _ => {
                    "The read covers more than the image, or the file was padded: the bytes are right. Cut it to \
                      the image's length, or pad the image in the same way."
                }
            },
        ),
        Length::More => (
            "The wanted image is there, and more after it".to_owned(),
            "Look at what follows: a second image, an over-read, or the end of a transfer block. The bytes of the image are \
             right.",
        ),
        Length::InFront => (
            "Something comes before the wanted image, such as a header".to_owned(),
            "Cut it off (`load --skip N`) before you burn, or set the file offset in the programmer.",
        ),
        Length::FilledInFront(byte) => (
            format!("{byte:02X} comes before the wanted image, which is at the end"),
            "The image is in the upper part of a larger read: check the size of the part, and whether it belongs there.",
        ),
        Length::Repeats => (
            "The wanted image is repeated".to_owned(),
            "The chip is smaller than the part that the reader is set for, or the file was doubled to fill a larger chip: \
             read the marking. The bytes are right.",
        ),
        Length::OpenBus(what) => (
            format!(
                "After the wanted image the open bus was read: {}",
                match what {
                    OpenBus::HighAddress => "the high byte of each address",
                    OpenBus::LowAddress => "the low byte of each address",
                    OpenBus::LastByte => "the last byte again and again",
                }
            ),
            "Nothing answers there: the chip is smaller than what was read. Its own bytes are right.",
        ),
        Length::Lane { n, of } => (
            format!("This read is {} of the wanted image", lane(n, of)),
            "The wanted image is of the whole bus: compare the read with its own lane (`split lanes`), or join the \
             lanes' reads first (`join lanes`).",
        ),
        Length::Part { n, of } => (
            format!("This read is {} of the wanted image", part(n, of)),
            "Compare it with that part, or read the whole chip: the upper address lines may not have been driven.",
        ),
        Length::Window { from } => (
            format!(
                "This read is the part of the wanted image that begins at {}",
                names.byte(from)
            ),
            "Compare it with that part, or read the whole chip.",
        ),
        Length::OneLaneOf2 { n, other } => (
            format!(
                "The wanted image is in the {} bytes, and all others read {other:02X}",
                match n {
                    0 => "even",
                    _ => "odd",
                }
            ),
            "The chip was read as one lane of a wider bus: take its lane out (`split lanes 2`).",
        ),
        Length::EachTwice => (
            "Each byte of the wanted image comes twice".to_owned(),
            "The lowest address line of the reader does not reach the chip. This happens when a part 16 bits wide is set and \
             one 8 bits wide is read: check the part.",
        ),
    };
    Sentences {
        finding,
        look_next: look_next.to_owned(),
    }
}

fn lane(n: usize, of: usize) -> String {
    match (n, of) {
        (0, 2) => "the even lane".to_owned(),
        (1, 2) => "the odd lane".to_owned(),
        _ => format!("lane {n} of {of}"),
    }
}

fn part(n: usize, of: usize) -> String {
    match (n, of) {
        (0, 2) => "the lower half".to_owned(),
        (1, 2) => "the upper half".to_owned(),
        _ => format!("part {n} of {of}, counted from 0,"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lanes_and_parts_have_names() {
        let said = |length| length_sentences(length, &Names::NONE).finding;
        let lane = |n, of| said(Length::Lane { n, of });
        let part = |n, of| said(Length::Part { n, of });
        assert_eq!(lane(0, 2), "This read is the even lane of the wanted image");
        assert_eq!(lane(1, 2), "This read is the odd lane of the wanted image");
        assert_eq!(lane(1, 4), "This read is lane 1 of 4 of the wanted image");
        assert_eq!(
            part(0, 2),
            "This read is the lower half of the wanted image"
        );
        assert_eq!(
            part(1, 2),
            "This read is the upper half of the wanted image"
        );
        let third = "This read is part 2 of 3, counted from 0, of the wanted image";
        assert_eq!(part(2, 3), third);
        let even = said(Length::OneLaneOf2 { n: 0, other: 0 });
        assert_eq!(
            even,
            "The wanted image is in the even bytes, and all others read 00"
        );
        // A transfer pads with 1A, a reader with anything else.
        let advice = |byte| length_sentences(Length::Padded(byte), &Names::NONE).look_next;
        assert!(advice(0x1A).starts_with("A transfer") && advice(0xFF).starts_with("The read"));
    }
}
