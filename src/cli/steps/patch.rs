//! `patch`: overwrite bytes.

use std::path::PathBuf;

use clap::Args;

use super::Step;
use super::common::On;
use crate::cli::bench::{Argument, Bench, Blame, MessageKind, Stop, argument};
use crate::image::AddressRange;
use crate::ops::{self, ListedPatch, OpError};
use crate::values::{InSpace, Place};
use crate::{prose, values};

/// Overwrite bytes, if they are what they should be
#[derive(Args, Debug)]
pub struct PatchArgs {
    /// Address of the first byte
    #[arg(value_name = "ADDR", value_parser = values::address, required_unless_present = "file", requires = "now")]
    address: Option<InSpace<u64>>,
    /// The new bytes: EA EA or text:HELLO
    #[arg(value_name = "BYTES", value_parser = values::bytes)]
    now: Option<::std::vec::Vec<u8>>,
    /// Refuse unless these bytes are there now
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
    const SENTENCE: &'static str =
        "Overwrites bytes. Where the old ones are named, they must be there.";
    const HELP: &'static str = "\
With --was nothing changes unless the old bytes are the expected ones, so a patch for one version never gets into \
another. All old bytes of a list are checked before the first one changes. In a list, `#` at the beginning of a line \
or after a blank starts a comment; inside a text write \\x23 for it.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin --at 0xFFFA + patch 0xFFFC \"00 E0\" --was \"15 E0\" + show hex
vectors
FFFA > 53 E3 . 00 E0 6B E3 < FFFF  vectors.bin
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let patches = match (&self.file, &self.address, &self.now) {
            (Some(file), ..) => {
                let text = bench.read_text(file).blame(argument!(self.file))?;
                let about = |e: OpError| Stop::from(e).about(&file.display().to_string());
                ops::patch_list(&text)
                    .map_err(about)
                    .blame(argument!(self.file))?
            }
            (None, Some(address), Some(now)) => vec![ListedPatch {
                line: 1,
                place: address.place.clone(),
                patch: ops::Patch {
                    address: address.value,
                    was: self.was.clone(),
                    now: now.clone(),
                },
            }],
            _ => Vec::new(),
        };
        let mut groups: Vec<(&Place, Vec<&ListedPatch>)> = Vec::new();
        for patch in &patches {
            match groups.iter_mut().find(|(place, _)| **place == patch.place) {
                Some((_, group)) => group.push(patch),
                None => groups.push((&patch.place, vec![patch])),
            }
        }
        if let Some(file) = &self.file {
            self.check_list(bench, &file.display().to_string(), &groups)?;
        }
        for (place, group) in groups {
            let patches: Vec<ops::Patch> = group.iter().map(|p| p.patch.clone()).collect();
            let on = &self.on.only;
            let edited = bench.edit(place, Some(&ranges(&group)), on, |image, _, console| {
                let holes = ops::patch(image, &patches).map_err(|error| {
                    let argument = self.blamed(&error);
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
            edited.blame(self.blamed(&OpError::Empty))?;
        }
        Ok(())
    }
}

impl PatchArgs {
    fn blamed(&self, error: &OpError) -> Argument {
        match (&self.file, error) {
            (Some(_), _) => argument!(self.file),
            (None, OpError::NotAsWas { .. }) => argument!(self.was),
            (None, _) => argument!(self.address),
        }
    }

    /// Checks all old bytes of a list before any change, and reports every line that does not fit.
    fn check_list(
        &self,
        bench: &mut Bench,
        file: &str,
        groups: &[(&Place, Vec<&ListedPatch>)],
    ) -> Result<(), Stop> {
        let mut objections: Vec<(usize, String)> = Vec::new();
        for (place, group) in groups {
            let on = &self.on.only;
            let seen = bench.view(place, Some(&ranges(group)), on, |image, _, _| {
                for patch in group {
                    if let Some(OpError::NotAsWas {
                        address,
                        found,
                        was,
                    }) = patch.patch.objection(image)
                    {
                        let (found, was) = (prose::holds(&found), prose::hex(&was));
                        let text = format!("0x{address:04X} {found}, not {was}");
                        objections.push((patch.line, text));
                    }
                }
                Ok(())
            });
            seen.blame(argument!(self.file))?;
        }
        objections.sort();
        objections.dedup();
        if objections.is_empty() {
            return Ok(());
        }
        let lines = objections
            .iter()
            .map(|(line, text)| format!("line {line}: {text}"));
        let lines: Vec<String> = lines.collect();
        Err(Stop::trouble(format!("{file}: {}", lines.join("; ")))
            .advise("is this the right version?")
            .at(argument!(self.file)))
    }
}

/// The addresses of patches.
fn ranges(patches: &[&ListedPatch]) -> Vec<AddressRange> {
    let ranges = patches.iter().filter_map(|p| {
        let was = p.patch.was.as_ref().map_or(0, Vec::len);
        AddressRange::from_len(p.patch.address, p.patch.now.len().max(was).max(1) as u64)
    });
    ranges.collect()
}
