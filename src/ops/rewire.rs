//! The board's scrambled lines.

use super::edit::whole_words;
use super::{Large, OpError};
use crate::faults::wiring::data_tables;
use crate::image::{AddressRange, Image};

/// Address lines of the blocks that are rewired at once, at least.
const LEAST_BITS: u32 = 12;

/// How a chip's lines are wired: chip line `i` goes to the piece's line `address[i]`, or `data[i]`.
///
/// An empty list leaves its lines straight. Lines above a list are straight too.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wiring {
    /// Address lines, from A0 up; at most 32.
    pub address: Vec<u8>,
    /// Data lines, from D0 up; at most 8, or 16 of words.
    pub data: Vec<u8>,
    /// The chip's address lines that are inverted besides; bit i is line i.
    pub address_inverted: u32,
    /// The chip's data lines that are inverted besides; bit i is line i.
    pub data_inverted: u16,
    /// Whether the chip is 16 bits wide: addresses count words, D0 to D7 are the first byte of each.
    pub words: bool,
}

/// A list of lines that is no wiring.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WiringError {
    /// A line stands in the list twice, so another is missing.
    #[error(
        "{letter}{double} stands twice and {letter}{missing} is missing: each line goes to one place"
    )]
    Double {
        /// `A` or `D`.
        letter: char,
        /// The line that stands twice.
        double: u8,
        /// The lowest that is missing.
        missing: u8,
    },
    /// A line outside the list's own range.
    #[error(
        "{letter}{line} is outside {letter}0-{letter}{last}, the lines this list of {count} names: list every line up to the highest"
    )]
    Outside {
        /// `A` or `D`.
        letter: char,
        /// The line.
        line: u8,
        /// The highest line of the list.
        last: usize,
        /// Lines in the list.
        count: usize,
    },
    /// A data line that a chip 8 bits wide does not have.
    #[error("there is no D{line}: data lines are D0 to D7, or with --words D0 to D15")]
    NoSuchData {
        /// The line.
        line: u32,
    },
    /// More lines than there can be.
    #[error("{count} lines are more than the {most} there can be{}", if *.most == 8 { " without --words" } else { "" })]
    TooMany {
        /// Lines in the list.
        count: usize,
        /// The most there can be.
        most: usize,
    },
}

impl Wiring {
    /// Checks that each line stands in its list exactly once.
    ///
    /// # Errors
    /// [`WiringError`], which names the line.
    pub fn check(&self) -> Result<(), WiringError> {
        permutation('A', &self.address, 32)?;
        permutation('D', &self.data, if self.words { 16 } else { 8 })?;
        match self.data_inverted >> 8 {
            above if above > 0 && !self.words => Err(WiringError::NoSuchData {
                line: 8 + above.trailing_zeros(),
            }),
            _ => Ok(()),
        }
    }

    /// The wiring that undoes this one.
    pub fn inverse(&self) -> Wiring {
        let turn = |list: &[u8]| {
            let mut out = vec![0; list.len()];
            for (i, line) in list.iter().enumerate() {
                if let Some(place) = out.get_mut(usize::from(*line)) {
                    *place = i as u8;
                }
            }
            out
        };
        Wiring {
            address: turn(&self.address),
            data: turn(&self.data),
            address_inverted: turned_mask(self.address_inverted, &self.address),
            data_inverted: turned_mask(self.data_inverted.into(), &self.data) as u16,
            words: self.words,
        }
    }

    /// Address lines that a block has: those listed, and straight ones up to the highest inverted.
    fn block_bits(&self) -> u32 {
        let inverted = u32::BITS - self.address_inverted.leading_zeros();
        inverted.max(self.address.len() as u32)
    }

    /// What the low byte of each word becomes in the chip, and what its high byte adds; of bytes the first alone counts.
    fn data_tables(&self) -> [[u16; 256]; 2] {
        let straight = self.data.len() as u8..16;
        let lines: Vec<u8> = self.data.iter().copied().chain(straight).collect();
        data_tables(&lines, self.data_inverted)
    }

    /// What each byte becomes in a chip 8 bits wide.
    fn bytes_table(&self) -> [u8; 256] {
        self.data_tables()[0].map(|byte| byte as u8)
    }

    fn rewire_words(&self, image: &Image, bits: u32) -> Result<Image, OpError> {
        whole_words(image, 2)?;
        // Both bytes of a word go the same way, so the words' lines are the bytes' lines but the lowest.
        let word = self.chip_address(bits);
        let place = |byte: u64| word(byte >> 1) << 1 | byte & 1;
        let unchanged = std::array::from_fn(|byte| byte as u8);
        let mut rewired = image.permuted(bits + 1, place, &unchanged)?;
        let [low, high] = self.data_tables();
        rewired.edit_bytes(|_, bytes| {
            for word in bytes.chunks_exact_mut(2) {
                let wired = low[usize::from(word[0])] ^ high[usize::from(word[1])];
                word.copy_from_slice(&wired.to_le_bytes());
            }
            Ok::<(), OpError>(())
        })?;
        Ok(rewired)
    }

    /// The chip address at which the byte of the piece's address stands, inside one block of so many lines.
    fn chip_address(&self, bits: u32) -> impl Fn(u64) -> u64 {
        // Two tables of half the lines each: wires don't depend on each other.
        let bits = bits as usize;
        let straight = self.address.len() as u8..bits as u8;
        let lines: Vec<u8> = self.address.iter().copied().chain(straight).collect();
        let low = bits / 2;
        let table = |from: usize, to: usize, turn: u64| -> Vec<u64> {
            (0..1u64 << (to - from))
                .map(|n| scatter(n << from, &lines) ^ turn)
                .collect()
        };
        let inverted = u64::from(self.address_inverted);
        let (lower, upper) = (table(0, low, inverted), table(low, bits, 0));
        let mask = (1u64 << low) - 1;
        move |a| lower[(a & mask) as usize] ^ upper[(a >> low) as usize]
    }
}

/// Bit `i` of the mask becomes bit `list[i]`; bits above the list stay.
fn turned_mask(mask: u32, list: &[u8]) -> u32 {
    let set = (0..u32::BITS as u8).filter(|line| mask >> line & 1 == 1);
    set.map(|line| list.get(usize::from(line)).copied().unwrap_or(line))
        .fold(0, |turned, line| {
            turned | 1u32.checked_shl(line.into()).unwrap_or(0)
        })
}

/// Bit `list[i]` of `from` becomes bit `i`.
fn scatter(from: u64, list: &[u8]) -> u64 {
    let bit = |(i, line): (usize, &u8)| (from >> line & 1) << i;
    list.iter().enumerate().map(bit).sum()
}

fn permutation(letter: char, list: &[u8], most: usize) -> Result<(), WiringError> {
    let count = list.len();
    if count > most {
        return Err(WiringError::TooMany { count, most });
    }
    if let Some(line) = list.iter().find(|l| usize::from(**l) >= count) {
        return Err(WiringError::Outside {
            letter,
            line: *line,
            last: count - 1,
            count,
        });
    }
    let double = (0..count).find(|i| list[..*i].contains(&list[*i]));
    let missing = (0..count as u8).find(|l| !list.contains(l));
    match (double, missing) {
        (Some(i), Some(missing)) => Err(WiringError::Double {
            letter,
            double: list[i],
            missing,
        }),
        _ => Ok(()),
    }
}

/// Moves every byte to where the chip must hold it, so that the CPU reads the image through the scrambled lines.
///
/// Each block as large as the listed and inverted address lines reach is rewired by itself. Entry point and header stay.
///
/// # Errors
/// [`OpError::Wiring`]; [`OpError::BrokenWord`] when half a word is a hole; [`OpError::Large`] when a block is far larger
/// than the image.
pub fn rewire(image: &mut Image, wiring: &Wiring, large: Large) -> Result<(), OpError> {
    wiring.check()?;
    let bits = wiring.block_bits();
    let block = 1u64 << (bits + u32::from(wiring.words));
    if block > image.len() {
        large.check(block)?;
    }
    // Lines above the list are straight, so a block may be larger: a few bytes at a time would take their time.
    let top = image.extent().map_or(0, |extent| extent.last());
    let bits = match top < AddressRange::TOP >> 1 {
        true => bits.max(LEAST_BITS),
        false => bits,
    };
    let mut rewired = match wiring.words {
        false => image.permuted(bits, wiring.chip_address(bits), &wiring.bytes_table())?,
        true => wiring.rewire_words(image, bits)?,
    };
    rewired.entry = image.entry;
    rewired.header = image.header.take();
    *image = rewired;
    Ok(())
}
