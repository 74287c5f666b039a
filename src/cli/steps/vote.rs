//! `vote`: the majority of several reads of one chip.

use std::ops::Deref;

use clap::{Args, ValueEnum};

use super::Step;
use super::common::{Json, On};
use crate::cli::bench::{Bench, Blame, MessageKind, Piece, Stop, argument};
use crate::cli::report::{self, plural};
use crate::faults::Names;
use crate::faults::reads::{Reads, Vote, VoteError};
use crate::image::{AddressRange, Image, Source};
use crate::parts::Part;
use crate::wiring::{Line, Width};
use crate::{ops, values};

/// Make one piece of several reads of one chip, each bit by majority
#[derive(Args, Debug)]
pub struct VoteArgs {
    /// What happens to a byte with a bit that reads 0 and 1 equally often
    #[arg(long, value_enum, default_value_t)]
    tie: Tie,
    /// Remove the bytes 1A that XMODEM transfers left at the end of some of the reads
    #[arg(long)]
    trim: bool,
    /// Name of the piece [default: the first read's]
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Vote also when the reads are not of one chip
    #[arg(long)]
    anyway: bool,
    /// The most bytes to list [default: 16; all with --json]
    #[arg(long, value_name = "N", value_parser = values::number)]
    limit: Option<u64>,
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
    const SENTENCE: &'static str =
        "Makes one piece of several reads of one chip: each bit is what most of them say.";
    const HELP: &'static str = "\
The pieces on the bench, 2 to 99, are the reads; load them with --apart. Every bit that wavers is counted and listed, \
by address and data line. The step says what makes the reads differ, and how sure that is: weak cells, a disturbed \
reading, one line that floats, one read that differs from all others. An odd number of reads can't tie. Reads of \
different chips are refused. The majority does not prove that a wavering chip is right: find out why it wavers; `diagnose` \
says where to look.";
    const EXAMPLE: &'static str = "\
$ romloom load wavers-1.bin wavers-2.bin wavers-3.bin --apart + vote --limit 3 --name chip + digest sum16
chip: 3 reads of 2,048 bytes; 31 bytes waver, in 31 bits
  D3 wavers, and no other line does; this is certain
  changed bits by read: wavers-1 9, wavers-2 12, wavers-3 10
  0000  D3
  0070  D3
  0071  D3
  and 28 more bytes
chip   0000-07FF   2,048 bytes
  sum16  FC00  of all bytes, as programmers show it
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let chosen = bench.chosen(&self.on.only)?;
        let bytes = chosen.iter().map(|i| bench.pieces[*i].image().len());
        // The majority, and of each cell whether it wavers.
        let most = bytes.max().unwrap_or(0);
        ops::Large::Allow.check_memory(most + most / 8)?;
        let reads = reads(bench, &chosen, self.trim)?;
        let part = shared_part(bench, &chosen);
        let width = match part.as_ref().is_some_and(|part| part.width == 16) {
            true => Width::Sixteen,
            false => Width::Eight,
        };
        let found = reads.vote(width, None).blame(argument!(self.on.only))?;
        let piece = self.name.clone().unwrap_or_else(|| reads.names[0].clone());
        let pin = |line| part.as_ref().and_then(|part| pin_of(part, line));
        let names = report::VoteNames {
            reads: &reads.names,
            first: reads.first,
            pin: &pin,
        };
        let limit = self.limit.map(|n| usize::try_from(n).unwrap_or(usize::MAX));
        let report = report::VoteReport {
            piece: piece.clone(),
            wavering: report::WaveringView::new(&found, names, limit),
        };
        bench.console.report(&report, self.json.json);
        match reads.strangers(&found) {
            Some(fact) if self.anyway => {
                let text = format!("{fact}; their majority may be the content of no chip");
                bench.console.say(MessageKind::Warning, &text);
            }
            Some(fact) => {
                return Err(Stop::trouble(fact)
                    .advise("vote over the reads of one chip with --on, or over all with --anyway")
                    .at(argument!(self.on.only)));
            }
            None => {}
        }
        let ties: Vec<u64> = found
            .ties()
            .map(|b| reads.first + b.address as u64)
            .collect();
        if let (Some(first), Tie::Refuse) = (ties.first(), self.tie) {
            let half = found.reads / 2;
            return Err(Stop::trouble(format!(
                "{} tied, the first at 0x{first:04X}: {half} of {} reads say one thing and {half} the other",
                plural(ties.len() as u64, "byte"),
                found.reads
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
        let same = bench.refuse_same_names("--name");
        same.blame(argument!(self.name))
    }
}

/// Several reads of one chip, ready to be compared with each other.
pub(super) struct ChipReads {
    /// Address of the first byte, the same in all.
    pub first: u64,
    /// Names of the pieces.
    pub names: Vec<String>,
    /// The bytes.
    pub bytes: Vec<ReadBytes>,
}

/// The bytes of one read, in the memory of the piece that has them.
pub(super) struct ReadBytes {
    image: Image,
    len: usize,
}

impl ReadBytes {
    /// Those of an image, with the address of the first.
    ///
    /// # Errors
    /// [`OpError::Empty`](ops::OpError::Empty), [`OpError::Hole`](ops::OpError::Hole).
    pub fn of(image: &Image) -> Result<(u64, Self), ops::OpError> {
        let (range, bytes) = ops::dense(image, "a read shows every byte")?;
        let (image, len) = (image.clone(), bytes.len());
        Ok((range.first(), Self { image, len }))
    }
}

impl Deref for ReadBytes {
    type Target = [u8];

    fn deref(&self) -> &[u8] {
        let span = self.image.spans().first();
        span.map_or(&[], |span| &span.bytes()[..self.len])
    }
}

/// The bytes of these pieces, at least one; `trim` takes off what XMODEM padded.
pub(super) fn reads(bench: &Bench, chosen: &[usize], trim: bool) -> Result<ChipReads, Stop> {
    let mut reads = ChipReads {
        first: 0,
        names: Vec::new(),
        bytes: Vec::new(),
    };
    for &i in chosen {
        let piece = &bench.pieces[i];
        let read = ReadBytes::of(piece.image());
        let (first, bytes) = read.map_err(|e| Stop::from(e).about(&piece.name))?;
        if let Some(before) = reads.names.first() {
            if first != reads.first {
                return Err(Stop::trouble(format!(
                    "{before} begins at 0x{:04X} and {} at 0x{:04X}",
                    reads.first, piece.name, first
                ))
                .advise("`relocate` them to one address"));
            }
        }
        reads.first = first;
        reads.names.push(piece.name.clone());
        reads.bytes.push(bytes);
    }
    reads.trim_tails(bench, trim)?;
    Ok(reads)
}

/// The pin of a part's line.
fn pin_of(part: &Part, line: Line) -> Option<u8> {
    match line {
        Line::Address(line) => part.pin_of_address(line),
        Line::Data(line) => part.pin_of_data(line),
    }
}

impl ChipReads {
    /// The vote over them, two at least.
    pub fn vote(&self, width: Width, wanted: Option<&[u8]>) -> Result<Vote, VoteError> {
        let reads = Reads::new(self.bytes.iter().map(|read| &**read).collect())?.width(width)?;
        Ok(match wanted {
            Some(wanted) => reads.wanted(wanted).vote(),
            None => reads.vote(),
        })
    }

    /// What there is to say when the vote found that they are not of one chip.
    pub fn strangers(&self, vote: &Vote) -> Option<String> {
        vote.different_contents()?;
        let told = vote.told.first()?;
        let said = told.sentences(vote, &self.names, &Names::NONE).finding;
        // Inside a message, after the step's name.
        Some(said.replacen("The reads", "the reads", 1))
    }

    fn trim_tails(&mut self, bench: &Bench, trim: bool) -> Result<(), Stop> {
        let shortest = self.bytes.iter().map(|read| read.len()).min().unwrap_or(0);
        for (bytes, name) in self.bytes.iter_mut().zip(&self.names) {
            let Some(tail) = ops::tail_behind(bytes, shortest) else {
                continue;
            };
            let what = format!(
                "{name} ends in {} 1A more than the shortest read, like the padding of XMODEM",
                plural(tail as u64, "byte")
            );
            if !trim {
                return Err(Stop::trouble(what).advise("remove them with `vote --trim`"));
            }
            bytes.len = shortest;
            bench
                .console
                .say(MessageKind::Note, &format!("{what}; removed"));
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
