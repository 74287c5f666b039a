//! Several reads of one chip: the majority, and what the bits that waver have in common.

use std::ops::RangeInclusive;

use crate::prose::debug_as_display;
use crate::wiring::{Line, Width};

/// One byte that did not read the same every time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wavering {
    /// Index of the byte in the reads.
    pub address: usize,
    /// Its bits that wavered.
    pub bits: u8,
    /// Those of them that read 0 and 1 equally often.
    pub tied: u8,
}

/// What wavering bits have in common. More than one may hold.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Trait {
    /// All are on this data line.
    DataLine(u8),
    /// Every byte wavers between its own value and that of the address with this line turned:
    /// the line reaches the chip as 0 at one time and as 1 at another.
    AddressLine(u8),
    /// They lie only where this address line has this level.
    Half {
        /// The address line.
        line: u8,
        /// The level it has there.
        high: bool,
    },
    /// They lie in this part of at most a sixteenth of the chip.
    Region(RangeInclusive<usize>),
    /// They become more with the address, in every quarter by at least a half.
    Growing,
}

impl Trait {
    /// The line that explains it, when it is open: all wavering bits are on it, or come from the two sides of it.
    pub fn line(&self) -> Option<Line> {
        match self {
            Trait::DataLine(line) => Some(Line::Data(*line)),
            Trait::AddressLine(line) => Some(Line::Address(*line)),
            _ => None,
        }
    }
}

/// The outcome of a vote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Vote {
    /// The majority of each bit; a tied bit is 1 here and named in [`wavering`](Self::wavering).
    pub image: Vec<u8>,
    /// The bytes that wavered, in ascending order.
    pub wavering: Vec<Wavering>,
    /// Wavering bits on each data line, from D0 to D7.
    pub lines: [usize; 8],
    /// What the wavering bits have in common; nothing is said about fewer than
    /// [`FEW`](Self::FEW).
    pub traits: Vec<Trait>,
    /// How many reads voted.
    pub reads: usize,
}

impl Vote {
    /// Fewer wavering bytes than this are chance, and no pattern is looked for in them.
    pub const FEW: usize = 16;

    /// Whether all reads are the same.
    pub fn unanimous(&self) -> bool {
        self.wavering.is_empty()
    }

    /// The bytes in which a bit is tied.
    pub fn ties(&self) -> impl Iterator<Item = Wavering> + '_ {
        self.wavering.iter().copied().filter(|byte| byte.tied != 0)
    }

    /// The [`traits`](Self::traits) on the lines of a chip of this width: a word's two bytes have one address there, and
    /// sixteen data lines between them.
    pub fn traits_on_chip(&self, width: Width) -> Vec<Trait> {
        if width == Width::Eight {
            return self.traits.clone();
        }
        let used = self.wavering.iter().fold(0u16, |used, byte| {
            used | u16::from(byte.bits) << (byte.address % 2 * 8)
        });
        let on_chip = |found: &Trait| {
            Some(match found {
                Trait::DataLine(_) => {
                    let line = used.is_power_of_two().then(|| used.trailing_zeros() as u8);
                    Trait::DataLine(line?)
                }
                Trait::AddressLine(line) => Trait::AddressLine(line.checked_sub(1)?),
                Trait::Half { line, high } => Trait::Half {
                    line: line.checked_sub(1)?,
                    high: *high,
                },
                found => found.clone(),
            })
        };
        self.traits.iter().filter_map(on_chip).collect()
    }
}

/// Why reads can't vote.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum VoteError {
    /// Too few or too many.
    #[error("a vote takes 2 to 99 reads of one chip, and there are {reads}")]
    Count {
        /// Reads given.
        reads: usize,
    },
    /// Two reads of different sizes can't be of one chip read in one way.
    #[error("read {number} has {length} bytes and the first has {first}")]
    Length {
        /// Which read, counted from 1.
        number: usize,
        /// Its bytes.
        length: usize,
        /// The bytes of the first read.
        first: usize,
    },
}

debug_as_display!(VoteError);

/// Takes the majority of each bit over 2 to 99 reads of one chip.
///
/// # Errors
/// [`VoteError`] when there are too few or too many reads, or their lengths differ.
pub fn vote(reads: &[&[u8]]) -> Result<Vote, VoteError> {
    let [first, others @ ..] = reads else {
        return Err(VoteError::Count { reads: 0 });
    };
    if !(2..=99).contains(&reads.len()) {
        return Err(VoteError::Count { reads: reads.len() });
    }
    if let Some(n) = others.iter().position(|read| read.len() != first.len()) {
        return Err(VoteError::Length {
            number: n + 2,
            length: others[n].len(),
            first: first.len(),
        });
    }

    const CHUNK: usize = 256;
    let mut image = first.to_vec();
    let mut wavering = Vec::new();
    for start in (0..image.len()).step_by(CHUNK) {
        let part = start..(start + CHUNK).min(image.len());
        if others
            .iter()
            .all(|read| read[part.clone()] == first[part.clone()])
        {
            continue;
        }
        for address in part {
            let (majority, byte) = count(reads, address);
            image[address] = majority;
            wavering.extend((byte.bits != 0).then_some(byte));
        }
    }
    let lines = std::array::from_fn(|line| {
        let on_line = |byte: &&Wavering| byte.bits >> line & 1 == 1;
        wavering.iter().filter(on_line).count()
    });
    let traits = if wavering.len() < Vote::FEW {
        Vec::new()
    } else {
        traits(reads, &wavering, &lines)
    };
    Ok(Vote {
        image,
        wavering,
        lines,
        traits,
        reads: reads.len(),
    })
}

/// The majority at one address, and which bits were not unanimous.
fn count(reads: &[&[u8]], address: usize) -> (u8, Wavering) {
    let mut byte = Wavering {
        address,
        bits: 0,
        tied: 0,
    };
    let mut majority = 0;
    for line in 0..8 {
        let carrying = |read: &&&[u8]| read[address] >> line & 1 == 1;
        let ones = reads.iter().filter(carrying).count();
        let zeros = reads.len() - ones;
        majority |= u8::from(ones >= zeros) << line;
        byte.bits |= u8::from(ones > 0 && zeros > 0) << line;
        byte.tied |= u8::from(ones == zeros) << line;
    }
    (majority, byte)
}

fn traits(reads: &[&[u8]], wavering: &[Wavering], lines: &[usize; 8]) -> Vec<Trait> {
    let size = reads[0].len();
    let (Some(first), Some(last)) = (wavering.first(), wavering.last()) else {
        return Vec::new();
    };
    let mut traits = Vec::new();

    let used: Vec<u8> = (0..8)
        .filter(|&line| lines[usize::from(line)] > 0)
        .collect();
    if let [line] = used[..] {
        traits.push(Trait::DataLine(line));
    }
    if size.is_power_of_two() {
        for line in 0..size.trailing_zeros() as u8 {
            // One value always the same at the partner would leave a data line as the better
            // word, so both halves have to waver.
            let high = wavering.iter().filter(|byte| byte.address >> line & 1 == 1);
            let high = high.count();
            if high == 0 || high == wavering.len() {
                traits.push(Trait::Half {
                    line,
                    high: high != 0,
                });
            } else if used.len() > 1 && floats(reads, wavering, line) {
                traits.push(Trait::AddressLine(line));
            }
        }
    }
    let (first, last) = (first.address, last.address);
    if (last - first) < size / 16 {
        traits.push(Trait::Region(first..=last));
    }
    let mut quarters = [0; 4];
    for byte in wavering {
        quarters[(byte.address * 4 / size).min(3)] += 1;
    }
    if quarters.windows(2).all(|two| two[1] * 2 >= two[0] * 3) && quarters[2] > 0 {
        traits.push(Trait::Growing);
    }
    traits
}

/// Whether each wavering byte and its partner across this address line show but two values
/// between them, in all reads.
fn floats(reads: &[&[u8]], wavering: &[Wavering], line: u8) -> bool {
    wavering.iter().all(|byte| {
        let partner = byte.address ^ 1 << line;
        let one = reads[0][byte.address];
        let mut seen = reads
            .iter()
            .flat_map(|read| [read[byte.address], read[partner]])
            .filter(|&value| value != one);
        let other = seen.next();
        seen.all(|value| Some(value) == other)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn telltale(size: usize) -> Vec<u8> {
        "telltale"
            .parse::<crate::faults::Pattern>()
            .unwrap()
            .image(size)
            .unwrap()
    }

    /// Wavers without a generator: different at every address and read.
    fn coin(read: usize, address: usize) -> bool {
        let mixed = (address * 131 + read * 7919 + 17).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        mixed >> 63 == 1
    }

    #[test]
    fn majority_and_ties() {
        let reads: [&[u8]; 3] = [&[0x0F, 0xFF], &[0x0F, 0xFE], &[0x1F, 0xFE]];
        let vote3 = vote(&reads).unwrap();
        assert_eq!(vote3.image, [0x0F, 0xFE]);
        assert_eq!(vote3.ties().count(), 0);
        let bits = vote3.wavering.iter().map(|byte| (byte.address, byte.bits));
        assert!(bits.eq([(0, 0x10), (1, 0x01)]));
        let vote2 = vote(&reads[1..]).unwrap();
        assert_eq!(vote2.image, [0x1F, 0xFE]);
        let ties = vote2.ties().map(|byte| (byte.address, byte.tied));
        assert!(ties.eq([(0, 0x10)]));
        assert!(vote(&[&[1], &[1]]).unwrap().unanimous());
    }

    #[test]
    fn refuses() {
        assert_eq!(vote(&[&[1]]), Err(VoteError::Count { reads: 1 }));
        assert_eq!(vote(&[]), Err(VoteError::Count { reads: 0 }));
        let many = vec![&[1u8][..]; 100];
        assert_eq!(vote(&many), Err(VoteError::Count { reads: 100 }));
        let error = vote(&[&[1], &[1], &[]]).unwrap_err();
        assert!(matches!(error, VoteError::Length { number: 3, .. }));
    }

    #[test]
    fn a_word_has_sixteen_data_lines_and_one_address() {
        let image = telltale(4096);
        let wavers = |bit: usize| {
            let change = |read: usize, a: usize| match a % 2 == bit / 8 {
                true => image[a] ^ u8::from(coin(read, a)) << (bit % 8),
                false => image[a],
            };
            let reads = (0..5).map(|read| (0..4096).map(|a| change(read, a)).collect());
            let reads: Vec<Vec<u8>> = reads.collect();
            let reads: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
            vote(&reads).unwrap()
        };
        let low = wavers(3).traits_on_chip(Width::Sixteen);
        assert_eq!(low, [Trait::DataLine(3)]);
        let high = wavers(11);
        assert!(high.traits.contains(&Trait::DataLine(3)));
        let high = high.traits_on_chip(Width::Sixteen);
        assert_eq!(high, [Trait::DataLine(11)]);
    }

    #[test]
    fn what_wavering_bits_have_in_common() {
        let image = telltale(4096);
        let reads = |change: &dyn Fn(usize, usize) -> u8| -> Vec<Vec<u8>> {
            (0..5)
                .map(|read| (0..4096).map(|address| change(read, address)).collect())
                .collect()
        };
        let traits = |reads: Vec<Vec<u8>>| {
            let reads: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
            vote(&reads).unwrap().traits
        };
        let d3 = reads(&|read, a| image[a] ^ u8::from(coin(read, a)) << 3);
        assert_eq!(traits(d3), [Trait::DataLine(3)]);
        let a9 = reads(&|read, a| image[a ^ usize::from(coin(read, a)) << 9]);
        assert_eq!(traits(a9), [Trait::AddressLine(9)]);
        let region = reads(&|read, a| {
            let inside = (0x810..0x8F0).contains(&a) && coin(read, a);
            image[a] ^ if inside { 0x5A } else { 0 }
        });
        assert!(traits(region).iter().any(
            |found| matches!(found, Trait::Region(part) if *part.start() >= 0x810 && *part.end() < 0x8F0)
        ));
        let growing = reads(&|read, a| {
            let bad = coin(read, a) && a * a / 4096 > a.wrapping_mul(0x9E3B) % 4096;
            image[a] ^ if bad { 0x81 } else { 0 }
        });
        assert_eq!(traits(growing), [Trait::Growing]);
        let few = reads(&|read, a| image[a] ^ u8::from(a < 15 && coin(read, a)));
        assert_eq!(traits(few), []);
    }
}
