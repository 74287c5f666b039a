//! Test images: what to burn so that a fault shows, and which fault it is.

use std::fmt;
use std::str::FromStr;

use crate::prose::{debug_as_display, plural, thousands};

/// The columns of `telltale`, one for each of 17 address lines.
///
/// All single columns and all exclusive-ors of two are distinct, so any four columns are
/// linearly independent, a code `[17, 9, 5]`; none is a single bit, so that no fault of an address line looks like one of a
/// data line. Worked out for this project, proved by the tests below.
const COLUMNS: [u8; 17] = [
    0x33, 0xE8, 0xFC, 0x4D, 0x5A, 0xFA, 0x3A, 0x92, 0x2C, 0x51, 0x15, 0x29, 0xD7, 0xE2, 0xA3, 0xCC,
    0x79,
];

/// The first column for chips of up to [`FEW_LINES`] address lines. With the usual one two data
/// lines would carry the same bits throughout such a small chip, and a short of them would hide.
const FIRST_OF_FEW: u8 = 0x28;
const FEW_LINES: u32 = 6;

/// Which of the two images a `telltale` of more than 17 address lines takes.
///
/// Both give line i below 17 its column i. The lines from 17 up take the columns again: line
/// 17 + i has column i in the first pass and column i + 1 in the second. So lines i and 17 + i,
/// which look alike in the first, differ in the second, and the two reads together are again
/// a code of distance 5, up to [`Pattern::LARGEST`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Pass {
    /// The only one needed up to 17 address lines (128 KiB).
    #[default]
    First,
    /// The other one.
    Second,
}

/// A test image, for a chip of 8 data lines.
///
/// Parses from its name, with the first pass and seed 1, and prints as its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// 00 everywhere.
    Zeros,
    /// FF everywhere.
    Ones,
    /// 55 at even addresses, AA at odd ones.
    Checker,
    /// The low byte of the address (common practice). Blind to A8 and up.
    Address,
    /// A single 1 that walks: address a has 1 shifted left by a mod 8.
    Walk,
    /// Address a has the exclusive-or of one fixed column per address bit that is set.
    ///
    /// The columns, from A0 up, are 33 E8 FC 4D 5A FA 3A 92 2C 51 15 29 D7 E2 A3 CC 79 (for
    /// images of up to 64 bytes, for small PROMs, the first is 28). From 5 to 17 address
    /// lines every line that is stuck, inverted, swapped or shorted gives a read of its own;
    /// above that, two images together do, see [`Pass`].
    Telltale(Pass),
    /// The maximal-length sequence of ITU-T O.150 of 2^23 - 1 bits, inverted as the
    /// recommendation sends it (x^23 + x^18 + 1). The earliest bit of each byte is bit 7.
    ///
    /// The low 23 bits of the seed are the shift register's first content, its first stage in
    /// bit 0; a seed whose low 23 bits are all 0 is refused, for the register would never move.
    /// As bytes it repeats after 8,388,607.
    Random {
        /// The register's content at the start, 1 to 2^23 - 1.
        seed: u32,
    },
}

impl Pattern {
    /// The largest image, in bytes: 24 address lines.
    pub const LARGEST: usize = 1 << 24;

    /// One of each, for lists.
    pub const ALL: [Pattern; 7] = [
        Pattern::Zeros,
        Pattern::Ones,
        Pattern::Checker,
        Pattern::Address,
        Pattern::Walk,
        Pattern::Telltale(Pass::First),
        Pattern::Random { seed: 1 },
    ];

    /// Its name, in lower case.
    pub fn name(self) -> &'static str {
        match self {
            Pattern::Zeros => "zeros",
            Pattern::Ones => "ones",
            Pattern::Checker => "checker",
            Pattern::Address => "address",
            Pattern::Walk => "walk",
            Pattern::Telltale(_) => "telltale",
            Pattern::Random { .. } => "random",
        }
    }

    /// The image, of this many bytes.
    ///
    /// # Errors
    /// [`PatternError`] when the size is 0 or above [`LARGEST`](Self::LARGEST), the seed is out
    /// of range, or a second pass is asked for although one is enough.
    pub fn image(self, size: usize) -> Result<Vec<u8>, PatternError> {
        if size == 0 || size > Self::LARGEST {
            return Err(PatternError::Size { size });
        }
        Ok(match self {
            Pattern::Zeros => vec![0x00; size],
            Pattern::Ones => vec![0xFF; size],
            Pattern::Checker => repeated(&[0x55, 0xAA], size),
            Pattern::Address => repeated(&std::array::from_fn::<u8, 256, _>(|i| i as u8), size),
            Pattern::Walk => repeated(&std::array::from_fn::<u8, 8, _>(|i| 1 << i), size),
            Pattern::Telltale(pass) => telltale(pass, size)?,
            Pattern::Random { seed } => {
                if seed == 0 || seed > Sequence::MASK {
                    return Err(PatternError::Seed { seed });
                }
                let mut sequence = Sequence(seed);
                (0..size).map(|_| sequence.byte()).collect()
            }
        })
    }
}

/// The address lines that an image of `size` bytes has.
fn lines_of(size: usize) -> u32 {
    size.next_power_of_two().trailing_zeros()
}

/// The same bytes over and over, up to `size`.
fn repeated(bytes: &[u8], size: usize) -> Vec<u8> {
    let mut image = bytes.repeat(size.div_ceil(bytes.len()));
    image.truncate(size);
    image
}

fn telltale(pass: Pass, size: usize) -> Result<Vec<u8>, PatternError> {
    let lines = lines_of(size);
    if pass == Pass::Second && lines as usize <= COLUMNS.len() {
        return Err(PatternError::OnePassIsEnough { size });
    }
    // Each column doubles what is there: the upper half is the lower with the column added.
    let mut image = Vec::with_capacity(1 << lines);
    image.push(0);
    for line in 0..lines {
        let column = column(pass, line, lines);
        image.extend_from_within(..);
        let half = image.len() / 2;
        image[half..].iter_mut().for_each(|byte| *byte ^= column);
    }
    image.truncate(size);
    Ok(image)
}

/// The column of an address line in a chip of `lines`, at most 24.
fn column(pass: Pass, line: u32, lines: u32) -> u8 {
    let n = line as usize;
    match (n.checked_sub(COLUMNS.len()), pass) {
        _ if n == 0 && lines <= FEW_LINES => FIRST_OF_FEW,
        (None, _) => COLUMNS[n],
        (Some(above), Pass::First) => COLUMNS[above],
        (Some(above), Pass::Second) => COLUMNS[above + 1],
    }
}

/// The shift register of 23 stages: stages 18 and 23 are added and fed to the first.
struct Sequence(u32);

impl Sequence {
    const MASK: u32 = (1 << 23) - 1;

    /// The next eight contents of the last stage, inverted. The taps are more than eight stages from the first, so
    /// eight steps can be made at once.
    fn byte(&mut self) -> u8 {
        let (last, tap) = (self.0 >> 15 & 0xFF, self.0 >> 10 & 0xFF);
        self.0 = (self.0 << 8 | (tap ^ last)) & Self::MASK;
        !last as u8
    }
}

impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Pattern {
    type Err = PatternError;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        Self::ALL
            .into_iter()
            .find(|pattern| pattern.name().eq_ignore_ascii_case(word))
            .ok_or_else(|| PatternError::Unknown {
                word: word.chars().take(40).flat_map(char::escape_debug).collect(),
            })
    }
}

/// Why there is no such test image.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PatternError {
    /// The size is 0 or too large.
    #[error("a pattern of {} is not possible: it has 1 to {} bytes", plural(*.size as u64, "byte"), thousands(Pattern::LARGEST as u64))]
    Size {
        /// Bytes asked for.
        size: usize,
    },
    /// The shift register can't start from this.
    #[error("seed {seed} is out of range: 1 to {largest}", largest = Sequence::MASK)]
    Seed {
        /// The seed given.
        seed: u32,
    },
    /// The first pass alone tells all faults apart.
    #[error("{} need no second pass: up to 131,072 bytes the first tells all lines apart", plural(*.size as u64, "byte"))]
    OnePassIsEnough {
        /// Bytes asked for.
        size: usize,
    },
    /// No pattern of this name.
    #[error(
        "`{word}` is not a pattern; use zeros, ones, checker, address, walk, telltale or random"
    )]
    Unknown {
        /// What was written, shortened.
        word: String,
    },
}

debug_as_display!(PatternError);

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    /// Singles and pairwise exclusive-ors of these columns are all distinct and not 0.
    fn distance_five(columns: &[u32]) -> bool {
        let mut seen = HashSet::from([0]);
        columns.iter().enumerate().all(|(i, &column)| {
            seen.insert(column)
                && columns[..i]
                    .iter()
                    .all(|&other| seen.insert(column ^ other))
        })
    }

    fn columns(pass: Pass, lines: u32) -> Vec<u32> {
        (0..lines)
            .map(|line| u32::from(column(pass, line, lines)))
            .collect()
    }

    #[test]
    fn columns_have_distance_five_and_no_single_bit() {
        assert!(distance_five(&columns(Pass::First, 17)));
        assert!(COLUMNS.iter().all(|column| column.count_ones() > 1));
        assert!(FIRST_OF_FEW.count_ones() > 1);
    }

    #[test]
    fn two_passes_have_distance_five_up_to_24_lines() {
        for lines in 18..=24 {
            let both: Vec<u32> = columns(Pass::First, lines)
                .into_iter()
                .zip(columns(Pass::Second, lines))
                .map(|(first, second)| first << 8 | second)
                .collect();
            assert!(distance_five(&both), "{lines} lines");
            assert!(!distance_five(&columns(Pass::First, lines)));
        }
    }

    #[test]
    fn telltale_is_the_xor_of_its_columns() {
        let image = Pattern::Telltale(Pass::First).image(1 << 12).unwrap();
        for (address, &byte) in image.iter().enumerate() {
            let expected = (0..12)
                .filter(|line| address >> line & 1 == 1)
                .fold(0, |byte, line| byte ^ COLUMNS[line]);
            assert_eq!(byte, expected);
        }
        let second = Pattern::Telltale(Pass::Second);
        assert_eq!(
            second.image(1 << 17),
            Err(PatternError::OnePassIsEnough { size: 1 << 17 })
        );
        assert_eq!(second.image(1 << 18).unwrap()[1 << 17], COLUMNS[1]);
    }

    /// ITU-T O.150, the 2^23 - 1 sequence: its length, its longest run of zeros (23, as sent
    /// inverted) and its 2^22 zeros; remembered from the recommendation, not copied.
    #[test]
    fn random_is_the_sequence_of_the_recommendation() {
        const PERIOD: usize = (1 << 23) - 1;
        let mut sequence = Sequence(Sequence::MASK);
        let bytes = (0..PERIOD / 8 + 4).map(|_| sequence.byte());
        let mut bits: Vec<u8> = bytes
            .flat_map(|byte| (0..8).rev().map(move |i| byte >> i & 1))
            .collect();
        let next = bits.split_off(PERIOD);
        assert_eq!(next[..23], bits[..23], "back after one period");
        // A register that comes back earlier would do so after a divisor of the period, which
        // is 47 x 178,481, both prime.
        assert_ne!(bits[..PERIOD - 47], bits[47..]);
        assert_ne!(bits[..PERIOD - 178_481], bits[178_481..]);
        assert_eq!(bits.iter().filter(|&&bit| bit == 0).count(), 1 << 22);
        let longest = |level| bits.split(|&bit| bit != level).map(<[u8]>::len).max();
        assert_eq!(longest(0), Some(23));
        assert_eq!(longest(1), Some(22));
        // From all ones: 23 ones of the register go out as zeros, then the 18 zeros that the
        // equal stages 18 and 23 fed in come out as ones.
        assert_eq!(bits[..23], [0; 23]);
        assert_eq!(bits[23..41], [1; 18]);
        // x^23 + x^18 + 1 on the inverted signal: equal bits 18 and 23 back give a 1.
        assert!((23..PERIOD).all(|k| bits[k] == 1 ^ bits[k - 18] ^ bits[k - 23]));
    }

    #[test]
    fn random_bytes_start_with_the_earliest_bit_on_top() {
        let seed = Sequence::MASK;
        let image = Pattern::Random { seed }.image(6).unwrap();
        assert_eq!(image, [0x00, 0x00, 0x01, 0xFF, 0xFF, 0x83]);
        let seed = 1 << 23;
        assert_eq!(
            Pattern::Random { seed }.image(6),
            Err(PatternError::Seed { seed })
        );
    }

    /// Common practice: an address-index image shows 00..3F in its first 64 bytes.
    #[test]
    fn simple_patterns() {
        let image = |name: &str| name.parse::<Pattern>().unwrap().image(0x102).unwrap();
        assert!(image("address")[..64].iter().copied().eq(0x00..=0x3F));
        assert_eq!(image("address")[0x101], 0x01);
        assert_eq!(image("walk")[..9], [1, 2, 4, 8, 16, 32, 64, 128, 1]);
        assert_eq!(image("checker")[0xFE..0x101], [0x55, 0xAA, 0x55]);
        assert_eq!(image("ZEROS"), [0; 0x102]);
        assert!("marching".parse::<Pattern>().is_err());
        assert_eq!(Pattern::Ones.image(0), Err(PatternError::Size { size: 0 }));
    }
}
