//! A read as a whole: its lines, its blank areas, its size.

use std::ops::RangeInclusive;

use super::found::Alone;
use super::lines::{look_at_address_lines, look_at_data_lines, telling};
use crate::wiring::Width;

/// Looks at one read, without a wanted image.
pub fn alone(read: &[u8], width: Width) -> Alone {
    let cells = width.cells(read);
    let telling = telling(&cells);
    let ones = u16::MAX >> (16 - width.lines());
    let mut found = Alone {
        blank: blank(&cells, ones),
        telling: telling.iter().filter(|telling| **telling).count(),
        ..Alone::default()
    };
    let Some((&first, rest)) = cells.split_first() else {
        return found;
    };
    if rest.iter().all(|&cell| cell == first) {
        found.constant = Some(first);
        return found;
    }
    let last = cells[cells.len() - 1];
    let content = cells.iter().rposition(|cell| *cell != last);
    let content = content.map_or(0, |last| last + 1);
    if (last == ones || last == 0) && cells.len() - content >= Alone::RUN {
        found.blank_after = Some((content, last));
    }
    if found.telling < Alone::EVIDENCE {
        return found;
    }
    look_at_data_lines(&cells, width, &mut found);
    if cells.len().is_power_of_two() {
        look_at_address_lines(&cells, &telling, &mut found);
        let lines = cells.len().trailing_zeros() as u8;
        let idle_on_top = (0..lines)
            .rev()
            .take_while(|line| found.idle_address.contains(line));
        let repeats_after = cells.len() >> idle_on_top.count();
        found.halves_equal = repeats_after < cells.len();
        found.repeats_after = found.halves_equal.then_some(repeats_after);
    }
    found
}

fn blank(cells: &[u16], ones: u16) -> Vec<(RangeInclusive<usize>, u16)> {
    let mut found = Vec::new();
    let mut start = 0;
    for run in cells.chunk_by(|a, b| a == b) {
        if run.len() >= Alone::BLANK && (run[0] == 0 || run[0] == ones) {
            found.push((start..=start + run.len() - 1, run[0]));
        }
        start += run.len();
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::found::Joined;
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
                let expected = (line == 11).then_some(1 << 11);
                assert_eq!(found.repeats_after, expected);
                assert_eq!(found.smallest(1 << 12), expected);
                assert_eq!(found.halves_equal, line == 11);
            }
        }
        let found = alone(&image, Width::Eight);
        let healthy = Alone {
            telling: 4096,
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
        assert_eq!(found.smallest(4096), Some(1024));
        image[1000..1255].fill(0xFF);
        image[2000..2256].fill(0x00);
        image[3000..].fill(0xFF);
        image[2999] = 0x12;
        let found = alone(&image, Width::Eight);
        assert_eq!(found.blank, [(2000..=2255, 0x00), (3000..=4095, 0xFF)]);
        assert_eq!(found.blank_after, Some((3000, 0xFF)));
        assert_eq!(found.smallest(4096), None, "4K hold it, and no 2K");
        assert_eq!(found.telling, 3000 - 255 - 256);
        assert_eq!(alone(&[0xFF; 64], Width::Eight).constant, Some(0xFF));
        assert_eq!(alone(&[], Width::Eight), Alone::default());
        assert_eq!(alone(&image[..3000], Width::Sixteen).repeats_after, None);
    }

    #[test]
    fn words_are_counted_as_words() {
        let mut image = random(12);
        image[2048..].fill(0xFF);
        let found = alone(&image, Width::Sixteen);
        assert_eq!(found.blank, [(1024..=2047, 0xFFFF)]);
        assert_eq!(found.blank_after, Some((1024, 0xFFFF)));
        assert_eq!(found.smallest(2048), Some(1024));
    }

    /// Blank areas prove nothing: neither that a line stays, nor that two lines are joined, nor that content repeats.
    #[test]
    fn a_mostly_blank_read_accuses_no_line() {
        // Few bytes of 7 bits in a large blank chip.
        let mut image = vec![0xFF; 1 << 15];
        image[0x1234..0x1240].copy_from_slice(b"HERON-8 NOTE");
        let found = alone(&image, Width::Eight);
        let silent = Alone {
            telling: 12,
            blank: vec![(0..=0x1233, 0xFF), (0x1240..=0x7FFF, 0xFF)],
            blank_after: Some((0x1240, 0xFF)),
            ..Alone::default()
        };
        assert_eq!(found, silent);
        assert!(!found.is_suspect());
        // Blank but for the quarter where both lines are 1.
        let quarter = |a: usize| a >> 12 == 0b11;
        let byte = |a: usize| if quarter(a) { (a * 29) as u8 } else { 0xFF };
        let read: Vec<u8> = (0..1 << 14).map(byte).collect();
        let found = alone(&read, Width::Eight);
        assert!(
            !found
                .joined_address
                .iter()
                .any(|(a, b, _)| (*a, *b) == (12, 13))
        );
    }

    /// 20 cells have to be able to show the opposite, before a line is named.
    #[test]
    fn twenty_cells_are_enough_evidence() {
        // In a blank chip so many different bytes from here on.
        let with = |cells: usize, count: usize, at: usize| {
            let mut image = vec![0xFF; cells];
            (0..count).for_each(|n| image[at + n] = 2 * n as u8);
            image
        };
        let data = |count| alone(&with(256, count, 100), Width::Eight);
        assert_eq!((data(19).telling, data(19).constant_data.len()), (19, 0));
        assert!(data(20).constant_data.is_empty() && data(20).telling == 20);
        let stuck = |count| {
            let image: Vec<u8> = with(256, count, 100).iter().map(|byte| byte | 1).collect();
            alone(&image, Width::Eight).constant_data
        };
        assert_eq!((stuck(19), stuck(20)), (vec![], vec![(0, true)]));
        // The upper half echoes the lower.
        let echo = |count| {
            let half = with(128, count, 60);
            alone(&half.repeat(2), Width::Eight).idle_address
        };
        assert_eq!((echo(19), echo(20)), (vec![], vec![7]));
        // One of the two cells is enough: ten are at the read's start, and ten at its end, while those between are in a run.
        let half = [vec![0xFF; 10], vec![0x00; 108], vec![0xFF; 10]].concat();
        assert_eq!(alone(&half.repeat(2), Width::Eight).idle_address, [7]);
        // A6 and A7 act as one, and the three quarters that are the same have so many bytes each.
        let joined = |count: usize| {
            let (quarter, other) = (with(64, count, 20), with(64, 30, 10));
            let other: Vec<u8> = other.iter().map(|byte| byte ^ 0x5A).collect();
            let image = [&quarter[..], &quarter, &quarter, &other].concat();
            alone(&image, Width::Eight).joined_address
        };
        assert_eq!(
            (joined(19), joined(20)),
            (vec![], vec![(6, 7, Joined::Low)])
        );
    }

    /// 16 equal cells tell nothing, 15 do; 256 are a blank area, and 16 at the end are none of the content.
    #[test]
    fn runs_and_blank_areas() {
        let image = |run: usize, byte: u8| {
            let mut image: Vec<u8> = (0..=255).cycle().skip(1).take(1024).collect();
            image[300..300 + run].fill(byte);
            image
        };
        let telling = |run| alone(&image(run, 0x5A), Width::Eight).telling;
        assert_eq!((telling(15), telling(16)), (1024, 1008));
        let blank = |run, byte| alone(&image(run, byte), Width::Eight).blank;
        assert_eq!(
            (blank(255, 0xFF), blank(256, 0xFF)),
            (vec![], vec![(300..=555, 0xFF)])
        );
        assert_eq!(
            (blank(256, 0x00), blank(256, 0x5A)),
            (vec![(300..=555, 0)], vec![])
        );
        let after = |run: usize, byte: u8| {
            let mut image = random(9);
            image[512 - run - 1] = 0x12;
            image[512 - run..].fill(byte);
            alone(&image, Width::Eight).blank_after
        };
        assert_eq!(
            (after(15, 0xFF), after(16, 0xFF)),
            (None, Some((496, 0xFF)))
        );
        assert_eq!(
            (after(16, 0x00), after(16, 0x5A)),
            (Some((496, 0x00)), None)
        );
    }
}
