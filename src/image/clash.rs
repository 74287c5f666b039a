//! What to do where two sources want the same address.

use std::fmt;
use std::str::FromStr;

use super::span::join_touching;
use super::{AddressRange, Image, Origin, Origins, Source};
use crate::prose::{debug_as_display, shown};

/// What happens to bytes that two sources put at one address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Clash {
    /// Every overlap is an error.
    #[default]
    Refuse,
    /// Equal bytes may overlap; different ones are an error.
    Same,
    /// The bytes that came first stay.
    First,
    /// The bytes that came last replace them.
    Last,
}

impl Clash {
    /// Every way to settle it.
    pub const ALL: [Clash; 4] = [Clash::Refuse, Clash::Same, Clash::First, Clash::Last];

    /// Its name: `refuse`, `same`, `first` or `last`.
    pub fn name(self) -> &'static str {
        match self {
            Clash::Refuse => "refuse",
            Clash::Same => "same",
            Clash::First => "first",
            Clash::Last => "last",
        }
    }
}

impl fmt::Display for Clash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Clash {
    type Err = UnknownClash;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        let mut all = Self::ALL.into_iter();
        all.find(|clash| clash.name().eq_ignore_ascii_case(word))
            .ok_or_else(|| UnknownClash(word.to_owned()))
    }
}

/// A word that names no way to settle a clash.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a way to settle a clash: write refuse, same, first or last", shown(.0))]
pub struct UnknownClash(
    /// What was written.
    pub String,
);

debug_as_display!(UnknownClash);

/// Two sources at one address, with enough to name both.
#[derive(Clone, PartialEq, Eq)]
pub struct Overlap {
    /// The first address both want.
    pub address: u64,
    /// What came first, and its byte there.
    pub earlier: (Origin, u8),
    /// What came later, and its byte there.
    pub later: (Origin, u8),
    /// How many bytes overlap in all.
    pub count: u64,
    /// How many of these are equal on both sides.
    pub equal: u64,
    /// The first address where the two differ.
    pub differs_at: Option<u64>,
}

impl fmt::Display for Overlap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (earlier, old) = &self.earlier;
        let (later, new) = &self.later;
        write!(
            f,
            "0x{:04X} is wanted twice: {earlier} puts {old:02X} there, {later} puts {new:02X}; {} {}, ",
            self.address,
            self.count,
            if self.count == 1 {
                "byte overlaps"
            } else {
                "bytes overlap"
            },
        )?;
        match self.differs_at {
            None => write!(f, "equal on both sides"),
            Some(at) => write!(
                f,
                "{} of them different, the first at 0x{at:04X}",
                self.count - self.equal
            ),
        }
    }
}

impl std::error::Error for Overlap {}

debug_as_display!(Overlap);

/// Addresses where two sources say different things.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contest {
    /// From the first byte that differs to the last.
    pub range: AddressRange,
    /// What came first.
    pub earlier: Origin,
    /// What came later.
    pub later: Origin,
}

impl fmt::Display for Contest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {} and {} differ",
            self.range, self.earlier, self.later
        )
    }
}

/// Sorted by address, with no address named twice.
pub(super) fn in_order(mut contests: Vec<Contest>) -> Vec<Contest> {
    contests.sort_by_key(|c| c.range.first());
    let mut out: Vec<Contest> = Vec::new();
    for mut contest in contests {
        if let Some(before) = out
            .last()
            .filter(|b| b.range.last() >= contest.range.first())
        {
            let rest = AddressRange::new(before.range.last() + 1, contest.range.last());
            let Some(rest) = rest else { continue };
            contest.range = rest;
        }
        out.push(contest);
    }
    out
}

impl Overlap {
    /// Both as one: with the counts added, and the lower address.
    pub(super) fn and(self, other: Overlap) -> Overlap {
        let (count, equal) = (self.count + other.count, self.equal + other.equal);
        let differs_at = match (self.differs_at, other.differs_at) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        let lower = if other.address < self.address {
            other
        } else {
            self
        };
        Overlap {
            count,
            equal,
            differs_at,
            ..lower
        }
    }
}

impl Image {
    /// Two of these images that want the same address, by their numbers, the lower first: those that meet at the lowest address.
    /// `None` when each byte can be at its own.
    pub(crate) fn first_two_that_overlap(pieces: &[Image]) -> Option<(usize, usize)> {
        let spans = pieces.iter().enumerate();
        let spans = spans.flat_map(|(i, piece)| piece.spans.iter().map(move |s| (s.range(), i)));
        let mut owners: Vec<(AddressRange, usize)> = spans.collect();
        owners.sort_unstable();
        let mut pairs = owners.windows(2);
        let pair = pairs.find(|pair| pair[0].0.overlap(pair[1].0).is_some())?;
        let (one, other) = (pair[0].1, pair[1].1);
        Some((one.min(other), one.max(other)))
    }

    /// All images as one, each byte at its own address; takes near-linear time, however many they are.
    ///
    /// Entry points and headers are left out.
    ///
    /// # Errors
    /// The [`Overlap`] of the first two that want the same address.
    pub fn gather(pieces: Vec<Image>) -> Result<Image, Overlap> {
        let two = Self::first_two_that_overlap(&pieces);
        let overlap = two.and_then(|(one, other)| pieces[one].overlap_with(&pieces[other]));
        match overlap {
            Some(overlap) => Err(overlap),
            None => Ok(Self::gather_apart(pieces)),
        }
    }

    /// The same for images of which no two want the same address.
    pub(crate) fn gather_apart(pieces: Vec<Image>) -> Image {
        let mut spans = Vec::with_capacity(pieces.iter().map(|piece| piece.spans.len()).sum());
        let mut runs = Vec::with_capacity(pieces.iter().map(|p| p.origins.runs().len()).sum());
        for piece in pieces {
            spans.extend(piece.spans);
            runs.extend(piece.origins.into_runs());
        }
        spans.sort_unstable_by_key(|s| s.start);
        runs.sort_unstable_by_key(|r| r.range.first());
        Self::from_parts(join_touching(spans), Origins::from_sorted(runs))
    }

    /// Adds all bytes of `other`, which came later. Entry point and header of `self` stay.
    ///
    /// # Errors
    /// The [`Overlap`], where `clash` does not settle it; the image is unchanged then.
    pub fn merge(&mut self, mut other: Image, clash: Clash) -> Result<(), Overlap> {
        match clash {
            Clash::Refuse | Clash::Same => {
                if let Some(overlap) = self.overlap_with(&other) {
                    if clash == Clash::Refuse || overlap.equal < overlap.count {
                        return Err(overlap);
                    }
                }
                other.give_way_to(self);
            }
            Clash::First => other.give_way_to(self),
            Clash::Last => {}
        }
        self.replace(other.spans, other.origins.into_runs());
        Ok(())
    }

    /// Drops every byte whose address has a byte in `other` too.
    fn give_way_to(&mut self, other: &Image) {
        let Some(extent) = self.extent() else { return };
        let taken: Vec<AddressRange> = other
            .within(extent)
            .filter_map(|(start, bytes)| AddressRange::from_len(start, bytes.len() as u64))
            .filter(|range| self.within(*range).next().is_some())
            .collect();
        self.remove_all(&taken);
    }

    /// Where `other`, which came later, differs from this image, lowest address first. What differs between the same two
    /// records is one range.
    pub fn contests_with(&self, other: &Image) -> Vec<Contest> {
        let mut out: Vec<Contest> = Vec::new();
        for span in other.spans() {
            for (start, ours) in self.within(span.range()) {
                let from = (start - span.start()) as usize;
                let theirs = &span.bytes()[from..from + ours.len()];
                let differing = ours
                    .iter()
                    .zip(theirs)
                    .enumerate()
                    .filter(|(_, (a, b))| a != b);
                for address in differing.map(|(i, _)| start + i as u64) {
                    let Some(range) = AddressRange::from_len(address, 1) else {
                        continue;
                    };
                    let origins = (self.origin_at(address), other.origin_at(address));
                    let (Some(earlier), Some(later)) = origins else {
                        continue;
                    };
                    match out.last_mut() {
                        Some(last) if last.earlier == earlier && last.later == later => {
                            last.range = last.range.hull(range);
                        }
                        _ => out.push(Contest {
                            range,
                            earlier,
                            later,
                        }),
                    }
                }
            }
        }
        out
    }

    /// The overlap with `other`, which came later: `None` when no address is in both.
    pub fn overlap_with(&self, other: &Image) -> Option<Overlap> {
        let mut first: Option<(u64, u8, u8)> = None;
        let mut differs_at = None;
        let (mut count, mut equal) = (0u64, 0u64);
        for span in other.spans() {
            for (start, ours) in self.within(span.range()) {
                let from = (start - span.start()) as usize;
                let theirs = &span.bytes()[from..from + ours.len()];
                count += ours.len() as u64;
                equal += ours.iter().zip(theirs).filter(|(a, b)| a == b).count() as u64;
                first = first.or(Some((start, ours[0], theirs[0])));
                if differs_at.is_none() {
                    differs_at = (ours.iter().zip(theirs).position(|(a, b)| a != b))
                        .map(|i| start + i as u64);
                }
            }
        }
        let (address, old, new) = first?;
        let origin = |image: &Image| {
            image.origin_at(address).unwrap_or(Origin {
                source: Source::Patch.into(),
                line: None,
            })
        };
        Some(Overlap {
            address,
            earlier: (origin(self), old),
            later: (origin(other), new),
            count,
            equal,
            differs_at,
        })
    }
}
