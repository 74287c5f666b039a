//! `repeat`: repeat the image until a part is full.

use clap::Args;

use super::Step;
use super::common::{AllowLarge, Extent, On, base, extent, is_about_base};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::ops;
use crate::parts::Catalogue;
use crate::values;

/// Repeat the image until the part is full
#[derive(Args, Debug)]
pub struct RepeatArgs {
    /// The part, such as 27C256, or its size in bytes, such as 32K
    #[arg(value_name = "SIZE", value_parser = extent)]
    size: Extent,
    /// Address where the part begins [default: the image's first, if it is a multiple of the size]
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

impl Step for RepeatArgs {
    const NAME: &'static str = "repeat";
    const ABOUT: &'static str = "repeat the image until the part is full";
    const SENTENCE: &'static str = "Repeats the image until it is this long.";
    const HELP: &'static str = "\
For a part that is larger than its content and whose upper address lines float or are switched: whatever their level, the \
chip gives the same bytes. Both sizes must be powers of two; `pad` gives the image such a size.";
    const EXAMPLE: &'static str = "\
$ romloom load basic.hex + pad 2K + repeat 8K + show
basic   8000-9FFF   one cell = 256
8000 bbbbbfff  8800 bbbbbfff  9000 bbbbbfff  9800 bbbbbfff  9FFF
b basic.hex   f filler
data 5,644, filler 2,548, hollow 0
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        self.size
            .bytes(parts)
            .blame(argument!(self.size))
            .map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let size = self.size.bytes(&bench.parts).blame(argument!(self.size))?;
        let part = self
            .size
            .part(&bench.parts)
            .blame(argument!(self.size))?
            .cloned();
        bench.each(&self.on.only, |piece, _| {
            let base = base(self.at);
            ops::repeat(piece.edit()?, size, base, self.large.large()).map_err(
                |error| match self.at {
                    Some(_) if is_about_base(&error) => Stop::from(error).at(argument!(self.at)),
                    _ => Stop::from(error).at(argument!(self.size)),
                },
            )?;
            if let Some(part) = &part {
                piece.fills(part);
            }
            Ok(())
        })
    }
}
