//! `drop`: cut ranges out.

use clap::Args;

use super::Step;
use super::common::{On, space_of};
use crate::cli::bench::{Bench, Level, Stop};
use crate::image::AddressRange;
use crate::values::{self, InSpace};

/// Cut these ranges out
#[derive(Args, Debug)]
pub struct Drop {
    /// FIRST-LAST or START+LENGTH
    #[arg(required = true, value_name = "RANGE", value_parser = values::addresses)]
    ranges: Vec<InSpace<AddressRange>>,
    #[command(flatten)]
    on: On,
}

impl Step for Drop {
    const NAME: &'static str = "drop";
    const ABOUT: &'static str = "cut these ranges out";
    const HELP: &'static str = "They become holes; nothing moves. `keep` does the opposite.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + drop 0xFFFA-0xFFFF + show
monitor   E000-E440   one cell = 64
E000 mmmmmmmm  E200 mmmmmmmm  E400 mm  E47F
m monitor.hex
data 1,089, filler 0, hollow 0
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let space = space_of(self.ranges.iter().map(|r| r.space))?;
        let ranges: Vec<AddressRange> = self.ranges.iter().map(|r| r.value).collect();
        bench.each_in(space, &self.on.labels, |image, label, talk| {
            for range in &ranges {
                image.remove(*range);
            }
            if image.is_empty() {
                talk.say(Level::Warning, &format!("nothing is left of {label}"));
            }
            Ok(())
        })
    }
}
