//! Small damages to a sound file of each format with checksums: ten thousand in a thorough run, a tenth of them else.
//!
//! No damage makes the reader panic; none changes the image in silence where the format's own check could tell; and the
//! damaged line is named. In salvage, no byte is ever placed where the sound file has another. What a format can't tell
//! is listed here as it is in `docs/formats.md`. With `--nocapture` a table of what happened is printed.

use std::collections::BTreeMap;

use crate::support::share;
use romloom::formats::{
    self, Findings, Format, Input, ReadOptions, Severity, Strictness, WriteOptions,
};
use romloom::image::{Entry, Image, Source};

/// Small, seeded and good enough to spread damages: splitmix64.
struct Random(u64);

impl Random {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) % n as u64) as usize
    }

    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Changed,
    Deleted,
    Inserted,
    LostLine,
    DoubledLine,
    SwappedLines,
    CutEnd,
}

const KINDS: [Kind; 7] = [
    Kind::Changed,
    Kind::Deleted,
    Kind::Inserted,
    Kind::LostLine,
    Kind::DoubledLine,
    Kind::SwappedLines,
    Kind::CutEnd,
];

/// What may stand in for a character, mostly digits.
const CHARACTERS: &[u8] = b"0123456789ABCDEF0123456789ABCDEFabcdefGOlS:;% ~";

struct Damage {
    kind: Kind,
    text: Vec<u8>,
    /// The damaged line, counted from 1.
    line: usize,
    /// The column, counted from 1, where a character was damaged.
    column: usize,
    /// The lines that were there before and are concerned.
    lines: Vec<String>,
}

fn damage(sound: &str, random: &mut Random) -> Damage {
    let kind = random.of(&KINDS);
    let mut lines: Vec<Vec<u8>> = sound.lines().map(|l| l.as_bytes().to_vec()).collect();
    let mut line = random.below(lines.len());
    let mut column = random.below(lines[line].len());
    let mut concerned = vec![line];
    match kind {
        Kind::Changed => {
            let old = lines[line][column];
            while lines[line][column] == old {
                lines[line][column] = random.of(CHARACTERS);
            }
        }
        Kind::Deleted => {
            lines[line].remove(column);
        }
        Kind::Inserted => lines[line].insert(column, random.of(CHARACTERS)),
        Kind::LostLine => {
            lines.remove(line);
        }
        Kind::DoubledLine => lines.insert(line, lines[line].clone()),
        Kind::SwappedLines => {
            line = line.min(lines.len() - 2);
            concerned = vec![line, line + 1];
            lines.swap(line, line + 1);
        }
        Kind::CutEnd => {}
    }
    let mut text = lines.join(&b'\n');
    text.push(b'\n');
    if kind == Kind::CutEnd {
        text.truncate(1 + random.below(text.len() - 1));
        line = text.iter().filter(|b| **b == b'\n').count();
        column = 0;
        concerned = (line..sound.lines().count()).collect();
    }
    let of = |i: &usize| sound.lines().nth(*i).unwrap().to_owned();
    Damage {
        kind,
        text,
        line: line + 1,
        column: column + 1,
        lines: concerned.iter().map(of).collect(),
    }
}

fn read(format: &dyn Format, text: &[u8], strictness: Strictness) -> (Image, Findings) {
    read_into(
        Findings::new("damaged".into(), strictness).without_explanations(),
        format,
        text,
    )
}

fn read_into(mut findings: Findings, format: &dyn Format, text: &[u8]) -> (Image, Findings) {
    let strictness = findings.strictness;
    let how = ReadOptions {
        strictness,
        ..ReadOptions::default()
    };
    let image = format.read(&mut Input::new("damaged", text), &how, &mut findings);
    (image.unwrap(), findings)
}

/// A finding that names one of these lines, by its place or in its words.
fn names(findings: &Findings, lines: std::ops::RangeInclusive<usize>) -> bool {
    findings.list().iter().any(|finding| {
        let placed = finding
            .place
            .as_ref()
            .is_some_and(|p| lines.contains(&(p.line as usize)));
        let text = finding.to_string();
        placed || lines.clone().any(|n| text.contains(&format!("line {n} ")))
    })
}

/// What became of the damages of one kind.
#[derive(Default)]
struct Outcome {
    all: u32,
    refused: u32,
    warned: u32,
    unharmed: u32,
    silent: u32,
}

/// Whether the format has no means to tell this damage; as `docs/formats.md` says.
type CantTell = fn(&Damage) -> bool;

fn run(title: &str, format: &str, sound: &str, cant_tell: CantTell) {
    let format = formats::by_name(format).unwrap();
    let (whole, findings) = read(format, sound.as_bytes(), Strictness::Strict);
    assert!(findings.list().is_empty(), "{findings:?}");
    let mut random = Random(0x0e11_0b58);
    let mut table: BTreeMap<Kind, Outcome> = BTreeMap::new();
    for n in 0..share(10_000, 10) {
        let damage = damage(sound, &mut random);
        let say = || {
            format!(
                "{title}, damage {n}: {:?} at line {} column {}\n{}",
                damage.kind,
                damage.line,
                damage.column,
                String::from_utf8_lossy(&damage.text)
            )
        };
        let (image, findings) = read(format, &damage.text, Strictness::Usual);
        if n % 50 == 0 {
            // What would explain it takes longer, and changes nothing.
            let explained = Findings::new("damaged".into(), Strictness::Usual);
            let (_, explained) = read_into(explained, format, &damage.text);
            assert_eq!(explained.errors(), findings.errors());
        }
        let outcome = table.entry(damage.kind).or_default();
        outcome.all += 1;
        let same = image.same_bytes(&whole) && image.entry == whole.entry;
        if findings.errors() > 0 {
            outcome.refused += 1;
        } else if findings
            .list()
            .iter()
            .any(|f| f.severity == Severity::Warning)
        {
            outcome.warned += 1;
        } else if same {
            outcome.unharmed += 1;
        } else {
            outcome.silent += 1;
            assert!(cant_tell(&damage), "a wrong image in silence: {}", say());
        }
        if findings.errors() > 0
            && matches!(damage.kind, Kind::Changed | Kind::Deleted | Kind::Inserted)
        {
            assert!(
                names(&findings, damage.line..=damage.line),
                "the line is not named: {}\n{findings:?}",
                say()
            );
        }
        if findings.errors() > 0 && damage.kind == Kind::DoubledLine {
            let lines = damage.line..=damage.line + 1;
            let counted = findings
                .list()
                .iter()
                .any(|f| f.to_string().contains("count"));
            assert!(
                names(&findings, lines) || counted,
                "{}\n{findings:?}",
                say()
            );
        }
        let (image, findings) = read(format, &damage.text, Strictness::Salvage);
        for span in image.spans() {
            for (address, byte) in (span.start()..).zip(span.bytes()) {
                let right = whole.byte(address) == Some(*byte);
                assert!(
                    right || cant_tell(&damage),
                    "salvage puts {byte:02X} at {address:X}: {}\n{findings:?}",
                    say()
                );
            }
        }
    }
    println!(
        "\n{title}\n{:14}{:>8}{:>9}{:>8}{:>10}{:>8}",
        "damage", "all", "refused", "warned", "unharmed", "silent"
    );
    for (kind, o) in &table {
        println!(
            "{:14}{:>8}{:>9}{:>8}{:>10}{:>8}",
            format!("{kind:?}"),
            o.all,
            o.refused,
            o.warned,
            o.unharmed,
            o.silent
        );
    }
    assert_eq!(table.len(), KINDS.len());
}

/// Two runs of bytes with a hole between, up to `last`.
fn image(second: u64) -> Image {
    let bytes = |n: u32, seed: u32| (0..n).map(|i| (i * seed % 253) as u8).collect::<Vec<u8>>();
    let mut image = Image::from_bytes(0x1230, bytes(300, 7), Source::Patch).unwrap();
    image.put(second, bytes(400, 11), Source::Patch).unwrap();
    image.entry = Some(Entry::Linear(0x1234));
    image
}

fn written(format: &str, image: &Image, how: &WriteOptions) -> String {
    let mut out = Vec::new();
    formats::by_name(format)
        .unwrap()
        .write(image, how, &mut out)
        .unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn intel_hex() {
    // The second run crosses a 64 K boundary, so that base records stand in the middle too.
    let forms = [
        ("I32HEX", formats::AddressForm::Bits32, "04"),
        ("I16HEX", formats::AddressForm::Bits20, "02"),
    ];
    for (name, address, base) in forms {
        let how = WriteOptions {
            address,
            ..WriteOptions::default()
        };
        let sound = written("intel-hex", &image(0x2_FF10), &how);
        assert_eq!(sound.matches(&format!(":020000{base}")).count(), 3);
        run(
            &format!("intel-hex, {name}"),
            "intel-hex",
            &sound,
            |damage| match damage.kind {
                // No record says how many there are.
                Kind::LostLine => true,
                // A base record holds for what stands behind it.
                Kind::SwappedLines => damage
                    .lines
                    .iter()
                    .any(|l| l[7..9] == *"04" || l[7..9] == *"02"),
                _ => false,
            },
        );
    }
    let sound = written(
        "intel-hex",
        &image(0x8000),
        &WriteOptions {
            entry: formats::EntryChoice::None,
            ..WriteOptions::default()
        },
    );
    run("intel-hex, I8HEX", "intel-hex", &sound, |damage| {
        damage.kind == Kind::LostLine
    });
}

/// The header's type digit turned into a data record's: nothing speaks against it.
fn header_became_data(damage: &Damage) -> bool {
    let line = damage.text.split(|b| *b == b'\n').next().unwrap();
    damage.kind == Kind::Changed && damage.line == 1 && damage.column == 2 && line[1] == b'1'
}

#[test]
fn s_record() {
    let how = WriteOptions {
        header: Some(b"HERON-8".to_vec()),
        ..WriteOptions::default()
    };
    let sound = written("s-record", &image(0x8000), &how);
    run("s-record, S1", "s-record", &sound, |damage| {
        damage.kind == Kind::LostLine || header_became_data(damage)
    });
    let sound = written("s-record", &image(0x12_0000), &how);
    run("s-record, S2", "s-record", &sound, |damage| {
        damage.kind == Kind::LostLine
    });
    let sound = written(
        "s-record",
        &image(0x8000),
        &WriteOptions { count: true, ..how },
    );
    // In salvage the header that became data is placed, and the count that says so is an error.
    run(
        "s-record, S1 with a count",
        "s-record",
        &sound,
        header_became_data,
    );
}

#[test]
fn mos_tape() {
    let sound = written(
        "mos-tape",
        &image(0x8000),
        &WriteOptions {
            width: Some(16),
            ..WriteOptions::default()
        },
    );
    run("mos-tape", "mos-tape", &sound, |_| false);
}

#[test]
fn tek_hex() {
    let sound = written("tek-hex", &image(0x8000), &WriteOptions::default());
    run("tek-hex", "tek-hex", &sound, |damage| {
        damage.kind == Kind::LostLine
    });
}
