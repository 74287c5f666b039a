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
    let tried = share(200, 20);
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
    for _ in 0..share(40, 20) {
        let wiring = some_wiring(15, Width::Eight, chance);
        let read = rewired(&chip, &wiring);
        let found = recover(&chip, &read, Width::Eight).unwrap();
        assert_eq!(rewired(&chip, &found.wiring), read);
        if found.is_unique() {
            assert_eq!(found.wiring, wiring);
            exact += 1;
        } else {
            // Lines that are not said to look alike are right.
            let lines = found.wiring.address().iter().zip(wiring.address());
            for (i, (found_line, line)) in lines.enumerate() {
                let mut groups = found.open.alike_address.iter();
                let group = groups.find(|group| group.contains(line));
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

/// Up to one byte in fifty is wrong, a data line may be dead besides, and all that is said of the rest is right.
#[test]
fn wirings_with_wrong_bytes_and_a_dead_line() {
    let chance = &mut Chance(50);
    let tried = share(200, 25);
    for n in 0..tried {
        let width = match n % 3 {
            2 => Width::Sixteen,
            _ => Width::Eight,
        };
        let bytes = width.bytes();
        let lines = 10 + chance.below(4) as u8;
        let seed = 1 + chance.below((1 << 23) - 1) as u32;
        let mut image = Pattern::Random { seed }.image(bytes << lines).unwrap();
        if n % 2 == 1 {
            // A program, and a blank rest.
            let basic = include_bytes!("../../samples/heron-8/basic.bin");
            image.fill(0xFF);
            let used = basic.len().min(image.len() * 3 / 4);
            image[..used].copy_from_slice(&basic[..used]);
        }
        let wiring = some_wiring(lines, width, chance);
        let mut chip = rewired(&image, &wiring);
        let cells = chip.len() / bytes;
        let dead = (n % 4 < 2).then(|| (chance.below(8 * bytes), chance.below(2) == 1));
        if let Some((line, high)) = dead {
            for byte in chip.iter_mut().skip(line / 8).step_by(bytes) {
                *byte = *byte & !(1 << (line % 8)) | u8::from(high) << (line % 8);
            }
        }
        let right = chip.clone();
        let wrong = [0, 1, cells / 100, cells / 50][chance.below(4)];
        for _ in 0..wrong {
            chip[chance.below(cells) * bytes + chance.below(bytes)] ^= 1 + chance.below(255) as u8;
        }
        let found = recover(&image, &chip, width).unwrap_or_else(|e| panic!("case {n}: {e}"));
        // Held against plain code, not against the wiring's own.
        let mut made = rewired(&image, &found.wiring);
        for &(line, high) in &found.dead {
            for byte in made.iter_mut().skip(usize::from(line) / 8).step_by(bytes) {
                *byte = *byte & !(1 << (line % 8)) | u8::from(high) << (line % 8);
            }
        }
        let differing = |a: &[u8], b: &[u8]| {
            let pairs = a.chunks(bytes).zip(b.chunks(bytes));
            let differing = pairs.enumerate().filter(|(_, (a, b))| a != b);
            differing.map(|(at, _)| at).collect::<Vec<usize>>()
        };
        let left_over = differing(&made, &chip);
        assert_eq!(found.left_over, left_over.len(), "case {n}");
        assert!(left_over.starts_with(&found.left_over_at), "case {n}");
        assert!(
            left_over.len() <= differing(&right, &chip).len(),
            "case {n}"
        );
        if n % 2 == 0 {
            let dead: Vec<_> = dead
                .iter()
                .map(|&(line, high)| (line as u8, high))
                .collect();
            assert_eq!(found.dead, dead, "case {n}");
            assert_eq!(found.wiring.address(), wiring.address(), "case {n}");
            assert_eq!(found.wiring.data(), wiring.data(), "case {n}");
            assert_eq!(found.wiring.address_inverted(), wiring.address_inverted());
        }
    }
}

/// What is called alike, idle or joint is tried here once more, in plain code.
#[test]
fn what_an_image_leaves_open_is_true() {
    for name in ["address", "telltale", "walk", "checker", "zeros"] {
        let image = name.parse::<Pattern>().unwrap().image(1 << 13).unwrap();
        let found = recover(&image, &image, Width::Eight).unwrap();
        assert!(found.wiring.is_straight());
        let straight = |inverted| {
            let lines: Vec<u8> = (0..13).collect();
            let wiring = Wiring::new(Width::Eight, lines, (0..8).collect()).unwrap();
            wiring.inverting(inverted, 0).unwrap()
        };
        for group in &found.open.alike_address {
            for pair in group.windows(2) {
                let mut address: Vec<u8> = (0..13).collect();
                address.swap(pair[0].into(), pair[1].into());
                let swapped = Wiring::new(Width::Eight, address, (0..8).collect()).unwrap();
                assert_eq!(rewired(&image, &swapped), image, "{name} {pair:?}");
            }
        }
        for group in &found.open.alike_data {
            for pair in group.windows(2) {
                let mut data: Vec<u8> = (0..8).collect();
                data.swap(pair[0].into(), pair[1].into());
                let swapped = Wiring::new(Width::Eight, (0..13).collect(), data).unwrap();
                assert_eq!(rewired(&image, &swapped), image, "{name} {pair:?}");
            }
        }
        for line in &found.open.idle {
            assert_eq!(
                rewired(&image, &straight(1 << line)),
                image,
                "{name} A{line}"
            );
        }
        for joint in &found.open.joint {
            assert!(!joint.example.is_straight());
            assert_eq!(rewired(&image, &joint.example), image, "{name} {joint:?}");
        }
    }
    // The pattern `address` tells none of its low lines apart, but by themselves they can't be swapped.
    let image = Pattern::Address.image(1 << 13).unwrap();
    let open = recover(&image, &image, Width::Eight).unwrap().open;
    assert_eq!(open.alike_address, [(8..13).collect::<Vec<u8>>()]);
    assert!(open.alike_data.is_empty());
    let groups: Vec<usize> = open.joint.iter().map(|joint| joint.lines.len()).collect();
    assert_eq!(groups, [8, 8]);
    assert!(!open.complete);
}

/// All orders of so many lines.
fn orders(lines: usize) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for _ in 0..lines {
        let longer = |order: &Vec<usize>| -> Vec<Vec<usize>> {
            let free = (0..lines).filter(|line| !order.contains(line));
            free.map(|line| [&order[..], &[line]].concat()).collect()
        };
        all = all.iter().flat_map(longer).collect();
    }
    all
}

/// The image with its address lines in another order, some inverted.
fn moved(image: &[u8], order: &[usize], inverted: usize) -> Vec<u8> {
    let at = |at: usize| {
        let lines = order.iter().enumerate();
        lines.fold(0, |out, (i, line)| out | (at >> line & 1) << i) ^ inverted
    };
    (0..image.len()).map(|n| image[at(n)]).collect()
}

/// What each data line carries, the lowest address in bit 0; up to 32 cells.
fn columns(image: &[u8]) -> Vec<u32> {
    let bit = |line: usize, at: usize| u32::from(image[at] >> line & 1) << at;
    (0..8)
        .map(|line| (0..image.len()).fold(0, |column, at| column | bit(line, at)))
        .collect()
}

/// Whether data lines in another order, some inverted, make one image of the other; and whether they must move.
fn made_up(image: &[u8], other: &[u8]) -> Option<bool> {
    let all = u32::MAX >> (32 - image.len());
    let folded = |image: &[u8]| {
        let mut columns = columns(image);
        columns.iter_mut().for_each(|c| *c = (*c).min(*c ^ all));
        columns.sort_unstable();
        columns
    };
    (folded(image) == folded(other)).then(|| image != other)
}

fn small_image(kind: usize, lines: usize, chance: &mut Chance) -> Vec<u8> {
    let size = 1usize << lines;
    let table: Vec<u8> = (0..size).map(|_| chance.below(256) as u8).collect();
    let few = [0x00, 0xFF, 0x01, 0x81];
    let pair = chance.below(lines - 1);
    (0..size)
        .map(|at| match kind {
            0 => table[at],
            1 => table[at.count_ones() as usize],
            2 => few[usize::from(table[at]) % (1 + size % 5).min(4)],
            3 => at as u8,
            // Two lines that can be swapped, and nothing else.
            4 => {
                let (low, high) = (at >> pair & 1, at >> (pair + 1) & 1);
                let rest = at & !(3 << pair);
                table[rest | (low & high) << pair | (low | high) << (pair + 1)]
            }
            // A line that makes no difference.
            5 => table[at & !(1 << pair)],
            6 => (at as u8) ^ (at as u8).rotate_left(4),
            7 => 1 << (at % lines),
            _ => table[0],
        })
        .collect()
}

/// Everything that is said of small images, held against all orders and inversions of their lines.
#[test]
fn what_small_images_leave_open_is_all_and_true() {
    let chance = &mut Chance(345);
    let (mut groups, mut joints, mut settled) = (0, 0, 0);
    for n in 0..share(270, 5) {
        let lines = 3 + [0, 0, 1, 1, 2][n % 5];
        let image = small_image(n / 5 % 9, lines, chance);
        let found = recover(&image, &image, Width::Eight).unwrap();
        assert!(found.wiring.is_straight());
        let open = &found.open;
        let straight: Vec<usize> = (0..lines).collect();
        let group_of = |line: usize| {
            let has = |group: &&Vec<u8>| group.contains(&(line as u8));
            open.alike_address.iter().position(|g| has(&g))
        };
        let freely = |order: &[usize]| {
            let pairs = order.iter().enumerate();
            let mut pairs = pairs.filter(|(a, b)| a != *b);
            pairs.all(|(a, b)| group_of(a).is_some() && group_of(a) == group_of(*b))
        };
        for order in orders(lines) {
            for inverted in 0..1 << lines {
                let other = moved(&image, &order, inverted);
                // Lines that are called alike may take any order, all groups at once.
                if inverted == 0 && freely(&order) {
                    assert_eq!(other, image, "{open:?}");
                }
                let idle =
                    (0..lines).all(|i| inverted >> i & 1 == 0 || open.idle.contains(&(i as u8)));
                if made_up(&image, &other).is_some() && open.complete {
                    assert!(freely(&order) && idle, "{order:?} {inverted:b} of {open:?}");
                }
            }
        }
        for line in 0..lines {
            let same = moved(&image, &straight, 1 << line) == image;
            assert_eq!(same, open.idle.contains(&(line as u8)), "{open:?}");
        }
        let columns = columns(&image);
        for group in &open.alike_data {
            let same = |line: &u8| columns[usize::from(*line)] == columns[usize::from(group[0])];
            assert!(group.iter().all(same), "{open:?}");
        }
        groups += open.alike_address.len();
        for joint in &open.joint {
            joints += 1;
            assert_eq!(rewired(&image, &joint.example), image);
            let address = |line: &romloom::wiring::Line| match line {
                romloom::wiring::Line::Address(line) => Some(usize::from(*line)),
                _ => None,
            };
            let lines_of: Vec<usize> = joint.lines.iter().filter_map(address).collect();
            if lines_of.is_empty() {
                // Data lines that are opposite.
                continue;
            }
            if joint.inverted {
                // Each by itself with data lines, and none without.
                for line in lines_of {
                    let other = moved(&image, &straight, 1 << line);
                    assert_eq!(made_up(&image, &other), Some(true), "{open:?}");
                }
                continue;
            }
            for &one in &lines_of {
                for &other in lines_of.iter().filter(|other| **other != one) {
                    let mut order = straight.clone();
                    order.swap(one, other);
                    let swapped = moved(&image, &order, 0);
                    assert_eq!(
                        made_up(&image, &swapped),
                        Some(true),
                        "A{one} A{other} {open:?}"
                    );
                }
            }
        }
        settled += usize::from(open.complete);
    }
    println!(
        "small images: {groups} groups alike, {joints} together with others, {settled} with nothing else left open"
    );
    assert!(groups > 5 && joints > 5 && settled > 5);
}

/// The finding of an attacker: the low lines of the pattern `address` can be swapped only together with data lines.
#[test]
fn the_low_lines_of_the_pattern_address_are_not_called_alike() {
    let image = Pattern::Address.image(1 << 13).unwrap();
    let open = recover(&image, &image, Width::Eight).unwrap().open;
    let mut order: Vec<usize> = (0..13).collect();
    order.swap(0, 1);
    let changed = moved(&image, &order, 0);
    assert_eq!(
        changed.iter().zip(&image).filter(|(a, b)| a != b).count(),
        4096
    );
    assert!(
        open.alike_address
            .iter()
            .all(|group| group.iter().all(|line| *line >= 8))
    );
    assert!(
        open.joint
            .iter()
            .any(|joint| !joint.inverted && joint.lines.len() == 8)
    );
}
