//! How long a diagnosis takes: `cargo bench --bench faults`. All on one core.

#![allow(clippy::unwrap_used)] // in a benchmark an unwrap that fails is the message

use divan::{Bencher, black_box};
use romloom::faults::alone::{alone, banks, stored_sums};
use romloom::faults::compare::compare;
use romloom::faults::recovery::recover;
use romloom::faults::{Case, Pattern};
use romloom::wiring::{Width, Wiring};

fn main() {
    divan::main();
}

const MIB: usize = 1 << 20;

fn random(size: usize) -> Vec<u8> {
    Pattern::Random { seed: 99 }.image(size).unwrap()
}

/// A program in a large chip: a quarter of it used, the rest erased.
fn sparse(size: usize) -> Vec<u8> {
    let mut image = vec![0xFF; size];
    image[..size / 4].copy_from_slice(&random(size / 4));
    image
}

fn stuck(image: &[u8]) -> Vec<u8> {
    (0..image.len()).map(|a| image[a & !(1 << 13)]).collect()
}

/// A9 and A12 exchanged, D3 stuck at 0.
fn two_faults(image: &[u8]) -> Vec<u8> {
    let exchanged = |a: usize| {
        let differ = (a >> 9 ^ a >> 12) & 1;
        a ^ (differ << 9 | differ << 12)
    };
    (0..image.len()).map(|a| image[exchanged(a)] & !8).collect()
}

/// Three faults: nothing explains it, everything is tried.
fn beyond(image: &[u8]) -> Vec<u8> {
    let two = two_faults(image);
    (0..two.len()).map(|a| two[a | 1 << 5] | 0x40).collect()
}

/// Makes an image of a size.
type Make = fn(usize) -> Vec<u8>;
/// Reads an image through faults.
type Read = fn(&[u8]) -> Vec<u8>;

const IMAGES: [(&str, Make); 2] = [("random", random), ("sparse", sparse)];
const READS: [(&str, Read); 3] = [
    ("one fault", stuck),
    ("two faults", two_faults),
    ("three faults", beyond),
];

fn cases() -> impl Iterator<Item = String> {
    IMAGES.iter().flat_map(|(image, _)| {
        READS
            .iter()
            .map(move |(read, _)| format!("{image}, {read}"))
    })
}

fn images(case: &str) -> (Vec<u8>, Vec<u8>) {
    let found = IMAGES
        .iter()
        .find(|(name, _)| case.starts_with(name))
        .unwrap();
    let wanted = found.1(MIB);
    let read = READS
        .iter()
        .find(|(name, _)| case.ends_with(name))
        .unwrap()
        .1(&wanted);
    (wanted, read)
}

#[divan::bench(args = cases())]
fn singles_1mib(bencher: Bencher, case: &str) {
    let (wanted, read) = images(case);
    bencher.bench(|| {
        Case::new(black_box(&wanted), &read)
            .singles_only()
            .diagnose()
            .unwrap()
    });
}

#[divan::bench(args = cases())]
fn pairs_1mib(bencher: Bencher, case: &str) {
    let (wanted, read) = images(case);
    bencher.bench(|| Case::new(black_box(&wanted), &read).diagnose().unwrap());
}

#[divan::bench]
fn compare_1mib(bencher: Bencher) {
    let (wanted, read) = images("random, one fault");
    bencher.bench(|| compare(black_box(&wanted), &read));
}

#[divan::bench]
fn alone_1mib(bencher: Bencher) {
    let (_, read) = images("random, one fault");
    bencher.bench(|| alone(black_box(&read), Width::Eight));
}

#[divan::bench(args = ["random", "sparse"])]
fn wiring_512kib(bencher: Bencher, name: &str) {
    let (_, image) = IMAGES.iter().find(|(found, _)| *found == name).unwrap();
    let image = image(MIB / 2);
    let address = vec![
        3, 17, 0, 5, 9, 1, 18, 2, 16, 4, 6, 15, 7, 14, 8, 10, 13, 11, 12,
    ];
    let data = vec![7, 2, 5, 0, 1, 6, 4, 3];
    let wiring = Wiring::new(Width::Eight, address, data).unwrap();
    let wiring = wiring.inverting(0x2_A51, 0x5C).unwrap();
    let chip = wiring.apply(&image).unwrap();
    bencher.bench(|| recover(black_box(&image), &chip, Width::Eight).unwrap());
}

/// One byte in fifty is wrong, and D2 of the chip is dead.
#[divan::bench(args = ["random", "sparse"])]
fn wiring_512kib_with_wrong_bytes(bencher: Bencher, name: &str) {
    let (_, image) = IMAGES.iter().find(|(found, _)| *found == name).unwrap();
    let image = image(MIB / 2);
    let address = vec![
        3, 17, 0, 5, 9, 1, 18, 2, 16, 4, 6, 15, 7, 14, 8, 10, 13, 11, 12,
    ];
    let data = vec![7, 2, 5, 0, 1, 6, 4, 3];
    let wiring = Wiring::new(Width::Eight, address, data).unwrap();
    let mut chip = wiring.apply(&image).unwrap();
    for n in 0..chip.len() / 50 {
        chip[n * 52_361 % (MIB / 2)] ^= (n % 255) as u8;
    }
    chip.iter_mut().for_each(|byte| *byte |= 4);
    bencher.bench(|| recover(black_box(&image), &chip, Width::Eight).unwrap());
}

/// A table of products, of which all lines look alike.
#[divan::bench]
fn wiring_64kib_of_products(bencher: Bencher) {
    let table: Vec<u8> = (0..1usize << 16)
        .map(|at| (((at & 0xFF) * (at >> 8)) >> 8) as u8)
        .collect();
    let stuck: Vec<u8> = (0..table.len()).map(|at| table[at & !0x20]).collect();
    bencher.bench(|| {
        let itself = recover(black_box(&table), &table, Width::Eight).unwrap();
        (itself, recover(&table, &stuck, Width::Eight).unwrap_err())
    });
}

#[divan::bench]
fn banks_1mib(bencher: Bencher) {
    let mut read = random(MIB);
    for bank in read.chunks_exact_mut(16 << 10) {
        bank[12_000..].fill(0xFF);
    }
    bencher.bench(|| banks(black_box(&read)).unwrap());
}

#[divan::bench]
fn stored_sums_1mib(bencher: Bencher) {
    let read = random(MIB);
    let pieces: Vec<&[u8]> = read.chunks_exact(16 << 10).collect();
    bencher.bench(|| stored_sums(black_box(&pieces)));
}

#[divan::bench(args = ["random", "sparse"])]
fn wiring_512kib_of_words(bencher: Bencher, name: &str) {
    let (_, image) = IMAGES.iter().find(|(found, _)| *found == name).unwrap();
    let image = image(MIB / 2);
    let address = vec![3, 17, 0, 5, 9, 1, 2, 16, 4, 6, 15, 7, 14, 8, 10, 13, 11, 12];
    let data = vec![15, 7, 2, 5, 0, 1, 14, 6, 9, 4, 3, 8, 11, 10, 13, 12];
    let wiring = Wiring::new(Width::Sixteen, address, data).unwrap();
    let wiring = wiring.inverting(0x2_A51, 0x105C).unwrap();
    let chip = wiring.apply(&image).unwrap();
    bencher.bench(|| recover(black_box(&image), &chip, Width::Sixteen).unwrap());
}
