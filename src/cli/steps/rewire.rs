//! `rewire`: the board's scrambled lines.

use clap::Args;

use super::Step;
use super::common::{On, YesLarge};
use crate::cli::bench::{Bench, Stop, argument};
use crate::cli::report::plural;
use crate::ops::{self, OpError, Wiring, WiringError};
use crate::parts::Catalogue;

/// Rearrange bytes and bits for a board with scrambled lines
#[derive(Args, Debug)]
pub struct Rewire {
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
    /// Chip lines that are inverted besides, as A3,D0
    #[arg(long, value_name = "LINE,...", value_delimiter = ',', value_parser = named_line, conflicts_with = "invert_data")]
    inverted: Vec<Named>,
    /// Undo the wiring: from what the chip holds to what the CPU reads
    #[arg(long)]
    inverse: bool,
    #[command(flatten)]
    large: YesLarge,
    #[command(flatten)]
    on: On,
}

#[derive(Clone, Copy, Debug)]
enum Named {
    Address(u8),
    Data(u8),
}

fn named_line(text: &str) -> Result<Named, String> {
    match text.get(..1) {
        Some("A" | "a") => line(text, 'A').map(Named::Address),
        Some("D" | "d") => match line(text, 'D')? {
            n @ 0..16 => Ok(Named::Data(n)),
            n => Err(format!(
                "there is no D{n}: data lines are D0 to D7, or with --words D0 to D15"
            )),
        },
        _ => Err(format!("`{text}` is no line: write A3 or D3")),
    }
}

fn address_line(text: &str) -> Result<u8, String> {
    line(text, 'A')
}

fn data_line(text: &str) -> Result<u8, String> {
    line(text, 'D')
}

fn line(text: &str, letter: char) -> Result<u8, String> {
    let upper = text.to_ascii_uppercase();
    let number = upper.strip_prefix(letter).unwrap_or(&upper);
    let known = number.parse().ok().filter(|n| *n < 32);
    known.ok_or_else(|| format!("`{text}` is no line: write {letter}3 or 3"))
}

impl Step for Rewire {
    const NAME: &'static str = "rewire";
    const ABOUT: &'static str = "rearrange bytes and bits for a board with scrambled lines";
    const HELP: &'static str = "\
Chip line i is wired to the piece's line LIST[i]; the first in the list is line 0. A list names every line up to its \
highest, each once; lines above it are straight. With --words, or where the piece is seated in a part 16 bits wide, \
addresses count words and the first byte of each is D0 to D7. The chip then holds what the CPU must read, through the board's wires, \
as the piece. --inverse turns a read of such a chip into what the CPU reads. Steps with cpu: \
addresses stand before it; to see a read of such a chip in them, --inverse stands before `seat`.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin + pad 8 --with 00 + rewire --address 1,0,2 --data 0,1,2,3,7,5,6,4 + show hex
vectors
0000 > F4 85 72 70 . 0C 00 73 00 < 0007  vectors.bin
";

    fn check(&self, _: &Catalogue) -> Result<(), Stop> {
        if self.address.is_empty()
            && self.data.is_empty()
            && self.inverted.is_empty()
            && !self.invert_data
        {
            let text = "nothing to rewire: give --address, --data, --inverted or --invert-data";
            return Err(Stop::trouble(text));
        }
        // Whether lines are those of words may depend on the part.
        let checked = self.wiring(true).check();
        checked.map_err(|error| self.blamed(error.into()))
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        bench.rearrange(Self::NAME, &self.on.labels, |image, seat| {
            let part = seat.map(|seat| &seat.part);
            if let Some(part) = part.filter(|part| self.words && part.width != 16) {
                return Err(Stop::trouble(format!(
                    "--words is for parts 16 bits wide, and a {} has {}",
                    part.name,
                    plural(part.width.into(), "data line")
                ))
                .at(argument!(self.words)));
            }
            let wiring = self.wiring(self.words || part.is_some_and(|part| part.width == 16));
            ops::rewire(image, &wiring, self.large.large()).map_err(|e| self.blamed(e))?;
            Ok(())
        })
    }
}

impl Rewire {
    /// The error, with the list and the line in it that it is about.
    fn blamed(&self, error: OpError) -> Stop {
        let OpError::Wiring(wrong) = &error else {
            return error.into();
        };
        let listed = |letter: &char, line: &u8| {
            let list = if *letter == 'A' {
                &self.address
            } else {
                &self.data
            };
            let value = list.iter().rposition(|named| named == line);
            let value = value.unwrap_or_default();
            match letter {
                'A' => argument!(self.address[value]),
                _ => argument!(self.data[value]),
            }
        };
        let argument = match wrong {
            WiringError::Double { letter, double, .. } => listed(letter, double),
            WiringError::Outside { letter, line, .. } => listed(letter, line),
            WiringError::TooMany { count, .. } if *count == self.address.len() => {
                argument!(self.address)
            }
            WiringError::TooMany { .. } => argument!(self.data),
            WiringError::NoSuchData { .. } => argument!(self.inverted),
        };
        Stop::from(error).at(argument)
    }

    fn wiring(&self, words: bool) -> Wiring {
        let mut wiring = Wiring {
            address: self.address.clone(),
            data: self.data.clone(),
            address_inverted: 0,
            data_inverted: match (self.invert_data, words) {
                (false, _) => 0,
                (true, false) => 0xFF,
                (true, true) => 0xFFFF,
            },
            words,
        };
        for line in &self.inverted {
            match line {
                Named::Address(line) => wiring.address_inverted |= 1 << line,
                Named::Data(line) => wiring.data_inverted |= 1 << line,
            }
        }
        match self.inverse && wiring.check().is_ok() {
            true => wiring.inverse(),
            false => wiring,
        }
    }
}
