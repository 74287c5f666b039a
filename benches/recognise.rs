//! How long it takes to tell which chips some reads are: `cargo bench --bench recognise`. All on one core.

#![allow(clippy::unwrap_used)] // in a benchmark an unwrap that fails is the message

use divan::{Bencher, black_box};
use romloom::identify::{Identity, Recogniser};

fn main() {
    divan::main();
}

const K: usize = 1024;
const SIZE: usize = 32 * K;

/// Numbers without a pattern (xorshift: G. Marsaglia, Journal of Statistical Software 8(14), 2003).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}

/// A program of a small processor: a few instructions are common, and so is half of the operands. Every fourth has a library
/// that others have, too; every third leaves a quarter of the chip blank.
fn program(n: usize) -> Vec<u8> {
    const CODES: [u8; 8] = [0xA9, 0x8D, 0x20, 0x60, 0x4C, 0xD0, 0xAD, 0x85];
    let code = |seed: u64, size: usize| -> Vec<u8> {
        let mut chance = Chance(seed);
        let bytes = (0..size).map(|a| {
            let drawn = chance.next() >> 32;
            match a % 3 {
                0 => CODES[(drawn & 7) as usize],
                1 => drawn as u8,
                _ => drawn as u8 & 0x9F,
            }
        });
        bytes.collect()
    };
    let mut image = code(0x9E37_79B9_7F4A_7C15 ^ (n as u64 + 1) << 20, SIZE);
    if n % 4 == 0 {
        image[4 * K..6 * K].copy_from_slice(&code(77, 2 * K));
    }
    if n % 3 == 0 {
        image[24 * K..].fill(0xFF);
    }
    image
}

fn lane(image: &[u8], n: usize, of: usize) -> Vec<u8> {
    image.iter().copied().skip(n).step_by(of).collect()
}

/// Twenty reads: seven forms, seven with something wrong, three strangers, three more as they are.
fn reads(library: &[Vec<u8>]) -> Vec<Vec<u8>> {
    let image = |n: usize| library[n * 37 % library.len()].clone();
    let through = |n: usize, line: fn(usize) -> usize| -> Vec<u8> {
        let image = image(n);
        (0..SIZE).map(|a| image[line(a)]).collect()
    };
    let mut bit = image(8);
    bit[1234] ^= 4;
    let mut version = image(9);
    version[8 * K..8 * K + 150].fill(0x42);
    let mut lost = image(10);
    lost.drain(999..1016);
    lost.resize(SIZE, 0xFF);
    vec![
        image(1)[..SIZE / 2].to_vec(),
        lane(&image(2), 1, 2),
        lane(&image(3), 2, 4),
        image(4).repeat(2),
        [&[1, 2, 3, 4, 5, 6, 7, 8][..], &image(5)].concat(),
        image(6).iter().map(|byte| !byte).collect(),
        through(7, |a| a ^ 1),
        bit,
        version,
        lost,
        image(11).iter().map(|byte| byte & !8).collect(),
        through(12, |a| a & !32),
        through(13, |a| a | 1),
        through(14, |a| a & !0x14 | (a >> 2 & 4) | (a << 2 & 16)),
        program(1_000_001),
        program(1_000_002),
        program(1_000_004),
        image(15),
        image(16),
        image(17),
    ]
}

fn answers(library: &[Vec<u8>], reads: &[Vec<u8>]) -> Vec<Identity> {
    let reads: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
    let mut recogniser = Recogniser::new(&reads);
    for content in library {
        recogniser.look_at(content);
    }
    recogniser.answers(|n| Ok::<_, ()>(&library[n])).unwrap()
}

#[divan::bench(args = [50, 500, 5_000])]
fn twenty_reads_of_32k(bencher: Bencher, references: usize) {
    let library: Vec<Vec<u8>> = (0..references).map(program).collect();
    let reads = reads(&library);
    bencher.bench(|| answers(black_box(&library), black_box(&reads)));
}

/// One read of the shape that was slow once.
#[divan::bench]
fn one_read_among_5000_of_8k(bencher: Bencher) {
    let library: Vec<Vec<u8>> = (0..5_000).map(|n| program(n)[..8 * K].to_vec()).collect();
    let reads = [program(4_321)[..8 * K].to_vec()];
    bencher.bench(|| answers(black_box(&library), black_box(&reads)));
}
