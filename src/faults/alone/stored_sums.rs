//! Checksums of a read that are stored in the read.

use crate::faults::cost::choose;
use crate::sums::{Algo, Complement, Order, Summing};

/// A stored sum is said to fit when it is this many bits better than chance.
const CLEAR: f64 = 20.0;

/// Sums that programs often contain, by name (common practice).
const NAMES: [&str; 23] = [
    "sum8",
    "xor8",
    "carry8",
    "sum16",
    "carry16",
    "sum16le",
    "sum16be",
    "internet",
    "fletcher16",
    "sum32",
    "sum32le",
    "sum32be",
    "adler32",
    "crc-16/arc",
    "crc-16/xmodem",
    "crc-16/ibm-3740",
    "crc-16/kermit",
    "crc-16/modbus",
    "crc-16/ibm-sdlc",
    "crc-32/iso-hdlc",
    "crc-32/bzip2",
    "crc-32/mpeg-2",
    "crc-32/jamcrc",
];

/// Bytes that follow the stored sum: none, or those vectors that processors keep at the end of memory (common practice).
const AFTER: [usize; 7] = [0, 2, 4, 6, 8, 16, 32];

/// Which bytes a stored sum is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SumRange {
    /// All before the stored sum.
    Before,
    /// All, with the stored sum's own bytes as 00.
    Whole,
}

/// A sum that is stored in some banks, or in the whole read.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct StoredSum {
    /// Which sum.
    pub algo: Algo,
    /// How its bytes are stored; little for a single byte.
    pub order: Order,
    /// The complement that is stored, where it is one.
    pub complement: Option<Complement>,
    /// Bytes of the bank that follow the stored ones.
    pub after: usize,
    /// Which bytes it is of.
    pub range: SumRange,
    /// The pieces in which it fits, counted from 0.
    pub fits: Vec<usize>,
    /// The pieces in which it does not.
    pub fails: Vec<usize>,
    /// Bits by which it fits better than chance: at least 20.
    pub bits: f64,
}

/// A way to store a sum.
#[derive(Clone, Copy)]
struct SumForm {
    algo: Algo,
    order: Order,
    complement: Option<Complement>,
    after: usize,
    range: SumRange,
}

/// Sums of these pieces that are stored in them, the surest first: banks of a read, or the read as one piece. Blank pieces
/// and repeated ones should be left out, since they prove nothing.
///
/// Every sum is looked for at every place; one fits when its bits in all pieces in which it is right are at least 20 more
/// than chance takes to find one somewhere.
pub fn stored_sums(pieces: &[&[u8]]) -> Vec<StoredSum> {
    let algos: Vec<Algo> = NAMES.iter().filter_map(|name| name.parse().ok()).collect();
    let ways = ways(&algos);
    let mut fits: Vec<Vec<usize>> = vec![Vec::new(); ways.len()];
    for (n, piece) in pieces.iter().enumerate() {
        for algo in &algos {
            let sums = Sums::of(*algo, piece);
            for (way, fits) in ways
                .iter()
                .zip(&mut fits)
                .filter(|(way, _)| way.algo == *algo)
            {
                if sums.fit(way, piece) {
                    fits.push(n);
                }
            }
        }
    }
    let tried = (ways.len() as f64).log2();
    let all = ways.iter().zip(fits).filter(|(_, fits)| !fits.is_empty());
    let mut found: Vec<StoredSum> = all
        .map(|(way, fits)| StoredSum {
            algo: way.algo,
            order: way.order,
            complement: way.complement,
            after: way.after,
            range: way.range,
            bits: (fits.len() * usize::from(way.algo.bits())) as f64
                - tried
                - choose(pieces.len(), fits.len()),
            fails: (0..pieces.len()).filter(|n| !fits.contains(n)).collect(),
            fits,
        })
        .filter(|sum| sum.bits >= CLEAR)
        .collect();
    found.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    // Several ways that give the same bytes are one fact, reported in the first way.
    let mut told: Vec<StoredSum> = Vec::new();
    for sum in found {
        let same = |other: &StoredSum| {
            let kind = |sum: &StoredSum| (sum.algo, sum.complement);
            kind(other) == kind(&sum) && other.fits == sum.fits
                || other.after < sum.after + sum.algo.bytes()
                    && sum.after < other.after + other.algo.bytes()
        };
        if !told.iter().any(same) {
            told.push(sum);
        }
    }
    told
}

fn ways(algos: &[Algo]) -> Vec<SumForm> {
    let mut ways = Vec::new();
    for &algo in algos {
        let orders: &[Order] = match algo.bytes() {
            1 => &[Order::Little],
            _ => &[Order::Little, Order::Big],
        };
        for &order in orders {
            for complement in [None, Some(Complement::Ones), Some(Complement::Twos)] {
                for after in AFTER {
                    for range in [SumRange::Before, SumRange::Whole] {
                        // With nothing after it, 00 adds nothing to a plain sum.
                        if after > 0 || range == SumRange::Before {
                            ways.push(SumForm {
                                algo,
                                order,
                                complement,
                                after,
                                range,
                            });
                        }
                    }
                }
            }
        }
    }
    ways
}

/// A piece's sums up to each place, and over all with that place as 00.
struct Sums(Vec<(usize, SumRange, Option<u128>)>);

impl Sums {
    fn of(algo: Algo, piece: &[u8]) -> Self {
        let own = algo.bytes();
        let most = AFTER.iter().max().copied().unwrap_or(0) + own;
        let mut sums = Vec::new();
        if piece.len() <= most {
            return Sums(sums);
        }
        // The long part is summed once.
        let common = piece.len() - most;
        let mut start = algo.start();
        start.feed(&piece[..common]);
        let value = |summing: Summing| summing.finish().ok().and_then(|sum| sum.value());
        for after in AFTER {
            let stored = piece.len() - after - own;
            let mut before = start.clone();
            before.feed(&piece[common..stored]);
            let mut whole = before.clone();
            whole.feed(&vec![0; own]);
            whole.feed(&piece[stored + own..]);
            sums.push((after, SumRange::Before, value(before)));
            sums.push((after, SumRange::Whole, value(whole)));
        }
        Sums(sums)
    }

    fn fit(&self, way: &SumForm, piece: &[u8]) -> bool {
        let mut sums = self.0.iter();
        let made = sums.find(|(after, range, _)| (*after, *range) == (way.after, way.range));
        let Some((_, _, Some(made))) = made else {
            return false;
        };
        let (bits, own) = (way.algo.bits(), way.algo.bytes());
        let mask = u128::MAX >> (128 - bits);
        let made = match way.complement {
            None => *made,
            Some(Complement::Ones) => !made & mask,
            Some(Complement::Twos) => made.wrapping_neg() & mask,
        };
        let stored = &piece[piece.len() - way.after - own..][..own];
        let value = |byte: &u8, so_far: u128| so_far << 8 | u128::from(*byte);
        let stored = match way.order {
            Order::Little => stored.iter().rev().fold(0, |sum, byte| value(byte, sum)),
            Order::Big => stored.iter().fold(0, |sum, byte| value(byte, sum)),
        };
        stored == made
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    const SIZE: usize = 2048;

    fn bank(n: u32) -> Vec<u8> {
        Pattern::Random { seed: 70 + n }.image(SIZE).unwrap()
    }

    fn pieces(banks: &[Vec<u8>]) -> Vec<&[u8]> {
        banks.iter().map(Vec::as_slice).collect()
    }

    /// The sums are made here by hand, but for the CRC, whose check value is the catalogue's.
    #[test]
    fn a_sum_before_the_vectors_is_found_and_the_bank_that_breaks_it() {
        let mut banks: Vec<Vec<u8>> = (0..6).map(bank).collect();
        for bank in &mut banks {
            let at = SIZE - 8;
            let sum: u16 = bank[..at]
                .iter()
                .map(|byte| u16::from(*byte))
                .fold(0, u16::wrapping_add);
            bank[at..at + 2].copy_from_slice(&sum.to_be_bytes());
        }
        banks[4][9] ^= 0x20;
        let found = stored_sums(&pieces(&banks));
        assert_eq!(found.len(), 1);
        let sum = &found[0];
        assert_eq!(
            (sum.algo, sum.order, sum.after),
            (Algo::SUM16, Order::Big, 6)
        );
        assert_eq!((sum.range, sum.complement), (SumRange::Before, None));
        assert_eq!(sum.fits, [0, 1, 2, 3, 5]);
        assert_eq!(sum.fails, [4]);
        assert!(sum.bits > 60.0 && sum.bits < 80.0, "{}", sum.bits);
    }

    #[test]
    fn a_zero_sum_is_a_complement() {
        let mut banks: Vec<Vec<u8>> = (0..8).map(bank).collect();
        for bank in &mut banks {
            let rest = bank[..SIZE - 1]
                .iter()
                .fold(0u8, |sum, byte| sum.wrapping_add(*byte));
            bank[SIZE - 1] = rest.wrapping_neg();
        }
        let found = stored_sums(&pieces(&banks));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].algo, Algo::SUM8);
        assert_eq!(found[0].complement, Some(Complement::Twos));
    }

    #[test]
    fn what_chance_would_bring_is_not_told() {
        // 16 bits in one piece are fewer than there are ways to be right.
        let mut one = bank(1);
        let bytes = one[..SIZE - 2].iter().map(|byte| u16::from(*byte));
        let sum = bytes.fold(0, u16::wrapping_add);
        one[SIZE - 2..].copy_from_slice(&sum.to_le_bytes());
        assert_eq!(stored_sums(&[&one]), []);
        let banks: Vec<Vec<u8>> = (0..64).map(bank).collect();
        assert_eq!(stored_sums(&pieces(&banks)), []);
        assert_eq!(stored_sums(&[&[], &[1, 2, 3]]), []);
        assert_eq!(stored_sums(&[]), []);
        // 32 bits are enough.
        let mut one = bank(2);
        let crc = Algo::CRC32
            .sum(&one[..SIZE - 4])
            .unwrap()
            .to_bytes(Order::Little);
        one[SIZE - 4..].copy_from_slice(&crc);
        assert_eq!(stored_sums(&[&one])[0].algo, Algo::CRC32);
    }

    /// One stored place is one fact, whichever sums would fit there; two places are two, though they touch.
    #[test]
    fn sums_in_one_place_are_told_once() {
        // So few bytes that no sum of 16 bits overflows: with the carry and without it is the same.
        let mut small: Vec<Vec<u8>> = (0..8).map(|n| bank(n)[..128].to_vec()).collect();
        for bank in &mut small {
            let bytes = bank[..126].iter().map(|byte| u16::from(*byte));
            let sum: u16 = bytes.sum();
            bank[126..].copy_from_slice(&sum.to_le_bytes());
        }
        let found = stored_sums(&pieces(&small));
        assert_eq!((found.len(), found[0].algo), (1, Algo::SUM16), "{found:?}");
        let mut both: Vec<Vec<u8>> = (0..8).map(bank).collect();
        for bank in &mut both {
            let at = SIZE - 5;
            bank[at] = bank[..at]
                .iter()
                .fold(0u8, |sum, byte| sum.wrapping_add(*byte));
            let crc = Algo::CRC32.sum(&bank[..SIZE - 4]).unwrap();
            bank[SIZE - 4..].copy_from_slice(&crc.to_bytes(Order::Little));
        }
        // The sum of one byte is four bytes before the end.
        let found = stored_sums(&pieces(&both));
        let places: Vec<_> = found.iter().map(|sum| (sum.algo, sum.after)).collect();
        assert_eq!(places, [(Algo::CRC32, 0), (Algo::SUM8, 4)]);
    }

    /// The bits of all sums that fit, less what it takes to say which of the ways it is and in which pieces.
    #[test]
    fn a_sum_counts_what_chance_would_not_bring() {
        let ways = {
            let algos: Vec<Algo> = NAMES.iter().filter_map(|name| name.parse().ok()).collect();
            let complements = 3;
            // At seven places, at six of which the rest of the bank may be in the sum.
            let places = 7 + 6;
            let orders = algos
                .iter()
                .map(|algo| if algo.bytes() == 1 { 1 } else { 2 });
            (orders.sum::<usize>() * complements * places) as f64
        };
        let mut banks: Vec<Vec<u8>> = (0..6).map(bank).collect();
        for bank in &mut banks[..5] {
            let crc = Algo::CRC32.sum(&bank[..SIZE - 4]).unwrap();
            bank[SIZE - 4..].copy_from_slice(&crc.to_bytes(Order::Big));
        }
        let found = stored_sums(&pieces(&banks));
        let bits = 5.0 * 32.0 - ways.log2() - 6f64.log2();
        assert!(
            (found[0].bits - bits).abs() < 1e-9,
            "{} {bits}",
            found[0].bits
        );
        assert_eq!(
            (found[0].order, &found[0].fails[..]),
            (Order::Big, &[5][..])
        );
        // The sum of all, its own bytes as 00, with the bank's vectors after it.
        for bank in &mut banks {
            bank[SIZE - 12..SIZE - 8].fill(0);
            let crc = Algo::CRC32.sum(&bank[..]).unwrap();
            bank[SIZE - 12..SIZE - 8].copy_from_slice(&crc.to_bytes(Order::Little));
        }
        let whole = &stored_sums(&pieces(&banks))[0];
        assert_eq!((whole.range, whole.after), (SumRange::Whole, 8));
        // A piece that is no longer than the vectors and the sum has none.
        let vectors = 32 + 4;
        let mut short = bank(9)[..vectors].to_vec();
        let crc = Algo::CRC32.sum(&short[..vectors - 4]).unwrap();
        short[vectors - 4..].copy_from_slice(&crc.to_bytes(Order::Little));
        assert_eq!(stored_sums(&[&short]), []);
        let mut longer = bank(9)[..vectors + 1].to_vec();
        let crc = Algo::CRC32.sum(&longer[..vectors - 3]).unwrap();
        longer[vectors - 3..].copy_from_slice(&crc.to_bytes(Order::Little));
        assert_eq!(stored_sums(&[&longer]).len(), 1);
    }

    #[test]
    fn every_name_is_a_sum() {
        assert!(NAMES.iter().all(|name| name.parse::<Algo>().is_ok()));
    }
}
