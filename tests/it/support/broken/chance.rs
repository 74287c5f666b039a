//! Chance that can be repeated.

/// The SplitMix64 generator; constants from memory.
pub struct Chance(pub u64);

impl Chance {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ z >> 31
    }

    /// A number below `end`, which is not 0.
    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    /// A number from the first to the last, both included.
    pub fn between(&mut self, first: usize, last: usize) -> usize {
        first + self.below(last - first + 1)
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())]
    }

    /// True once in so many times.
    pub fn once_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }

    /// In any order.
    pub fn shuffle<T>(&mut self, all: &mut [T]) {
        for last in (1..all.len()).rev() {
            all.swap(last, self.below(last + 1));
        }
    }

    /// So many different numbers below `end`, ascending.
    pub fn some_of(&mut self, count: usize, end: usize) -> Vec<usize> {
        let mut some = std::collections::BTreeSet::new();
        while some.len() < count.min(end) {
            some.insert(self.below(end));
        }
        some.into_iter().collect()
    }
}
