//! `join`: many pieces into one.

use clap::{Args, Subcommand};

use super::Step;
use super::common::{Extent, On, extent};
use super::lanes::backwards;
use crate::cli::bench::{Bench, Blame, MessageKind, Piece, Seat, Stop, argument};
use crate::image::Image;
use crate::ops;

/// Make one piece of several: byte lanes, banks, nibbles, or bytes at their own addresses
#[derive(Args, Debug)]
pub struct JoinArgs {
    #[command(subcommand)]
    how: Option<JoinWay>,
    #[command(flatten)]
    common: JoinCommon,
}

#[derive(Subcommand, Debug)]
enum JoinWay {
    /// The reverse of `split lanes`, in the pieces' order
    Lanes {
        #[command(flatten)]
        common: JoinCommon,
    },
    /// The reverse of `split nibbles`: two pieces, the low halves first
    Nibbles {
        #[command(flatten)]
        common: JoinCommon,
    },
    /// The reverse of `split banks`, in the pieces' order
    Banks {
        /// Size of a bank in bytes, such as 8K
        #[arg(value_name = "SIZE", value_parser = extent)]
        size: Extent,
        #[command(flatten)]
        common: JoinCommon,
    },
}

#[derive(Args, Debug)]
struct JoinCommon {
    /// Name of the joined piece [default: the first one's]
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    #[command(flatten)]
    on: On,
}

impl Step for JoinArgs {
    const NAME: &'static str = "join";
    const ABOUT: &'static str =
        "make one piece of several: lanes, banks, nibbles, or bytes at their own addresses";
    const SENTENCE: &'static str = "Makes one piece of several.";
    const HELP: &'static str = "\
The pieces are taken in their order on the bench: lane 0 (the even bytes of a 16-bit bus) first. Load them with \
`load even.bin odd.bin --apart`. Lanes of unequal length are an error, and so is any address that two pieces want.";
    const EXAMPLE: &'static str = "\
$ romloom load even.bin odd.bin --apart + join lanes --name both + digest sum16
both   0000-FFFF   65,536 bytes
  sum16  94C5  of all bytes, as programmers show it
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let common = match &self.how {
            Some(
                JoinWay::Lanes { common }
                | JoinWay::Nibbles { common }
                | JoinWay::Banks { common, .. },
            ) => common,
            None => &self.common,
        };
        let chosen = bench.chosen(&common.on.only)?;
        if chosen.len() < 2 {
            return Err(Stop::trouble("there is only one piece")
                .advise("`load --apart` makes each file a piece of its own")
                .at(argument!(common.on.only)));
        }
        let lanes = matches!(self.how, Some(JoinWay::Lanes { .. }));
        refuse_chips_of_boards(bench, &chosen, lanes).blame(argument!(common.on.only))?;
        let bytes = match &self.how {
            Some(JoinWay::Banks { size, .. }) => size.bytes(&bench.parts).blame(argument!(size))?,
            _ => 0,
        };
        let at = chosen[0];
        let mut taken = bench.take(&chosen);
        let name = common.name.clone().unwrap_or_else(|| taken[0].name.clone());
        if let Some(JoinWay::Lanes { .. }) = self.how {
            warn_if_backwards(bench, &taken);
        }
        if matches!(self.how, Some(JoinWay::Banks { .. })) {
            warn_of_odd_banks(bench, &taken);
        }
        let mut sums = Piece::new("", Image::new());
        if self.how.is_none() {
            taken.iter_mut().for_each(|piece| sums.inherit(piece));
        }
        let images: Vec<Image> = taken.into_iter().map(Piece::into_image).collect();
        let image = match &self.how {
            Some(JoinWay::Lanes { .. }) => ops::join_lanes(images)?,
            Some(JoinWay::Nibbles { .. }) => ops::join_nibbles(images)?,
            Some(JoinWay::Banks { size, .. }) => {
                ops::join_banks(images, bytes).blame(argument!(size))?
            }
            None => ops::join(images)?,
        };
        let mut joined = Piece::new(name, image);
        joined.inherit(&mut sums);
        bench.pieces.insert(at, joined);
        let same = bench.refuse_same_names("--name");
        same.blame(argument!(common.name))
    }
}

/// Chips of one board are not joined: their board puts together what a bus sees of them. Chips of different boards are not
/// lanes of one bus.
fn refuse_chips_of_boards(bench: &Bench, chosen: &[usize], lanes: bool) -> Result<(), Stop> {
    let seated = chosen
        .iter()
        .filter_map(|i| Some((*i, bench.pieces[*i].seat()?)));
    let seated: Vec<(usize, &Seat)> = seated.collect();
    for (n, (one, seat)) in seated.iter().enumerate() {
        let on_same = |(_, other): &&(usize, &Seat)| other.is_on(seat.board());
        if let Some((other, _)) = seated[n + 1..].iter().find(on_same) {
            return Err(Stop::trouble(format!(
                "{} and {} are chips of one board",
                bench.pieces[*one].name, bench.pieces[*other].name
            ))
            .advise("`unseat` puts together what the CPU sees of them"));
        }
    }
    if let (true, [(one, _), (other, _), ..]) = (lanes, &seated[..]) {
        return Err(Stop::trouble(format!(
            "{} and {} are chips of different boards, not lanes of one bus",
            bench.pieces[*one].name, bench.pieces[*other].name
        ))
        .advise("`unseat --on` with the chips of one board puts together what its CPU sees"));
    }
    Ok(())
}

/// A bank without a program, or two with the same one, is mostly a mistake in a list of files.
fn warn_of_odd_banks(bench: &Bench, banks: &[Piece]) {
    let warn = |text: String| bench.console.say(MessageKind::Warning, &text);
    let has_data = |piece: &Piece| {
        let runs = piece.image().origins().runs();
        runs.iter().any(|run| !run.source.is_filler())
    };
    for (i, bank) in banks.iter().enumerate() {
        if !has_data(bank) {
            warn(format!("{} is empty: is a file missing?", bank.name));
            continue;
        }
        let twin = banks[..i].iter().find(|other| same_program(other, bank));
        if let Some(twin) = twin {
            let (a, b) = (&twin.name, &bank.name);
            warn(format!(
                "{a} and {b} have the same bytes: is one of them the wrong file?"
            ));
        }
    }
}

/// Whether two pieces have the same bytes, each counted from where it begins.
fn same_program(a: &Piece, b: &Piece) -> bool {
    let start = |piece: &Piece| piece.image().extent().map_or(0, |e| e.first());
    let (from_a, from_b) = (start(a), start(b));
    let spans = |piece: &Piece| piece.image().spans().len();
    spans(a) == spans(b)
        && a.image()
            .spans()
            .iter()
            .zip(b.image().spans())
            .all(|(x, y)| x.start() - from_a == y.start() - from_b && x.bytes() == y.bytes())
}

fn warn_if_backwards(bench: &Bench, pieces: &[Piece]) {
    let names: Vec<&str> = pieces.iter().map(|piece| &*piece.name).collect();
    if let Some(odd) = backwards(&names, None) {
        bench.console.say(MessageKind::Warning, &odd);
    }
}
