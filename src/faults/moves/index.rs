//! Where each run of eight bytes is in an image, and the pieces that its constant runs cut it into.

use crate::faults::cost::{log2, place};

/// Bytes that are looked up at once.
pub(super) const GRAM: usize = 8;
/// A constant run of this many bytes separates two pieces: programs contain shorter ones.
const GAP: usize = 16;
/// No further place.
const NONE: u32 = u32::MAX;

/// The places of each gram in an image: a hash table of chains in two arrays, so that it takes four bytes a place.
pub(in crate::faults) struct Index {
    head: Vec<u32>,
    next: Vec<u32>,
    shift: u32,
    /// First bytes of the pieces between constant runs, ascending, and the bytes after their last ones.
    starts: Vec<u32>,
    ends: Vec<u32>,
}

/// Eight bytes from here.
pub(super) fn gram(bytes: &[u8], at: usize) -> u64 {
    match bytes.get(at..at + GRAM).map(<[u8; GRAM]>::try_from) {
        Some(Ok(gram)) => u64::from_le_bytes(gram),
        _ => 0,
    }
}

impl Index {
    /// An index of an image of `size` bytes that has nothing in it yet.
    pub(super) fn empty(size: usize) -> Self {
        let bits = (usize::BITS - size.max(1024).leading_zeros()).clamp(10, 22);
        Index {
            head: vec![NONE; 1 << bits],
            next: vec![NONE; size],
            shift: 64 - bits,
            starts: Vec::new(),
            ends: Vec::new(),
        }
    }

    /// The index of an image; chains run from its start to its end.
    pub fn of(image: &[u8]) -> Self {
        let mut index = Self::empty(image.len());
        for at in (0..(image.len() + 1).saturating_sub(GRAM)).rev() {
            index.put(image, at);
        }
        index.cut(image);
        index
    }

    fn slot(&self, gram: u64) -> usize {
        (gram.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> self.shift) as usize
    }

    /// Adds a place. Constant grams are left out: that there is a blank area says nothing about where it came from.
    pub(super) fn put(&mut self, image: &[u8], at: usize) {
        let gram = gram(image, at);
        if gram == (gram & 0xFF).wrapping_mul(0x0101_0101_0101_0101) {
            return;
        }
        let slot = self.slot(gram);
        self.next[at] = self.head[slot];
        self.head[slot] = at as u32;
    }

    fn cut(&mut self, image: &[u8]) {
        let (mut at, mut start) = (0, 0);
        for run in image.chunk_by(|a, b| a == b) {
            if run.len() >= GAP {
                if at > start {
                    self.starts.push(start as u32);
                    self.ends.push(at as u32);
                }
                start = at + run.len();
            }
            at += run.len();
        }
        if start < image.len() {
            self.starts.push(start as u32);
            self.ends.push(image.len() as u32);
        }
    }

    /// Places in `image` of the eight bytes at `at` in `read`, at most `most` links of the chain.
    pub fn places<'i>(
        &'i self,
        image: &'i [u8],
        read: &[u8],
        at: usize,
        most: usize,
    ) -> impl Iterator<Item = usize> + 'i {
        let wanted = gram(read, at);
        let first = match at + GRAM <= read.len() && !self.next.is_empty() {
            true => self.head[self.slot(wanted)],
            false => NONE,
        };
        let link = move |&at: &u32| self.next.get(at as usize).copied();
        std::iter::successors((first != NONE).then_some(first), link)
            .take_while(|&at| at != NONE)
            .take(most)
            .map(|at| at as usize)
            .filter(move |&at| gram(image, at) == wanted)
    }

    /// How many pieces there are.
    pub fn pieces(&self) -> usize {
        self.starts.len()
    }

    pub fn is_start(&self, at: usize) -> bool {
        self.starts.binary_search(&(at as u32)).is_ok()
    }

    pub fn is_end(&self, at: usize) -> bool {
        self.ends.binary_search(&(at as u32)).is_ok()
    }

    /// A place among `n`, cheap where a piece begins or ends.
    pub fn place(&self, at: usize, n: usize) -> f64 {
        let anywhere = place(at, n);
        match self.is_start(at) || self.is_end(at) {
            true => anywhere.min(self.boundary()),
            false => anywhere,
        }
    }

    /// Which boundary of a piece.
    pub fn boundary(&self) -> f64 {
        3.0 + log2(2 * self.pieces())
    }
}

/// How many bytes both begin with.
pub(in crate::faults) fn common(a: &[u8], b: &[u8]) -> usize {
    let mut n = 0;
    for (a, b) in a.chunks(32).zip(b.chunks(32)) {
        if a != b {
            return n + a.iter().zip(b).take_while(|(a, b)| a == b).count();
        }
        n += a.len();
    }
    n
}

/// How many bytes differ, as far as both go.
pub(in crate::faults) fn differing(a: &[u8], b: &[u8]) -> usize {
    let chunks = a.chunks(64).zip(b.chunks(64)).filter(|(a, b)| a != b);
    chunks
        .map(|(a, b)| a.iter().zip(b).filter(|(a, b)| a != b).count())
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn common_beginnings() {
        let a: Vec<u8> = (0..100).collect();
        assert_eq!(common(&a, &a), 100);
        assert_eq!(common(&a, &a[..50]), 50);
        assert_eq!(common(&a[..50], &a), 50);
        for n in [0, 1, 31, 32, 33, 64, 99] {
            let mut b = a.clone();
            b[n] ^= 1;
            assert_eq!(common(&a, &b), n);
        }
        assert_eq!(common(&[], &a), 0);
    }

    #[test]
    fn pieces_lie_between_constant_runs() {
        let mut image = vec![0xFF; 200];
        for (n, byte) in image.iter_mut().enumerate().take(90).skip(40) {
            *byte = n as u8;
        }
        image[60..70].fill(0);
        image[199] = 1;
        let index = Index::of(&image);
        assert_eq!(index.pieces(), 2);
        assert!(index.is_start(40) && index.is_end(90) && index.is_start(199) && index.is_end(200));
    }

    #[test]
    fn every_place_of_a_gram_is_found_in_order() {
        let image: Vec<u8> = (0..256u32).map(|n| (n % 64 * 7) as u8).collect();
        let index = Index::of(&image);
        let places: Vec<usize> = index.places(&image, &image, 66, 24).collect();
        assert_eq!(places, [2, 66, 130, 194]);
        let most: Vec<usize> = index.places(&image, &image, 66, 2).collect();
        assert_eq!(most, [2, 66]);
    }

    /// 16 equal bytes end a piece, and 15 do not.
    #[test]
    fn a_gap_is_sixteen_bytes() {
        let with = |gap: usize| {
            let mut image: Vec<u8> = (0..100).collect();
            image[40..40 + gap].fill(0xAA);
            Index::of(&image)
        };
        assert_eq!((with(15).pieces(), with(16).pieces()), (1, 2));
        let index = with(16);
        assert!(index.is_start(0) && index.is_end(40) && index.is_start(56) && index.is_end(100));
        assert!(!index.is_start(40) && !index.is_end(56));
        assert_eq!(Index::of(&[]).pieces(), 0);
        assert_eq!(Index::of(&[1; 15]).pieces(), 1);
        assert_eq!(Index::of(&[1; 16]).pieces(), 0);
        let mut late: Vec<u8> = vec![0; 20];
        late.extend(1..=20);
        let late = Index::of(&late);
        assert!(late.pieces() == 1 && late.is_start(20) && late.is_end(40));
    }

    /// EVIDENCE: a place is at a piece's boundary also 3 + log2(2 pieces).
    #[test]
    fn places_at_boundaries_are_cheap() {
        let mut image = vec![0xFF; 4096];
        for start in [0x123, 0x555] {
            (start..start + 100).for_each(|at| image[at] = at as u8);
        }
        let index = Index::of(&image);
        assert_eq!((index.pieces(), index.boundary()), (2, 5.0));
        assert_eq!(
            [0x123, 0x555, 0x123 + 100].map(|at| index.place(at, 4096)),
            [5.0; 3]
        );
        assert_eq!(index.place(0x124, 4096), 13.0);
        assert_eq!(index.place(0x800, 4096), 5.0);
        assert_eq!(index.place(0, 4096), 2.0);
    }

    #[test]
    fn places_that_are_looked_up() {
        let image: Vec<u8> = (0..64).collect();
        let index = Index::of(&image);
        let places = |read: &[u8], at| index.places(&image, read, at, 24).collect::<Vec<_>>();
        assert_eq!(places(&image, 0), [0]);
        assert_eq!(places(&image, 56), [56]);
        assert_eq!(places(&image, 57), [0; 0], "seven bytes are no gram");
        assert_eq!(places(&[9; 8], 0), [0; 0]);
        // Of constant grams nothing is known.
        let blank = [0xFFu8; 64];
        let index = Index::of(&blank);
        assert_eq!(index.places(&blank, &blank, 0, 24).count(), 0);
        assert_eq!(differing(&image, &[&image[..60], &[0; 9]].concat()), 4);
        let (mut a, b) = ([0u8; 200], [0u8; 200]);
        (a[0], a[63], a[64], a[199]) = (1, 1, 1, 1);
        assert_eq!((differing(&a, &b), differing(&a[..64], &b)), (4, 2));
    }
}
