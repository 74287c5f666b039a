//! `vote`: the majority of several reads of one chip.

use clap::{Args, ValueEnum};

use super::Step;
use super::common::{Json, On};
use crate::cli::bench::{Bench, Blame, MessageKind, Piece, Stop, argument};
use crate::cli::report::{self, plural};
use crate::faults::vote::vote;
use crate::image::{AddressRange, Image, Source};
use crate::parts::Part;
use crate::wiring::Width;
use crate::{ops, values};

/// Make one piece of several reads of one chip, each bit by majority
#[derive(Args, Debug)]
pub struct VoteArgs {
    /// What happens to a byte with a bit that reads 0 and 1 equally often
    #[arg(long, value_enum, default_value_t)]
    tie: Tie,
    /// Take off the bytes 1A that XMODEM transfers left behind some of the reads
    #[arg(long)]
    trim: bool,
    /// Name of the piece; else the first read's
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Bytes to list at most
    #[arg(long, value_name = "N", default_value = "16", value_parser = values::number)]
    limit: u64,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

#[derive(ValueEnum, Debug, Clone, Copy, Default, PartialEq, Eq)]
enum Tie {
    /// It is an error: read once more
    #[default]
    Refuse,
    /// It becomes a hole
    Hole,
}

impl Step for VoteArgs {
    const NAME: &'static str = "vote";
    const ABOUT: &'static str = "make one piece of several reads of one chip, by majority";
    const HELP: &'static str = "\
The pieces on the bench, 2 to 99, are the reads; load them with --apart. Every bit that wavers is counted and listed, \
by address and data line, with what they have in common: one line, one half, one region, more with the address. An odd \
number of reads can't tie. A chip that wavers is not proved by its majority: find out why, `diagnose` says where to look.";
    const EXAMPLE: &'static str = "\
$ romloom load wavers-1.bin wavers-2.bin wavers-3.bin --apart + vote --limit 3 --name chip + digest sum16
chip: 3 reads of 2,048 bytes; 31 bytes waver, in 31 bits
  only D3 wavers
  0000  D3
  0070  D3
  0071  D3
  and 28 further bytes
chip   0000-07FF   2,048 bytes
  sum16  FC00  of all bytes, as programmers show it
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let chosen = bench.chosen(&self.on.labels)?;
        let reads = reads(bench, &chosen, self.trim)?;
        let slices: Vec<&[u8]> = reads.bytes.iter().map(Vec::as_slice).collect();
        let found = vote(&slices).blame(argument!(self.on.labels))?;
        let part = shared_part(bench, &chosen);
        let width = match part.as_ref().is_some_and(|part| part.width == 16) {
            true => Width::Sixteen,
            false => Width::Eight,
        };
        let labels = reads.labels;
        let piece = self.name.clone().unwrap_or_else(|| labels[0].clone());
        let report = report::VoteReport {
            piece: piece.clone(),
            reads: labels,
            wavering: report::WaveringView::new(&found, reads.first, width),
            limit: usize::try_from(self.limit).unwrap_or(usize::MAX),
        };
        bench.console.report(&report, self.json.json);
        let ties: Vec<u64> = found
            .ties()
            .map(|b| reads.first + b.address as u64)
            .collect();
        if let (Some(first), Tie::Refuse) = (ties.first(), self.tie) {
            return Err(Stop::trouble(format!(
                "{} tied, the first at 0x{first:04X}",
                plural(ties.len() as u64, "byte")
            ))
            .advise("read the chip once more, or make holes of them with --tie hole")
            .at(argument!(self.tie)));
        }
        let mut image = Image::from_bytes(reads.first, found.image, Source::Majority)?;
        let holes: Vec<AddressRange> = ties
            .iter()
            .filter_map(|&address| AddressRange::new(address, address))
            .collect();
        image.remove_all(&holes);
        bench.settle(&chosen);
        for i in chosen.iter().skip(1).rev() {
            bench.pieces.remove(*i);
        }
        let mut voted = Piece::new(piece, image);
        if let Some(part) = &part {
            voted.fills(part);
        }
        bench.pieces[chosen[0]] = voted;
        let same = bench.refuse_same_labels("--name");
        same.blame(argument!(self.name))
    }
}

/// Several reads of one chip, ready to be held against each other.
pub(super) struct Reads {
    /// Address of the first byte, the same in all.
    pub first: u64,
    /// Labels of the pieces.
    pub labels: Vec<String>,
    /// The bytes.
    pub bytes: Vec<Vec<u8>>,
}

/// The bytes of these pieces, at least one; `trim` takes off what XMODEM padded.
pub(super) fn reads(bench: &Bench, chosen: &[usize], trim: bool) -> Result<Reads, Stop> {
    let mut reads = Reads {
        first: 0,
        labels: Vec::new(),
        bytes: Vec::new(),
    };
    for &i in chosen {
        let piece = &bench.pieces[i];
        let (range, bytes) = ops::dense(piece.image(), "a read shows every byte")
            .map_err(|e| Stop::from(e).about(&piece.label))?;
        if let Some(before) = reads.labels.first() {
            if range.first() != reads.first {
                return Err(Stop::trouble(format!(
                    "{before} begins at 0x{:04X} and {} at 0x{:04X}",
                    reads.first,
                    piece.label,
                    range.first()
                ))
                .advise("`relocate` them to one address"));
            }
        }
        reads.first = range.first();
        reads.labels.push(piece.label.clone());
        reads.bytes.push(bytes.to_vec());
    }
    reads.trim_tails(bench, trim)?;
    Ok(reads)
}

impl Reads {
    fn trim_tails(&mut self, bench: &Bench, trim: bool) -> Result<(), Stop> {
        let shortest = self.bytes.iter().map(Vec::len).min().unwrap_or(0);
        for (bytes, label) in self.bytes.iter_mut().zip(&self.labels) {
            let Some(tail) = ops::tail_behind(bytes, shortest) else {
                continue;
            };
            let what = format!(
                "{label} ends in {} 1A more than the shortest read, as XMODEM pads",
                plural(tail as u64, "byte")
            );
            if !trim {
                return Err(Stop::trouble(what).advise("`vote --trim` takes them off"));
            }
            bytes.truncate(shortest);
            bench
                .console
                .say(MessageKind::Note, &format!("{what}; taken off"));
        }
        Ok(())
    }
}

/// The part of the reads, when all are said to be of one.
pub(super) fn shared_part(bench: &Bench, chosen: &[usize]) -> Option<Part> {
    let mut parts = chosen.iter().map(|i| bench.pieces[*i].part());
    let first = parts.next()??;
    let same = parts.all(|part| part.is_some_and(|part| part.name == first.name));
    same.then(|| first.clone())
}
