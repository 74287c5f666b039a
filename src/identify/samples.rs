//! Sampled places of a known content, for reads through bad lines: they have hardly a gram in common with it.

/// Places that are looked at.
const PLACES: usize = 192;
/// How many places are tried to find that many that are not filler.
const TRIED: usize = 2048;
/// A step that does not come near the same place again soon: the golden section of 65,536.
const STEP: usize = 0x9E37;
/// A share of differing bits this large is chance.
pub(super) const BY_CHANCE: f64 = 0.38;
/// Of the bytes that are not erased, this share may have a bit that the known content lacks.
pub(super) const NOT_UNDER: f64 = 0.1;

/// Places of a content that don't have its most frequent byte.
pub(super) struct Samples {
    at: Vec<usize>,
}

/// How well a read agrees at the sampled places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BitLikeness {
    /// The share of bits that differ.
    pub off: f64,
    /// The share of its bytes, without erased ones, that have a bit which the content lacks: 0 for a chip burned through bad
    /// lines, where bits were only cleared.
    pub not_under: f64,
}

impl Samples {
    pub fn of(content: &[u8]) -> Self {
        let mut counts = [0u32; 256];
        for &byte in content.iter().step_by(61) {
            counts[usize::from(byte)] += 1;
        }
        let common = (0..=u8::MAX).max_by_key(|&byte| counts[usize::from(byte)]);
        let mut at = Vec::with_capacity(PLACES);
        let mut place = 0;
        for _ in 0..TRIED {
            place = (place + STEP) % content.len().max(1);
            if content.get(place).copied() != common {
                at.push(place);
                if at.len() == PLACES {
                    break;
                }
            }
        }
        at.retain(|&at| at < content.len());
        Samples { at }
    }

    /// How many places there are.
    pub fn len(&self) -> usize {
        self.at.len()
    }

    /// Both have the length of the content that was sampled.
    pub fn likeness(&self, content: &[u8], read: &[u8]) -> BitLikeness {
        let (mut off, mut written, mut over) = (0, 0, 0);
        for &at in &self.at {
            let (known, read) = (content[at], read[at]);
            off += (known ^ read).count_ones();
            if read != 0xFF {
                written += 1;
                over += u32::from(read & !known != 0);
            }
        }
        let share = |n: u32, of: usize| match of {
            0 => 1.0,
            _ => f64::from(n) / of as f64,
        };
        BitLikeness {
            off: share(off, 8 * self.at.len()),
            not_under: share(over, written),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    #[test]
    fn a_bad_line_is_like_and_a_stranger_is_not() {
        let image = |seed| Pattern::Random { seed }.image(4096).unwrap();
        let (known, stranger) = (image(1), image(2));
        let samples = Samples::of(&known);
        assert_eq!(samples.len(), PLACES);
        let low: Vec<u8> = (0..4096).map(|a| known[a & !2]).collect();
        assert!(samples.likeness(&known, &low).off < BY_CHANCE);
        assert!(samples.likeness(&known, &stranger).off > BY_CHANCE);
        let burned: Vec<u8> = (0..4096)
            .map(|a| match a & 2 {
                0 => known[a] & known[a | 2],
                _ => 0xFF,
            })
            .collect();
        assert_eq!(samples.likeness(&known, &burned).not_under, 0.0);
        assert!(samples.likeness(&stranger, &burned).not_under > NOT_UNDER);
    }

    #[test]
    fn what_is_nearly_blank_has_few_places() {
        let mut content = [0xFF; 5000];
        content[..10].fill(0);
        assert!(Samples::of(&content).len() <= 10);
        assert_eq!(Samples::of(&[]).len(), 0);
    }
}
