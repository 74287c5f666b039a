//! Where two images differ, and how.

use std::ops::RangeInclusive;

/// How often one data line, or all of them, differ, by direction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Turned {
    /// Bits that are 0 in the first image and 1 in the second.
    pub to_one: usize,
    /// Bits that are 1 in the first image and 0 in the second.
    pub to_zero: usize,
}

impl Turned {
    /// Both directions together.
    pub fn total(self) -> usize {
        self.to_one + self.to_zero
    }
}

/// All differences of two images, the first usually the wanted one, the second what was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Differences {
    /// Runs of differing bytes in ascending order, as indices of the first and last byte.
    pub ranges: Vec<RangeInclusive<usize>>,
    /// Bytes compared: the length of the shorter image.
    pub compared: usize,
    /// Bytes that differ among those compared.
    pub bytes: usize,
    /// Bits that differ, of each data line from D0 to D7.
    pub lines: [Turned; 8],
    /// Bytes of the first image after the end of the second.
    pub only_first: usize,
    /// Bytes of the second image after the end of the first.
    pub only_second: usize,
}

impl Differences {
    /// Whether the images are the same, in length too.
    pub fn none(&self) -> bool {
        self.bytes == 0 && self.only_first == 0 && self.only_second == 0
    }

    /// Bits that differ, by direction, over all data lines.
    pub fn bits(&self) -> Turned {
        self.lines
            .iter()
            .fold(Turned::default(), |sum, line| Turned {
                to_one: sum.to_one + line.to_one,
                to_zero: sum.to_zero + line.to_zero,
            })
    }
}

/// Compares two images byte by byte from their start.
pub fn compare(first: &[u8], second: &[u8]) -> Differences {
    const CHUNK: usize = 64;
    let compared = first.len().min(second.len());
    let mut ranges: Vec<RangeInclusive<usize>> = Vec::new();
    let mut bytes = 0;
    // How often each pattern of bits turned to 1, or to 0: the lines are counted once
    // at the end.
    let mut to_one = [0usize; 256];
    let mut to_zero = [0usize; 256];
    let chunks = first.chunks(CHUNK).zip(second.chunks(CHUNK)).enumerate();
    for (n, (a, b)) in chunks {
        if a == b {
            continue;
        }
        for (i, (&a, &b)) in a.iter().zip(b).enumerate() {
            if a == b {
                continue;
            }
            bytes += 1;
            to_one[usize::from(!a & b)] += 1;
            to_zero[usize::from(a & !b)] += 1;
            let at = n * CHUNK + i;
            match ranges.last_mut() {
                Some(last) if *last.end() + 1 == at => *last = *last.start()..=at,
                _ => ranges.push(at..=at),
            }
        }
    }
    let on_line = |counts: &[usize; 256], line: usize| {
        let carrying = counts
            .iter()
            .enumerate()
            .filter(|(byte, _)| byte >> line & 1 == 1);
        carrying.map(|(_, count)| count).sum()
    };
    Differences {
        ranges,
        compared,
        bytes,
        lines: std::array::from_fn(|line| Turned {
            to_one: on_line(&to_one, line),
            to_zero: on_line(&to_zero, line),
        }),
        only_first: first.len() - compared,
        only_second: second.len() - compared,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_bits_and_directions() {
        let mut first = vec![0xFF; 200];
        let mut second = first.clone();
        first[62] = 0x0F;
        second[63] = 0xFE;
        second[64] = 0x7E;
        second[199] = 0x7F;
        second.push(0x00);
        let differences = compare(&first, &second);
        assert_eq!(differences.ranges, [62..=64, 199..=199]);
        assert_eq!(differences.bytes, 4);
        assert_eq!(
            differences.bits(),
            Turned {
                to_one: 4,
                to_zero: 4
            }
        );
        assert_eq!(
            differences.lines[0],
            Turned {
                to_one: 0,
                to_zero: 2
            }
        );
        assert_eq!(
            differences.lines[7],
            Turned {
                to_one: 1,
                to_zero: 2
            }
        );
        assert_eq!((differences.only_first, differences.only_second), (0, 1));
        assert!(!differences.none());
    }

    #[test]
    fn equal_images() {
        assert!(compare(&[1, 2, 3], &[1, 2, 3]).none());
        assert!(!compare(&[1, 2, 3], &[1, 2]).none());
        assert!(compare(&[], &[]).none());
    }
}
