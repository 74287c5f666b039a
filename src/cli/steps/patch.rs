//! `patch`: overwrite bytes.

use std::path::PathBuf;

use clap::Args;

use super::Step;
use super::common::On;
use crate::cli::bench::{Bench, Blame, MessageKind, Stop, argument};
use crate::ops::{self, OpError};
use crate::values;
use crate::values::{InSpace, Space};

/// Overwrite bytes, if they are what they should be
#[derive(Args, Debug)]
pub struct PatchArgs {
    /// Address of the first byte
    #[arg(value_name = "ADDR", value_parser = values::address, required_unless_present = "file", requires = "now")]
    address: Option<InSpace<u64>>,
    /// The new bytes: EA EA or text:HELLO
    #[arg(value_name = "BYTES", value_parser = values::bytes)]
    now: Option<::std::vec::Vec<u8>>,
    /// Refuse unless these bytes stand there now
    #[arg(long, value_name = "BYTES", value_parser = values::bytes, requires = "now")]
    was: Option<::std::vec::Vec<u8>>,
    /// Read a list of patches, one a line: 0x7F10 was A9 00 now A9 01
    #[arg(long, value_name = "FILE", conflicts_with_all = ["address", "was"])]
    file: Option<PathBuf>,
    #[command(flatten)]
    on: On,
}

impl Step for PatchArgs {
    const NAME: &'static str = "patch";
    const ABOUT: &'static str = "overwrite bytes, if they are what they should be";
    const HELP: &'static str = "\
With --was nothing changes unless the old bytes are the expected ones, so a patch for one version never lands in \
another. All old bytes of a list are checked before the first one changes. In a list, `#` at the beginning of a line \
or behind a blank starts a comment; inside a text write \\x23 for it.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin --at 0xFFFA + patch 0xFFFC \"00 E0\" --was \"15 E0\" + show hex
vectors
FFFA > F4 E2 . 00 E0 0C E3 < FFFF  vectors.bin
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let patches = match (&self.file, self.address, &self.now) {
            (Some(file), ..) => {
                let text = bench.read_text(file).blame(argument!(self.file))?;
                let about = |e: OpError| Stop::from(e).about(&file.display().to_string());
                ops::patch_list(&text)
                    .map_err(about)
                    .blame(argument!(self.file))?
            }
            (None, Some(address), Some(now)) => vec![ops::Patch {
                address: address.value,
                was: self.was.clone(),
                now: now.clone(),
            }],
            _ => Vec::new(),
        };
        let space = self.address.map_or(Space::Own, |a| a.space);
        // A list has its own addresses and old bytes.
        let blamed = |error: &OpError| match (&self.file, error) {
            (Some(_), _) => argument!(self.file),
            (None, OpError::NotAsWas { .. }) => argument!(self.was),
            (None, _) => argument!(self.address),
        };
        let edited = bench.edit(space, &self.on.labels, |image, _, console| {
            let holes = ops::patch(image, &patches).map_err(|error| {
                let argument = blamed(&error);
                Stop::from(error).at(argument)
            })?;
            for ops::PatchedHole(hole) in holes {
                console.say(
                    MessageKind::Warning,
                    &format!("{hole} was a hole before it was patched: is the address right?"),
                );
            }
            Ok(())
        });
        edited.blame(argument!(self.address))
    }
}
