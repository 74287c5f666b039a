//! Tables as programs have them: sines, square roots, squares, wave forms, key maps, letters.

use crate::support::broken::Chance;
use std::f64::consts::TAU;

/// One of 16 to 64 bytes, as between routines.
pub fn short(chance: &mut Chance) -> Vec<u8> {
    let length = 16 << chance.below(3);
    let table = any(chance);
    table.into_iter().take(length).collect()
}

/// So many bytes of tables, one after the other.
pub fn tables(size: usize, chance: &mut Chance) -> Vec<u8> {
    let mut tables = Vec::with_capacity(size + 2048);
    while tables.len() < size {
        tables.extend(any(chance));
    }
    tables.truncate(size);
    tables
}

fn any(chance: &mut Chance) -> Vec<u8> {
    let entries = 64 << chance.below(3);
    let part = |n: usize| n as f64 / entries as f64;
    match chance.below(8) {
        0 => {
            let (height, phase) = (20 + chance.below(108), chance.below(entries));
            (0..entries)
                .map(|n| (128.0 + height as f64 * (TAU * part(n + phase)).sin()) as u8)
                .collect()
        }
        1 => {
            let height = (2000 + chance.below(30_000)) as f64;
            let high_first = chance.once_in(2);
            (0..entries)
                .flat_map(|n| {
                    let word = (height * (TAU * part(n)).sin()) as i16;
                    if high_first {
                        word.to_be_bytes()
                    } else {
                        word.to_le_bytes()
                    }
                })
                .collect()
        }
        2 => {
            let scale = (1 + chance.below(200)) as f64;
            (0..entries)
                .map(|n| (scale * n as f64).sqrt() as u8)
                .collect()
        }
        3 => {
            let from = chance.below(1000) as u32;
            (from..from + entries as u32)
                .flat_map(|n| (n * n / 4).to_le_bytes()[..2].to_vec())
                .collect()
        }
        4 => {
            // Decay, as of a struck bell.
            let (turns, fall) = (2 + chance.below(9), 1 + chance.below(5));
            (0..entries)
                .map(|n| {
                    let fall = (-(fall as f64) * part(n)).exp();
                    (128.0 + 127.0 * fall * (TAU * turns as f64 * part(n)).sin()) as u8
                })
                .collect()
        }
        5 => {
            // Notes: divisors of a clock, falling by the twelfth root of 2.
            let clock = (200 + chance.below(3000)) as f64 * 16.0;
            (0..60)
                .flat_map(|n| ((clock / 2f64.powf(n as f64 / 12.0)) as u16).to_le_bytes())
                .collect()
        }
        6 => {
            // Keys: letters and marks in an order of the keyboard's own.
            let mut keys: Vec<u8> = (0x20..0x7F).collect();
            for last in (1..keys.len()).rev() {
                keys.swap(last, chance.below(last + 1));
            }
            keys
        }
        _ => letters(chance),
    }
}

/// Letters of our own, 8 bytes each, drawn from strokes.
fn letters(chance: &mut Chance) -> Vec<u8> {
    let mut letters = Vec::new();
    let (left, right) = (1 + chance.below(2), 5 + chance.below(2));
    let across = (left..=right).fold(0u8, |row, x| row | 0x80 >> x);
    for _ in 0..48 {
        let mut rows = [0u8; 8];
        let strokes = 1 + chance.below(127);
        for (stroke, row) in [(1, 0), (2, 3), (4, 6)] {
            if strokes & stroke != 0 {
                rows[row] |= across;
            }
        }
        for (stroke, x, from) in [(8, left, 0), (16, right, 0), (32, left, 3), (64, right, 3)] {
            if strokes & stroke != 0 {
                for row in &mut rows[from..=from + 3] {
                    *row |= 0x80 >> x;
                }
            }
        }
        letters.extend(rows);
    }
    letters
}
