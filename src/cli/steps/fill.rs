//! `fill`: put bytes into holes.

use clap::Args;

use super::Step;
use super::common::{AllowLarge, On};
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::image::AddressRange;
use crate::values::{InSpace, Place};
use crate::{ops, values};

/// Put bytes into holes, never over data
#[derive(Args, Debug)]
pub struct FillArgs {
    /// The bytes: FF, EA EA 4C0080 or text:HELLO
    #[arg(value_name = "BYTES", value_parser = values::bytes)]
    bytes: ::std::vec::Vec<u8>,
    /// Where: FIRST-LAST or START+LENGTH [default: between the first and the last byte]
    #[arg(value_name = "RANGE", value_parser = values::addresses)]
    range: Option<InSpace<AddressRange>>,
    #[command(flatten)]
    large: AllowLarge,
    #[command(flatten)]
    on: On,
}

impl Step for FillArgs {
    const NAME: &'static str = "fill";
    const ABOUT: &'static str = "put bytes into holes, never over data";
    const SENTENCE: &'static str = "Puts bytes into holes, and leaves data as it is.";
    const HELP: &'static str = "\
Several bytes are repeated, aligned to address 0: with EA EA 4C 00 every address that is a multiple of 4 gets EA. \
To extend an image to a part's size use `pad`.";
    const EXAMPLE: &'static str = "\
$ romloom load basic.hex --name basic + fill FF 0x8583-0x859F + show hex 0x8580-0x859F
basic
8580 > 45 20 00 FF . FF FF FF FF . FF FF FF FF . FF FF FF FF < 858F  basic.hex line 45
8590 > FF FF FF FF . FF FF FF FF . FF FF FF FF . FF FF FF FF < 859F  filler
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let place = self.range.as_ref().map_or(Place::Own, |r| r.place.clone());
        let range = self.range.as_ref().map(|r| r.value);
        let edited = bench.edit(
            &place,
            range.as_ref().map(std::slice::from_ref),
            &self.on.only,
            |image, piece, console| {
                let filled = ops::fill(image, &self.bytes, range, self.large.large())?;
                if let (0, Some(range)) = (filled, range) {
                    let text = format!("{}: {range} has no hole, so nothing is filled", piece.name);
                    console.say(MessageKind::Warning, &text);
                }
                Ok(())
            },
        );
        edited.blame(argument!(self.range))
    }
}
