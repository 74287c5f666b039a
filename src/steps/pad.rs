//! `pad`: extend to a part's size.

use clap::Args;

use super::Step;
use super::common::{On, YesLarge};
use crate::bench::{Bench, Stop};
use crate::{ops, values};

/// Extend to a part's size with the erased value
#[derive(Args, Debug)]
pub struct Pad {
    /// Size of the part in bytes, as 32K
    #[arg(value_name = "SIZE", value_parser = values::size)]
    size: u64,
    /// Address where the part begins; else the image's first, when that is a multiple of the size
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    at: Option<u64>,
    /// The erased value
    #[arg(long, value_name = "BYTE", default_value = "FF", value_parser = values::byte)]
    with: u8,
    #[command(flatten)]
    large: YesLarge,
    #[command(flatten)]
    on: On,
}

impl Step for Pad {
    const NAME: &'static str = "pad";
    const ABOUT: &'static str = "extend to a part's size with the erased value";
    const HELP: &'static str = "\
Fills in front of the first byte and behind the last; holes between stay, `fill` closes them. An image that does not \
fit is an error that says by how many bytes and which byte is last: nothing is ever cut off.";
    const EXAMPLE: &'static str = "\
$ romloom load basic.hex + pad 8K + show
basic   8000-9FFF   one cell = 256
8000 bbbbbbff  8800 ffffffff  9000 ffffffff  9800 ffffffff  9FFF
b basic.hex   f filler
data 1,389, filler 6,803, hollow 0
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        bench.each(&self.on.labels, |piece, _| {
            ops::pad(
                &mut piece.image,
                self.size,
                self.at,
                self.with,
                self.large.large(),
            )?;
            Ok(())
        })
    }
}
