//! Sums stored in the image.

use super::copy::data_at;
use super::{OpError, OverData};
use crate::image::{AddressRange, Image, OutOfSpace, Source};
use crate::sums::{Algo, Complement, Order, Sum, Summing, balance};

/// What a place counts as while the sum is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blank {
    /// First address of the place; `None` for the stamp's own.
    pub address: Option<u64>,
    /// The bytes that count there; the last of them repeats over the rest of the stamp's place.
    pub bytes: Vec<u8>,
}

/// Whether a stored sum still fits the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fit {
    /// It is what would be stored.
    Fits,
    /// What it was made of has changed; its place has not.
    Stale(AddressRange),
    /// Something else is in its place.
    Replaced,
    /// There is a hole in its place or in a range.
    Hollow,
}

/// A sum to be made and stored.
#[derive(Clone, Debug)]
pub struct Stamp {
    algo: Algo,
    across: Vec<AddressRange>,
    at: u64,
    /// Byte order of the stored number; `None` for the algorithm's own, or low byte first.
    pub order: Option<Order>,
    /// Store the complement of the sum instead.
    pub complement: Option<Complement>,
    /// Store what makes the whole range, stamp included, sum to this value.
    pub balance_to: Option<u128>,
    /// Initial value of the sum; `None` for the algorithm's own.
    pub init: Option<u128>,
    /// What the stamp's place counts as; zeros if nothing is said.
    pub blank: Option<Blank>,
    /// Whether the stamp may replace loaded data.
    pub over: OverData,
}

impl Stamp {
    /// The sum `algo` over the ranges, in the order given, to be stored at `at`.
    pub fn new(algo: Algo, across: Vec<AddressRange>, at: u64) -> Self {
        Self {
            algo,
            across,
            at,
            order: None,
            complement: None,
            balance_to: None,
            init: None,
            blank: None,
            over: OverData::Refuse,
        }
    }

    /// All its addresses: what is summed, where it is stored, and every place that counts as other bytes.
    pub fn ranges(&self) -> Vec<AddressRange> {
        let mut ranges = self.across.clone();
        ranges.extend(self.place());
        let blank = self.blank.as_ref();
        let other = blank.and_then(|b| AddressRange::from_len(b.address?, b.bytes.len() as u64));
        ranges.extend(other);
        ranges
    }

    /// The stamp's place.
    ///
    /// # Errors
    /// [`OpError::OutOfSpace`].
    pub fn place(&self) -> Result<AddressRange, OpError> {
        Ok(AddressRange::from_len(self.at, self.algo.bytes() as u64).ok_or(OutOfSpace)?)
    }

    /// Makes the sum and stores it. Returns the sum as computed, before complement and balance.
    ///
    /// # Errors
    /// A hole in a range, loaded data in the stamp's place, or a sum that can't be made this way.
    pub fn put(&self, image: &mut Image) -> Result<Sum, OpError> {
        let (sum, bytes) = self.made(image)?;
        image.put(self.at, bytes, self.source())?;
        Ok(sum)
    }

    /// Where the bytes come from that it stores.
    pub fn source(&self) -> Source {
        Source::Stamp(self.algo.name().into())
    }

    /// Makes the sum, and the bytes that [`put`](Self::put) would store, for a caller that stores many in one sweep.
    ///
    /// # Errors
    /// As `put`.
    pub fn made(&self, image: &Image) -> Result<(Sum, Vec<u8>), OpError> {
        let place = self.place()?;
        if self.across.is_empty() {
            return Err(OpError::NoRange);
        }
        if self.over == OverData::Refuse {
            let own = |source: &Source| matches!(source, Source::Stamp(_));
            if let Some(origin) = data_at(image, place, own) {
                return Err(OpError::StampOverData { place, origin });
            }
        }
        self.made_of(image, place)
    }

    /// Whether `stored`, the bytes that [`put`](Self::put) left in its place, are still right.
    pub fn fit(&self, image: &Image, stored: &[u8]) -> Fit {
        let Ok(place) = self.place() else {
            return Fit::Replaced;
        };
        match image.contiguous(place) {
            Err(_) => return Fit::Hollow,
            Ok(there) if there != stored => return Fit::Replaced,
            Ok(_) => {}
        }
        match self.made_of(image, place) {
            Ok((_, bytes)) if bytes == stored => Fit::Fits,
            Ok(_) => Fit::Stale(place),
            Err(_) => Fit::Hollow,
        }
    }

    /// The same sum after all bytes have moved by `delta` addresses; `None` when it would leave the address space.
    pub fn moved(&self, delta: i128) -> Option<Self> {
        let moved = |address: u64| u64::try_from(i128::from(address).checked_add(delta)?).ok();
        let mut stamp = self.clone();
        stamp.at = moved(self.at)?;
        for range in &mut stamp.across {
            *range = AddressRange::from_len(moved(range.first())?, range.len())?;
        }
        if let Some(address) = stamp
            .blank
            .as_mut()
            .and_then(|blank| blank.address.as_mut())
        {
            *address = moved(*address)?;
        }
        Some(stamp)
    }

    /// The algorithm.
    pub fn algo(&self) -> Algo {
        self.algo
    }

    /// The sum, and the bytes to be stored.
    fn made_of(&self, image: &Image, place: AddressRange) -> Result<(Sum, Vec<u8>), OpError> {
        let order = self.order.or(self.algo.order()).unwrap_or(Order::Little);
        if let Some(target) = self.balance_to {
            // First whether this kind of sum can be balanced at all, then where.
            balance(self.algo, &self.algo.start().finish()?, target, order)?;
            self.check_balance(place)?;
        }
        let mut summing = match self.init {
            Some(init) => self.algo.start_from(init)?,
            None => self.algo.start(),
        };
        let over = self.overlay(place)?;
        for range in &self.across {
            feed_with(&mut summing, image, *range, &over)?;
        }
        let sum = summing.finish()?;
        let bytes = match (self.balance_to, self.complement) {
            (Some(target), _) => balance(self.algo, &sum, target, order)?,
            (None, Some(complement)) => sum.complement(complement)?.to_bytes(order),
            (None, None) => sum.to_bytes(order),
        };
        Ok((sum, bytes))
    }

    /// The bytes that count for the stamp's place, and for the other places that `blank` names.
    fn overlay(&self, place: AddressRange) -> Result<Vec<(AddressRange, Vec<u8>)>, OpError> {
        let mut own = vec![0; place.len() as usize];
        let Some(blank) = self.blank.as_ref().filter(|b| !b.bytes.is_empty()) else {
            return Ok(vec![(place, own)]);
        };
        if let (None, Some(last)) = (blank.address, blank.bytes.last()) {
            own.fill(*last);
        }
        let start = blank.address.unwrap_or(self.at);
        let named = AddressRange::from_len(start, blank.bytes.len() as u64).ok_or(OutOfSpace)?;
        Ok(vec![(place, own), (named, blank.bytes.clone())])
    }

    /// Bytes chosen to balance a sum can do so only where the sum sees them: once, unchanged, and in whole words.
    fn check_balance(&self, place: AddressRange) -> Result<(), OpError> {
        let blanked = self.blank.as_ref().is_some_and(|blank| {
            let start = blank.address.unwrap_or(self.at);
            let range = AddressRange::from_len(start, blank.bytes.len() as u64);
            range.is_some_and(|range| range.overlap(place).is_some())
        });
        if blanked {
            return Err(OpError::BalanceBlank { place });
        }
        let word = self.algo.word() as u64;
        let mut before = 0u64;
        let mut over = None;
        for range in &self.across {
            if range.overlap(place).is_some() {
                if over.is_some() {
                    return Err(OpError::BalanceTwice { place });
                }
                if !range.covers(place) {
                    return Err(OpError::BalanceOutside { place });
                }
                // Only where a word begins matters, so an absurd total may wrap.
                over = Some(before.wrapping_add(place.first() - range.first()) % word);
            }
            before = before.wrapping_add(range.len());
        }
        match over {
            None => Err(OpError::BalanceOutside { place }),
            Some(0) => Ok(()),
            Some(_) => Err(OpError::BalanceAcrossWords {
                place,
                word: self.algo.word(),
            }),
        }
    }
}

/// Feeds `range` of the image, with the bytes of `over` instead of those it covers; later entries win.
fn feed_with(
    summing: &mut Summing,
    image: &Image,
    range: AddressRange,
    over: &[(AddressRange, Vec<u8>)],
) -> Result<(), OpError> {
    let mut at = range.first();
    while at <= range.last() {
        // Up to the end of one source of bytes: a replacement, or the image up to the next replacement.
        if let Some((place, bytes)) = over.iter().rev().find(|(place, _)| place.contains(at)) {
            summing.feed(&[bytes[(at - place.first()) as usize]]);
            at += 1;
            continue;
        }
        let next = over
            .iter()
            .map(|(place, _)| place.first())
            .filter(|first| *first > at)
            .min()
            .unwrap_or(u64::MAX);
        let Some(part) = AddressRange::new(at, range.last().min(next - 1)) else {
            break;
        };
        summing.feed(contiguous(image, part)?);
        at = part.last() + 1;
    }
    Ok(())
}

fn contiguous(image: &Image, range: AddressRange) -> Result<&[u8], OpError> {
    image.contiguous(range).map_err(|hole| OpError::Hole {
        hole,
        what: "a sum needs every byte",
    })
}

/// The sum over `ranges` in the order given, or over the whole image when there are none.
///
/// # Errors
/// [`OpError::Hole`], [`OpError::Empty`], [`OpError::Sum`].
pub fn sum_over(image: &Image, algo: Algo, ranges: &[AddressRange]) -> Result<Sum, OpError> {
    let all = [image.extent().ok_or(OpError::Empty)?];
    let mut summing = algo.start();
    for range in if ranges.is_empty() { &all } else { ranges } {
        summing.feed(contiguous(image, *range)?);
    }
    Ok(summing.finish()?)
}

/// A number, such as that of a bank, as it is stored in `bytes` bytes (1 to 8) at an address.
///
/// # Errors
/// [`OpError::NumberTooLarge`], [`OpError::StampOverData`], [`OpError::OutOfSpace`].
pub fn stored_number(
    image: &Image,
    at: u64,
    number: u64,
    bytes: u8,
    order: Order,
    over: OverData,
) -> Result<Vec<u8>, OpError> {
    let all = number.to_le_bytes();
    let (low, high) = all.split_at(usize::from(bytes).min(all.len()));
    if high.iter().any(|byte| *byte != 0) {
        return Err(OpError::NumberTooLarge { number, bytes });
    }
    let place = AddressRange::from_len(at, low.len() as u64).ok_or(OutOfSpace)?;
    if over == OverData::Refuse {
        let own = |source: &Source| matches!(source, Source::Stamp(_));
        if let Some(origin) = data_at(image, place, own) {
            return Err(OpError::StampOverData { place, origin });
        }
    }
    let mut stored = low.to_vec();
    if order == Order::Big {
        stored.reverse();
    }
    Ok(stored)
}

/// Puts a block into its place. Holes, filler and equal bytes are replaced; `bank` names the place in an error.
///
/// # Errors
/// [`OpError::SpreadOverData`].
pub fn put_block(
    image: &mut Image,
    block: &Image,
    bank: u64,
    over: OverData,
) -> Result<(), OpError> {
    if over == OverData::Refuse {
        super::copy::refuse_over_data(image, block, bank)?;
    }
    let merged = image.merge(block.clone(), crate::image::Clash::Last);
    merged.map_err(|overlap| OpError::Clash(Box::new(overlap)))
}
