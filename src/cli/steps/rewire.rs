//! `rewire`: the board's scrambled lines.

use clap::Args;

use super::Step;
use super::common::{AllowLarge, On};
use crate::cli::bench::{Bench, Stop, argument};
use crate::cli::report::plural;
use crate::ops;
use crate::parts::Catalogue;
use crate::values::BadValue;
use crate::wiring::{Line, Width, Wiring, WiringError};

/// Rearrange bytes and bits for a board with scrambled lines
#[derive(Args, Debug)]
pub struct RewireArgs {
    /// The piece's address line that each chip line is wired to, from A0 up
    #[arg(long, value_name = "LINE,...", value_delimiter = ',', value_parser = address_line)]
    address: Vec<u8>,
    /// The piece's data line that each chip line is wired to, from D0 up
    #[arg(long, value_name = "LINE,...", value_delimiter = ',', value_parser = data_line)]
    data: Vec<u8>,
    /// The chip is 16 bits wide: addresses count words, data lines are D0 to D15
    #[arg(long)]
    words: bool,
    /// Every data line is inverted
    #[arg(long)]
    invert_data: bool,
    /// Chip lines that are inverted too, such as A3,D0
    #[arg(long, value_name = "LINE,...", value_delimiter = ',', value_parser = named_line, conflicts_with = "invert_data")]
    inverted: Vec<Line>,
    /// Undo the wiring: from the content of the chip to what the CPU reads
    #[arg(long)]
    inverse: bool,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

fn named_line(text: &str) -> Result<Line, BadValue> {
    match text.get(..1) {
        Some("A" | "a") => line(text, 'A').map(Line::Address),
        Some("D" | "d") => match line(text, 'D')? {
            n @ 0..16 => Ok(Line::Data(n)),
            n => Err(BadValue::new(
                format!("there is no D{n}"),
                "data lines are D0 to D7, or with --words D0 to D15",
            )),
        },
        _ => Err(BadValue::new(
            format!("`{text}` is not a line"),
            "write A3 or D3",
        )),
    }
}

fn address_line(text: &str) -> Result<u8, BadValue> {
    line(text, 'A')
}

fn data_line(text: &str) -> Result<u8, BadValue> {
    line(text, 'D')
}

fn line(text: &str, letter: char) -> Result<u8, BadValue> {
    let upper = text.to_ascii_uppercase();
    let number = upper.strip_prefix(letter).unwrap_or(&upper);
    let known = number.parse().ok().filter(|n| *n < 32);
    known.ok_or_else(|| {
        let advice = format!("write {letter}3 or 3");
        BadValue::new(format!("`{text}` is not a line"), advice)
    })
}

impl Step for RewireArgs {
    const NAME: &'static str = "rewire";
    const ABOUT: &'static str = "rearrange bytes and bits for a board with scrambled lines";
    const SENTENCE: &'static str =
        "Moves bytes and bits to where a board with crossed lines needs them.";
    const HELP: &'static str = "\
Chip line i is wired to the piece's line LIST[i]; the first in the list is line 0. A list names every line up to its \
highest, each once; lines above it are straight. With --words, or if the piece is seated in a part 16 bits wide, \
addresses count words and the first byte of each is D0 to D7. The result is what must be in the chip so that the CPU reads \
the piece through the board's wires. --inverse turns a read of such a chip into what the CPU reads. Put steps with cpu: \
addresses before it; to use cpu: addresses on a read of such a chip, put --inverse before `seat`.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin + pad 8 --with 00 + rewire --address 1,0,2 --data 0,1,2,3,7,5,6,4 + show hex
vectors
0000 > C3 85 73 70 . 6B 00 73 00 < 0007  vectors.bin
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        if self.address.is_empty()
            && self.data.is_empty()
            && self.inverted.is_empty()
            && !self.invert_data
        {
            let text = "nothing to rewire: add --address, --data, --inverted or --invert-data";
            return Err(Stop::trouble(text));
        }
        // Whether lines are those of words may depend on the part.
        self.wiring(Width::Sixteen).map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        bench.rearrange(Self::NAME, &self.on.only, |image, seat| {
            let part = seat.map(|seat| seat.part());
            if let Some(part) = part.filter(|part| self.words && part.width != 16) {
                return Err(Stop::trouble(format!(
                    "--words is for parts 16 bits wide, but a {} has {}",
                    part.name,
                    plural(part.width.into(), "data line")
                ))
                .at(argument!(self.words)));
            }
            let width = match self.words || part.is_some_and(|part| part.width == 16) {
                true => Width::Sixteen,
                false => Width::Eight,
            };
            ops::rewire(image, &self.wiring(width)?, self.large.large())?;
            Ok(())
        })
    }
}

impl RewireArgs {
    /// The error, with the list and the line in it that it is about.
    fn blamed(&self, error: WiringError) -> Stop {
        let listed = |line: &Line| {
            let (Line::Address(number) | Line::Data(number)) = line;
            let place = |list: &[u8]| {
                let value = list.iter().rposition(|named| named == number);
                value.unwrap_or_default()
            };
            match line {
                Line::Address(_) => argument!(self.address[place(&self.address)]),
                Line::Data(_) => argument!(self.data[place(&self.data)]),
            }
        };
        let argument = match &error {
            WiringError::Double { double, .. } => listed(double),
            WiringError::Outside { line, .. } => listed(line),
            WiringError::TooMany { most, .. } if *most == Wiring::MOST_ADDRESS_LINES => {
                argument!(self.address)
            }
            WiringError::TooMany { .. } => argument!(self.data),
            WiringError::NoSuchLine { .. } => argument!(self.inverted),
            _ => return error.into(),
        };
        let stop = match error {
            // More would be possible in words.
            WiringError::TooMany { most: 8, .. } => {
                Stop::trouble(format!("{error} without --words"))
            }
            error => error.into(),
        };
        stop.at(argument)
    }

    fn wiring(&self, width: Width) -> Result<Wiring, Stop> {
        let (mut address, mut data) = match (self.invert_data, width) {
            (false, _) => (0, 0),
            (true, Width::Eight) => (0, 0xFF),
            (true, Width::Sixteen) => (0, 0xFFFF),
        };
        for line in &self.inverted {
            match line {
                Line::Address(line) => address |= 1 << line,
                Line::Data(line) => data |= 1 << line,
            }
        }
        let wiring = Wiring::new(width, self.address.clone(), self.data.clone())
            .and_then(|wiring| wiring.inverting(address, data))
            .map_err(|error| self.blamed(error))?;
        Ok(match self.inverse {
            true => wiring.inverse(),
            false => wiring,
        })
    }
}

/// The step that undoes this wiring; `None` if there is nothing to undo.
pub(super) fn undoing(wiring: &Wiring) -> Option<String> {
    if wiring.is_straight() {
        return None;
    }
    let mut step = format!("{} --inverse", RewireArgs::NAME);
    if wiring.width() == Width::Sixteen {
        step += " --words";
    }
    for (option, lines) in [("address", wiring.address()), ("data", wiring.data())] {
        if (0u8..).zip(lines).any(|(i, line)| i != *line) {
            let lines: Vec<String> = lines.iter().map(u8::to_string).collect();
            step += &format!(" --{option} {}", lines.join(","));
        }
    }
    let inverted: Vec<String> = wiring.inverted().map(|line| line.to_string()).collect();
    if !inverted.is_empty() {
        step += &format!(" --inverted {}", inverted.join(","));
    }
    Some(step)
}
