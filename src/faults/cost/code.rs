//! Code lengths of the things that stories are made of: numbers, places, choices, bytes.

use std::sync::OnceLock;

use crate::wiring::Width;

/// The binary logarithm of a count; 0 for 0 and 1.
pub(in crate::faults) fn log2(x: usize) -> f64 {
    (x.max(1) as f64).log2()
}

/// The binary logarithm of n!, exact up to 255, by Stirling's series above.
pub(in crate::faults) fn log2_factorial(n: usize) -> f64 {
    static SMALL: OnceLock<[f64; 256]> = OnceLock::new();
    let small = SMALL.get_or_init(|| {
        let mut sums = [0.0; 256];
        for n in 1..sums.len() {
            sums[n] = sums[n - 1] + (n as f64).log2();
        }
        sums
    });
    if let Some(&exact) = small.get(n) {
        return exact;
    }
    let n = n as f64;
    let natural = n * n.ln() - n + 0.5 * (std::f64::consts::TAU * n).ln() + 1.0 / (12.0 * n);
    natural / std::f64::consts::LN_2
}

/// Which `k` of `n` things: the binary logarithm of n over k. Infinite when there are not so many.
pub(in crate::faults) fn choose(n: usize, k: usize) -> f64 {
    if k > n {
        return f64::INFINITY;
    }
    log2_factorial(n) - log2_factorial(k) - log2_factorial(n - k)
}

/// A whole number from 1 up, the small ones cheap: the length of an Elias gamma code (P. Elias, "Universal codeword sets",
/// IEEE Transactions on Information Theory 21, 1975), smoothed.
pub(in crate::faults) fn integer(k: usize) -> f64 {
    1.0 + 2.0 * log2(k)
}

/// A place in `n` bytes. Its ends are cheap, and so are round places: one bit says whether it is round, four say
/// how round, and the rest of the address follows.
pub(in crate::faults) fn place(x: usize, n: usize) -> f64 {
    if x == 0 || x == n {
        return 2.0;
    }
    let any = log2(n);
    let round = (any - f64::from(x.trailing_zeros())).max(0.0);
    (1.0 + any).min(4.0 + round)
}

/// What each byte value costs when it is written out, depending on how often it is in the read.
///
/// A value that fills the read would be nearly free, and then a blank area could count as new for nothing. Where
/// that matters, [`at_least_a_bit`](Self::at_least_a_bit) gives the cost.
#[derive(Clone)]
pub(in crate::faults) struct Literals([f64; 256]);

impl Literals {
    pub fn of<'r>(read: impl IntoIterator<Item = &'r u8>) -> Self {
        let mut counts = [0u64; 256];
        for &byte in read {
            counts[usize::from(byte)] += 1;
        }
        let counts = counts.map(|count| count as f64 + 0.5);
        let all: f64 = counts.iter().sum();
        Literals(counts.map(|count| -(count / all).log2()))
    }

    pub fn price(&self, byte: u8) -> f64 {
        self.0[usize::from(byte)]
    }

    pub fn at_least_a_bit(&self, byte: u8) -> f64 {
        self.price(byte).max(1.0)
    }

    /// A cell, each of its bytes at least a bit.
    pub fn cell(&self, cell: u16, width: Width) -> f64 {
        let [low, high] = cell.to_le_bytes();
        let low = self.at_least_a_bit(low);
        match width {
            Width::Eight => low,
            Width::Sixteen => low + self.at_least_a_bit(high),
        }
    }

    pub fn prices(&self, bytes: &[u8]) -> f64 {
        bytes.iter().map(|&byte| self.price(byte)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_are_counted() {
        // 8 over 3 is 56, and 52 over 5 is 2,598,960, as many as there are hands at cards.
        assert!((choose(8, 3) - 56f64.log2()).abs() < 1e-9);
        assert!((choose(52, 5) - 2_598_960f64.log2()).abs() < 1e-9);
        assert_eq!(choose(3, 4), f64::INFINITY);
        // The series meets the table.
        let step = log2_factorial(256) - log2_factorial(255);
        assert!((step - 8.0).abs() < 1e-6, "{step}");
    }

    #[test]
    fn round_places_are_cheap() {
        let n = 32 * 1024;
        assert_eq!(place(0, n), 2.0);
        assert_eq!(place(n, n), 2.0);
        assert_eq!(place(0x4000, n), 5.0);
        assert_eq!(place(0x1235, n), 16.0);
    }

    #[test]
    fn common_bytes_are_cheap() {
        let mut read = vec![0xFF; 1000];
        read[0] = 0x12;
        let literals = Literals::of(&read);
        assert!(literals.price(0xFF) < 0.3);
        assert_eq!(literals.at_least_a_bit(0xFF), 1.0);
        assert!(literals.price(0x12) > 9.0);
    }

    /// By hand, with each count one half more than it is.
    #[test]
    fn numbers_and_bytes_have_their_prices() {
        assert_eq!([1, 2, 4, 1024].map(integer), [1.0, 3.0, 5.0, 21.0]);
        assert_eq!([0, 1, 8].map(log2), [0.0, 0.0, 3.0]);
        assert_eq!(place(4096, 4096), 2.0);
        assert_eq!(place(3, 4096), 13.0);
        assert_eq!(place(8, 4096), 13.0);
        assert_eq!(place(16, 4096), 12.0);
        assert_eq!(place(4096, 6000), 4.0 + (6000f64.log2() - 12.0));
        assert_eq!(place(8192, 8193 + 8191), 4.0 + 1.0);
        assert_eq!(place(1 << 14, (1 << 14) - 1), 4.0, "not less than nothing");
        let literals = Literals::of(&[7, 7, 7, 9]);
        let price = |count: f64| -((count + 0.5) / 132.0).log2();
        let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        same(literals.price(7), price(3.0));
        same(literals.price(9), price(1.0));
        same(literals.price(0), price(0.0));
        same(
            literals.prices(&[7, 9, 0]),
            price(3.0) + price(1.0) + price(0.0),
        );
        same(literals.cell(0x0907, Width::Eight), price(3.0));
        same(
            literals.cell(0x0907, Width::Sixteen),
            price(3.0) + price(1.0),
        );
        let blank = Literals::of(&[0xFF; 1000]);
        same(blank.cell(0xFFFF, Width::Sixteen), 2.0);
        // 20 over 10 is 184,756; 600 over 2 is 179,700, beyond the table.
        same(choose(20, 10), 184_756f64.log2());
        assert!((choose(600, 2) - 179_700f64.log2()).abs() < 1e-6);
        assert_eq!((choose(5, 0), choose(5, 5)), (0.0, 0.0));
    }
}
