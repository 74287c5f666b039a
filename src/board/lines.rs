//! Numbers whose bits are lines.

/// Spreads the bits of `number` over `lines`, the lowest bit to the first line.
pub(super) fn spread(number: u64, lines: &[u8]) -> u64 {
    let bits = lines.iter().enumerate();
    bits.fold(0, |out, (bit, line)| out | (number >> bit & 1) << line)
}

/// The reverse of [`spread`]: the bits at `lines`, one after another.
pub(super) fn collect(number: u64, lines: &[u8]) -> u64 {
    let bits = lines.iter().enumerate();
    bits.fold(0, |out, (bit, line)| out | (number >> line & 1) << bit)
}

/// How many bits are needed to number `count` things: 0 for one, 3 for five to eight.
pub(super) fn bits_for(count: u64) -> u32 {
    count.max(1).next_power_of_two().trailing_zeros()
}
