//! Grams: short runs of bytes, sampled by their content, so that the same ones are taken wherever they are.

/// Bytes of a gram.
pub(super) const GRAM: usize = 12;
/// A gram ends in fewer equal bytes than this; longer runs are filler, which proves nothing.
const FLAT: usize = 6;
/// One gram in two to this power is taken.
pub(super) const SPARSE: u32 = 4;

/// A number without a pattern for each byte (the mixing step of SplitMix64: G. Steele, D. Lea, C. Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014).
const MIXED: [u64; 256] = {
    let mut mixed = [0u64; 256];
    let mut n = 0;
    while n < 256 {
        let mut z = (n as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed[n] = z ^ z >> 31;
        n += 1;
    }
    mixed
};
/// The same, turned as far as the first byte of a gram is when the next byte comes.
const LEAVING: [u64; 256] = {
    let mut leaving = [0u64; 256];
    let mut n = 0;
    while n < 256 {
        leaving[n] = MIXED[n].rotate_left(TURN * GRAM as u32);
        n += 1;
    }
    leaving
};
/// How far the hash turns with each byte: twelve of these are less than its 64 bits, so no two bytes of a gram coincide.
const TURN: u32 = 5;

/// Gives the place and the hash of each gram that is taken at this density: one in two to its power. What is taken at one density is taken
/// at every lower one. The hash rolls, by cyclic polynomials (J. D. Cohen, "Recursive hashing functions for n-grams", ACM
/// TOIS 15(3), 1997).
pub(super) fn grams(bytes: &[u8], density: u32, mut with: impl FnMut(usize, u64)) {
    let Some((first, rest)) = bytes.split_at_checked(GRAM) else {
        return;
    };
    // Below this the upper bits, as many as the density says, are all 0.
    let limit = u64::MAX >> density;
    let mut give = |at: usize, hash: u64| {
        let end = &bytes[at + GRAM - FLAT..at + GRAM];
        if end.iter().any(|byte| *byte != end[0]) {
            with(at, hash);
        }
    };
    let enter = |hash: u64, byte: &u8| hash.rotate_left(TURN) ^ MIXED[usize::from(*byte)];
    let mut hash = first.iter().fold(0, enter);
    if hash <= limit {
        give(0, hash);
    }
    for (at, (left, entered)) in bytes.iter().zip(rest).enumerate() {
        hash = enter(hash, entered) ^ LEAVING[usize::from(*left)];
        if hash <= limit {
            give(at + 1, hash);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    fn all(bytes: &[u8], density: u32) -> Vec<u64> {
        let mut all = Vec::new();
        grams(bytes, density, |_, gram| all.push(gram));
        all
    }

    #[test]
    fn a_gram_is_taken_wherever_it_is() {
        let image = Pattern::Random { seed: 5 }.image(8192).unwrap();
        let whole = all(&image, SPARSE);
        assert!((300..750).contains(&whole.len()), "{}", whole.len());
        // What comes before does not count.
        let tail = all(&image[1001..], SPARSE);
        assert!(whole.ends_with(&tail));
        // What is taken sparsely is taken densely, too.
        let dense = all(&image, 0);
        assert_eq!(dense.len(), image.len() - GRAM + 1);
        assert!(whole.iter().all(|gram| dense.contains(gram)));
    }

    #[test]
    fn filler_has_no_grams() {
        assert!(all(&[0xFF; 1000], 0).is_empty());
        assert!(all(&[1, 2, 3], 0).is_empty());
    }
}
