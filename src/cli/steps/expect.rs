//! `expect`: stop unless something is true.

use clap::{Args, Subcommand};

use super::Step;
use super::common::{Banks, Extent, On, extent, place_of};
use super::named::within;
use crate::cli::bench::{Argument, Bench, Blame, Stop, argument};
use crate::cli::report::plural;
use crate::image::{AddressRange, Image, Order, OutOfSpace};
use crate::parts::Catalogue;
use crate::sums::Algo;
use crate::values::{InSpace, Place};
use crate::{ops, prose, values};

/// Stop with exit code 1, nothing written, unless this is true
#[derive(Args, Debug)]
pub struct ExpectArgs {
    #[command(subcommand)]
    what: Expectation,
}

#[derive(Subcommand, Debug)]
enum Expectation {
    /// The range has only holes and the erased value
    Blank {
        /// FIRST-LAST or START+LENGTH
        #[arg(value_name = "RANGE", value_parser = values::addresses)]
        range: InSpace<AddressRange>,
        /// The erased value
        #[arg(long, value_name = "BYTE", default_value = "FF", value_parser = values::byte)]
        erased: u8,
        #[command(flatten)]
        banks: Banks,
        #[command(flatten)]
        on: On,
    },
    /// These bytes are at this address
    Bytes {
        /// Address of the first byte
        #[arg(value_name = "ADDR", value_parser = values::address)]
        address: InSpace<u64>,
        /// The bytes: EA EA or text:HELLO
        #[arg(value_name = "BYTES", value_parser = values::bytes)]
        bytes: ::std::vec::Vec<u8>,
        #[command(flatten)]
        banks: Banks,
        #[command(flatten)]
        on: On,
    },
    /// The sum has this value
    Sum {
        /// The sum: sum16, internet, crc32, sha256, ... (see `romloom help sums`)
        #[arg(value_name = "ALGO")]
        algo: Algo,
        /// Its value in hex, in the form that `digest` and programmers show
        #[arg(value_name = "HEX")]
        value: String,
        /// Range to sum over [default: the whole image]
        #[arg(long, value_name = "RANGE", value_parser = values::addresses)]
        across: Vec<InSpace<AddressRange>>,
        #[command(flatten)]
        banks: Banks,
        #[command(flatten)]
        on: On,
    },
    /// From the first byte to the last it is this long
    Size {
        /// Size in bytes, such as 32K
        #[arg(value_name = "SIZE", value_parser = extent)]
        size: Extent,
        #[command(flatten)]
        on: On,
    },
    /// There is no hole between the first byte and the last
    Full {
        #[command(flatten)]
        on: On,
    },
    /// The vector at this address points into this range
    Pointer {
        /// Address of the vector
        #[arg(value_name = "ADDR", value_parser = values::address)]
        address: InSpace<u64>,
        /// Where it must point
        #[arg(long = "in", value_name = "RANGE", value_parser = values::range)]
        range: AddressRange,
        /// Bytes of the vector
        #[arg(long, value_name = "2|3|4", default_value_t = 2, value_parser = within(2..=4))]
        bytes: u8,
        /// Its byte order
        #[arg(long, value_enum, default_value = "little")]
        order: Order,
        #[command(flatten)]
        banks: Banks,
        #[command(flatten)]
        on: On,
    },
}

impl Step for ExpectArgs {
    const NAME: &'static str = "expect";
    const ABOUT: &'static str = "stop, with nothing written, unless something is true";
    const SENTENCE: &'static str =
        "Goes on only if something is true; otherwise nothing is written.";
    const HELP: &'static str = "\
Exit code 1 means that the check said no, 2 that something else went wrong. When it says no, no file of \
the run is put in place. With addresses such as bank:0x4004, or --bank-size, it \
must be true of each bank of a switched chip. A vector that is filler points nowhere.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + expect pointer 0xFFFC --in 0xE000-0xFFDF + expect full
? 1
error: expect: 0xE526-0xFFF9 is a hole
  |
3 | expect full
  | ^^^^^^
  |
  = help: `fill` closes it
";

    fn sentence(&self) -> Option<&'static str> {
        Some(match &self.what {
            Expectation::Blank { .. } => {
                "Goes on only if this range has nothing but holes and the erased value; otherwise nothing is written."
            }
            Expectation::Bytes { .. } => {
                "Goes on only if these bytes are at this address; otherwise nothing is written."
            }
            Expectation::Sum { .. } => {
                "Goes on only if the sum has this value; otherwise nothing is written."
            }
            Expectation::Size { .. } => {
                "Goes on only if the image is this long; otherwise nothing is written."
            }
            Expectation::Full { .. } => {
                "Goes on only if the image has no hole; otherwise nothing is written."
            }
            Expectation::Pointer { .. } => {
                "Goes on only if the pointer at this address leads to data in this range; otherwise nothing is written."
            }
        })
    }

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        if let Expectation::Sum { algo, value, .. } = &self.what {
            hex_value(*algo, value).map_err(|e| e.at(argument!(value)))?;
        }
        if let Expectation::Size { size, .. } = &self.what {
            size.bytes(parts).blame(argument!(size))?;
        }
        self.what.banks().map_or(Ok(()), |banks| banks.check(parts))
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let place = self.what.place()?;
        let names = &self.what.on().only;
        if let (Expectation::Pointer { address, .. }, Place::Own) = (&self.what, &place) {
            refuse_single_lane(bench, names).blame(argument!(address))?;
        }
        let parts = bench.parts.clone();
        let seated = bench.pieces.iter().any(|piece| piece.seat().is_some());
        let on_board = seated && place != Place::Own;
        let ranges = self.what.looked_at()?;
        let ranges = ranges.as_deref().filter(|_| {
            let banks = self.what.banks();
            banks.is_none_or(|banks| banks.size.is_none())
        });
        let shown = bench.view(&place, ranges, names, |image, piece, _| {
            let offsets = match self.what.banks() {
                None => vec![0],
                Some(banks) => banks.offsets(&parts, image, &place, self.what.ranges()?)?,
            };
            for offset in offsets {
                let holds = self.what.holds(image, &parts, offset, on_board);
                holds.map_err(|no| match piece.bank {
                    Some(bank) => no.about(&format!("bank {bank}")),
                    None => no,
                })?;
            }
            Ok(())
        });
        shown.blame(self.what.subject())
    }
}

/// A lane of a wide bus has only some bytes of each vector.
fn refuse_single_lane(bench: &Bench, names: &[String]) -> Result<(), Stop> {
    for i in bench.chosen(names)? {
        let piece = &bench.pieces[i];
        if piece.seat().is_some_and(|seat| seat.store().lanes() > 1) {
            return Err(Stop::trouble(format!(
                "{} is one lane of a wide bus and has only some bytes of a vector",
                piece.name
            ))
            .advise("write the vector's CPU address, with cpu: before it"));
        }
    }
    Ok(())
}

impl Expectation {
    fn on(&self) -> &On {
        match self {
            Expectation::Blank { on, .. }
            | Expectation::Bytes { on, .. }
            | Expectation::Sum { on, .. }
            | Expectation::Size { on, .. }
            | Expectation::Full { on }
            | Expectation::Pointer { on, .. } => on,
        }
    }

    fn banks(&self) -> Option<&Banks> {
        match self {
            Expectation::Blank { banks, .. }
            | Expectation::Bytes { banks, .. }
            | Expectation::Sum { banks, .. }
            | Expectation::Pointer { banks, .. } => Some(banks),
            Expectation::Size { .. } | Expectation::Full { .. } => None,
        }
    }

    /// The argument that says what is looked at.
    fn subject(&self) -> Argument {
        match self {
            Expectation::Blank { range, .. } => argument!(range),
            Expectation::Bytes { address, .. } | Expectation::Pointer { address, .. } => {
                argument!(address)
            }
            Expectation::Sum { across, .. } => argument!(across),
            Expectation::Size { size, .. } => argument!(size),
            Expectation::Full { on } => argument!(on.only),
        }
    }

    /// The addresses it looks at, each with its argument.
    fn ranges(&self) -> Result<Vec<(AddressRange, Argument)>, Stop> {
        let from = |address: u64, len: usize| {
            let range = AddressRange::from_len(address, len as u64);
            range.map(|r| vec![(r, self.subject())]).ok_or(OutOfSpace)
        };
        match self {
            Expectation::Blank { range, .. } => Ok(vec![(range.value, argument!(range))]),
            Expectation::Bytes { address, bytes, .. } => {
                from(address.value, bytes.len()).blame(argument!(address))
            }
            Expectation::Pointer { address, bytes, .. } => {
                from(address.value, (*bytes).into()).blame(argument!(address))
            }
            Expectation::Sum { across, banks, .. } => match (&across[..], &banks.size) {
                ([], Some(_)) => Err(Stop::trouble("--bank-size needs --across")
                    .advise("say which addresses of the first bank are summed")
                    .at(argument!(banks.size))),
                _ => {
                    let ranges = across.iter().enumerate();
                    Ok(ranges
                        .map(|(i, r)| (r.value, argument!(across[i])))
                        .collect())
                }
            },
            Expectation::Size { .. } | Expectation::Full { .. } => Ok(Vec::new()),
        }
    }

    fn place(&self) -> Result<Place, Stop> {
        match self {
            Expectation::Blank { range, .. } => Ok(range.place.clone()),
            Expectation::Bytes { address, .. } | Expectation::Pointer { address, .. } => {
                Ok(address.place.clone())
            }
            Expectation::Sum { across, .. } => {
                let ranges = across.iter().enumerate();
                place_of(ranges.map(|(i, r)| (&r.place, argument!(across[i]))))
            }
            Expectation::Size { .. } | Expectation::Full { .. } => Ok(Place::Own),
        }
    }

    /// The addresses that are looked at, where that is not everything.
    fn looked_at(&self) -> Result<Option<Vec<AddressRange>>, Stop> {
        let ranges: Vec<AddressRange> = self.ranges()?.into_iter().map(|(r, _)| r).collect();
        Ok(match self {
            Expectation::Size { .. } | Expectation::Full { .. } => None,
            Expectation::Sum { across, .. } if across.is_empty() => None,
            _ => Some(ranges),
        })
    }

    /// Stops unless all is as expected in the bank that begins at `offset`. `on_board`: in the addresses of a board's bus.
    fn holds(
        &self,
        image: &Image,
        parts: &Catalogue,
        offset: u64,
        on_board: bool,
    ) -> Result<(), Stop> {
        // Each of these is in the first bank, or the offset is 0.
        let moved = |range: AddressRange| {
            AddressRange::from_len(range.first().saturating_add(offset), range.len())
                .ok_or(Stop::from(OutOfSpace))
        };
        let no = |fact: String, argument: Argument| Err(Stop::said_no(fact).at(argument));
        match self {
            Expectation::Blank {
                range: given,
                erased,
                ..
            } => {
                let range = moved(given.value)?;
                let Some((at, byte)) = ops::blank(image, range, *erased) else {
                    return Ok(());
                };
                let origin = image
                    .origin_at(at)
                    .map_or(String::new(), |o| format!(" ({o})"));
                let fact = format!("{range} is not blank: 0x{at:04X} holds {byte:02X}{origin}");
                no(fact, self.subject())
            }
            Expectation::Bytes { address, bytes, .. } => {
                let at = address.value.saturating_add(offset);
                let Some(found) = ops::bytes_at(image, at, bytes) else {
                    return Ok(());
                };
                let (found, wanted) = (prose::holds(&found), prose::hex(bytes));
                let fact = format!("0x{at:04X} {found}, expected {wanted}");
                no(fact, argument!(bytes))
            }
            Expectation::Sum {
                algo,
                value,
                across,
                ..
            } => {
                let ranges: Vec<AddressRange> = across
                    .iter()
                    .map(|r| moved(r.value))
                    .collect::<Result<_, _>>()?;
                let sum = ops::sum_over(image, *algo, &ranges)
                    .map_err(|error| no_for_holes(error, on_board))?;
                let wanted = hex_value(*algo, value)?;
                match sum.to_bytes(Order::Big) == wanted {
                    true => Ok(()),
                    false => {
                        let fact = format!("{algo} is {sum}, expected {}", value.trim());
                        no(fact, argument!(value))
                    }
                }
            }
            Expectation::Size { size, .. } => {
                let wanted = size.bytes(parts)?;
                let is = image.extent().map_or(0, AddressRange::len);
                let (long, expected) = (plural(is, "byte"), plural(wanted, "byte"));
                match is == wanted {
                    true => Ok(()),
                    false => no(
                        format!("the image is {long} long, expected {expected}"),
                        argument!(size),
                    ),
                }
            }
            Expectation::Full { .. } => match ops::full(image)? {
                None => Ok(()),
                Some(hole) => {
                    Err(Stop::said_no(format!("{hole} is a hole")).advise("`fill` closes it"))
                }
            },
            Expectation::Pointer {
                address,
                range,
                bytes,
                order,
                ..
            } => {
                let at = address.value.saturating_add(offset);
                let vector = ops::Pointer {
                    address: at,
                    width: (*bytes).into(),
                    order: *order,
                };
                let to =
                    ops::pointer(image, vector).map_err(|error| no_for_holes(error, on_board))?;
                let last = at.saturating_add(u64::from(*bytes) - 1);
                let is_filler = |at| {
                    let origin = image.origin_at(at);
                    origin.is_some_and(|origin| origin.source.is_filler())
                };
                match range.contains(to) {
                    true if (at..=last).all(is_filler) => no(
                        format!("the vector at 0x{at:04X} is filler: nothing was loaded there"),
                        argument!(address),
                    ),
                    true => Ok(()),
                    false => {
                        let fact = format!(
                            "the vector at 0x{at:04X} points to 0x{to:04X}, which is not in {range}"
                        );
                        no(fact, argument!(range))
                    }
                }
            }
        }
    }
}

/// Missing bytes are an answer: the check says no. On a board no step can put bytes where nothing answers.
fn no_for_holes(error: ops::OpError, on_board: bool) -> Stop {
    match error {
        ops::OpError::Hole { .. } if on_board => Stop::from(error)
            .into_no()
            .advise("`show` says where the chips are seen"),
        ops::OpError::Hole { .. } => Stop::from(error).into_no(),
        other => other.into(),
    }
}

/// A sum copied from a screen: hex, with or without `0x`; leading zeros are optional, except for digests.
fn hex_value(algo: Algo, text: &str) -> Result<Vec<u8>, Stop> {
    let text = text.trim();
    let digits = text
        .strip_prefix("0x")
        .or(text.strip_prefix("0X"))
        .unwrap_or(text);
    let width = algo.bytes() * 2;
    let wrong = || {
        let zeros = if algo.is_digest() {
            "exactly"
        } else {
            "at most"
        };
        Stop::trouble(format!("`{text}` is not a value of {algo}"))
            .advise(format!("write it in hex, {zeros} {width} digits"))
    };
    if digits.is_empty() || digits.len() > width || (algo.is_digest() && digits.len() < width) {
        return Err(wrong());
    }
    values::pairs(&format!("{digits:0>width$}")).ok_or_else(wrong)
}
