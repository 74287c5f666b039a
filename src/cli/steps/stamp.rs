//! `stamp`: compute a sum and store it.

use clap::{Args, ValueEnum};

use super::Step;
use super::common::{Banks, On, Order, over_data, space_of};
use crate::cli::bench::{Argument, Bench, Blame, Console, Level, Stop, Stored, argument};
use crate::image::{AddressRange, Image};
use crate::ops::{self, OpError};
use crate::parts::Catalogue;
use crate::sums::{Algo, Complement, SumError};
use crate::values;
use crate::values::InSpace;

/// Compute a sum over ranges and store it
#[derive(Args, Debug)]
pub struct Stamp {
    /// The sum: sum16, carry8, internet, adler32, crc32, crc-16/xmodem, sha256, ... (see `romloom help sums`)
    #[arg(value_name = "ALGO")]
    algo: Algo,
    /// Range to sum over; several are summed in the order given
    #[arg(long, required = true, value_name = "RANGE", value_parser = values::addresses)]
    across: Vec<InSpace<AddressRange>>,
    /// Where to store it
    #[arg(long, value_name = "ADDR", value_parser = values::address)]
    at: InSpace<u64>,
    /// Byte order of the stored number; little, but for word sums that of their words
    #[arg(long, value_enum)]
    order: Option<Order>,
    /// Store the complement instead
    #[arg(long, value_enum, conflicts_with = "zero_sum")]
    complement: Option<How>,
    /// Store what makes the whole range, stamp included, sum to 0
    #[arg(long)]
    zero_sum: bool,
    /// With --zero-sum: sum to this value instead of 0
    #[arg(long, value_name = "N", value_parser = values::number, requires = "zero_sum")]
    target: Option<u64>,
    /// Initial value of the sum
    #[arg(long, value_name = "N", value_parser = values::number)]
    init: Option<u64>,
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

#[derive(ValueEnum, Debug, Clone, Copy)]
enum How {
    /// Every bit inverted
    Ones,
    /// Zero minus the sum
    Twos,
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

impl Step for Stamp {
    const NAME: &'static str = "stamp";
    const ABOUT: &'static str = "compute a sum over ranges and store it";
    const HELP: &'static str = "\
A number is stored low byte first unless --order says big; sum16be, sum32be and internet store theirs high byte \
first. RFC 1071 stores the ones' complement of internet, which --complement ones does, and RFC 1950 adler32 with --order \
big. The stamped place, when inside the range, counts as zeros, or as --blank-as says; a sum stored beside its own \
complement counts the four bytes as FF FF 00 00. A hole in the range is an error that names it. Loaded data is never \
stamped over without --replace; filler and holes are. With --banks each bank of a switched chip gets a stamp of its \
own. `write` and `sheet` warn of a stored sum that a step behind it has made wrong; behind `split`, `swap` and `rewire` \
nothing is known of it any more.";
    const EXAMPLE: &'static str = "\
$ romloom load chip.bin + stamp sum16 --across 0-0x7FF7 --across 0x7FFA-0x7FFF --at 0x7FF8 --replace + show hex 0x7FF0-0x7FFF
note: chip: sum16 is F48F, stored at 0x7FF8-0x7FF9
chip
7FF0 > 00 00 00 00 . 00 00 00 00 . 8F F4 F4 E2 . 15 E0 0C E3 < 7FFF  chip.bin
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        self.banks.check(parts)
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let across = self.across.iter().enumerate();
        let spaces = across.map(|(i, r)| (r.space, argument!(self.across[i])));
        let space = space_of(spaces.chain([(self.at.space, argument!(self.at))]))?;
        let parts = bench.parts.clone();
        let mut made = Vec::new();
        let groups = bench.edit_groups(space, &self.on.labels, |image, label, console| {
            let place = self.at(0)?.place().map_err(|e| self.blamed(e))?;
            let across = self.across.iter().enumerate();
            let ranges = across
                .map(|(i, r)| (r.value, argument!(self.across[i])))
                .chain([(place, argument!(self.at))]);
            let mut stamps = Vec::new();
            for offset in self.banks.offsets(&parts, image, space, ranges)? {
                let stamp = self.at(offset)?;
                let bytes = self.put(&stamp, image, label, console)?;
                stamps.push(Stored::new(stamp, bytes));
            }
            made.push((label.to_owned(), stamps));
            Ok(())
        });
        let groups = groups.blame(argument!(self.at))?;
        for (group, (label, stamps)) in groups.iter().zip(made) {
            for stored in stamps {
                bench.stamped(space, group, &label, stored);
            }
        }
        Ok(())
    }
}

impl Stamp {
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

    /// The range that an address lies in, as it was given.
    fn range_at(&self, address: u64) -> Argument {
        let ranges = self.across.iter();
        let value = ranges
            .map(|reach| reach.value)
            .position(|range| range.contains(address));
        argument!(self.across[value.unwrap_or_default()])
    }

    /// The stamp of the bank that begins at `offset`.
    fn at(&self, offset: u64) -> Result<ops::Stamp, Stop> {
        let out_of_space = || Stop::from(crate::image::OutOfSpace);
        let moved = |address: u64| address.checked_add(offset).ok_or_else(out_of_space);
        let mut across = Vec::new();
        for reach in &self.across {
            let range = AddressRange::from_len(moved(reach.value.first())?, reach.value.len());
            across.push(range.ok_or_else(out_of_space)?);
        }
        let mut stamp = ops::Stamp::new(self.algo, across, moved(self.at.value)?);
        stamp.order = self.order.map(Into::into);
        stamp.complement = self.complement.map(|c| match c {
            How::Ones => Complement::Ones,
            How::Twos => Complement::Twos,
        });
        stamp.balance_to = (self.zero_sum).then(|| self.target.unwrap_or(0).into());
        stamp.init = self.init.map(Into::into);
        stamp.blank = self.blank_as.clone();
        if let Some(address) = stamp.blank.as_mut().and_then(|b| b.address.as_mut()) {
            *address = moved(*address)?;
        }
        stamp.over = over_data(self.replace);
        Ok(stamp)
    }

    fn put(
        &self,
        stamp: &ops::Stamp,
        image: &mut Image,
        label: &str,
        console: &Console,
    ) -> Result<Vec<u8>, Stop> {
        let balanced = self.zero_sum.then(|| self.target.unwrap_or(0));
        let sum = stamp.put(image).map_err(|e| self.blamed(e))?;
        let place = stamp.place()?;
        let bytes = image.contiguous(place).unwrap_or(&[]).to_vec();
        let stored: Vec<String> = bytes.iter().map(|b| format!("{b:02X}")).collect();
        let stored = stored.join(" ");
        let note = match (balanced, self.complement) {
            (Some(target), _) => {
                format!(
                    "{label}: {stored} stored at {place} makes {} {target:X}",
                    self.algo
                )
            }
            (None, Some(_)) => format!(
                "{label}: {} is {sum}, its complement stored at {place} as {stored}",
                self.algo
            ),
            (None, None) => format!("{label}: {} is {sum}, stored at {place}", self.algo),
        };
        console.say(Level::Note, &note);
        Ok(bytes)
    }
}
