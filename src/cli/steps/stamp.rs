//! `stamp`: compute a sum and store it.

use clap::Args;

use super::Step;
use super::common::{Banks, On, over_data, place_of};
use super::named::within;
use crate::cli::bench::{
    Argument, Bench, Blame, Console, MessageKind, PieceInBank, Stop, Stored, argument,
};
use crate::cli::report::plural;
use crate::image::{AddressRange, Image, Order, Source};
use crate::ops::{self, OpError};
use crate::parts::Catalogue;
use crate::sums::{Algo, Complement, Sum, SumError, UnknownAlgo};
use crate::values;
use crate::values::InSpace;

/// Compute a sum over ranges and store it
#[derive(Args, Debug)]
pub struct StampArgs {
    /// The sum: sum16, carry8, internet, adler32, crc32, crc-16/xmodem, sha256, ... (see `romloom help sums`), or
    /// bank-number
    #[arg(value_name = "ALGO", value_parser = stored)]
    algo: Stores,
    /// Range to sum over; several are summed in the order given
    #[arg(long, value_name = "RANGE", value_parser = values::addresses)]
    across: Vec<InSpace<AddressRange>>,
    /// Where to store it
    #[arg(long, value_name = "ADDR", value_parser = values::address)]
    at: InSpace<u64>,
    /// Byte order of the stored number [default: little; for word sums that of their words]
    #[arg(long, value_enum)]
    order: Option<Order>,
    /// Store this complement of the sum instead
    #[arg(long, value_enum, conflicts_with = "zero_sum")]
    complement: Option<Complement>,
    /// Store what makes the whole range, stamp included, sum to 0
    #[arg(long)]
    zero_sum: bool,
    /// With --zero-sum: sum to this value instead of 0
    #[arg(long, value_name = "N", value_parser = values::number, requires = "zero_sum")]
    target: Option<u64>,
    /// Initial value of the sum
    #[arg(long, value_name = "N", value_parser = values::number)]
    init: Option<u64>,
    /// bank-number: bytes that it takes
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = within(1..=4))]
    bytes: u8,
    /// What the stamp's place counts as while summing, or [ADDR=]BYTES for another place
    #[arg(long, value_name = "[ADDR=]BYTES", value_parser = blank)]
    blank_as: Option<ops::Blank>,
    /// Allow the stamp to replace loaded data
    #[arg(long)]
    replace: bool,
    #[command(flatten)]
    banks: Banks,
    #[command(flatten)]
    on: On,
}

/// What is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stores {
    Sum(Algo),
    BankNumber,
}

fn stored(text: &str) -> Result<Stores, UnknownAlgo> {
    match text {
        "bank-number" => Ok(Stores::BankNumber),
        _ => text.parse().map(Stores::Sum),
    }
}

fn blank(text: &str) -> Result<ops::Blank, values::BadValue> {
    let (address, bytes) = match text.split_once('=') {
        Some((address, bytes)) => (Some(values::number(address)?), bytes),
        None => (None, text),
    };
    Ok(ops::Blank {
        address,
        bytes: values::bytes(bytes)?,
    })
}

impl Step for StampArgs {
    const NAME: &'static str = "stamp";
    const ABOUT: &'static str = "compute a sum over ranges and store it";
    const SENTENCE: &'static str = "Computes a sum and stores it.";
    const HELP: &'static str = "\
A number is stored low byte first unless --order says big; sum16be, sum32be and internet are stored high byte \
first. RFC 1071 stores the ones' complement of internet: use --complement ones. RFC 1950 stores adler32 with --order \
big. The stamped place, if inside the range, counts as zeros, or as what --blank-as says; if a sum is stored beside its own \
complement, the four bytes count as FF FF 00 00. A hole in the range is an error that names it. Loaded data is replaced \
only with --replace; filler and holes always are. With addresses such as bank:0x4004, or --bank-size, each bank of a \
switched chip gets a stamp of its own. `write` and `sheet` warn of a stored sum that a later step has made wrong; \
after `split`, `swap` and `rewire` nothing is known of it.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + stamp sum16 --across 0-0x7FF7 --across 0x7FFA-0x7FFF --at 0x7FF8 --replace + show hex 0x7FF0-0x7FFF
note: chip: sum16 is 4FC7, stored at 0x7FF8-0x7FF9
chip
7FF0 > 00 00 00 00 . 00 00 00 00 . C7 4F 53 E3 . 15 E0 6B E3 < 7FFF  chip.bin
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        match self.algo {
            Stores::Sum(_) if self.across.is_empty() => {
                return Err(
                    Stop::trouble("nothing says what is summed").advise("add --across RANGE")
                );
            }
            Stores::BankNumber if !self.across.is_empty() => {
                return Err(
                    Stop::trouble("bank-number is not a sum, so it has no range")
                        .advise("leave --across out")
                        .at(argument!(self.across)),
                );
            }
            Stores::BankNumber if !self.at.place.has_banks() && self.banks.size.is_none() => {
                return Err(Stop::trouble("nothing says which banks get their numbers")
                    .advise(format!("write --at bank:0x{:04X}", self.at.value))
                    .at(argument!(self.at)));
            }
            _ => {}
        }
        self.banks.check(parts)
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let algo = match self.algo {
            Stores::Sum(algo) => algo,
            Stores::BankNumber => return self.number_banks(bench),
        };
        let across = self.across.iter().enumerate();
        let places = across.map(|(i, r)| (&r.place, argument!(self.across[i])));
        let place = place_of(places.chain([(&self.at.place, argument!(self.at))]))?;
        let parts = bench.parts.clone();
        let mut made = Vec::new();
        let ranges = self.at(algo, 0)?.ranges();
        let whole = self.banks.size.is_some();
        let ranges = Some(&ranges[..]).filter(|_| !whole);
        let worked = bench.edit_each(&place, ranges, &self.on.only, |image, shown, console| {
            let stored_at = self.at(algo, 0)?.place().map_err(|e| self.blamed(e))?;
            let across = self.across.iter().enumerate();
            let ranges = across
                .map(|(i, r)| (r.value, argument!(self.across[i])))
                .chain([(stored_at, argument!(self.at))]);
            let mut stamps = Vec::new();
            for offset in self.banks.offsets(&parts, image, &place, ranges)? {
                // The banks don't overlap: what is stored in one changes no other's sum.
                let stamp = self.at(algo, offset)?;
                let bytes = self.made(&stamp, image, shown, console)?;
                stamps.push((stamp, bytes));
            }
            let at = |(stamp, bytes): &(ops::Stamp, Vec<u8>)| Ok((stamp.place()?, bytes.clone()));
            let stored: Result<Vec<_>, OpError> = stamps.iter().map(at).collect();
            let stored = stored?
                .into_iter()
                .map(|(place, bytes)| (place.first(), bytes));
            image.put_all(stored, Source::Stamp(algo.name().into()))?;
            for (stamp, _) in &stamps {
                self.tell_if_same_of_all(stamp, image, shown, console);
            }
            made.push(
                stamps
                    .into_iter()
                    .map(|(stamp, bytes)| Stored::new(stamp, bytes))
                    .collect(),
            );
            Ok(())
        });
        let worked = worked.blame(argument!(self.at))?;
        bench.stamped(worked.into_iter().zip(made).collect());
        Ok(())
    }
}

impl StampArgs {
    /// Stores in each bank its own number.
    fn number_banks(&self, bench: &mut Bench) -> Result<(), Stop> {
        let (at, over) = (self.at.value, over_data(self.replace));
        let order = self.order.unwrap_or(Order::Little);
        let stored = |image: &Image, at: u64, bank: u64| {
            let stored = ops::stored_number(image, at, bank, self.bytes, order, over);
            stored.map(|bytes| (at, bytes)).map_err(|error| {
                let argument = match error {
                    OpError::NumberTooLarge { .. } => argument!(self.bytes),
                    _ => argument!(self.at),
                };
                Stop::from(error).at(argument)
            })
        };
        let range = AddressRange::from_len(at, self.bytes.into());
        let ranges: Vec<AddressRange> = range.into_iter().collect();
        let size = self.banks.size.as_ref();
        let size = size.map(|size| size.bytes(&bench.parts)).transpose()?;
        let parts = bench.parts.clone();
        let mut count = 0u64;
        let looked_at = Some(&ranges[..]).filter(|_| size.is_none());
        let place = &self.at.place;
        let edited = bench.edit(place, looked_at, &self.on.only, |image, shown, _| {
            let numbers = match size {
                None => vec![stored(image, at, shown.bank.unwrap_or_default())?],
                Some(size) => {
                    let own = ranges.iter().map(|range| (*range, argument!(self.at)));
                    let offsets = self.banks.offsets(&parts, image, place, own)?;
                    let each = offsets.into_iter();
                    let each = each.map(|offset| stored(image, at + offset, offset / size));
                    each.collect::<Result<Vec<_>, Stop>>()?
                }
            };
            count += numbers.len() as u64;
            image.put_all(numbers, Source::Stamp("bank-number".into()))?;
            Ok(())
        });
        edited.blame(argument!(self.at))?;
        let banks = plural(count, "bank");
        let text = format!("{banks} numbered, each at 0x{at:04X}");
        bench.console.say(MessageKind::Note, &text);
        Ok(())
    }

    /// The error, with the option that it is about.
    fn blamed(&self, error: OpError) -> Stop {
        let argument = match &error {
            OpError::Hole { hole, .. } => self.range_at(hole.first()),
            OpError::NoRange => argument!(self.across),
            OpError::BalanceBlank { .. } => argument!(self.blank_as),
            OpError::Sum(SumError::NoInitialValue { .. }) => argument!(self.init),
            OpError::Sum(SumError::TooLarge { value, .. }) => match self.init {
                Some(init) if u128::from(init) == *value => argument!(self.init),
                _ => argument!(self.target),
            },
            OpError::Sum(SumError::OtherOrder { .. }) => argument!(self.order),
            OpError::Sum(SumError::NoBalance { .. }) => argument!(self.zero_sum),
            OpError::Sum(SumError::PartWord { .. }) => argument!(self.across),
            OpError::Sum(SumError::NoComplement { .. }) => argument!(self.complement),
            OpError::Sum(_) => argument!(self.algo),
            _ => argument!(self.at),
        };
        Stop::from(error).at(argument)
    }

    /// The range that contains an address, in the form that was given.
    fn range_at(&self, address: u64) -> Argument {
        let ranges = self.across.iter();
        let value = ranges
            .map(|reach| reach.value)
            .position(|range| range.contains(address));
        argument!(self.across[value.unwrap_or_default()])
    }

    /// The stamp of the bank that begins at `offset`.
    fn at(&self, algo: Algo, offset: u64) -> Result<ops::Stamp, Stop> {
        let out_of_space = || Stop::from(crate::image::OutOfSpace);
        let moved = |address: u64| address.checked_add(offset).ok_or_else(out_of_space);
        let mut across = Vec::new();
        for reach in &self.across {
            let range = AddressRange::from_len(moved(reach.value.first())?, reach.value.len());
            across.push(range.ok_or_else(out_of_space)?);
        }
        let mut stamp = ops::Stamp::new(algo, across, moved(self.at.value)?);
        stamp.order = self.order;
        stamp.complement = self.complement;
        stamp.balance_to = (self.zero_sum).then(|| self.target.unwrap_or(0).into());
        stamp.init = self.init.map(Into::into);
        stamp.blank = self.blank_as.clone();
        if let Some(address) = stamp.blank.as_mut().and_then(|b| b.address.as_mut()) {
            *address = moved(*address)?;
        }
        stamp.over = over_data(self.replace);
        Ok(stamp)
    }

    /// Makes a sum, and tells it.
    fn made(
        &self,
        stamp: &ops::Stamp,
        image: &Image,
        shown: &PieceInBank,
        console: &Console,
    ) -> Result<Vec<u8>, Stop> {
        let name = name_of(shown);
        let balanced = self.zero_sum.then(|| self.target.unwrap_or(0));
        let (sum, bytes) = stamp.made(image).map_err(|e| self.blamed(e))?;
        let place = stamp.place()?;
        let stored: Vec<String> = bytes.iter().map(|b| format!("{b:02X}")).collect();
        let stored = stored.join(" ");
        let note = match (balanced, self.complement) {
            (Some(target), _) => {
                format!(
                    "{name}: {stored} stored at {place} makes {} {target:X}",
                    stamp.algo()
                )
            }
            (None, Some(_)) => format!(
                "{name}: {} is {sum}, its complement stored at {place} as {stored}",
                stamp.algo()
            ),
            (None, None) => format!("{name}: {} is {sum}, stored at {place}", stamp.algo()),
        };
        console.say(MessageKind::Note, &note);
        Ok(bytes)
    }

    fn tell_if_same_of_all(
        &self,
        stamp: &ops::Stamp,
        image: &Image,
        shown: &PieceInBank,
        console: &Console,
    ) {
        let name = name_of(shown);
        if let Some(same) = same_of_all(stamp, image) {
            let text = format!(
                "{name}: with this sum at its end, the {} of the whole is {same}, like that of every such image, so it can't tell chips \
                 apart: compare sum16 or sum32",
                stamp.algo()
            );
            console.say(MessageKind::Note, &text);
        }
    }
}

/// What is stamped, with the bank where there is one.
fn name_of(shown: &PieceInBank) -> String {
    match shown.bank {
        Some(bank) => format!("{} bank {bank}", shown.name),
        None => shown.name.to_owned(),
    }
}

/// The CRC of the whole image, where that is the same for every image because it ends in its own CRC.
fn same_of_all(stamp: &ops::Stamp, image: &Image) -> Option<Sum> {
    let residue = stamp.algo().residue()?;
    let (whole, place) = (image.extent()?, stamp.place().ok()?);
    if whole.last() != place.last() {
        return None;
    }
    let sum = stamp.algo().sum(image.contiguous(whole).ok()?).ok()?;
    (sum.value() == Some(residue)).then_some(sum)
}
