//! `drop`: cut ranges out.

use clap::Args;

use super::Step;
use super::common::{On, place_of};
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::image::AddressRange;
use crate::values::{self, InSpace, Place};

/// Cut these ranges out
#[derive(Args, Debug)]
pub struct DropArgs {
    /// FIRST-LAST or START+LENGTH
    #[arg(required = true, value_name = "RANGE", value_parser = values::addresses)]
    ranges: Vec<InSpace<AddressRange>>,
    #[command(flatten)]
    on: On,
}

impl Step for DropArgs {
    const NAME: &'static str = "drop";
    const ABOUT: &'static str = "cut these ranges out";
    const SENTENCE: &'static str = "Drops what is in these ranges.";
    const HELP: &'static str = "They become holes; nothing moves. `keep` does the opposite.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + drop 0xFFFA-0xFFFF + show
monitor   E000-E525   one cell = 64
E000 mmmmmmmm  E200 mmmmmmmm  E400 mmmmm  E53F
m monitor.hex
data 1,318, filler 0, hollow 0
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let ranges = self.ranges.iter().enumerate();
        let place = place_of(ranges.map(|(i, r)| (&r.place, argument!(self.ranges[i]))))?;
        let ranges: Vec<AddressRange> = self.ranges.iter().map(|r| r.value).collect();
        bench
            .edit(
                &place,
                Some(&ranges),
                &self.on.only,
                |image, shown, console| {
                    image.remove_all(&ranges);
                    if image.is_empty() && place == Place::Own {
                        console.say(
                            MessageKind::Warning,
                            &format!("nothing is left of {}", shown.name),
                        );
                    }
                    Ok(())
                },
            )
            .blame(argument!(self.ranges))
    }
}
