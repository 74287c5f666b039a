//! `keep`: cut down to ranges.

use clap::Args;

use super::Step;
use super::common::{On, place_of};
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::image::AddressRange;
use crate::values::{self, InSpace};

/// Cut down to these ranges
#[derive(Args, Debug)]
pub struct KeepArgs {
    /// FIRST-LAST or START+LENGTH
    #[arg(required = true, value_name = "RANGE", value_parser = values::addresses)]
    ranges: Vec<InSpace<AddressRange>>,
    #[command(flatten)]
    on: On,
}

impl Step for KeepArgs {
    const NAME: &'static str = "keep";
    const ABOUT: &'static str = "cut down to these ranges";
    const SENTENCE: &'static str = "Keeps what is in these ranges, and drops all else.";
    const HELP: &'static str =
        "Everything outside becomes a hole; nothing moves. `drop` does the opposite.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + keep 0xFFFA-0xFFFF + show hex
monitor
FFFA > 53 E3 . 15 E0 6B E3 < FFFF  monitor.hex line 43
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let ranges = self.ranges.iter().enumerate();
        let place = place_of(ranges.map(|(i, r)| (&r.place, argument!(self.ranges[i]))))?;
        let ranges: Vec<AddressRange> = self.ranges.iter().map(|r| r.value).collect();
        bench
            .edit(&place, None, &self.on.only, |image, shown, console| {
                image.keep(&ranges);
                if image.is_empty() {
                    console.say(
                        MessageKind::Warning,
                        &format!("nothing is left of {}", shown.name),
                    );
                }
                Ok(())
            })
            .blame(argument!(self.ranges))
    }
}
