//! How many bits it takes to say something: what a story costs.
//!
//! Source of the principle: J. Rissanen, *Modeling by shortest data description*, Automatica 14 (1978); from memory.

/// Bits that name a number from 1 up, whatever its size; 0 for 0.
pub(super) fn integer(n: usize) -> f64 {
    match n {
        0 => 0.0,
        n => 1.0 + 2.0 * (n as f64).log2(),
    }
}

/// Bits that name an order of so many things.
pub(super) fn order(n: usize) -> f64 {
    if n < 64 {
        return (2..=n).map(|k| (k as f64).log2()).sum();
    }
    // Stirling's series; its next term is below a millionth of a bit.
    let n = n as f64;
    let nats = n * n.ln() - n + 0.5 * (std::f64::consts::TAU * n).ln() + 1.0 / (12.0 * n);
    nats / std::f64::consts::LN_2
}

/// Bits that name which `k` of `n`, at most all of them.
pub(super) fn choice(n: usize, k: usize) -> f64 {
    let k = k.min(n);
    (order(n) - order(k) - order(n - k)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_are_counted() {
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-4, "{a} {b}");
        close(choice(4, 2), 6f64.log2());
        close(choice(8, 0), 0.0);
        close(order(5), 120f64.log2());
        // Both ways to work it out meet.
        let plain: f64 = (2..=64).map(|k| f64::from(k).log2()).sum();
        close(order(64), plain);
        close(choice(1000, 1), 1000f64.log2());
        close(integer(8), 7.0);
    }
}
