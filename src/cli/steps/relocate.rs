//! `relocate`: move the image.

use clap::Args;

use super::Step;
use super::common::On;
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::{ops, values};

/// Move the image to other addresses
#[derive(Args, Debug)]
pub struct RelocateArgs {
    #[command(flatten)]
    target: NewPlace,
    #[command(flatten)]
    on: On,
}

#[derive(Args, Debug)]
#[group(required = true, multiple = false)]
struct NewPlace {
    /// New address of the first byte
    #[arg(long, value_name = "ADDR", value_parser = values::number)]
    to: Option<u64>,
    /// How far to move: +N up, -N down
    #[arg(long, value_name = "+N|-N", value_parser = values::offset, allow_hyphen_values = true)]
    by: Option<i128>,
}

impl Step for RelocateArgs {
    const NAME: &'static str = "relocate";
    const ABOUT: &'static str = "move the image to other addresses";
    const SENTENCE: &'static str = "Moves the bytes to other addresses, and changes none of them.";
    const HELP: &'static str = "\
All bytes move by the same distance. An address below 0 or past the last one is an error: nothing wraps around. An entry \
point inside the image moves along.";
    const EXAMPLE: &'static str = "\
$ romloom load basic.hex + relocate --to 0 + show
basic   0000-0582   one cell = 64
0000 bbbbbbbb  0200 bbbbbbbb  0400 bbbbbbb  05BF
b basic.hex
data 1,411, filler 0, hollow 0
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let on = &self.on.only;
        bench.relocate(Self::NAME, on, |image, name, console| {
            let moved = match (self.target.to, self.target.by) {
                (Some(to), _) => ops::relocate_to(image, to).blame(argument!(self.target.to))?,
                (None, by) => {
                    ops::relocate(image, by.unwrap_or(0)).blame(argument!(self.target.by))?
                }
            };
            if let Some(entry) = moved.lost_entry.filter(|e| e.address() != 0) {
                console.say(MessageKind::Warning, &format!(
                    "the entry point 0x{:04X} of {} is outside it and can't move along: it is dropped",
                    entry.address(), name
                ));
            }
            Ok(moved.by)
        })
    }
}
