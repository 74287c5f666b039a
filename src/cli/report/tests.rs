//! What the screens look like, and that colour only ever colours.

use insta::assert_snapshot;
use proptest::prelude::*;

use super::*;
use crate::formats::{Findings, Input, ReadOptions, Strictness, by_name};
use std::sync::Arc;

use crate::image::{AddressRange, Builder, Clash, Entry, Image, Source};
use crate::ops::{Board, PlacingInChip, Seat, Socket};
use crate::parts;
use crate::sums::Order;

fn r(first: u64, last: u64) -> AddressRange {
    AddressRange::new(first, last).unwrap()
}

fn file(name: &str) -> Source {
    Source::File(name.into())
}

/// An image as a record file makes it: sixteen bytes a line, the first line of each stretch as given.
fn records(name: &str, stretches: &[(u64, u64, u64)]) -> Image {
    let mut builder = Builder::new(file(name));
    for (start, len, first_line) in stretches {
        for (line, at) in (*start..start + len).step_by(16).enumerate() {
            let n = (start + len - at).min(16);
            let bytes: Vec<u8> = (at..at + n).map(|a| (a ^ (a >> 8)) as u8).collect();
            builder.push(at, &bytes, first_line + line as u64).unwrap();
        }
    }
    builder.finish(Clash::Refuse).unwrap()
}

fn put(image: &mut Image, at: u64, bytes: &[u8], source: Source) {
    image.put(at, bytes.to_vec(), source).unwrap();
}

fn without_colour(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

/// The plain text, after making sure that the coloured one says the same.
fn text<R: Report>(report: &R) -> String {
    let plain = report.text(Style::PLAIN);
    assert_eq!(without_colour(&report.text(Style::COLOUR)), plain);
    assert!(!plain.contains('\u{1b}'));
    plain
}

fn map(image: &Image) -> String {
    text(&Map::new("chip", image, None))
}

fn widest(text: &str) -> usize {
    text.lines().map(|l| l.chars().count()).max().unwrap_or(0)
}

// the map

#[test]
fn a_small_image_has_a_small_map() {
    assert_snapshot!(map(&records("a.hex", &[(0x8000, 40, 1)])), @r#"
    chip   8000-8027   one cell = 16
    8000 aaa  802F
    a a.hex
    data 40, filler 0, hollow 0
    "#);
    assert_snapshot!(map(&Image::new()), @r#"chip   no bytes"#);
}

#[test]
fn a_32k_chip_is_one_line_with_one_letter_per_origin() {
    let mut image = records("rom/monitor.hex", &[(0x8000, 0x2800, 1)]);
    image
        .merge(records("basic.s19", &[(0xA800, 0x2800, 2)]), Clash::Refuse)
        .unwrap();
    image.fill_holes(r(0x8000, 0xFFFF), |_| 0xFF);
    put(&mut image, 0xFFF8, &[1, 2], Source::Stamp("sum16".into()));
    put(&mut image, 0xF000, b"HERON 8", Source::Mark);
    image.entry = Some(Entry::Linear(0x8000));
    assert_snapshot!(map(&image), @r#"
    chip   8000-FFFF   one cell = 1K
    8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffaffs  FFFF
    m rom/monitor.hex   b basic.s19   a mark   s stamp sum16   f filler
    data 20,489, filler 12,279, hollow 0, entry point 8000
    "#);
    let coloured = Map::new("chip", &image, None).text(Style::COLOUR);
    // Filler is faint, a stamp stands out, data is plain.
    assert!(coloured.contains("\u{1b}[2mf\u{1b}[0m"), "{coloured:?}");
    assert!(coloured.contains("\u{1b}[1ms\u{1b}[0m"), "{coloured:?}");
}

#[test]
fn two_stamps_have_two_letters_and_a_file_may_have_that_of_filler() {
    let mut image = records("font.hex", &[(0, 0x1F0, 1)]);
    put(&mut image, 0x1F0, &[1, 2], Source::Stamp("sum16".into()));
    put(
        &mut image,
        0x1FC,
        &[1; 4],
        Source::Stamp("crc-32/iso-hdlc".into()),
    );
    assert_snapshot!(map(&image), @r#"
    chip   0000-01FF   one cell = 16
    0000 ffffffff  0080 ffffffff  0100 ffffffff  0180 fffffffs  01FF
    f font.hex   s stamp sum16   i stamp crc-32/iso-hdlc   _ hollow
    data 502, filler 0, hollow 10
    "#);
    // No filler here, so f is data, and is not faint.
    let coloured = Map::new("chip", &image, None).text(Style::COLOUR);
    assert!(!coloured.contains("\u{1b}[2mf"), "{coloured:?}");
}

#[test]
fn what_is_small_is_not_hidden_and_a_hole_is_no_filler() {
    let mut image = records("monitor.hex", &[(0xE000, 0x200, 1), (0xFFFA, 6, 40)]);
    put(&mut image, 0xE010, &[0xEA], Source::Patch);
    assert_snapshot!(map(&image), @r#"
    chip   E000-FFFF   one cell = 256
    E000 pm______  E800 ________  F000 ________  F800 _______m  FFFF
    m monitor.hex   p patch   _ hollow
    data 518, filler 0, hollow 7,674
    "#);
}

#[test]
fn islands_far_apart_have_a_picture_each() {
    let mut image = records(
        "flash.hex",
        &[(0x0800_0000, 0x300, 1), (0x1FFF_0000, 0x40, 60)],
    );
    assert_snapshot!(map(&image), @r#"
    chip   08000000-080002FF   one cell = 32
    08000000 ffffffff  08000100 ffffffff  080001FF
    08000200 ffffffff  080002FF
    chip   1FFF0000-1FFF003F   one cell = 16
    1FFF0000 ffff  1FFF003F
    f flash.hex   _ hollow
    data 832, filler 0, hollow 402,586,880
    "#);
    for i in 0..40u64 {
        put(
            &mut image,
            0x3000_0000 + i * 0x10_0000,
            &[1],
            file("far.hex"),
        );
    }
    let text = map(&image);
    assert!(
        text.contains("and 26 islands of data further up\n"),
        "{text}"
    );
}

#[test]
fn long_addresses_and_many_origins_stay_within_a_screen() {
    let mut image = records("kernel.hex", &[(0x0840_0000, 0x2_1000, 1)]);
    for i in 0..12u64 {
        let name = format!("part-{i}-of-the-cartridge.hex");
        put(&mut image, 0x0840_0000 + i * 0x2000, &[0; 64], file(&name));
    }
    let shown = map(&image);
    assert!(widest(&shown) <= 80, "{shown}");
    assert_snapshot!(shown, @r#"
    chip   08400000-08420FFF   one cell = 2K
    08400000 pkkkakkk  08404000 rkkktkkk  08407FFF
    08408000 okkkfkkk  0840C000 hkkkekkk  0840FFFF
    08410000 ckkkikkk  08414000 dkkkgkkk  08417FFF
    08418000 kkkkkkkk  0841C000 kkkkkkkk  0841FFFF
    08420000 kk  08420FFF
    p part-0-of-the-cartridge.hex   k kernel.hex   a part-1-of-the-cartridge.hex
    r part-2-of-the-cartridge.hex   t part-3-of-the-cartridge.hex
    o part-4-of-the-cartridge.hex   f part-5-of-the-cartridge.hex
    h part-6-of-the-cartridge.hex   e part-7-of-the-cartridge.hex
    c part-8-of-the-cartridge.hex   i part-9-of-the-cartridge.hex
    d part-10-of-the-cartridge.hex   g part-11-of-the-cartridge.hex
    data 132K, filler 0, hollow 0
    "#);
    let top = map(&records("top.hex", &[(AddressRange::TOP - 0x4F, 0x50, 1)]));
    assert!(widest(&top) <= 80, "{top}");
    assert_snapshot!(top, @r#"
    chip   FFFFFFFFFFFFFFAF-FFFFFFFFFFFFFFFE   one cell = 16
    FFFFFFFFFFFFFFA0 tttttt  FFFFFFFFFFFFFFFF
    t top.hex
    data 80, filler 0, hollow 0
    "#);
}

#[test]
fn more_origins_than_letters_share_a_plus() {
    let mut image = Image::new();
    for i in 0..60u64 {
        put(&mut image, i * 16, &[1], file(&format!("{i}.bin")));
    }
    assert!(
        Map::new("chip", &image, None)
            .key
            .iter()
            .any(|k| k.letter == '+')
    );
}

/// A program laid out for the sockets of a board, each chip filled up, and its map.
fn seated(program: &Image, part: &str, board: Board) -> Vec<String> {
    let part = parts::find(part).unwrap().clone();
    let board = Arc::new(board);
    let chips = board.sockets().zip(board.seat(program).unwrap());
    chips
        .map(|(socket, mut image)| {
            image.fill_holes(r(0, part.bytes() - 1), |_| 0xFF);
            let seat = Seat {
                part: part.clone(),
                boards: vec![board.clone()],
                socket,
                rearranged_by: None,
            };
            let text = text(&Map::new("U7", &image, Some(&seat)));
            assert!(widest(&text) <= 80, "{text}");
            text
        })
        .collect()
}

#[test]
fn a_seated_chip_shows_its_own_addresses_and_the_cpus() {
    let mut program = records("monitor.hex", &[(0x8000, 0x2800, 1)]);
    program
        .merge(records("basic.s19", &[(0xA800, 0x2800, 2)]), Clash::Refuse)
        .unwrap();
    let maps = seated(&program, "27C256", Board::new(0x8000, 0x8000));
    assert_snapshot!(maps[0], @r#"
    U7  27C256   chip 0000 = CPU 8000   one cell = 1K
    8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffff  FFFF
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 12K, hollow 0
    "#);
    // Two lanes: neither address follows the other by one number.
    let lanes = Board {
        lanes: 2,
        ..Board::new(0x8000, 0)
    };
    let maps = seated(&program, "27C256", lanes);
    assert_snapshot!(maps[1], @r#"
    U7  27C256   chip 0000 = CPU 0001, 0001 = 0003   one cell = 1K
    chip 0000 ffffffff  2000 ffffffff  4000 mmmmmbbb  6000 bbffffff  7FFF
     CPU 0001           4001           8001           C001           FFFF
    m monitor.hex   b basic.s19   f filler
    seated 10K, filled 22K, hollow 0
    "#);
    // The upper half of a larger chip is seen, at long addresses.
    let tied = Board {
        window: 0x8000,
        placing: PlacingInChip::Lines(vec![(15, true)]),
        ..Board::new(0x1_0000, 0x00F0_8000)
    };
    program.shift(0x00F0_0000).unwrap();
    let maps = seated(&program, "27C512", tied);
    assert_snapshot!(maps[0], @r#"
    U7  27C512   chip 8000 = CPU F08000   one cell = 2K
    chip 000000 ffffffff  004000 ffffffff  008000 mmmmmbbb  00C000 bbffffff  00FFFF
     CPU                                   F08000           F0C000           F0FFFF
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 44K, hollow 0
    "#);
    // Two lines of cells, big-endian words.
    let wide = Board {
        unit: 2,
        order: Order::Big,
        ..Board::new(0x2_0000, 0x00F0_0000)
    };
    let maps = seated(&program, "27C1024", wide);
    assert_snapshot!(maps[0], @r#"
    U7  27C1024   chip 000000 = CPU F00001, 000001 = F00000   one cell = 1K
    chip 000000 ffffffff  002000 ffffffff  004000 ffffffff  006000 ffffffff  007FFF
     CPU F00001           F02001           F04001           F06001           F07FFE
    chip 008000 mmmmmmmm  00A000 mmbbbbbb  00C000 bbbbffff  00E000 ffffffff  00FFFF
     CPU F08001           F0A001           F0C001           F0E001           F0FFFE
    chip 010000 ffffffff  012000 ffffffff  014000 ffffffff  016000 ffffffff  017FFF
     CPU F10001           F12001           F14001           F16001           F17FFE
    chip 018000 ffffffff  01A000 ffffffff  01C000 ffffffff  01E000 ffffffff  01FFFF
     CPU F18001           F1A001           F1C001           F1E001           F1FFFE
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 108K, hollow 0
    "#);
}

#[test]
fn a_chip_of_several_programs_says_how_many() {
    let part = parts::find("27C256").unwrap().clone();
    let boards = (0..4u8).map(|bank| {
        let held = vec![(13, bank & 1 == 1), (14, bank & 2 == 2)];
        Arc::new(Board {
            window: 0x2000,
            placing: PlacingInChip::Lines(held),
            ..Board::new(0x8000, 0xA000)
        })
    });
    let seat = Seat {
        part,
        boards: boards.collect(),
        socket: Socket { row: 0, lane: 0 },
        rearranged_by: None,
    };
    let image = records("menu.hex", &[(0, 0x800, 1), (0x2000, 0x100, 200)]);
    let map = Map::new("menu", &image, Some(&seat));
    assert_snapshot!(text(&map), @r#"
    menu  27C256   4 programs at CPU A000-BFFF   one cell = 1K
    chip 0000 mm______  2000 m_______  4000 ________  6000 ________  7FFF
     CPU A000           A000           A000           A000           BFFF
    m menu.hex   _ hollow
    seated 2,304, filled 0, hollow 30,464
    "#);
    let json = map.json();
    assert_eq!(json["seat"]["part"], "27C256");
    assert_eq!(json["seat"]["cpu"][3]["last"], 0xBFFF);
}

// the dump

fn dump(image: &Image, range: AddressRange) -> String {
    text(&Dump::new("chip", image, range))
}

#[test]
fn a_dump_shows_addresses_at_both_ends_holes_texts_and_where_rows_came_from() {
    let mut image = Image::new();
    put(
        &mut image,
        0x8000,
        b"\xA9\x00\x8D\x11\x60\x4C\x03\x80HERON 8\x0D",
        file("monitor.hex"),
    );
    put(&mut image, 0x8030, &[0x60], file("monitor.hex"));
    put(&mut image, 0x803E, &[0xEA, 0xEA], file("monitor.hex"));
    put(&mut image, 0x8040, b"AT \"NEST\" AND ON", Source::Mark);
    image.fill_holes(r(0x8050, 0x80FF), |_| 0xFF);
    assert_snapshot!(dump(&image, r(0x8000, 0x810F)), @r#"
    chip
    8000 > A9 00 8D 11 . 60 4C 03 80 . 48 45 52 4F . 4E 20 38 0D < 800F  8008 "HERON 8"  monitor.hex
    8010 > hollow, 32 bytes < 802F
    8030 > 60 __ __ __ . __ __ __ __ . __ __ __ __ . __ __ EA EA < 803F
    8040 > 41 54 20 22 . 4E 45 53 54 . 22 20 41 4E . 44 20 4F 4E < 804F  8044 "NEST"  8049 " AND ON"  mark
    8050 > FF throughout, 176 bytes < 80FF
    8100 > __ __ __ __ . __ __ __ __ . __ __ __ __ . __ __ __ __ < 810F
    "#);
    // A range that begins and ends inside rows.
    assert_snapshot!(dump(&image, r(0x800A, 0x8043)), @r#"
    chip
    800A > 52 4F . 4E 20 38 0D < 800F  800A "RON 8"  monitor.hex
    8010 > hollow, 32 bytes < 802F
    8030 > 60 __ __ __ . __ __ __ __ . __ __ __ __ . __ __ EA EA < 803F
    8040 > 41 54 20 22 < 8043  mark
    "#);
}

#[test]
fn a_long_run_gives_way_to_rows_at_a_whole_row() {
    let mut image = records("a.hex", &[(0x1_0000, 0x10, 3)]);
    image.fill_holes(r(0x1_0010, 0x1_0054), |_| 0xFF);
    put(&mut image, 0x1_0055, &[1], Source::Patch);
    assert_snapshot!(dump(&image, r(0x1_0000, 0x1_0058)), @r#"
    chip
    010000 > 00 01 02 03 . 04 05 06 07 . 08 09 0A 0B . 0C 0D 0E 0F < 01000F  a.hex line 3
    010010 > FF throughout, 64 bytes < 01004F
    010050 > FF FF FF FF . FF 01 __ __ . __ < 010058  filler
    "#);
    assert_snapshot!(dump(&image, r(0x1_0020, 0x1_003F)), @r#"
    chip
    010020 > FF throughout, 32 bytes < 01003F
    "#);
}

#[test]
fn a_dump_of_the_last_addresses_and_of_a_huge_hole_ends() {
    let top = AddressRange::TOP;
    let mut image = Image::new();
    put(&mut image, top, &[7], file("a"));
    assert_snapshot!(dump(&image, r(top - 3, top)), @r#"
    chip
    FFFFFFFFFFFFFFFB > __ . __ __ 07 < FFFFFFFFFFFFFFFE  a
    "#);
    assert_snapshot!(dump(&image, r(0, top)), @r#"
    chip
    0000000000000000 > hollow, 18,446,744,073,709,551,600 bytes < FFFFFFFFFFFFFFEF
    FFFFFFFFFFFFFFF0 > __ __ __ __ . __ __ __ __ . __ __ __ __ . __ __ 07 < FFFFFFFFFFFFFFFE  a
    "#);
}

// changes

fn changes(was: &Image, now: &Image) -> String {
    text(&Changes::new("chip", "old.bin", was, now, 64))
}

#[test]
fn changes_are_rows_of_was_and_now() {
    let was = records("old.hex", &[(0x8000, 0x40, 1)]);
    assert_snapshot!(changes(&was, &was), @r#"chip against old.bin: no change"#);
    let mut now = records("new.hex", &[(0x8000, 0x40, 1)]);
    put(&mut now, 0x8003, &[0xEA], Source::Patch);
    put(&mut now, 0x8028, b"HERON", Source::Mark);
    now.remove(r(0x803E, 0x803F));
    put(&mut now, 0x8045, &[1], Source::Patch);
    assert_snapshot!(changes(&was, &now), @r#"
    chip against old.bin: 9 bytes changed
    8000 was          83
         now          EA  patch
    8020 was                             A8 A9 AA AB   AC
         now                             48 45 52 4F   4E  mark
    8030 was                                                 BE BF
         now                                                 __ __
    8040 was                  __
         now                  01  patch
    "#);
    let few = Changes::new("chip", "old.bin", &was, &now, 2);
    assert!(text(&few).ends_with("\nand 2 more rows, see --limit\n"));
}

#[test]
fn what_is_new_or_gone_as_a_whole_is_said_in_one_line() {
    let was = records(
        "old.hex",
        &[(0x8000, 0x20, 1), (0xA000, 0x15, 9), (0xC000, 0x100, 20)],
    );
    let now = records("new.hex", &[(0x8000, 0x20, 1), (0x9008, 0x231, 3)]);
    assert_snapshot!(changes(&was, &now), @r#"
    chip against old.bin: 838 bytes changed
    9008 was hollow
         now 561 bytes to 9238  new.hex line 3
    A000 was A0 A1 A2 A3   A4 A5 A6 A7   A8 A9 AA AB   AC AD AE AF  old.hex line 9
         now __ __ __ __   __ __ __ __   __ __ __ __   __ __ __ __
    A010 was B0 B1 B2 B3   B4  old.hex line 10
         now __ __ __ __   __
    C000 was 256 bytes to C0FF  old.hex line 20
         now hollow
    "#);
    let json = Changes::new("chip", "old.bin", &was, &now, 1).json();
    assert_eq!(json["rows"][0]["kind"], "added");
    assert_eq!(json["rows"][0]["bytes"], 0x231);
    assert_eq!(json["rows_left_out"], 3);
}

#[test]
fn bytes_put_in_or_taken_out_are_recognised_as_a_shift() {
    let old: Vec<u8> = (0..600u32).map(|i| (i * i + i / 7) as u8).collect();
    let mut new = old.clone();
    new.splice(0x20..0x20, [0xEA, 0xEA, 0xEA]);
    let image = |at, bytes: &[u8]| Image::from_bytes(at, bytes.to_vec(), file("a")).unwrap();
    let last = |was: &Image, now: &Image| {
        let text = changes(was, now);
        text.lines().last().unwrap_or_default().to_owned()
    };
    assert_eq!(
        last(&image(0x8000, &old), &image(0x8000, &new)),
        "most of this is a shift: 3 bytes put in at 0x8020"
    );
    assert_eq!(
        last(&image(0x8000, &new), &image(0x8000, &old)),
        "most of this is a shift: 3 bytes taken out at 0x8020"
    );
    assert_eq!(
        last(&image(0x8000, &old), &image(0x7FF0, &old)),
        "the same bytes, moved down by 0x10"
    );
}

#[test]
fn changes_at_the_last_addresses_are_shown() {
    let top = AddressRange::TOP;
    let image = |byte| Image::from_bytes(top, vec![byte], file("a")).unwrap();
    assert_snapshot!(changes(&image(1), &image(2)), @r#"
    chip against old.bin: 1 byte changed
    FFFFFFFFFFFFFFF0 was                                                 01
                     now                                                 02  a
    "#);
}

// digest and outputs

#[test]
fn sums_stand_in_a_column() {
    let sum = |algo: &str, value: &str, remark| NamedSum {
        algo: algo.into(),
        value: value.into(),
        remark,
    };
    let mut digest = Digest {
        piece: "even".into(),
        range: Some(RangeView {
            first: 0,
            last: 0x1_FFFF,
        }),
        bytes: 131_070,
        holes: 2,
        sums: vec![
            sum("sum16", "F612", "of all bytes"),
            sum("crc-32/iso-hdlc", "A5D6201A", ""),
        ],
    };
    assert_snapshot!(text(&digest), @r#"
    even   000000-01FFFF   131,070 bytes, 2 holes not counted
      sum16            F612  of all bytes
      crc-32/iso-hdlc  A5D6201A
    "#);
    digest.range = None;
    digest.sums.clear();
    (digest.bytes, digest.holes) = (0, 0);
    assert_snapshot!(text(&digest), @r#"even   no bytes"#);
}

#[test]
fn what_was_made_stands_in_columns() {
    let output = |file: &str, state, format: &str, bytes| Output {
        file: file.into(),
        state,
        format: format.into(),
        holds: Some(Holds {
            piece: "even".into(),
            bytes,
            sum16: "F612".into(),
            sum32: "0079F612".into(),
            crc32: "A5D6201A".into(),
        }),
    };
    let sheet = Output {
        file: "out/board.html".into(),
        state: "new",
        format: "sheet of 2 chips".into(),
        holds: None,
    };
    let mut outputs = Outputs {
        outputs: vec![
            output("out/even.bin", "new", "raw", 16384),
            output("out/höhe.hex", "unchanged", "intel-hex I8HEX", 1),
            output("o.s19", "changed", "s-record S1", 300),
            sheet,
        ],
        dry_run: false,
    };
    assert_snapshot!(text(&outputs), @r#"
    wrote     out/even.bin    raw,             16,384 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    unchanged out/höhe.hex    intel-hex I8HEX,       1 byte, sum16 F612 sum32 0079F612 crc32 A5D6201A
    wrote     o.s19           s-record S1,        300 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    wrote     out/board.html  sheet of 2 chips
    "#);
    outputs.dry_run = true;
    assert_snapshot!(text(&outputs), @r#"
    would write out/even.bin    raw,             16,384 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    would leave out/höhe.hex    intel-hex I8HEX,       1 byte, sum16 F612 sum32 0079F612 crc32 A5D6201A
    would write o.s19           s-record S1,        300 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    would write out/board.html  sheet of 2 chips
    "#);
}

// carets

/// What reading these bytes shows, coloured text checked against the plain.
fn findings(format: &str, bytes: &[u8], strictness: Strictness) -> String {
    let mut findings = Findings::new("demo.hex".into(), strictness);
    let how = ReadOptions {
        strictness,
        ..ReadOptions::default()
    };
    let mut input = Input::new("demo.hex", bytes);
    let format = by_name(format).unwrap();
    format.read(&mut input, &how, &mut findings).unwrap();
    let plain = carets(&findings, Style::PLAIN);
    assert_eq!(without_colour(&carets(&findings, Style::COLOUR)), plain);
    for c in plain.chars() {
        assert!(c == '\n' || !c.is_control(), "{c:?} in {plain}");
    }
    plain
}

fn usual(bytes: &[u8]) -> String {
    findings("intel-hex", bytes, Strictness::Usual)
}

const END: &str = ":00000001FF\n";

#[test]
fn a_wrong_checksum_is_underlined_with_both_values() {
    assert_snapshot!(usual(format!(":0300300002337A1F\n{END}").as_bytes()), @r#"
    error: the checksum is wrong
     --> demo.hex:1:16
      |
    1 | :0300300002337A1F
      |                ^^ says 1F, the record's bytes give 1E
      |
      = note: one changed digit would explain it, in any of 4 places
      = help: a character of this line is damaged or lost: make the file anew, or send it again
    "#);
}

#[test]
fn a_character_that_is_no_digit_is_pointed_at() {
    assert_snapshot!(usual(format!(":0300300002O37A1E\n{END}").as_bytes()), @r#"
    error: not a hex digit
     --> demo.hex:1:12
      |
    1 | :0300300002O37A1E
      |            ^ expected one of 0-9, A-F
      |
      = note: of all digits only 3 in column 12 makes the record sound: one damaged character would explain it
      = help: a character of this line is damaged or lost: make the file anew, or send it again
    "#);
    // A character of two bytes is one column wide.
    assert_snapshot!(usual(format!(":03003000é2337A1E\n{END}").as_bytes()), @r#"
    error: not a hex digit
     --> demo.hex:1:10
      |
    1 | :03003000é2337A1E
      |          ^ expected one of 0-9, A-F
      |
      = help: a character of this line is damaged or lost: make the file anew, or send it again
    "#);
}

#[test]
fn control_characters_and_broken_text_do_no_harm_to_the_screen() {
    assert_snapshot!(usual(b":0300\x1B[2J\x07\n:03\xFF\xFE\x7F\n:00000001FF\n"), @r#"
    error: not a hex digit
     --> demo.hex:1:6
      |
    1 | :0300␛[2J␇
      |      ^ expected one of 0-9, A-F
      |
      = help: a character of this line is damaged or lost: make the file anew, or send it again

    error: not a hex digit
     --> demo.hex:2:4
      |
    2 | :03��␡
      |    ^ expected one of 0-9, A-F
      |
      = help: a character of this line is damaged or lost: make the file anew, or send it again
    "#);
}

#[test]
fn a_long_line_is_cut_on_both_sides_around_the_place() {
    let line = format!(":FF000000{}?{}\n{END}", "00".repeat(150), "00".repeat(150));
    let shown = usual(line.as_bytes());
    assert!(widest(&shown) <= 130, "{shown}");
    assert_snapshot!(shown, @r#"
    error: this line is longer than any record
     --> demo.hex:1:522
      |
    1 | ...0000000000000000000000000000000000000000000000000000000000000000000000...
      |               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ 610 characters, a record has at most 521
    "#);
}

#[test]
fn a_place_past_the_end_of_a_line_still_has_its_caret() {
    assert_snapshot!(usual(format!(":030030000233\n{END}").as_bytes()), @r#"
    error: the record's length is wrong
     --> demo.hex:1:2
      |
    1 | :030030000233
      |  ^^ says 3, but 1 follow
      |
      = help: the end of the line is lost: make the file anew, or send it again
    "#);
    assert_snapshot!(usual(format!(":\n{END}").as_bytes()), @r#"
    error: the record stops too early
     --> demo.hex:1:2
      |
    1 | : 
      |  ^ 0 digits here, a record has at least 10
      |
      = help: a character of this line is damaged or lost: make the file anew, or send it again
    "#);
}

#[test]
fn a_warning_about_the_whole_file_has_no_line() {
    assert_snapshot!(usual(b":0300300002337A1E\n"), @r#"
    warning: demo.hex: the file has no end record: expected `:00000001FF` as the last record
      = help: the file may have been cut off: compare its last line with the source
    "#);
    assert_snapshot!(findings("raw", &[vec![1; 100], vec![0x1A; 28]].concat(), Strictness::Usual), @r#"
    warning: demo.hex: the file ends in 28 bytes of 1A, as XMODEM transfers pad it
      = help: if the padding does not belong to the image, `hollow 0x1A --tail` takes it off
    "#);
}

#[test]
fn the_same_oddity_is_said_once_with_a_count() {
    let header = "S00600004844521B\n";
    let text = format!(
        "{header}S1130000285F245F2212226A000424290008237C2A\n{}S9030000FC\n",
        header.repeat(3)
    );
    assert_snapshot!(findings("s-record", text.as_bytes(), Strictness::Usual), @r#"
    warning: a header record stands behind other records
     --> demo.hex:3:2
      |
    3 | S00600004844521B
      |  ^ expected in the first line
      |
      = note: 2 more places like this
      = help: the type digit is not under the checksum, so it may be damaged: compare with the source
    "#);
}

#[test]
fn twenty_errors_are_shown_and_the_rest_counted() {
    let text = format!("{}{END}", ":0300300002337A00\n".repeat(23));
    let shown = usual(text.as_bytes());
    assert_eq!(shown.matches("the checksum is wrong").count(), 20);
    assert!(
        shown.ends_with("\ndemo.hex: and 3 more errors not shown\n"),
        "{shown}"
    );
    let text = format!("{}{END}", ":0300300002337A00\n".repeat(20));
    assert!(!usual(text.as_bytes()).contains("not shown"));
}

#[test]
fn nothing_found_shows_nothing() {
    assert_eq!(usual(format!(":0300300002337A1E\n{END}").as_bytes()), "");
}

proptest! {
    #[test]
    fn no_file_however_broken_upsets_the_screen(
        lines in prop::collection::vec(
            prop::collection::vec(prop_oneof![
                Just(b':'), Just(b'0'), Just(b'A'), Just(0xC3), Just(0xA9), any::<u8>()
            ], 0..40),
            0..6,
        ),
        salvage in any::<bool>(),
    ) {
        let bytes = lines.join(&b'\n');
        let strictness = if salvage { Strictness::Salvage } else { Strictness::Usual };
        findings("intel-hex", &bytes, strictness);
        findings("s-record", &bytes, strictness);
    }

    #[test]
    fn colour_never_changes_the_words(
        pieces in prop::collection::vec((0u64..0x3000, prop::collection::vec(any::<u8>(), 1..80), 0..5), 0..8),
        shift in 0u64..0x200,
    ) {
        let build = |skip: usize, by: u64| {
            let mut image = Image::new();
            for (at, bytes, kind) in pieces.iter().skip(skip) {
                let source = match kind {
                    0 => Source::Filler,
                    1 => Source::Stamp("sum8".into()),
                    2 => Source::Patch,
                    n => file(&format!("{n}.hex")),
                };
                put(&mut image, at + by, bytes, source);
            }
            image
        };
        let (was, now) = (build(0, 0), build(1, shift));
        for image in [&was, &now] {
            prop_assert!(widest(&map(image)) <= 80);
            if let Some(extent) = image.extent() {
                dump(image, extent);
            }
        }
        // Every address that differs is counted.
        let report = Changes::new("chip", "old", &was, &now, 4);
        let differing = (0..0x4000).filter(|a| was.byte(*a) != now.byte(*a)).count() as u64;
        prop_assert_eq!(report.bytes, differing);
        text(&report);
    }
}
