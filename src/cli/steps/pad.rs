//! `pad`: extend to a part's size.

use clap::Args;

use super::Step;
use super::common::{AllowLarge, Extent, On, base, extent, is_about_base, no_erased_value};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::ops;
use crate::parts::Catalogue;
use crate::values;

/// Extend to a part's size with the erased value
#[derive(Args, Debug)]
pub struct PadArgs {
    /// The part, such as 27C256, or its size in bytes, such as 32K
    #[arg(value_name = "SIZE", value_parser = extent)]
    size: Extent,
    /// Address where the part begins [default: the image's first, if it is a multiple of the size]
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    /// The erased value [default: the part's, or FF for a size]
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    with: Option<u8>,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

impl Step for PadArgs {
    const NAME: &'static str = "pad";
    const ABOUT: &'static str = "extend to a part's size with the erased value";
    const SENTENCE: &'static str =
        "Makes the image longer, up to this size, with the value that an erased part has.";
    const HELP: &'static str = "\
Fills before the first byte and after the last; holes between stay, `fill` closes them. An image that does not \
fit is an error that says by how many bytes and which byte is last: nothing is ever cut off.";
    const EXAMPLE: &'static str = "\
$ romloom load basic.hex + pad 8K + show
basic   8000-9FFF   one cell = 256
8000 bbbbbbff  8800 ffffffff  9000 ffffffff  9800 ffffffff  9FFF
b basic.hex   f filler
data 1,411, filler 6,781, hollow 0
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        self.measure(parts).map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let (size, erased) = self.measure(&bench.parts)?;
        let part = self
            .size
            .part(&bench.parts)
            .blame(argument!(self.size))?
            .cloned();
        bench.each(&self.on.only, |piece, _| {
            let base = base(self.at);
            ops::pad(piece.edit()?, size, base, erased, self.large.large()).map_err(|error| {
                match self.at {
                    Some(_) if is_about_base(&error) => Stop::from(error).at(argument!(self.at)),
                    _ => Stop::from(error).at(argument!(self.size)),
                }
            })?;
            if let Some(part) = &part {
                piece.fills(part);
            }
            Ok(())
        })
    }
}

impl PadArgs {
    /// Size in bytes and erased value.
    fn measure(&self, parts: &Catalogue) -> Result<(u64, u8), Stop> {
        let size = self.size.bytes(parts).blame(argument!(self.size))?;
        let part = self.size.part(parts).blame(argument!(self.size))?;
        let own = part.map_or(Some(0xFF), |part| part.erased);
        match self.with.or(own) {
            Some(erased) => Ok((size, erased)),
            None => Err(no_erased_value(part.map_or("part", |p| &p.name)).at(argument!(self.size))),
        }
    }
}
