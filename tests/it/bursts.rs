//! Bursts that hit several lines at once: a stretch of 1 to 400 characters is cut out, overwritten by noise or doubled, or
//! its line ends are lost. Salvage never puts a byte where the sound file has another: what isn't certain is left out and
//! told. Ten thousand bursts in a thorough run, a share of them else.
//!
//! A damaged file that keeps every rule of its format is not told from a sound one by any reader: a lost line, a noise that
//! fits the checksum. Such bursts are counted apart. With `--nocapture` a table is printed.

use crate::support::broken::Chance;
use crate::support::share;
use romloom::formats::{self, Findings, Input, ReadOptions, Strictness, WriteOptions};
use romloom::image::{Image, Source};

/// Data records, or rows of data, at `base` and from `offset` up.
struct Block {
    base: u32,
    offset: u32,
    rows: Vec<Vec<u8>>,
}

/// A sound file.
struct SoundFile {
    text: Vec<u8>,
    image: Image,
    /// First and one past the last character of each line of data, its address, and its bytes.
    lines: Vec<(usize, usize, u64, usize)>,
}

fn row(chance: &mut Chance, len: usize) -> Vec<u8> {
    match chance.below(12) {
        0 => vec![0xFF; len],
        1 => vec![0; len],
        _ => (0..len).map(|_| chance.below(256) as u8).collect(),
    }
}

fn rows(chance: &mut Chance, count: usize) -> Vec<Vec<u8>> {
    let last = 1 + chance.below(16);
    let mut rows: Vec<Vec<u8>> = (0..count).map(|_| row(chance, 16)).collect();
    rows.extend((chance.below(3) == 0).then(|| row(chance, last)));
    rows
}

/// How a file's blocks follow each other.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// Blocks anywhere, aligned to 16.
    Islands,
    /// Banks of a few lines, all from one offset up.
    Banks,
    /// Banks of a hundred lines.
    LargeBanks,
    /// Every block goes on at the offset where the one before ended, at another base.
    GoingOn,
    /// A few blocks that cross the ends of 64K.
    Crossing,
    /// One base, a long block and an island.
    OneBase,
    /// No base at all: a long block and an island.
    NoBase,
    /// Two long blocks, of which the first has no base.
    SecondBase,
}

fn blocks(shape: Shape, chance: &mut Chance) -> Vec<Block> {
    let mut out: Vec<Block> = Vec::new();
    let mut block = |base: u32, offset: u32, rows: Vec<Vec<u8>>| {
        out.push(Block { base, offset, rows });
    };
    match shape {
        Shape::Islands => {
            for n in 0..20 {
                let count = 1 + chance.below(8);
                let offset = 16 * chance.below(0xFE0) as u32;
                block(n + 1, offset, rows(chance, count));
            }
        }
        Shape::Banks | Shape::LargeBanks => {
            let (banks, lines) = match shape {
                Shape::Banks => (24, 2 + chance.below(4)),
                _ => (3, 60),
            };
            let offset = 0x100 * chance.below(0x80) as u32;
            for n in 0..banks {
                block(n, offset, rows(chance, lines));
            }
        }
        Shape::GoingOn => {
            let mut offset = 0;
            for n in 0..20 {
                let count = 1 + chance.below(8);
                block(n, offset, (0..count).map(|_| row(chance, 16)).collect());
                offset += 16 * count as u32;
            }
        }
        Shape::Crossing => {
            for n in 0..4 {
                let count = 1 + chance.below(12);
                block(
                    2 * n,
                    0x1_0000 - 16 * count as u32,
                    (0..count).map(|_| row(chance, 16)).collect(),
                );
                let count = 1 + chance.below(12);
                block(2 * n + 1, 0, rows(chance, count));
            }
        }
        Shape::OneBase | Shape::NoBase => {
            let base = if shape == Shape::NoBase { 0 } else { 0x800 };
            block(base, 0x1000, rows(chance, 100));
            block(base, 0xFF00, rows(chance, 6));
        }
        Shape::SecondBase => {
            block(0, 0x8000, rows(chance, 60));
            block(1, 16 * chance.below(0x400) as u32, rows(chance, 60));
        }
    }
    out
}

fn digits(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02X}")).collect()
}

fn intel(kind: u8, offset: u32, data: &[u8]) -> String {
    let mut bytes = vec![data.len() as u8, (offset >> 8) as u8, offset as u8, kind];
    bytes.extend(data);
    let sum = bytes.iter().fold(0u8, |sum, b| sum.wrapping_add(*b));
    bytes.push(sum.wrapping_neg());
    format!(":{}\n", digits(&bytes))
}

/// Written here in plain code, base by base; `kind` is that of the base records.
fn intel_file(blocks: &[Block], kind: u8, first_base: bool) -> SoundFile {
    let mut text = String::new();
    let (mut image, mut lines) = (Image::new(), Vec::new());
    for (n, block) in blocks.iter().enumerate() {
        let changed = n == 0 || blocks[n - 1].base != block.base;
        if changed && (n > 0 || first_base) {
            let base = match kind {
                2 => block.base << 12,
                _ => block.base,
            };
            text += &intel(kind, 0, &(base as u16).to_be_bytes());
        }
        let mut offset = block.offset;
        for row in &block.rows {
            let from = text.len();
            text += &intel(0, offset, row);
            let address = u64::from(block.base << 16 | offset);
            lines.push((from, text.len(), address, row.len()));
            image.put(address, row.clone(), Source::Patch).unwrap();
            offset += row.len() as u32;
        }
    }
    text += ":00000001FF\n";
    SoundFile {
        text: text.into_bytes(),
        image,
        lines,
    }
}

/// Written by us; the lines of data are found by reading each alone.
fn other_file(format: &str, blocks: &[Block], spread: u32) -> SoundFile {
    let mut image = Image::new();
    for block in blocks {
        let mut at = u64::from(block.base) * u64::from(spread) + u64::from(block.offset % spread);
        for row in &block.rows {
            let free = (0..row.len() as u64).all(|n| image.byte(at + n).is_none());
            if free {
                image.put(at, row.clone(), Source::Patch).unwrap();
            }
            at += row.len() as u64;
        }
    }
    let how = WriteOptions {
        width: Some(16),
        ..WriteOptions::default()
    };
    let format = formats::by_name(format).unwrap();
    let mut text = Vec::new();
    format.write(&image, &how, &mut text).unwrap();
    let (read, _) = read(format.name(), &text, Strictness::Strict);
    let mut lines: Vec<(usize, usize, u64, usize)> = Vec::new();
    let mut starts = vec![0];
    starts.extend(memchr_all(&text).map(|at| at + 1));
    for run in read.origins().runs() {
        for at in run.range.first()..=run.range.last() {
            let line = run.line_at(at).unwrap() as usize;
            let (from, to) = (starts[line - 1], starts[line]);
            match lines.last_mut() {
                Some(last) if last.0 == from => last.3 += 1,
                _ => lines.push((from, to, at, 1)),
            }
        }
    }
    SoundFile { text, image, lines }
}

fn memchr_all(text: &[u8]) -> impl Iterator<Item = usize> + '_ {
    text.iter()
        .enumerate()
        .filter(|(_, b)| **b == b'\n')
        .map(|(at, _)| at)
}

fn read(format: &str, text: &[u8], strictness: Strictness) -> (Image, Findings) {
    let mut findings = Findings::new("burst".into(), strictness).without_explanations();
    let how = ReadOptions {
        strictness,
        ..ReadOptions::default()
    };
    let format = formats::by_name(format).unwrap();
    let image = format.read(&mut Input::new("burst", text), &how, &mut findings);
    (image.unwrap(), findings)
}

const KINDS: [&str; 4] = ["cut out", "noise", "doubled", "line ends lost"];

struct Burst {
    kind: usize,
    from: usize,
    to: usize,
    text: Vec<u8>,
}

fn burst(sound: &[u8], chance: &mut Chance) -> Burst {
    let from = chance.below(sound.len());
    let to = (from + 1 + chance.below(400)).min(sound.len());
    let kind = chance.below(4);
    let (before, hit, after) = (&sound[..from], &sound[from..to], &sound[to..]);
    let middle: Vec<u8> = match kind {
        0 => Vec::new(),
        1 => {
            const DIGITS: &[u8] = b"0123456789ABCDEF0123456789ABCDEF0123456789ABCDEF: \n";
            let noise = chance.below(4);
            let one = [0, 0x1A, 0xFF, b'0'][chance.below(4)];
            let of = |chance: &mut Chance| match noise {
                0 => DIGITS[chance.below(DIGITS.len())],
                1 => chance.below(256) as u8,
                2 => one,
                _ => sound[chance.below(sound.len())],
            };
            hit.iter().map(|_| of(chance)).collect()
        }
        2 => [hit, hit].concat(),
        _ => hit.iter().copied().filter(|b| *b != b'\n').collect(),
    };
    Burst {
        kind,
        from,
        to,
        text: [before, &middle, after].concat(),
    }
}

/// What became of the bursts.
#[derive(Default)]
struct Tally {
    bursts: usize,
    /// Bursts that leave a file by the rules, and those of them that change bytes.
    untold: usize,
    untold_and_wrong: usize,
    misplaced: usize,
    kept: f64,
    told: usize,
}

fn run(title: &str, format: &str, bursts: usize, mut sound: impl FnMut(&mut Chance) -> SoundFile) {
    let chance = &mut Chance(0x0b57 + title.len() as u64);
    let mut tally = Tally::default();
    let mut file = sound(chance);
    for n in 0..bursts {
        if n % 10 == 9 {
            file = sound(chance);
        }
        let burst = burst(&file.text, chance);
        if burst.text == file.text {
            continue;
        }
        tally.bursts += 1;
        let (image, findings) = read(format, &burst.text, Strictness::Salvage);
        let (_, by_the_book) = read(format, &burst.text, Strictness::Strict);
        let mut wrong = Vec::new();
        for span in image.spans() {
            let bytes = (span.start()..).zip(span.bytes());
            wrong.extend(bytes.filter(|(at, byte)| file.image.byte(*at) != Some(**byte)));
        }
        if by_the_book.errors() == 0 {
            tally.untold += 1;
            tally.untold_and_wrong += usize::from(!wrong.is_empty());
            continue;
        }
        tally.told += 1;
        // What is only untidy harms nothing; it may also be seen in no more than the count of what is left out.
        let told = findings.errors() > 0 || image.same_bytes(&file.image);
        let near = &burst.text[burst.from.saturating_sub(60)..];
        let near = String::from_utf8_lossy(&near[..near.len().min(300)]).into_owned();
        assert!(
            told,
            "{title}, burst {n}, {} {} to {}, is not told, and by the book {:?}:\n{near}",
            KINDS[burst.kind],
            burst.from,
            burst.to,
            by_the_book.list(),
        );
        if let Some((at, _)) = wrong.first() {
            tally.misplaced += 1;
            let lines: Vec<_> = burst.text.split(|b| *b == b'\n').collect();
            println!(
                "{title}, burst {n}, {} {} to {}: {} bytes misplaced, the first at {at:X}",
                KINDS[burst.kind],
                burst.from,
                burst.to,
                wrong.len()
            );
            let near = burst.text[..burst.from.min(burst.text.len())]
                .iter()
                .filter(|b| **b == b'\n')
                .count();
            for (n, line) in lines
                .iter()
                .enumerate()
                .skip(near.saturating_sub(4))
                .take(16)
            {
                println!(
                    "  {:4} {}",
                    n + 1,
                    String::from_utf8_lossy(line).escape_debug()
                );
            }
        }
        // What the burst did not touch, and what came through of it.
        let (mut whole, mut kept) = (0, 0);
        for &(from, to, address, bytes) in &file.lines {
            if to <= burst.from || from >= burst.to {
                whole += bytes;
                let at = (address..).take(bytes);
                kept += at.filter(|at| image.byte(*at).is_some()).count();
            }
        }
        tally.kept += kept as f64 / whole.max(1) as f64;
    }
    println!(
        "{title:28} bursts {:6}  by the rules {:4}, wrong {:4}  misplaced {:3}  kept {:.3}",
        tally.bursts,
        tally.untold,
        tally.untold_and_wrong,
        tally.misplaced,
        tally.kept / tally.told.max(1) as f64
    );
    assert_eq!(tally.misplaced, 0, "{title}");
}

const SHAPES: [Shape; 8] = [
    Shape::Islands,
    Shape::Banks,
    Shape::LargeBanks,
    Shape::GoingOn,
    Shape::Crossing,
    Shape::OneBase,
    Shape::NoBase,
    Shape::SecondBase,
];

#[test]
fn intel_hex_with_linear_bases() {
    for shape in SHAPES {
        let first = !matches!(shape, Shape::NoBase | Shape::SecondBase);
        run(
            &format!("I32HEX, {shape:?}"),
            "intel-hex",
            share(400, 10),
            |chance| intel_file(&blocks(shape, chance), 4, first),
        );
    }
}

#[test]
fn intel_hex_with_segments() {
    for shape in SHAPES.into_iter().filter(|s| *s != Shape::OneBase) {
        let first = !matches!(shape, Shape::NoBase | Shape::SecondBase);
        run(
            &format!("I16HEX, {shape:?}"),
            "intel-hex",
            share(400, 10),
            |chance| {
                let mut blocks = blocks(shape, chance);
                // A segment's base has 20 bits.
                blocks.truncate(15);
                blocks.iter_mut().for_each(|block| block.base %= 16);
                intel_file(&blocks, 2, first)
            },
        );
    }
}

#[test]
fn formats_whose_records_have_whole_addresses() {
    for (format, spread) in [
        ("s-record", 0x1000),
        ("s-record", 0x10_0000),
        ("s-record", 0x800_0000),
        ("tek-hex", 0x10_0000),
        ("mos-tape", 0x800),
    ] {
        run(
            &format!("{format}, {spread:X}"),
            format,
            share(500, 10),
            |chance| other_file(format, &blocks(Shape::Islands, chance), spread),
        );
    }
}

#[test]
fn formats_without_a_check() {
    for format in ["ti-txt", "readmem"] {
        for shape in [Shape::Islands, Shape::Banks] {
            run(
                &format!("{format}, {shape:?}"),
                format,
                share(400, 10),
                |chance| other_file(format, &blocks(shape, chance), 0x800),
            );
        }
    }
}
