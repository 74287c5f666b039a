//! `hollow`: turn runs of a byte back into holes.

use clap::Args;

use super::Step;
use super::common::On;
use crate::cli::bench::{Bench, MessageKind, Stop};
use crate::{ops, values};

/// Turn runs of a byte back into holes
#[derive(Args, Debug)]
pub struct HollowArgs {
    /// The byte: FF or 0xFF
    #[arg(value_name = "BYTE", value_parser = values::byte)]
    byte: u8,
    /// The shortest run that counts [default: 16; 1 with --tail]
    #[arg(long, value_name = "N", value_parser = values::size)]
    least: Option<u64>,
    /// Only the run at the very end
    #[arg(long)]
    tail: bool,
    #[command(flatten)]
    on: On,
}

impl Step for HollowArgs {
    const NAME: &'static str = "hollow";
    const ABOUT: &'static str = "turn runs of a byte back into holes";
    const SENTENCE: &'static str = "Turns long runs of one byte back into holes.";
    const HELP: &'static str = "\
The reverse of `fill`: what a read-back shows as FF was perhaps never programmed. With --tail it removes the \
0x1A padding that XMODEM transfers leave at the end of a file.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin --at 0x8000 + hollow FF + show
chip   8000-FFFF   one cell = 1K
8000 cc______  A000 ________  C000 ________  E000 cc_____c  FFFF
c chip.bin   _ hollow
data 2,761, filler 0, hollow 30,007
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let least = self.least.unwrap_or(if self.tail { 1 } else { 16 });
        let which = match self.tail {
            true => ops::Runs::Tail,
            false => ops::Runs::All,
        };
        bench.each(&self.on.only, |piece, console| {
            if ops::hollow(piece.edit()?, self.byte, least, which)?.is_empty() {
                let what = match self.tail {
                    true => format!("{} does not end in {:02X}", piece.name, self.byte),
                    false => format!(
                        "{} has no run of at least {least} bytes {:02X}",
                        piece.name, self.byte
                    ),
                };
                console.say(MessageKind::Note, &what);
            }
            Ok(())
        })
    }
}
