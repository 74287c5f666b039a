//! What a read tells by itself, when nobody has the wanted image.

use std::ops::RangeInclusive;

use crate::wiring::Width;

/// Two address lines that act as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Joined {
    /// The read is the same when either or both are 0: shorted, and 0 wins.
    Low,
    /// The read is the same when either or both are 1: shorted, and 1 wins.
    High,
}

/// What is remarkable about a read. Every field that is empty or `None` had nothing to report.
///
/// Small, repeated and blank images show the same signs as bad lines: where
/// [`constant`](Self::constant) is set, nothing else says anything.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Alone {
    /// The read is this one cell everywhere.
    pub constant: Option<u16>,
    /// Address lines that make no difference: the cell at every address is that at the address
    /// with this line turned. The content repeats at a distance of two to the power of the line.
    pub idle_address: Vec<u8>,
    /// Pairs of address lines, neither of them idle, that act as one.
    pub joined_address: Vec<(u8, u8, Joined)>,
    /// Data lines that never move, and where they stay (true is 1).
    pub constant_data: Vec<(u8, bool)>,
    /// Pairs of data lines that move but are always equal.
    pub equal_data: Vec<(u8, u8)>,
    /// Pairs of data lines that move and are always opposite.
    pub opposite_data: Vec<(u8, u8)>,
    /// Whether the upper half echoes the lower.
    pub halves_equal: bool,
    /// Runs of at least [`BLANK`](Self::BLANK) bytes that are all FF, or all 00, as indices of
    /// the first and last byte, with that value.
    pub blank: Vec<(RangeInclusive<usize>, u8)>,
    /// Bytes after which the content only repeats: the smallest power of two that holds all of
    /// it. `None` when the read's length is no power of two.
    pub repeats_after: Option<usize>,
    /// Bytes up to the end of the content, when what follows to the end is all FF.
    pub content_ends: usize,
}

impl Alone {
    /// The shortest run that counts as blank: programs hold shorter ones.
    pub const BLANK: usize = 256;
}

/// Looks at a read by itself.
pub fn alone(read: &[u8], width: Width) -> Alone {
    let mut found = Alone {
        blank: blank(read),
        content_ends: read
            .iter()
            .rposition(|&byte| byte != 0xFF)
            .map_or(0, |last| last + 1),
        ..Alone::default()
    };
    let cells = width.cells(read);
    let Some((&first, rest)) = cells.split_first() else {
        return found;
    };
    if rest.iter().all(|&cell| cell == first) {
        found.constant = Some(first);
    }
    data_lines(&cells, 8 * width.bytes() as u8, &mut found);
    if cells.len().is_power_of_two() {
        address_lines(&cells, &mut found);
        let lines = cells.len().trailing_zeros() as u8;
        let idle_on_top = (0..lines)
            .rev()
            .take_while(|line| found.idle_address.contains(line));
        found.repeats_after = Some(read.len() >> idle_on_top.count());
        found.halves_equal = lines > 0 && found.idle_address.contains(&(lines - 1));
    }
    found
}

fn data_lines(cells: &[u16], lines: u8, found: &mut Alone) {
    let (ones, zeros) = cells.iter().fold((0u16, 0u16), |(ones, zeros), cell| {
        (ones | cell, zeros | !cell)
    });
    let moves = ones & zeros;
    let moving = |line: &u8| moves >> line & 1 == 1;
    let still = (0..lines).filter(|line| !moving(line));
    found.constant_data = still.map(|line| (line, ones >> line & 1 == 1)).collect();
    let moving: Vec<u8> = (0..lines).filter(moving).collect();
    for (n, &a) in moving.iter().enumerate() {
        for &b in &moving[n + 1..] {
            let differ = |cell: &u16| (cell >> a ^ cell >> b) & 1 == 1;
            // Whether they differ at the first address settles which of the two to look for.
            let expected = differ(&cells[0]);
            if cells.iter().all(|cell| differ(cell) == expected) {
                let pairs = if expected {
                    &mut found.opposite_data
                } else {
                    &mut found.equal_data
                };
                pairs.push((a, b));
            }
        }
    }
}

fn address_lines(cells: &[u16], found: &mut Alone) {
    let lines = cells.len().trailing_zeros() as u8;
    let idle = |line: &u8| {
        let half = 1 << line;
        cells
            .chunks_exact(2 * half)
            .all(|block| block[..half] == block[half..])
    };
    found.idle_address = (0..lines).filter(idle).collect();
    let busy: Vec<u8> = (0..lines)
        .filter(|line| !found.idle_address.contains(line))
        .collect();
    for (n, &a) in busy.iter().enumerate() {
        for &b in &busy[n + 1..] {
            let (low, high) = (1 << a, 1 << b);
            let mut bases = (0..cells.len()).filter(|base| base & (low | high) == 0);
            let (mut joined_low, mut joined_high) = (true, true);
            let alike = bases.all(|base| {
                let (one, other) = (cells[base | low], cells[base | high]);
                joined_low &= cells[base] == one;
                joined_high &= cells[base | low | high] == one;
                one == other && (joined_low || joined_high)
            });
            if alike {
                let joined = if joined_low {
                    Joined::Low
                } else {
                    Joined::High
                };
                found.joined_address.push((a, b, joined));
            }
        }
    }
}

fn blank(read: &[u8]) -> Vec<(RangeInclusive<usize>, u8)> {
    let mut found = Vec::new();
    let mut start = 0;
    for run in read.chunk_by(|a, b| a == b) {
        if run.len() >= Alone::BLANK && matches!(run[0], 0x00 | 0xFF) {
            found.push((start..=start + run.len() - 1, run[0]));
        }
        start += run.len();
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::{LineFault, Pattern};

    fn random(lines: u32) -> Vec<u8> {
        Pattern::Random { seed: 77 }.image(1 << lines).unwrap()
    }

    fn through(image: &[u8], fault: LineFault) -> Vec<u8> {
        (0..image.len()).map(|a| image[fault.apply(a)]).collect()
    }

    /// Common practice: content that repeats at a distance of 2^n means that A_n makes no
    /// difference.
    #[test]
    fn idle_address_lines() {
        let image = random(12);
        for line in 0..12 {
            for fault in [LineFault::StuckLow(line), LineFault::StuckHigh(line)] {
                let found = alone(&through(&image, fault), Width::Eight);
                assert_eq!(found.idle_address, [line]);
                let expected = if line == 11 { 1 << 11 } else { 1 << 12 };
                assert_eq!(found.repeats_after, Some(expected));
                assert_eq!(found.halves_equal, line == 11);
            }
        }
        let found = alone(&image, Width::Eight);
        let healthy = Alone {
            repeats_after: Some(4096),
            content_ends: 4096,
            ..Alone::default()
        };
        assert_eq!(found, healthy);
    }

    #[test]
    fn joined_address_lines() {
        let image = random(10);
        let found = |fault| alone(&through(&image, fault), Width::Eight);
        let low = found(LineFault::ShortedLow(2, 7));
        assert_eq!(low.joined_address, [(2, 7, Joined::Low)]);
        let high = found(LineFault::ShortedHigh(0, 9));
        assert_eq!(high.joined_address, [(0, 9, Joined::High)]);
        let driven = found(LineFault::Overdriven {
            winner: 3,
            loser: 4,
        });
        assert_eq!(
            (driven.idle_address, driven.joined_address),
            (vec![4], vec![])
        );
    }

    #[test]
    fn data_lines_that_stay_or_go_together() {
        let mut image = random(9);
        for byte in &mut image {
            let d2 = *byte >> 2 & 1;
            *byte = *byte & 0b0100_0111 | 0b1000_0000 | d2 << 4 | (1 - d2) << 5;
        }
        let found = alone(&image, Width::Eight);
        assert_eq!(found.constant_data, [(3, false), (7, true)]);
        assert_eq!(found.equal_data, [(2, 4)]);
        assert_eq!(found.opposite_data, [(2, 5), (4, 5)]);
    }

    #[test]
    fn sizes_and_blanks() {
        let mut image = random(10);
        image.extend(image.clone());
        image.extend(image.clone());
        let found = alone(&image, Width::Eight);
        assert_eq!(found.idle_address, [10, 11]);
        assert_eq!(found.repeats_after, Some(1024));
        image[1000..1255].fill(0xFF);
        image[2000..2256].fill(0x00);
        image[3000..].fill(0xFF);
        let found = alone(&image, Width::Eight);
        assert_eq!(found.blank, [(2000..=2255, 0x00), (3000..=4095, 0xFF)]);
        assert!(found.content_ends <= 3000);
        assert_eq!(alone(&[0xFF; 64], Width::Eight).constant, Some(0xFF));
        assert_eq!(alone(&[], Width::Eight), Alone::default());
        assert_eq!(alone(&image[..3000], Width::Sixteen).repeats_after, None);
    }
}
