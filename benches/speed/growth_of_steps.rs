//! Whether the time of each step grows with what it works on and no faster: time for each unit at three sizes, beside that
//! of the smallest.

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use romloom::image::{AddressRange, Image, Source};
use romloom::ops::{self, Large, OverData};

use crate::table::{heading, row};
use crate::work::{K, M, bytes, image};

/// One case: what it is, what is counted, three sizes, and the time that a size takes.
struct Case {
    what: &'static str,
    unit: &'static str,
    sizes: [u64; 3],
    time: fn(&Path, u64) -> Duration,
}

/// Even the smallest are more than the processor's cache holds: else it would be the cache that is measured.
const PLACES: [u64; 3] = [64 * K, 256 * K, 1024 * K];

const CASES: &[Case] = &[
    // The library's own functions.
    case(
        "find FF in nothing else",
        "byte",
        [16 * M, 64 * M, 256 * M],
        find_ff,
    ),
    case(
        "find a long run in a longer one",
        "byte",
        [M, 4 * M, 16 * M],
        find_run,
    ),
    case(
        "find 4 bytes in random ones",
        "byte",
        [16 * M, 64 * M, 256 * M],
        find_random,
    ),
    case(
        "the same bytes, only added up",
        "byte",
        [16 * M, 64 * M, 256 * M],
        add_up,
    ),
    case(
        "spread over banks of 256",
        "bank",
        [32 * K, 128 * K, 512 * K],
        spread_full,
    ),
    case(
        "spread over banks far apart",
        "bank",
        [64 * K, 256 * K, 1024 * K],
        spread_far,
    ),
    case("drop, places", "place", PLACES, drop_places),
    case("keep, places", "place", PLACES, keep_places),
    case("fill, holes", "hole", PLACES, fill_holes),
    case(
        "join pieces apart",
        "piece",
        [16 * K, 64 * K, 256 * K],
        join_pieces,
    ),
    case(
        "the same pieces, only given back",
        "piece",
        [16 * K, 64 * K, 256 * K],
        drop_pieces,
    ),
    // The whole command.
    case(
        "spread over a board's banks",
        "bank",
        [1024, 2048, 4096],
        spread_board,
    ),
    case(
        "patch --file, lines",
        "line",
        [10_000, 40_000, 160_000],
        patch_file,
    ),
    case("stamp banks", "bank", [2 * K, 16 * K, 128 * K], stamp_banks),
    case(
        "stamp a board's banks, then change one",
        "bank",
        [1024, 2048, 4096],
        stamp_board,
    ),
    case(
        "expect banks",
        "bank",
        [16 * K, 64 * K, 256 * K],
        expect_banks,
    ),
    case(
        "a recipe's pipelines",
        "pipeline",
        [600, 1800, 5000],
        recipe,
    ),
    case(
        "as many files, made and removed",
        "file",
        [600, 1800, 5000],
        make_files,
    ),
    case(
        "load --apart, one name",
        "file",
        [600, 1800, 5000],
        load_apart,
    ),
    case(
        "split banks, write",
        "piece",
        [2 * K, 12 * K, 64 * K],
        split_write,
    ),
    case("show", "byte", [4 * M, 16 * M, 64 * M], |at, n| {
        read_and(at, n, "show")
    }),
    case("show hex", "byte", [M, 4 * M, 16 * M], |at, n| {
        read_and(at, n, "show hex")
    }),
    case("show hex --json", "byte", [M, 4 * M, 16 * M], |at, n| {
        read_and(at, n, "show hex --json")
    }),
    case(
        "find, all places in JSON",
        "byte",
        [M, 4 * M, 16 * M],
        |at, n| read_and(at, n, "find 5A --json"),
    ),
    case(
        "compare, all different",
        "byte",
        [M, 8 * M, 64 * M],
        compare,
    ),
    case("vote of 32 reads", "byte", [64 * K, 256 * K, M], vote),
    case(
        "recognise 20 reads, images",
        "image",
        [500, 1600, 5000],
        recognise,
    ),
];

const fn case(
    what: &'static str,
    unit: &'static str,
    sizes: [u64; 3],
    time: fn(&Path, u64) -> Duration,
) -> Case {
    Case {
        what,
        unit,
        sizes,
        time,
    }
}

/// Memory that is free again stays with the process: else what is measured of large images is how the system clears new pages.
/// The allocators of some systems know these, others take no notice.
const KEEP_MEMORY: [(&str, &str); 2] = [
    ("MALLOC_MMAP_MAX_", "0"),
    ("MALLOC_TRIM_THRESHOLD_", "1000000000000"),
];

/// The rows; of one case alone where a word of its name is given.
pub fn rows(only: Option<&str>) {
    if std::env::var_os(KEEP_MEMORY[0].0).is_none() {
        let mut own = Command::new(std::env::current_exe().unwrap());
        let own = own.args(["growth", only.unwrap_or_default()]);
        assert!(own.envs(KEEP_MEMORY).status().unwrap().success());
        return;
    }
    heading("Time for each unit as the work grows: times that of the smallest");
    let is_asked = |case: &&Case| only.is_none_or(|word| case.what.contains(word));
    for case in CASES.iter().filter(is_asked) {
        let mut first = None;
        for size in case.sizes {
            let folder = tempfile::tempdir().unwrap();
            let each = (case.time)(folder.path(), size).as_secs_f64() * 1e9 / size as f64;
            let first = first.get_or_insert(each);
            let figure = |each: f64| format!("{each:.2} ns");
            let what = format!("{}, {size}", case.what);
            row(
                &what,
                &figure(each),
                &format!("a {} of the smallest", case.unit),
                &figure(*first),
                each / *first,
                "at most 1.5",
            );
        }
    }
}

/// The shortest of a few turns, on something new each time.
fn best<T>(make: impl Fn() -> T, mut work: impl FnMut(T)) -> Duration {
    let turns = (0..5).map(|_| {
        let made = make();
        let start = Instant::now();
        work(made);
        start.elapsed()
    });
    turns.min().unwrap()
}

/// The whole command, with what is written to its streams thrown away.
fn command(at: &Path, words: &[&str]) -> Duration {
    let run = |words: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_romloom"));
        let command = command.args(words).current_dir(at).stdin(Stdio::null());
        let status = command.stdout(Stdio::null()).stderr(Stdio::null()).status();
        status.unwrap().code()
    };
    // A process that does nothing is not what is measured.
    let none = best(|| (), |()| assert_eq!(run(&["--version"]), Some(0)));
    let turns = (0..3).map(|_| {
        let start = Instant::now();
        let code = run(words);
        assert!(matches!(code, Some(0 | 1)), "{words:?}: {code:?}");
        start.elapsed()
    });
    turns.min().unwrap().saturating_sub(none)
}

fn line(at: &Path, line: &str) -> Duration {
    let words: Vec<&str> = line.split(' ').collect();
    command(at, &words)
}

fn same(size: u64, byte: u8) -> Image {
    Image::from_bytes(0, vec![byte; size as usize], Source::Patch).unwrap()
}

fn find_ff(_: &Path, size: u64) -> Duration {
    let image = same(size, 0xFF);
    let count = || ops::find_bytes(black_box(&image), &[0xFF]).count() as u64;
    best(|| (), |()| assert_eq!(count(), size))
}

fn find_run(_: &Path, size: u64) -> Duration {
    let (image, run) = (same(size, 0xFF), vec![0xFF; size as usize / 64]);
    let count = || ops::find_bytes(black_box(&image), &run).count() as u64;
    best(|| (), |()| assert_eq!(count(), size - size / 64 + 1))
}

fn find_random(_: &Path, size: u64) -> Duration {
    let image = image(size);
    let count = || ops::find_bytes(black_box(&image), &[1, 2, 3, 4]).count();
    best(|| (), |()| assert!(black_box(count()) < size as usize))
}

/// What the memory alone takes.
fn add_up(_: &Path, size: u64) -> Duration {
    let bytes = bytes(size);
    let sum = || {
        black_box(&bytes)
            .iter()
            .fold(0u8, |sum, byte| sum.wrapping_add(*byte))
    };
    best(
        || (),
        |()| {
            black_box(sum());
        },
    )
}

fn spread(image: &mut Image, size: u64, banks: u64) {
    let block = AddressRange::from_len(0, 6).unwrap();
    ops::spread(image, block, size, banks, OverData::Replace, Large::Refuse).unwrap();
}

fn spread_full(_: &Path, banks: u64) -> Duration {
    best(
        || image(banks * 256),
        |mut image| spread(&mut image, 256, banks),
    )
}

fn spread_far(_: &Path, banks: u64) -> Duration {
    best(|| image(6), |mut image| spread(&mut image, 8192, banks))
}

/// So many places of 4 bytes, every other 4 free.
fn places(count: u64) -> Vec<AddressRange> {
    let place = |i: u64| AddressRange::from_len(8 * i, 4).unwrap();
    (0..count).map(place).collect()
}

fn drop_places(_: &Path, count: u64) -> Duration {
    let places = places(count);
    best(|| image(8 * count), |mut image| image.remove_all(&places))
}

fn keep_places(_: &Path, count: u64) -> Duration {
    let places = places(count);
    best(|| image(8 * count), |mut image| image.keep(&places))
}

fn fill_holes(_: &Path, count: u64) -> Duration {
    let mut holes = image(8 * count);
    holes.remove_all(&places(count));
    best(
        || holes.clone(),
        |mut image| drop(ops::fill(&mut image, &[0xFF], None, Large::Refuse)),
    )
}

fn join_pieces(_: &Path, count: u64) -> Duration {
    best(
        || pieces_apart(count),
        |pieces| drop(black_box(ops::join(pieces).unwrap())),
    )
}

fn drop_pieces(_: &Path, count: u64) -> Duration {
    best(|| pieces_apart(count), |pieces| drop(black_box(pieces)))
}

fn pieces_apart(count: u64) -> Vec<Image> {
    let piece = |i: u64| {
        let source = Source::File(i.to_string().into());
        Image::from_bytes(32 * i, vec![1; 16], source).unwrap()
    };
    (0..count).map(piece).collect()
}

/// A board with so many banks of 8K, all of them with data.
fn banked(at: &Path, banks: u64) -> String {
    std::fs::write(at.join("a.bin"), bytes(banks * 8 * K)).unwrap();
    // 16 banks to a socket of 128K.
    let rows = banks / 16;
    let names: Vec<String> = (0..banks).map(|n| format!("bank{n}")).collect();
    format!(
        "load a.bin + split banks 8K + seat 27C010 --at 0 --size 8K --banks {banks} --rows {rows} --in-banks {}",
        names.join(",")
    )
}

fn spread_board(at: &Path, banks: u64) -> Duration {
    let last = banks - 1;
    let seat = banked(at, banks);
    // One of them takes less time than starting the process varies by.
    let steps = (1..=64).map(|n| {
        let block = n * 16;
        format!("+ spread bank0:{block}+16 --to bank1-{last} --replace")
    });
    let steps: Vec<String> = steps.collect();
    let whole = line(at, &format!("{seat} {}", steps.join(" ")));
    whole.saturating_sub(line(at, &seat))
}

fn stamp_board(at: &Path, banks: u64) -> Duration {
    let seat = banked(at, banks);
    let whole = line(
        at,
        &format!(
            "--quiet {seat} + stamp sum16 --across bank:0-0xF --at bank:0x10 --replace + patch bank:0x1000 00 + write out/{{name}}.bin"
        ),
    );
    whole.saturating_sub(line(at, &seat))
}

fn patch_file(at: &Path, lines: u64) -> Duration {
    std::fs::write(at.join("a.bin"), vec![0; 64 * lines as usize]).unwrap();
    let mut list = String::new();
    for i in 0..lines {
        // Scattered, in no order.
        let address = i.wrapping_mul(0x9E37_79B1) % lines * 64;
        writeln!(list, "0x{address:X} was 00 now 01").unwrap();
    }
    std::fs::write(at.join("list"), list).unwrap();
    line(at, "load a.bin + patch --file list")
}

fn stamp_banks(at: &Path, banks: u64) -> Duration {
    std::fs::write(at.join("a.bin"), bytes(256 * banks)).unwrap();
    line(
        at,
        "--quiet load a.bin + stamp sum16 --across 0-0xFD --at 0xFE --bank-size 256 --replace + digest sum8",
    )
}

fn expect_banks(at: &Path, banks: u64) -> Duration {
    std::fs::write(at.join("a.bin"), vec![0xEA; 256 * banks as usize]).unwrap();
    line(at, "load a.bin + expect bytes 0x80 EAEA --bank-size 256")
}

fn recipe(at: &Path, pipelines: u64) -> Duration {
    let mut text = String::new();
    for i in 0..pipelines {
        writeln!(text, "load a.bin\npad 32\nwrite out/{i}.bin\n---").unwrap();
    }
    std::fs::write(at.join("a.bin"), [1, 2, 3]).unwrap();
    std::fs::write(at.join("a.loom"), text.trim_end_matches("---\n")).unwrap();
    line(at, "run a.loom --dry-run")
}

/// What the file system has to do for a recipe at the least.
fn make_files(at: &Path, files: u64) -> Duration {
    let make = |folder: &Path| {
        std::fs::create_dir(folder).unwrap();
        let names: Vec<_> = (0..files)
            .map(|i| folder.join(format!("{i}.bin")))
            .collect();
        names
            .iter()
            .for_each(|name| std::fs::write(name, [0xFF; 32]).unwrap());
        names
            .iter()
            .for_each(|name| std::fs::remove_file(name).unwrap());
        std::fs::remove_dir(folder).unwrap();
    };
    best(|| at.join("made"), |folder| make(&folder))
}

fn load_apart(at: &Path, files: u64) -> Duration {
    let names: Vec<String> = (0..files).map(|i| format!("{i}/rom.bin")).collect();
    for name in &names {
        std::fs::create_dir(at.join(name).parent().unwrap()).unwrap();
        std::fs::write(at.join(name), [1, 2, 3]).unwrap();
    }
    line(at, &format!("load --apart {}", names.join(" ")))
}

fn split_write(at: &Path, pieces: u64) -> Duration {
    std::fs::write(at.join("a.bin"), bytes(16 * pieces)).unwrap();
    line(
        at,
        "--always load a.bin + split banks 16 + write out/{name}.bin",
    )
}

fn read_and(at: &Path, size: u64, step: &str) -> Duration {
    std::fs::write(at.join("a.bin"), bytes(size)).unwrap();
    line(at, &format!("load a.bin + {step}"))
}

fn compare(at: &Path, size: u64) -> Duration {
    std::fs::write(at.join("a.bin"), bytes(size)).unwrap();
    let other: Vec<u8> = bytes(size).iter().rev().copied().collect();
    std::fs::write(at.join("b.bin"), other).unwrap();
    line(at, "load a.bin + compare b.bin")
}

fn vote(at: &Path, size: u64) -> Duration {
    let read = bytes(size);
    let mut names = String::new();
    for i in 0..32 {
        let mut read = read.clone();
        // One byte of 1,000 is not stable.
        for at in (0..read.len()).step_by(1000) {
            read[at] ^= if (at / 1000 + i) % 3 == 0 { 1 } else { 0 };
        }
        let name = format!("r{i}.bin");
        std::fs::write(at.join(&name), read).unwrap();
        write!(names, " {name}").unwrap();
    }
    line(at, &format!("load --apart{names} + vote --tie hole"))
}

fn recognise(at: &Path, images: u64) -> Duration {
    let all = bytes(images * 8 * K);
    std::fs::create_dir(at.join("known")).unwrap();
    for (i, image) in all.chunks(8 << 10).enumerate() {
        std::fs::write(at.join(format!("known/{i}.bin")), image).unwrap();
    }
    let mut reads = String::new();
    for i in 0..20 {
        let mut read = all[i * 16 * 8192..][..8192].to_vec();
        // A few bits have gone, and an address line is stuck in half of them.
        read[100 + i] ^= 4;
        if i % 2 == 0 {
            for at in (0..8192).filter(|at| at & 0x40 != 0) {
                read[at] = read[at & !0x40];
            }
        }
        let name = format!("r{i}.bin");
        std::fs::write(at.join(&name), read).unwrap();
        write!(reads, " {name}").unwrap();
    }
    line(at, &format!("recognise{reads} --among known"))
}
