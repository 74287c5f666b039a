//! What a read alone shows, in words.

use super::counts::{cell_name, counted_cells};
use super::{Names, Sentences};
use crate::faults::alone::Joined;
use crate::faults::signs::Sign;
use crate::wiring::{Line, Width};

impl Sign {
    /// What is said about the sign in a read of a chip of this width.
    pub fn sentences(self, width: Width, names: &Names) -> Sentences {
        let cell = cell_name(width);
        let digits = 2 * width.bytes();
        let every = |value: u16| format!("Every {cell} reads {value:0digits$X}");
        let bridge = |a: Line, b: Line| {
            format!(
                "Look for a bridge between {} and {}, with the power off and a meter.",
                names.pin_of(a),
                names.pin_of(b)
            )
        };
        let (finding, look_next) = match self {
            Sign::Blank(value) => (
                every(value),
                "The chip is blank, not selected, or not there: check its orientation, the \
                     select and output-enable pins, and the part chosen in the programmer."
                    .into(),
            ),
            Sign::Constant(value) => (
                every(value),
                "Check the supply pins and the part chosen in the programmer, and that nothing \
                     else drives the data lines."
                    .into(),
            ),
            Sign::IdleAddress { line, halves_equal } => {
                let line = Line::Address(line);
                let (named, pin) = (names.named(line), names.pin_of(line));
                match halves_equal {
                    true => (
                        format!("{named} makes no difference: the upper half echoes the lower"),
                        format!(
                            "Read the marking: a chip of half the size reads like this in this socket. \
                             Otherwise check {pin} and its socket contact."
                        ),
                    ),
                    false => (
                        format!("{named} makes no difference"),
                        format!(
                            "Check {pin} and its socket contact. Read again: if the bytes change between reads, the pin has no contact."
                        ),
                    ),
                }
            }
            Sign::JoinedAddress(one, other, joined) => {
                let (a, b) = (Line::Address(one), Line::Address(other));
                let (a_named, b_named) = (names.named(a), names.named(b));
                let wins = joined.winner();
                (
                    format!("{a_named} and {b_named} act as one, and {wins} wins"),
                    bridge(a, b),
                )
            }
            Sign::ConstantData { line, high } => {
                let (line, level) = (Line::Data(line), u8::from(high));
                let (named, pin) = (names.named(line), names.pin_of(line));
                (
                    format!("{named} never moves, it reads {level} everywhere"),
                    format!(
                        "Check {pin} and its socket contact. Read in another socket to see whether the fault is in the chip. \
                         In a text of 7 bits D7 is always 0."
                    ),
                )
            }
            Sign::EqualData(one, other) | Sign::OppositeData(one, other) => {
                let (a, b) = (Line::Data(one), Line::Data(other));
                let how = match self {
                    Sign::EqualData(..) => "the same",
                    _ => "opposite",
                };
                let (a_named, b_named) = (names.named(a), names.named(b));
                (
                    format!("{a_named} and {b_named} always read {how}"),
                    bridge(a, b),
                )
            }
        };
        Sentences { finding, look_next }
    }

    /// The evidence, in a read of this many cells, `telling` of them outside blank areas: a sentence without its capital and
    /// its full stop.
    pub fn because(self, cells: usize, telling: usize, width: Width) -> String {
        let all = counted_cells(cells, width);
        let outside = match telling {
            telling if telling == cells => format!("all {all}"),
            telling => format!("all {} outside blank areas", counted_cells(telling, width)),
        };
        match self {
            Sign::Blank(_) | Sign::Constant(_) => format!("all {all} are the same"),
            Sign::IdleAddress { line, .. } => {
                let block = counted_cells(1 << line, width);
                format!("blocks of {block} come in equal pairs")
            }
            Sign::JoinedAddress(_, _, joined) => {
                let (cell, wins) = (cell_name(width), joined.winner());
                format!("the {cell}s are the same wherever either line is {wins}")
            }
            Sign::ConstantData { high, .. } => format!("it reads {} in {outside}", u8::from(high)),
            Sign::EqualData(..) | Sign::OppositeData(..) => format!("they do in {outside}"),
        }
    }
}

impl Joined {
    /// The level that wins.
    fn winner(self) -> u8 {
        match self {
            Joined::Low => 0,
            Joined::High => 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_names_its_pin_and_its_cells() {
        let sign = Sign::ConstantData {
            line: 9,
            high: true,
        };
        let pin = |line| (line == Line::Data(9)).then_some(4);
        let said = sign.sentences(Width::Sixteen, &Names::new(&pin));
        assert_eq!(
            said.finding,
            "D9 (pin 4) never moves, it reads 1 everywhere"
        );
        assert!(said.look_next.starts_with("Check pin 4"));
        assert_eq!(
            sign.because(1024, 1024, Width::Sixteen),
            "it reads 1 in all 1,024 words"
        );
        let blank = Sign::Blank(0xFFFF).sentences(Width::Sixteen, &Names::NONE);
        assert_eq!(blank.finding, "Every word reads FFFF");
    }

    /// Each sign in words, with its evidence.
    #[test]
    fn each_sign_is_said() {
        let idle = |halves_equal| Sign::IdleAddress {
            line: 3,
            halves_equal,
        };
        let low = Sign::ConstantData {
            line: 7,
            high: false,
        };
        let joined = |joined| Sign::JoinedAddress(2, 9, joined);
        for (sign, finding, because) in [
            (
                Sign::Blank(0xFF),
                "Every byte reads FF",
                "all 64 bytes are the same",
            ),
            (
                Sign::Constant(0x05),
                "Every byte reads 05",
                "all 64 bytes are the same",
            ),
            (
                idle(false),
                "A3 makes no difference",
                "blocks of 8 bytes come in equal pairs",
            ),
            (
                idle(true),
                "A3 makes no difference: the upper half echoes the lower",
                "blocks of 8 bytes come in equal pairs",
            ),
            (
                joined(Joined::Low),
                "A2 and A9 act as one, and 0 wins",
                "the bytes are the same wherever either line is 0",
            ),
            (
                joined(Joined::High),
                "A2 and A9 act as one, and 1 wins",
                "the bytes are the same wherever either line is 1",
            ),
            (
                low,
                "D7 never moves, it reads 0 everywhere",
                "it reads 0 in all 40 bytes outside blank areas",
            ),
            (
                Sign::EqualData(1, 2),
                "D1 and D2 always read the same",
                "they do in all 40 bytes outside blank areas",
            ),
            (
                Sign::OppositeData(1, 2),
                "D1 and D2 always read opposite",
                "they do in all 40 bytes outside blank areas",
            ),
        ] {
            assert_eq!(sign.sentences(Width::Eight, &Names::NONE).finding, finding);
            assert_eq!(sign.because(64, 40, Width::Eight), because);
        }
        let bridge = joined(Joined::Low)
            .sentences(Width::Eight, &Names::NONE)
            .look_next;
        assert!(
            bridge.contains("between the pin of A2 and the pin of A9"),
            "{bridge}"
        );
        let half = idle(true).sentences(Width::Eight, &Names::NONE).look_next;
        assert!(half.starts_with("Read the marking") && half.contains("the pin of A3"));
    }
}
