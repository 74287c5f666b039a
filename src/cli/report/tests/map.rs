//! Maps.

use std::sync::Arc;

use insta::assert_snapshot;

use super::helpers::*;
use crate::board::{Board, Placement, Seat, Socket};
use crate::cli::report::{MapReport, Report, Style};
use crate::image::{AddressRange, Clash, Entry, Image, Source};
use crate::parts;
use crate::sums::Order;

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
    let coloured = MapReport::new("chip", &image, None).text(Style::COLOUR);
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
    let coloured = MapReport::new("chip", &image, None).text(Style::COLOUR);
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
        MapReport::new("chip", &image, None)
            .key
            .iter()
            .any(|k| k.letter == '+')
    );
}

/// A program laid out for the sockets of a board, each chip filled up, and its map.
fn seated(program: &Image, part: &str, board: Board) -> Vec<String> {
    let part = parts::find(part).unwrap().clone();
    let board = Arc::new(board);
    let chips = board.sockets().zip(board.seat(program, 0xFF).unwrap());
    chips
        .map(|(socket, image)| {
            let seat = Seat {
                part: part.clone(),
                boards: vec![board.clone()],
                socket,
                rearranged_by: None,
            };
            let text = text(&MapReport::new("U7", &image, Some(&seat)));
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
    let maps = seated(
        &program,
        "27C256",
        Board::builder(0x8000, 0x8000).build().unwrap(),
    );
    assert_snapshot!(maps[0], @r#"
    U7  27C256   chip 0000 = CPU 8000   one cell = 1K
    8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffff  FFFF
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 12K, hollow 0
    "#);
    // Two lanes: neither address follows the other by one number.
    let lanes = Board::builder(0x8000, 0).lanes(2).build().unwrap();
    let maps = seated(&program, "27C256", lanes);
    assert_snapshot!(maps[1], @r#"
    U7  27C256   chip 0000 = CPU 0001, 0001 = 0003   one cell = 1K
    chip 0000 ffffffff  2000 ffffffff  4000 mmmmmbbb  6000 bbffffff  7FFF
     CPU 0001           4001           8001           C001           FFFF
    m monitor.hex   b basic.s19   f filler
    seated 10K, filled 22K, hollow 0
    "#);
    // The upper half of a larger chip is seen, at long addresses.
    let tied = Board::builder(0x1_0000, 0x00F0_8000)
        .window(0x8000)
        .placement(Placement::Tied(vec![(15, true)]))
        .build()
        .unwrap();
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
    let wide = Board::builder(0x2_0000, 0x00F0_0000)
        .word_bytes(2)
        .order(Order::Big)
        .build()
        .unwrap();
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
        let board = Board::builder(0x8000, 0xA000).window(0x2000);
        let board = board.placement(Placement::Switched(held));
        Arc::new(board.build().unwrap())
    });
    let seat = Seat {
        part,
        boards: boards.collect(),
        socket: Socket { row: 0, lane: 0 },
        rearranged_by: None,
    };
    let image = records("menu.hex", &[(0, 0x800, 1), (0x2000, 0x100, 200)]);
    let map = MapReport::new("menu", &image, Some(&seat));
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
