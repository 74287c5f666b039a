//! `copy`: a second copy elsewhere.

use clap::Args;

use super::Step;
use super::common::{AllowLarge, On, place_of};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::image::{AddressRange, Clash};
use crate::ops::{self, OpError};
use crate::values;
use crate::values::InSpace;

/// Put a second copy of a range elsewhere
#[derive(Args, Debug)]
pub struct CopyArgs {
    /// What to copy: FIRST-LAST or START+LENGTH
    #[arg(value_name = "RANGE", value_parser = values::addresses)]
    range: InSpace<AddressRange>,
    /// Address of the copy's first byte
    #[arg(long, value_name = "ADDR", value_parser = values::address)]
    to: InSpace<u64>,
    /// What happens where there is something already
    #[arg(long, value_enum, default_value_t)]
    clash: Clash,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

impl Step for CopyArgs {
    const NAME: &'static str = "copy";
    const ABOUT: &'static str = "put a second copy of a range elsewhere";
    const SENTENCE: &'static str = "Puts a second copy of a range at another address.";
    const HELP: &'static str =
        "Holes in the range stay holes in the copy. The original stays where it is.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + copy 0xFFFA-0xFFFF --to 0xDFFA + show
monitor   DFFA-FFFF   one cell = 512
DE00 mmmm____  EE00 ________  FE00 m  FFFF
m monitor.hex   _ hollow
data 1,330, filler 0, hollow 6,868
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let place = place_of([
            (&self.range.place, argument!(self.range)),
            (&self.to.place, argument!(self.to)),
        ])?;
        let ranges = [self.range.value]
            .into_iter()
            .chain(AddressRange::from_len(
                self.to.value,
                self.range.value.len(),
            ))
            .collect::<Vec<_>>();
        let edited = bench.edit(&place, Some(&ranges), &self.on.only, |image, _, _| {
            let clash = self.clash;
            let large = self.large.large();
            ops::copy(image, self.range.value, self.to.value, clash, large).map_err(|error| {
                let argument = match error {
                    OpError::Nothing { .. } | OpError::Large { .. } => argument!(self.range),
                    _ => argument!(self.to),
                };
                Stop::from(error).at(argument)
            })?;
            Ok(())
        });
        edited.blame(argument!(self.range))
    }
}
