//! How the time to lay out scattered records grows with their number: `cargo bench --bench growth`.
//!
//! Records of 16 bytes with a gap behind each, in random order, as the worst linker would write them; overlap detection
//! included. Read the column of throughput: near-linear means that it stays nearly flat.

use divan::Bencher;
use divan::counter::ItemsCount;
use romloom::image::{Builder, Clash, Source};

fn main() {
    divan::main();
}

/// Every number below `n` once, in an order without pattern: an odd factor permutes a power of two.
fn shuffled(n: u64) -> impl Iterator<Item = u64> {
    let n = n.next_power_of_two();
    (0..n).map(move |i| i.wrapping_mul(0x9E37_79B9_7F4A_7C15 | 1) % n)
}

#[divan::bench(args = [1 << 10, 1 << 13, 1 << 16, 1 << 20])]
fn scattered_records(bencher: Bencher, n: u64) {
    let addresses: Vec<u64> = shuffled(n).map(|i| i * 32).collect();
    bencher.counter(ItemsCount::new(n)).bench_local(|| {
        let mut builder = Builder::new(Source::File("scattered".into()));
        for (line, address) in addresses.iter().enumerate() {
            let pushed = builder.push(*address, &[0x55; 16], line as u64 + 1);
            assert!(pushed.is_ok());
        }
        builder.finish(Clash::Refuse)
    });
}

/// The same records, each twice with the same bytes: every address overlaps.
#[divan::bench(args = [1 << 10, 1 << 13, 1 << 16])]
fn doubled_records(bencher: Bencher, n: u64) {
    let addresses: Vec<u64> = shuffled(n).map(|i| i * 32).collect();
    bencher.counter(ItemsCount::new(2 * n)).bench_local(|| {
        let mut builder = Builder::new(Source::File("doubled".into()));
        for (line, address) in addresses.iter().chain(&addresses).enumerate() {
            let pushed = builder.push(*address, &[0x55; 16], line as u64 + 1);
            assert!(pushed.is_ok());
        }
        builder.finish(Clash::Same)
    });
}
