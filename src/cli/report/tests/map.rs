//! Maps.

use std::sync::Arc;

use insta::assert_snapshot;

use super::helpers::*;
use crate::board::{Board, Outside, Program, Seat, Target};
use crate::cli::report::{MapReport, Report, Style};
use crate::image::{AddressRange, Clash, Entry, Image, Source};
use crate::parts::Catalogue;

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
    let coloured = MapReport::new("chip", &image, None, None).text(Style::COLOUR);
    // Each origin has a colour of its own, in the picture and in its legend; filler is faint.
    let codes = ["1", "2", "38;5;28", "38;5;163", "38;5;31", "38;5;130"];
    let coloured = codes.iter().fold(coloured, |text, code| {
        let name = code.rsplit(';').next().unwrap();
        text.replace(&format!("{}[{code}m", "\u{1b}"), &format!("<{name}:"))
    });
    assert_snapshot!(coloured.replace("\u{1b}[0m", ">"), @r"
    <1:chip>   8000-FFFF   one cell = 1K
    8000 <28:mmmmmmmm>  A000 <28:mm><163:bbbbbb>  C000 <163:bbbb><2:ffff>  E000 <2:ffff><31:a><2:ff><130:s>  FFFF
    <28:m> rom/monitor.hex   <163:b> basic.s19   <31:a> mark   <130:s> stamp sum16   <2:f> filler
    data 20,489, filler 12,279, hollow 0, entry point 8000
    ");
}

#[test]
fn holes_are_faint_and_on_a_narrow_terminal_fewer_cells_stand_in_a_line() {
    let image = records("a.hex", &[(0, 0x200, 1), (0x600, 0x200, 2)]);
    let report = MapReport::new("chip", &image, None, None);
    let coloured = report.text(Style::screen(40));
    assert!(
        coloured.contains("\u{1b}[2m________\u{1b}[0m"),
        "{coloured:?}"
    );
    let shown = |columns| {
        let shown = report.shown(Style::screen(columns));
        anstream::adapter::strip_str(&shown).to_string()
    };
    assert_snapshot!(shown(40), @r"
    chip   0000-07FF   one cell = 64
    0000 aaaaaaaa  0200 ________  03FF
    0400 ________  0600 aaaaaaaa  07FF
    a a.hex   _ hollow
    data 1K, filler 0, hollow 1K
    ");
    assert_snapshot!(shown(20), @r"
    chip   0000-07FF
        one cell = 64
    0000 aaaaaaaa  01FF
    0200 ________  03FF
    0400 ________  05FF
    0600 aaaaaaaa  07FF
    a a.hex   _ hollow
    data 1K, filler 0,
      hollow 1K
    ");
    assert_eq!(shown(200), text(&report));
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
    let coloured = MapReport::new("chip", &image, None, None).text(Style::COLOUR);
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
        MapReport::new("chip", &image, None, None)
            .key
            .iter()
            .any(|k| k.letter == '+')
    );
}

/// A program laid out for the sockets of a board, and the map of each chip.
fn seated(program: &Image, board: &str) -> Vec<String> {
    let programs = [(program, None)];
    let maps = chips(&programs, board).into_iter().map(|(seat, image)| {
        let text = text(&MapReport::new(seat.name(), &image, Some(&seat), None));
        assert!(widest(&text) <= 80, "{text}");
        text
    });
    maps.collect()
}

/// The chips of a board with programs for the CPU, each with its bank.
fn chips(programs: &[(&Image, Option<u64>)], board: &str) -> Vec<(Seat, Image)> {
    let board = format!("[[sockets]]\n{board}");
    let board = Board::from_toml("x.board", &board, &mut Catalogue::built_in());
    let board = Arc::new(board.unwrap());
    let programs: Vec<Program> = programs
        .iter()
        .map(|(image, bank)| Program {
            name: "program",
            image: Image::clone(image),
            target: Target::Bus {
                space: board.spaces()[0].into(),
                bank: *bank,
            },
        })
        .collect();
    let laid = board.lay(programs, Clash::Refuse, Outside::Refuse);
    let chips = laid.unwrap().chips.into_iter();
    let seated = chips.map(|chip| (Seat::new(board.clone(), chip.socket).unwrap(), chip.image));
    seated.collect()
}

/// 20K from 8000 up, of two files.
fn monitor_and_basic() -> Image {
    let mut program = records("monitor.hex", &[(0x8000, 0x2800, 1)]);
    program
        .merge(records("basic.s19", &[(0xA800, 0x2800, 2)]), Clash::Refuse)
        .unwrap();
    program
}

#[test]
fn a_seated_chip_shows_its_own_addresses_and_the_cpus() {
    let mut program = monitor_and_basic();
    let maps = seated(&program, "names=['U7']\npart='27C256'\nat=0x8000");
    assert_snapshot!(maps[0], @r#"
    U7  27C256   chip 0000 = CPU 8000   one cell = 1K
    8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffff  FFFF
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 12K, hollow 0
    "#);
    // Two lanes: neither address follows the other by one number.
    let maps = seated(
        &program,
        "names=['even','odd']\nlanes=2\npart='27C256'\nat=0",
    );
    assert_snapshot!(maps[1], @r#"
    odd  27C256   chip 0000 = CPU 0001, 0001 = 0003   one cell = 1K
    chip 0000 ffffffff  2000 ffffffff  4000 mmmmmbbb  6000 bbffffff  7FFF
     CPU 0001           4001           8001           C001           FFFF
    m monitor.hex   b basic.s19   f filler
    seated 10K, filled 22K, hollow 0
    "#);
    // Rows have one number each.
    let maps = seated(&program, "names=['U1','U2']\npart='27C256'\nat=0");
    assert_snapshot!(maps[1], @r#"
    U2  27C256   chip 0000 = CPU 8000   one cell = 1K
    8000 mmmmmmmm  A000 mmbbbbbb  C000 bbbbffff  E000 ffffffff  FFFF
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 12K, hollow 0
    "#);
    // The upper half of a larger chip is seen, at long addresses.
    program.shift(0x00F0_0000).unwrap();
    let maps = seated(
        &program,
        "names=['U7']\npart='27C512'\nat=0xF08000\ntied={A15=1}",
    );
    assert_snapshot!(maps[0], @r#"
    U7  27C512   chip 8000 = CPU F08000   one cell = 2K
    A15 tied to 1
    chip 000000 ffffffff  004000 ffffffff  008000 mmmmmbbb  00C000 bbffffff  00FFFF
     CPU                                   F08000           F0C000           F0FFFF
    m monitor.hex   b basic.s19   f filler
    seated 20K, filled 44K, hollow 0
    "#);
    // Two lines of cells, big-endian words.
    let maps = seated(
        &program,
        "names=['U7']\npart='27C1024'\nat=0xF00000\norder='big'",
    );
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
fn what_is_out_of_the_ordinary_has_a_line_each() {
    let program = monitor_and_basic();
    // The first byte of the chip is not seen, and it is seen twice.
    let maps = seated(
        &records("monitor.hex", &[(0x8400, 0x400, 1)]),
        "names=['U7']\npart='27C64'\nat=0x8000\nsize='16K'\nmirrored=true\nexcept=['0x8000-0x80FF']",
    );
    assert_snapshot!(maps[0], @r#"
    U7  27C64   chip 0000 = CPU A000   one cell = 256
    mirrored in CPU 8000-BFFF
    something else at CPU 8000-80FF
    chip 0000 ffffmmmm  0800 ffffffff  1000 ffffffff  1800 ffffffff  1FFF
     CPU A000           8800           9000           9800           9FFF
    m monitor.hex   f filler
    seated 1K, filled 7K, hollow 0
    "#);
    // An overlay of the first words, and the chip itself.
    let maps = seated(
        &program,
        "names=['even','odd']\nlanes=2\npart='27C256'\nwindow=[{at=0,size=8,from=0},{at=0x8000,size='32K',from='32K'}]",
    );
    assert_snapshot!(maps[0], @r#"
    even  27C256   chip 0000 = CPU 0000, 0001 = 0002   one cell = 1K
    CPU 0000-0007 shows chip 0000-0003
    CPU 8000-FFFF shows chip 4000-7FFF
    chip 0000 ffffffff  2000 ffffffff  4000 mmmmmbbb  6000 bbffffff  7FFF
     CPU 0000                          8000           C000           FFFE
    m monitor.hex   b basic.s19   f filler
    seated 10K, filled 22K, hollow 0
    "#);
    // An open line, on a bus of its own.
    let maps = seated(
        &records("font.bin", &[(0, 0x800, 1)]),
        "names=['font']\npart='27C32'\nat=0\nspace='video'\ntied={A11='any'}",
    );
    assert_snapshot!(maps[0], @r#"
    font  27C32   chip 0000 = video 0000   one cell = 128
    the same for both levels of A11
    chip  0000 ffffffff  0400 ffffffff  0800 ffffffff  0C00 ffffffff  0FFF
    video 0000           0400           0000           0400           07FF
    f font.bin
    seated 4K, filled 0, hollow 0
    "#);
    // Microcode: its addresses count bytes.
    let maps = seated(
        &records("micro.hex", &[(0, 0x600, 1)]),
        "names=['m0','m1','m2']\npart='27C16'\nat=0\nspace='micro'\nlanes=3",
    );
    assert_snapshot!(maps[1], @r#"
    m1  27C16   chip 0000 = micro 0001, 0001 = 0004   one cell = 64
    addresses of micro count bytes
    chip  0000 mmmmmmmm  0200 ffffffff  0400 ffffffff  0600 ffffffff  07FF
    micro 0001           0601           0C01           1201           17FE
    m micro.hex   f filler
    seated 512, filled 1,536, hollow 0
    "#);
}

#[test]
fn a_switched_chip_names_its_banks() {
    let slot = "names=['slot']\npart='27C020'\nwindow=[\
        {at=0x4000,size='8K',banks=32,by='register 0x20'},{at=0x6000,size='8K',from='248K'}]";
    let menu = records("menu.hex", &[(0x4000, 0x800, 1)]);
    let bird = records("bird.s19", &[(0x4000, 0x1800, 1)]);
    let seats = chips(&[(&menu, Some(0)), (&bird, Some(3))], slot);
    let (seat, image) = &seats[0];
    let map = MapReport::new("slot", image, Some(seat), None);
    assert_snapshot!(text(&map), @r#"
    slot  27C020   chip 000000 = CPU 4000 in bank 0   one cell = 2K
    CPU 4000-5FFF shows chip 000000-03FFFF, banks 0 to 31, by register 0x20
    CPU 6000-7FFF shows chip 03E000-03FFFF
    chip 000000 mfffffff  004000 ffffbbbf  008000 ffffffff  00C000 ffffffff  00FFFF
     CPU 004000           004000           004000           004000           005FFF
    chip 010000 ffffffff  014000 ffffffff  018000 ffffffff  01C000 ffffffff  01FFFF
     CPU 004000           004000           004000           004000           005FFF
    chip 020000 ffffffff  024000 ffffffff  028000 ffffffff  02C000 ffffffff  02FFFF
     CPU 004000           004000           004000           004000           005FFF
    chip 030000 ffffffff  034000 ffffffff  038000 ffffffff  03C000 ffffffff  03FFFF
     CPU 004000           004000           004000           004000           007FFF
    m menu.hex   b bird.s19   f filler
    seated 8K, filled 248K, hollow 0
    "#);
    let json = map.json();
    assert_eq!(json["seat"]["part"], "27C020");
    assert_eq!(json["seat"]["cpu"][1]["last"], 0x7FFF);
    assert_eq!(json["seat"]["places"][0]["banks"]["last"], 31);
    assert_eq!(json["seat"]["places"][1]["chip"][0]["first"], 248 * 1024);
    // By hand: positions. Of a step that has moved its bytes nothing else is known.
    let jumper = "names=['U1']\npart='27C256'\nwindow=[{at=0xA000,size='8K',banks=4,by='jumpers J1 and J2'}]";
    let menu = records("menu.hex", &[(0xA000, 0x800, 1)]);
    let seats = chips(&[(&menu, Some(2))], jumper);
    let (seat, image) = &seats[0];
    assert_snapshot!(text(&MapReport::new("U1", image, Some(seat), None)), @r#"
    U1  27C256   chip 0000 = CPU A000 in position 0   one cell = 1K
    CPU A000-BFFF shows chip 0000-7FFF, positions 0 to 3, by jumpers J1 and J2
    chip 0000 ffffffff  2000 ffffffff  4000 mmffffff  6000 ffffffff  7FFF
     CPU A000           A000           A000           A000           BFFF
    m menu.hex   f filler
    seated 2K, filled 30K, hollow 0
    "#);
    assert_snapshot!(text(&MapReport::new("U1", image, Some(seat), Some("rewire"))), @r#"
    U1  27C256   as `rewire` left it   one cell = 1K
    0000 ffffffff  2000 ffffffff  4000 mmffffff  6000 ffffffff  7FFF
    m menu.hex   f filler
    seated 2K, filled 30K, hollow 0
    "#);
}
