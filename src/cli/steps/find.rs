//! `find`: where do these bytes occur.

use clap::Args;

use super::Step;
use super::common::{Json, On, row_limit};
use crate::cli::bench::{Bench, Blame, Piece, Stop, argument};
use crate::cli::report::{FindReport, FoundAt, FoundPlaces};
use crate::values::{BankSet, Place};
use crate::{ops, values};

/// Find every place where these bytes occur
#[derive(Args, Debug)]
pub struct FindArgs {
    /// The bytes: EA EA or text:HELLO
    #[arg(value_name = "BYTES", value_parser = values::bytes)]
    bytes: ::std::vec::Vec<u8>,
    /// The most places to list [default: 64; all with --json]
    #[arg(long, value_name = "N", value_parser = values::number)]
    limit: Option<u64>,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for FindArgs {
    const NAME: &'static str = "find";
    const ABOUT: &'static str = "find every place where these bytes occur";
    const SENTENCE: &'static str = "Finds every place where these bytes occur.";
    const HELP: &'static str = "\
Prints the address in the piece, and for seated chips the CPU's too; bytes that go across the lanes of a wide bus are found \
at their CPU address. Exit code 1 when they are not found; the run goes on.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + find \"text:HERON 8\" + find 60
48 45 52 4F 4E 20 38 found in 2 places
  chip 051F  chip.bin
  chip 6391  chip.bin
60 found in 36 places
  chip 00C6  chip.bin
  chip 013B  chip.bin
  chip 01D2  chip.bin
  chip 022F  chip.bin
  chip 024F  chip.bin
  chip 0260  chip.bin
  chip 0263  chip.bin
  chip 0290  chip.bin
  chip 029F  chip.bin
  chip 02D6  chip.bin
  chip 02EF  chip.bin
  chip 0303  chip.bin
  chip 0311  chip.bin
  chip 0355  chip.bin
  chip 0364  chip.bin
  chip 03BE  chip.bin
  chip 03D4  chip.bin
  chip 03DE  chip.bin
  chip 03E0  chip.bin
  chip 03F8  chip.bin
  chip 0401  chip.bin
  chip 040F  chip.bin
  chip 0438  chip.bin
  chip 043A  chip.bin
  chip 04A6  chip.bin
  chip 04E4  chip.bin
  chip 607E  chip.bin
  chip 623C  chip.bin
  chip 6242  chip.bin
  chip 6248  chip.bin
  chip 6268  chip.bin
  chip 628A  chip.bin
  chip 6293  chip.bin
  chip 629E  chip.bin
  chip 62B8  chip.bin
  chip 62CD  chip.bin
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let limit = row_limit(self.limit, 64, bench, self.json);
        let limit = usize::try_from(limit).unwrap_or(usize::MAX);
        let chosen = bench.chosen(&self.on.only)?;
        let across = self.across_lanes(bench, &chosen, limit)?;
        let pieces = &bench.pieces;
        let bytes = &self.bytes[..];
        let each = chosen.iter().map(|i| pieces[*i].image());
        let count: usize = each
            .map(|image| ops::find_bytes(image, bytes).count())
            .sum();
        let count = count as u64 + across.count;
        let listed = across.listed;
        let places = || -> Box<dyn Iterator<Item = FoundAt>> {
            let own = chosen.iter().flat_map(|i| {
                let piece = &pieces[*i];
                let found = ops::find_bytes(piece.image(), bytes);
                found.map(|address| found_in(piece, address))
            });
            Box::new(own.chain(listed.iter().cloned()).take(limit))
        };
        let report = FindReport {
            bytes,
            count,
            places: FoundPlaces(Box::new(places)),
        };
        bench.console.report(&report, self.json.json);
        drop(report);
        if count == 0 {
            bench.say_no();
        }
        Ok(())
    }
}

/// A place in a piece, with what is known of it.
fn found_in(piece: &Piece, address: u64) -> FoundAt {
    let seat = piece.seat().filter(|_| piece.rearranged_by().is_none());
    let cpu = seat.and_then(|seat| {
        let seen = seat.seen(address);
        let plain = seen.iter().find(|seen| seen.bank.is_none());
        plain.or(seen.first()).map(|seen| seen.address)
    });
    FoundAt {
        piece: piece.name.clone(),
        address: Some(address),
        cpu,
        origin: piece.image().origin_at(address).map(|o| o.to_string()),
    }
}

/// Places that are in no piece alone; this many are listed, the others are only counted.
#[derive(Default)]
struct AcrossLanes {
    listed: Vec<FoundAt>,
    count: u64,
}

impl FindArgs {
    /// Bytes that are in no chip alone, but that the bus shows.
    fn across_lanes(
        &self,
        bench: &mut Bench,
        chosen: &[usize],
        limit: usize,
    ) -> Result<AcrossLanes, Stop> {
        let mut places = AcrossLanes::default();
        let wide = |i: &&usize| {
            let piece = &bench.pieces[**i];
            let seat = piece.seat().filter(|_| piece.rearranged_by().is_none());
            seat.is_some_and(|seat| seat.store().lanes() > 1)
        };
        let chosen: Vec<usize> = chosen.iter().filter(wide).copied().collect();
        if chosen.is_empty() || self.bytes.len() < 2 {
            return Ok(places);
        }
        let mut buses: Vec<Place> = Vec::new();
        for i in &chosen {
            let windows = bench.pieces[*i].seat().map(|seat| seat.store().windows());
            for window in windows.unwrap_or_default() {
                let bus = Place::On {
                    name: Some(window.space().to_owned()),
                    banks: window.banks().map(|_| BankSet::All),
                };
                if !buses.contains(&bus) {
                    buses.push(bus);
                }
            }
        }
        let names = chosen.iter().map(|i| bench.pieces[*i].name.clone());
        let names: Vec<String> = names.collect();
        for bus in buses {
            let shown = bench.view(&bus, None, &names, |image, shown, _| {
                for cpu in ops::find_bytes(image, &self.bytes) {
                    places.count += 1;
                    if places.listed.len() < limit {
                        places.listed.push(FoundAt {
                            piece: shown.name.to_owned(),
                            address: None,
                            cpu: Some(cpu),
                            origin: image.origin_at(cpu).map(|o| o.to_string()),
                        });
                    }
                }
                Ok(())
            });
            shown.blame(argument!(self.bytes))?;
        }
        Ok(places)
    }
}
