//! `split`: one piece into many.

use std::collections::HashSet;

use clap::{Args, Subcommand};

use super::Step;
use super::common::{Extent, On, extent};
use crate::cli::bench::{Argument, Bench, Blame, Piece, Stop, argument};
use crate::cli::report::plural;
use crate::ops;
use crate::values::{self, BadValue};

/// Make several pieces of one: byte lanes, banks or nibbles
#[derive(Args, Debug)]
pub struct SplitArgs {
    #[command(subcommand)]
    how: SplitWay,
}

#[derive(Subcommand, Debug)]
enum SplitWay {
    /// One piece per byte lane of a wide bus: lane i gets the addresses that are i mod N, divided by N
    Lanes {
        /// Lanes: 2 to 16
        #[arg(value_name = "N", value_parser = lanes)]
        count: u32,
        #[command(flatten)]
        common: SplitCommon,
    },
    /// Two pieces for two 4-bit chips: the low halves of all bytes, and the high ones
    Nibbles {
        #[command(flatten)]
        common: SplitCommon,
    },
    /// One piece per bank, cut at multiples of SIZE, each placed at 0
    Banks {
        /// Size of a bank in bytes, such as 8K
        #[arg(value_name = "SIZE", value_parser = extent)]
        size: Extent,
        #[command(flatten)]
        common: SplitCommon,
    },
}

#[derive(Args, Debug)]
struct SplitCommon {
    /// Names for the pieces, in order, separated by commas
    #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
    names: Vec<String>,
    #[command(flatten)]
    on: On,
}

fn lanes(text: &str) -> Result<u32, BadValue> {
    match values::number(text)? {
        n @ 2..=16 => Ok(n as u32),
        n => Err(BadValue::fact(format!(
            "`{n}` is not possible here: a bus has 2 to 16 byte lanes"
        ))),
    }
}

impl Step for SplitArgs {
    const NAME: &'static str = "split";
    const ABOUT: &'static str = "make several pieces of one: byte lanes, banks or nibbles";
    const SENTENCE: &'static str = "Makes several pieces of one.";
    const HELP: &'static str = "\
Lane 0 has the bytes at even addresses of a 16-bit bus. A big-endian processor (68000) reads them on D8-D15, a \
little-endian one (8086) on D0-D7. Banks are numbered from address 0, and empty ones are kept, so that numbers never \
shift: `relocate --to 0` first if the image begins higher up. Entry point and header belong to the whole image and are \
dropped.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + split lanes 2 --names even,odd + digest sum16
even   0000-3FFF   16,384 bytes
  sum16  A6B1  of all bytes, as programmers show it
odd   0000-3FFF   16,384 bytes
  sum16  AA2C  of all bytes, as programmers show it
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let (common, word) = match &self.how {
            SplitWay::Lanes { common, .. } => (common, "lane"),
            SplitWay::Nibbles { common } => (common, "nibble"),
            SplitWay::Banks { common, .. } => (common, "bank"),
        };
        let chosen = bench.chosen(&common.on.only)?;
        let several = chosen.len() > 1;
        let bank = match &self.how {
            SplitWay::Lanes { .. } | SplitWay::Nibbles { .. } => 0,
            SplitWay::Banks { size, .. } => size.bytes(&bench.parts).blame(argument!(size))?,
        };
        let argument = self.how.argument();
        let mut pieces = Vec::new();
        bench.settle(&chosen);
        let mut waiting = chosen.iter().copied().peekable();
        for (i, piece) in bench.pieces.drain(..).enumerate() {
            if waiting.next_if_eq(&i).is_none() {
                pieces.push(piece);
                continue;
            }
            let own = piece.name.clone();
            let image = piece.into_image();
            let parts = match &self.how {
                SplitWay::Lanes { count, .. } => ops::split_lanes(image, *count),
                SplitWay::Nibbles { .. } => ops::Large::Allow
                    .check_memory(2 * image.len())
                    .map(|()| ops::split_nibbles(image).into()),
                SplitWay::Banks { .. } => ops::split_banks(image, bank),
            }
            .map_err(|e| Stop::from(e).about(&own).at(argument))?;
            let names = common.names(parts.len(), word)?;
            for (image, name) in parts.into_iter().zip(names) {
                let name = match several {
                    true => format!("{own}-{name}"),
                    false => name,
                };
                pieces.push(Piece::new(name, image));
            }
        }
        bench.pieces = pieces;
        let same = bench.refuse_same_names("--names");
        same.blame(argument!(common.names))
    }
}

impl SplitWay {
    /// The argument that says into what.
    fn argument(&self) -> Argument {
        match self {
            SplitWay::Lanes { count, .. } => argument!(count),
            SplitWay::Banks { size, .. } => argument!(size),
            SplitWay::Nibbles { common } => argument!(common.names),
        }
    }
}

impl SplitCommon {
    /// A name for each of `count` pieces, of which `word` says what one is.
    fn names(&self, count: usize, word: &str) -> Result<Vec<String>, Stop> {
        let given = &self.names;
        if given.is_empty() && word == "nibble" {
            return Ok(vec!["low".into(), "high".into()]);
        }
        if given.is_empty() {
            return Ok((0..count).map(|i| format!("{word}{i}")).collect());
        }
        if given.len() != count {
            // The first that is too many, or the last if some are missing.
            let value = count.min(given.len() - 1);
            return Err(Stop::trouble(format!(
                "there are {} but {}",
                plural(count as u64, word),
                plural(given.len() as u64, "name")
            ))
            .advise("give one name for each")
            .at(argument!(self.names[value])));
        }
        let mut names = HashSet::with_capacity(count);
        match given.iter().position(|name| !names.insert(name)) {
            Some(i) => Err(
                Stop::trouble(format!("the name {} is given twice", given[i]))
                    .at(argument!(self.names[i])),
            ),
            None => Ok(given.clone()),
        }
    }
}
