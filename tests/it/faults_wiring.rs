//! Wiring is recovered: random rewirings of random and program images are found again.

use crate::support::broken::Chance;
use crate::support::share;
use romloom::faults::Pattern;
use romloom::faults::recovery::recover;
use romloom::wiring::{Width, Wiring};

/// A rewired image, written from what the lists mean: chip line i carries the original's line
/// `LIST[i]`. With 16 data lines a cell is two bytes, D0 to D7 first.
fn rewired(image: &[u8], wiring: &Wiring) -> Vec<u8> {
    let mut chip = vec![0; image.len()];
    let bytes = wiring.data().len() / 8;
    for (original, cell) in image.chunks(bytes).enumerate() {
        let cell = cell
            .iter()
            .rev()
            .fold(0, |cell, byte| cell << 8 | u16::from(*byte));
        let mut at = 0;
        for (i, &line) in wiring.address().iter().enumerate() {
            at |= (original >> line & 1) << i;
        }
        let mut wired = 0;
        for (i, &line) in wiring.data().iter().enumerate() {
            wired |= (cell >> line & 1) << i;
        }
        let at = (at ^ wiring.address_inverted() as usize) * bytes;
        let wired = (wired ^ wiring.data_inverted()).to_le_bytes();
        chip[at..at + bytes].copy_from_slice(&wired[..bytes]);
    }
    chip
}

fn shuffle(lines: &mut [u8], chance: &mut Chance) {
    for last in (1..lines.len()).rev() {
        lines.swap(last, chance.below(last + 1));
    }
}

fn some_wiring(lines: u8, width: Width, chance: &mut Chance) -> Wiring {
    let mut address: Vec<u8> = (0..lines).collect();
    let mut data: Vec<u8> = (0..width.lines()).collect();
    shuffle(&mut address, chance);
    shuffle(&mut data, chance);
    let address_inverted = chance.below(1 << lines) as u32;
    let data_inverted = chance.below(1 << width.lines()) as u16;
    let wiring = Wiring::new(width, address, data).unwrap();
    wiring.inverting(address_inverted, data_inverted).unwrap()
}

#[test]
fn two_hundred_random_wirings() {
    let chance = &mut Chance(200);
    let (mut exact, mut alike) = (0, 0);
    let tried = share(200, 8);
    for n in 0..tried {
        // Most are small, so that the whole stays quick: 11 to 19 lines, halving in number. Every fourth is of words.
        let lines = 11 + [0, 0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 1][n % 20];
        let seed = 1 + chance.below((1 << 23) - 1) as u32;
        let image = Pattern::Random { seed }.image(1 << lines).unwrap();
        let (width, lines) = match n % 4 {
            3 => (Width::Sixteen, lines - 1),
            _ => (Width::Eight, lines),
        };
        let wiring = some_wiring(lines, width, chance);
        let chip = rewired(&image, &wiring);
        assert_eq!(wiring.apply(&image).unwrap(), chip);
        let found = recover(&image, &chip, width).unwrap();
        assert_eq!(rewired(&image, &found.wiring), chip);
        if found.is_unique() {
            assert_eq!(found.wiring, wiring);
            exact += 1;
        } else {
            alike += 1;
        }
    }
    println!("wirings of random images: {exact} found, {alike} among alike");
    assert_eq!(exact, tried);
}

/// Programs are blank for the most part, and some lines make no difference: these are named.
#[test]
fn wirings_of_programs() {
    let chance = &mut Chance(15);
    let (mut exact, mut alike) = (0, 0);
    let mut chip = vec![0xFF; 0x8000];
    let basic = include_bytes!("../../samples/heron-8/basic.bin");
    let monitor = include_bytes!("../../samples/heron-8/monitor.bin");
    chip[..basic.len()].copy_from_slice(basic);
    chip[0x6000..0x6000 + monitor.len()].copy_from_slice(monitor);
    for _ in 0..share(40, 8) {
        let wiring = some_wiring(15, Width::Eight, chance);
        let read = rewired(&chip, &wiring);
        let found = recover(&chip, &read, Width::Eight).unwrap();
        assert_eq!(rewired(&chip, &found.wiring), read);
        if found.is_unique() {
            assert_eq!(found.wiring, wiring);
            exact += 1;
        } else {
            // Lines that are not said to look alike are right.
            for (i, (found_line, line)) in found
                .wiring
                .address()
                .iter()
                .zip(wiring.address())
                .enumerate()
            {
                let group = found
                    .alike_address
                    .iter()
                    .find(|group| group.contains(line));
                assert!(
                    found_line == line || group.is_some_and(|group| group.contains(found_line)),
                    "chip line A{i}: {found:?} {wiring:?}"
                );
            }
            alike += 1;
        }
    }
    println!("wirings of a program: {exact} found, {alike} among alike");
}
