//! What steps do with the bytes of an image, beside copying them into new memory.

use std::hint::black_box;
use std::time::Duration;

use romloom::faults::Pattern;
use romloom::image::Image;
use romloom::ops::{self, Large};
use romloom::sums::Algo;
use romloom::wiring::{Width, Wiring};

use crate::table::{heading, in_turns, rate, row};
use crate::work::{M, bytes, image};

const SIZE: u64 = 16 * M;

pub fn rows() {
    heading("16 MiB of bytes: times as long as copying them into new memory");
    let plain = bytes(SIZE);
    let image = image(SIZE);
    let times_as_long = |what: &str, wanted: &str, times: (Duration, Duration)| {
        let ratio = times.0.as_secs_f64() / times.1.as_secs_f64();
        let (ours, copy) = (rate(SIZE, times.0), rate(SIZE, times.1));
        row(what, &ours, "copy", &copy, ratio, wanted);
    };
    let against_copy = |what: &str, wanted: &str, ours: &mut dyn FnMut()| {
        let times = in_turns(7, ours, || drop(black_box(black_box(&plain).clone())));
        times_as_long(what, wanted, times);
    };
    for n in [2, 4, 8] {
        against_copy(&format!("split lanes {n}"), "at most 4", &mut || {
            drop(black_box(ops::split_lanes(image.clone(), n)));
        });
    }
    for n in [2, 4] {
        let lanes = ops::split_lanes(image.clone(), n).unwrap();
        against_copy(
            &format!("join lanes, {n} of them"),
            "at most 4",
            &mut || {
                drop(black_box(ops::join_lanes(lanes.clone())));
            },
        );
    }
    against_copy("split banks 16K", "at most 4", &mut || {
        drop(black_box(ops::split_banks(image.clone(), 16 * 1024)));
    });
    let mut own = image.clone();
    for width in [2, 4] {
        against_copy(&format!("swap {width}"), "at most 4", &mut || {
            ops::swap(black_box(&mut own), width).unwrap();
        });
    }
    let address = vec![3, 1, 0, 2, 7, 9, 4, 5, 8, 6, 14, 10, 13, 12, 11];
    let data = vec![7, 2, 5, 0, 1, 6, 3, 4];
    let scrambled = Wiring::new(Width::Eight, address, data).unwrap();
    let mut wired: Image = image.clone();
    against_copy(
        "rewire 15 address and 8 data lines",
        "500 MB/s",
        &mut || {
            ops::rewire(black_box(&mut wired), &scrambled, Large::Refuse).unwrap();
        },
    );
    let sum = |word: &str| word.parse::<Algo>().unwrap();
    for word in [
        "sum16",
        "sum32le",
        "xor8",
        "carry16",
        "internet",
        "fletcher16",
        "adler32",
        "crc-32/iso-hdlc",
        "crc-16/xmodem",
        "md5",
        "sha1",
        "sha256",
    ] {
        let algo = sum(word);
        against_copy(word, "", &mut || {
            drop(black_box(algo.sum(black_box(&plain))))
        });
    }
    for (name, pattern) in [
        ("pattern checker", Pattern::Checker),
        ("pattern random", Pattern::Random { seed: 1 }),
    ] {
        against_copy(name, "", &mut || {
            drop(black_box(pattern.image(SIZE as usize)))
        });
    }
}
