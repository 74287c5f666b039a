//! `spread`: a block into the same place of other banks.

use clap::Args;

use super::Step;
use super::common::{AllowLarge, Extent, On, extent, over_data};
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::image::{AddressRange, Image};
use crate::parts::Catalogue;
use crate::values::{InSpace, Place};
use crate::{ops, values};

/// Copy a block into the same place of other banks
#[derive(Args, Debug)]
pub struct SpreadArgs {
    /// The block: FIRST-LAST or START+LENGTH, in one bank, such as bank0:0x5F80-0x5FFF
    #[arg(value_name = "RANGE", value_parser = values::addresses)]
    range: InSpace<AddressRange>,
    /// The banks that get it, such as bank1-30
    #[arg(long, value_name = "BANKS", required_unless_present = "bank_size")]
    to: Option<Place>,
    /// Size of a bank, such as 8K, if the piece is not seated: every bank from address 0 gets it
    #[arg(long, value_name = "SIZE", value_parser = extent, conflicts_with = "to")]
    bank_size: Option<Extent>,
    /// Allow other data to be overwritten
    #[arg(long)]
    replace: bool,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

impl Step for SpreadArgs {
    const NAME: &'static str = "spread";
    const ABOUT: &'static str = "copy a block into the same place of other banks";
    const SENTENCE: &'static str = "Copies a block to the same place of other banks.";
    const HELP: &'static str = "\
For vectors and trampolines that must be there in every bank. On a board the block and --to name banks: \
spread bank0:0x5F80-0x5FFF --to bank1-30. Without a board, --bank-size counts banks from address 0 to the end of the part \
that the piece fills, or to the bank of its last byte. Filler and equal bytes are replaced; other data only with \
--replace.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin --at 0x1FFA + pad 32K --at 0 + spread 0x1FFA-0x1FFF --bank-size 8K + find 15E0
15 E0 found in 4 places
  vectors 1FFC  vectors.bin
  vectors 3FFC  vectors.bin
  vectors 5FFC  vectors.bin
  vectors 7FFC  vectors.bin
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let size = self.bank_size.as_ref().map(|size| size.bytes(parts));
        size.transpose()
            .blame(argument!(self.bank_size))
            .map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        match (&self.to, &self.bank_size) {
            (Some(to), _) => self.over_board(bench, to),
            (None, Some(size)) => self.by_size(bench, size),
            (None, None) => Ok(()),
        }
    }
}

impl SpreadArgs {
    /// From one bank of a board to others.
    fn over_board(&self, bench: &mut Bench, to: &Place) -> Result<(), Stop> {
        let names = &self.on.only;
        let ranges = [self.range.value];
        let mut block: Option<Image> = None;
        let seen = bench.view(&self.range.place, Some(&ranges), names, |image, _, _| {
            if block.is_some() {
                return Err(Stop::trouble("the block is in more than one bank")
                    .advise("name the bank that it is copied from"));
            }
            if let Some(hole) = image.holes(self.range.value).next() {
                return Err(Stop::trouble(format!("{hole} is a hole")).advise("`fill` it first"));
            }
            let mut own = image.slice(self.range.value);
            own.entry = None;
            block = Some(own);
            Ok(())
        });
        seen.blame(argument!(self.range))?;
        let block = block.unwrap_or_default();
        let over = over_data(self.replace);
        let mut made = 0u64;
        let edited = bench.edit(to, Some(&ranges), names, |image, shown, _| {
            made = made.saturating_add(block.len());
            self.large.large().check(made)?;
            ops::put_block(image, &block, shown.bank.unwrap_or_default(), over)?;
            Ok(())
        });
        edited.blame(argument!(self.to))
    }

    /// To every bank of one piece.
    fn by_size(&self, bench: &mut Bench, size: &Extent) -> Result<(), Stop> {
        let size = size.bytes(&bench.parts).blame(argument!(self.bank_size))?;
        if self.range.place != Place::Own {
            return Err(Stop::trouble("--bank-size counts a piece's own addresses")
                .advise(format!("leave {} out, or use --to", self.range.place))
                .at(argument!(self.range)));
        }
        bench.each(&self.on.only, |piece, _| {
            let part = piece.part().map(|part| part.bytes());
            let reach = piece.image().extent().map_or(0, |e| e.last() + 1);
            let banks = part.unwrap_or(reach).div_ceil(size.max(1));
            let (over, large) = (over_data(self.replace), self.large.large());
            ops::spread(piece.edit()?, self.range.value, size, banks, over, large)
                .blame(argument!(self.range))
                .map(|_| ())
        })
    }
}
