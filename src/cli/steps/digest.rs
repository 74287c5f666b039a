//! `digest`: sums and hashes per piece.

use clap::Args;

use super::Step;
use super::common::{Json, On, sums_of, usual_sums};
use crate::cli::bench::{Bench, Stop, argument};
use crate::cli::report;
use crate::sums::Algo;

/// Show sums and hashes of each piece
#[derive(Args, Debug)]
pub struct DigestArgs {
    /// Which: sum16, internet, crc32, sha256, ... (see `romloom help sums`) [default: those that a programmer shows, CRC-32
    /// and SHA-256]
    #[arg(value_name = "ALGO")]
    algos: Vec<Algo>,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for DigestArgs {
    const NAME: &'static str = "digest";
    const ABOUT: &'static str = "show sums and hashes of each piece";
    const SENTENCE: &'static str =
        "Shows the sums of each piece, to be compared with those that a programmer shows.";
    const HELP: &'static str = "\
Programmers show the sum of all bytes of the device, filler included, in 16 or 32 bits: compare sum16 or sum32 with \
its display before and after burning. Holes are not counted, so `pad` first.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + digest
chip   0000-7FFF   32,768 bytes
  sum16            50DD  of all bytes, as programmers show it
  sum32            007950DD  of all bytes, as programmers show it
  crc-32/iso-hdlc  87C3C433
  sha256           c2c43be8f350929d5d93b656a05e0e4fd3cfac479e40e4a768bf720d7bd0a3be
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let mut reports = Vec::new();
        let done = bench.each(&self.on.only, |piece, _| {
            let usual = usual_sums(piece);
            let algos = match self.algos.is_empty() {
                true => &usual,
                false => &self.algos,
            };
            let image = piece.image();
            let extent = image.extent();
            reports.push(report::DigestReport {
                piece: piece.name.clone(),
                range: extent.map(Into::into),
                bytes: image.len(),
                holes: extent.map_or(0, |e| image.holes(e).count() as u64),
                sums: sums_of(piece, algos)
                    .map_err(|(i, error)| Stop::from(error).at(argument!(self.algos[i])))?,
            });
            Ok(())
        });
        bench.console.report_each(reports, self.json.json);
        done
    }
}
