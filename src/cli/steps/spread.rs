//! `spread`: a block into the same place of every bank.

use clap::Args;

use super::Step;
use super::common::{Extent, On, extent, over_data};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::image::AddressRange;
use crate::parts::Catalogue;
use crate::{ops, values};

/// Copy a block into the same place of every bank
#[derive(Args, Debug)]
pub struct SpreadArgs {
    /// The block: FIRST-LAST or START+LENGTH, in one bank
    #[arg(value_name = "RANGE", value_parser = values::range)]
    range: AddressRange,
    /// Size of a bank, as 8K
    #[arg(long, value_name = "SIZE", value_parser = extent)]
    banks: Extent,
    /// Allow other data to be overwritten
    #[arg(long)]
    replace: bool,
    #[command(flatten)]
    on: On,
}

impl Step for SpreadArgs {
    const NAME: &'static str = "spread";
    const ABOUT: &'static str = "copy a block into the same place of every bank";
    const HELP: &'static str = "\
For vectors and trampolines that must be there whichever bank is switched on. Banks are counted from address 0 to the \
end of the part the piece is seated in, or to the bank of its last byte. Filler and equal bytes give way; other data is \
refused without --replace.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin --at 0x1FFA + pad 32K --at 0 + spread 0x1FFA-0x1FFF --banks 8K + find F4E2
F4 E2 stands in 4 places
  vectors 1FFA  vectors.bin
  vectors 3FFA  vectors.bin
  vectors 5FFA  vectors.bin
  vectors 7FFA  vectors.bin
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let size = self.banks.bytes(parts);
        size.blame(argument!(self.banks)).map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let size = self
            .banks
            .bytes(&bench.parts)
            .blame(argument!(self.banks))?;
        bench.each(&self.on.labels, |piece, _| {
            let part = piece.seat().map(|s| s.part.bytes());
            let reach = piece.image().extent().map_or(0, |e| e.last() + 1);
            let banks = part.unwrap_or(reach).div_ceil(size);
            let over = over_data(self.replace);
            ops::spread(piece.edit(), self.range, size, banks, over)
                .blame(argument!(self.range))
                .map(|_| ())
        })
    }
}
