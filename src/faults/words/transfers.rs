//! Damage by a transfer in words.

use super::Sentences;
use crate::faults::story::Damage;

/// What is said about damage by a transfer.
pub(super) fn damage_sentences(damage: Damage) -> Sentences {
    let as_text = "The file was sent as text: send it as binary.";
    let (finding, look_next) = match damage {
        Damage::Bit7Stripped => (
            "Bit 7 of every byte is 0",
            "The transfer had 7 data bits: send the file with 8, or as hex records. If this was read from a chip, look at D7.",
        ),
        Damage::LfToCrLf => ("Each 0A has become 0D 0A", as_text),
        Damage::CrLfToLf => ("Each 0D 0A has become 0A", as_text),
        Damage::CrToLf => ("Each 0D has become 0A", as_text),
        Damage::CrDropped => ("Every 0D is missing", as_text),
        Damage::FlowControlSwallowed => (
            "Every 11 and 13 is missing",
            "The transfer used them for flow control: send the file with hardware flow control, or \
             as hex records.",
        ),
        Damage::NulDropped => (
            "Every 00 is missing",
            "Something on the way treated 00 as filler: send the file as binary, or as hex records.",
        ),
        Damage::FfDoubled => (
            "Every FF comes twice",
            "The connection doubles FF, because FF begins a command there: switch it to binary, or send hex records.",
        ),
        Damage::Latin1ToUtf8 => (
            "Each byte from 80 up has become two bytes of UTF-8",
            "A program opened the file as text and saved it: take the original again.",
        ),
        Damage::NotAsciiReplaced | Damage::NotUtf8Replaced => (
            "Bytes that are not text have become EF BF BD",
            "A program opened the file as text and saved it: take the original again.",
        ),
        Damage::Tail1A => (
            "After the content comes 1A up to a multiple of 128",
            "The transfer padded its last block: cut the end off.",
        ),
        Damage::EndedAt1A => (
            "Nothing follows where the first 1A should be",
            "1A was read as the end of a text: send the file as binary.",
        ),
    };
    Sentences {
        finding: finding.to_owned(),
        look_next: look_next.to_owned(),
    }
}
