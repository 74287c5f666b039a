//! Whether time grows with the work and no faster.

use std::hint::black_box;
use std::time::{Duration, Instant};

use romloom::formats::{Format, intel_hex::IntelHex, s_record::SRecords};
use romloom::image::{Builder, Clash, Image, Source};

use crate::table::{heading, row};
use crate::work::{M, image, read, write, write_to};

pub fn rows() {
    heading("Time a byte as images grow: times the time a byte of the 1 MiB image");
    let mut first = None;
    for size in [1, 16, 256] {
        let each = each_byte(size, &|| drop(black_box(grown(size * M))));
        let what = format!("grow a plain vector, {size} MiB");
        flat(&what, each, first.get_or_insert(each), "");
    }
    for (name, format) in [
        ("Intel HEX", &IntelHex as &dyn Format),
        ("S-record", &SRecords),
    ] {
        let (mut reading, mut writing) = (None, None);
        for size in [1, 16, 256] {
            let image = image(size * M);
            let text = write(format, &image);
            let read = each_byte(size, &|| drop(read(format, &black_box(&text)[..])));
            let written = each_byte(size, &|| {
                write_to(format, black_box(&image), &mut std::io::sink());
            });
            flat(
                &format!("read {name}, {size} MiB"),
                read,
                reading.get_or_insert(read),
                "at most 1.3",
            );
            flat(
                &format!("write {name}, {size} MiB"),
                written,
                writing.get_or_insert(written),
                "at most 1.3",
            );
        }
    }
    heading(
        "Scattered records in random order, each apart from all others: n log n is 1 throughout",
    );
    for (what, twice) in [
        ("laid out", false),
        ("each twice, every overlap found", true),
    ] {
        let mut first = None;
        for n in [1u64, 1 << 10, 1 << 14, 1 << 17, 1 << 20] {
            let addresses: Vec<u64> = shuffled(n).map(|i| i * 32).collect();
            let turns = ((1 << 20) / n).clamp(3, 1000);
            let time = best(turns, &|| drop(black_box(lay_out(&addresses, twice))));
            let log = (n.max(2) as f64).log2();
            let each = time.as_secs_f64() * 1e9 / (n as f64 * log);
            // One record is all set-up: the next size is the one to compare with.
            let first = if n > 1 {
                first.get_or_insert(each)
            } else {
                &each
            };
            flat(
                &format!("{n} records, {what}"),
                each,
                first,
                if n > 1 { "at most 1.3" } else { "" },
            );
        }
    }
    crate::growth_of_steps::rows(None);
}

fn flat(what: &str, each: f64, first: &f64, wanted: &str) {
    let (each_text, first_text) = (format!("{each:.2} ns"), format!("{first:.2} ns"));
    row(
        what,
        &each_text,
        "the smallest",
        &first_text,
        each / first,
        wanted,
    );
}

/// Nanoseconds that the work takes for each byte of `size` MiB.
fn each_byte(size: u64, work: &dyn Fn()) -> f64 {
    best((256 / size).min(9), work).as_secs_f64() * 1e9 / (size * M) as f64
}

/// What no reader of records can do without: a vector that grows by 16 bytes at a time.
fn grown(len: u64) -> Vec<u8> {
    let mut bytes = Vec::new();
    while (bytes.len() as u64) < len {
        bytes.extend_from_slice(black_box(&[0x55; 16]));
    }
    bytes
}

/// The shortest of several turns: what the work takes when nothing else disturbs it.
fn best(turns: u64, work: &dyn Fn()) -> Duration {
    let clock = |_| {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..turns).map(clock).min().unwrap()
}

/// Every number below `n` once, in an order without pattern: an odd factor permutes a power of two.
fn shuffled(n: u64) -> impl Iterator<Item = u64> {
    let n = n.next_power_of_two();
    (0..n).map(move |i| i.wrapping_mul(0x9E37_79B9_7F4A_7C15 | 1) % n)
}

fn lay_out(addresses: &[u64], twice: bool) -> Image {
    let mut builder = Builder::new(Source::File("scattered".into()));
    let again = if twice { addresses } else { &[] };
    for (line, address) in addresses.iter().chain(again).enumerate() {
        builder
            .push(*address, &[0x55; 16], line as u64 + 1)
            .unwrap();
    }
    builder.finish(Clash::Same).unwrap()
}
