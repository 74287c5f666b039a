//! Cousins against plain code over the data sheets' usual pin lists, and against what the trade knows of them.
//!
//! The lists are common practice, typed here apart from the part table. So are the levels that a reader has on its pins.

use super::*;
use crate::parts::{self, find};

/// Pins from 1 up, as data sheets number them; `/` in front: active low; `?` in front: by order.
const LISTS: [(&str, &str); 10] = [
    (
        "2716",
        "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE VPP A9 A8 VCC",
    ),
    (
        "2732",
        "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 VCC",
    ),
    (
        "2532",
        "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 A11 A10 /CE VPP A9 A8 VCC",
    ),
    (
        "2332",
        "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 A11 A10 ?CS ?CS A9 A8 VCC",
    ),
    (
        "2364",
        "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 A11 A10 ?CS A12 A9 A8 VCC",
    ),
    (
        "2764",
        "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 NC PGM VCC",
    ),
    (
        "28C64",
        "NC A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 NC WE VCC",
    ),
    (
        "27C256",
        "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 A13 A14 VCC",
    ),
    (
        "28C256",
        "A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 A13 WE VCC",
    ),
    (
        "27C512",
        "A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 A13 A14 VCC",
    ),
];

#[derive(Clone, Copy, PartialEq)]
enum Trade {
    Address(u32),
    Data,
    /// `CE`, `OE` and ground: low.
    Low,
    Supply,
    /// `VPP`, `PGM`, `WE`: high, and without a part in reading.
    Writing,
    Select,
    Nowhere,
}

fn list(name: &str) -> Vec<Trade> {
    let found = LISTS.iter().find(|(own, _)| *own == name);
    let pin = |pin: &str| match pin {
        "GND" | "/CE" | "/OE" => Trade::Low,
        "VCC" => Trade::Supply,
        "VPP" | "PGM" | "WE" => Trade::Writing,
        "?CS" => Trade::Select,
        "NC" => Trade::Nowhere,
        _ if pin.starts_with('D') => Trade::Data,
        line => Trade::Address(line[1..].parse().unwrap()),
    };
    found.unwrap().1.split(' ').map(pin).collect()
}

/// The read, pin by pin and address by address, if the levels that nobody knows are `unknown`, in the order of the
/// reader's pins, and the `?CS` pins of the chip are active at the levels of `selects`.
fn plain_read(
    reader: &[Trade],
    pins: &[Trade],
    chip: &[u8],
    unknown: [bool; 2],
    selects: [bool; 2],
) -> Vec<u8> {
    let is_line = |hole: &&Trade| matches!(hole, Trade::Address(_));
    let lines = reader.iter().filter(is_line).count();
    let read = |address: usize| {
        let (mut at, mut answers) = (0, true);
        let (mut unknown, mut selects) = (unknown.iter(), selects.iter());
        for (pin, hole) in pins.iter().zip(reader) {
            let level = match hole {
                Trade::Address(line) => address >> line & 1 == 1,
                Trade::Select | Trade::Nowhere => *unknown.next().unwrap(),
                _ => matches!(hole, Trade::Supply | Trade::Writing),
            };
            match pin {
                // All of these lists have their data lines on the same pins.
                Trade::Data => assert!(*hole == Trade::Data),
                Trade::Writing | Trade::Nowhere => {}
                Trade::Low => answers &= !level,
                Trade::Supply => answers &= level,
                Trade::Select => {
                    answers &= *hole == Trade::Select || level == *selects.next().unwrap();
                }
                Trade::Address(line) => at |= usize::from(level) << line,
            }
        }
        if answers { chip[at] } else { 0xFF }
    };
    (0..1 << lines).map(read).collect()
}

/// A chip in which each stretch of 256 bytes is told from the others, and none is FF.
fn content(bytes: usize) -> Vec<u8> {
    let byte = |a: usize| (a as u8 ^ (a >> 8) as u8).wrapping_mul(29).min(0xFE);
    (0..bytes).map(byte).collect()
}

fn ways(reader: &str, chip: &str) -> Vec<Vec<u8>> {
    let (reader, chip) = (find(reader).unwrap(), find(chip).unwrap());
    let content = content(chip.bytes() as usize);
    let ways = Way::all(reader, chip);
    ways.iter().map(|way| way.read(&content)).collect()
}

/// Every pair of them, 25 of 24 pins and 25 of 28.
#[test]
fn every_pair_reads_as_the_pin_lists_say() {
    let mut compared = 0;
    for (reader, _) in LISTS {
        for (name, _) in LISTS {
            let (holes, pins) = (list(reader), list(name));
            if holes.len() != pins.len() {
                continue;
            }
            let chip = content(find(name).unwrap().bytes() as usize);
            let mut expected: Vec<Vec<u8>> = Vec::new();
            let selects = pins.contains(&Trade::Select) || holes.contains(&Trade::Select);
            let settings = match (selects, holes.contains(&Trade::Nowhere)) {
                (true, _) => 16_u8,
                (false, true) => 4,
                (false, false) => 1,
            };
            for bits in 0..settings {
                let bit = |at: u8| bits >> at & 1 == 1;
                let read = plain_read(&holes, &pins, &chip, [bit(0), bit(1)], [bit(2), bit(3)]);
                if !expected.contains(&read) {
                    expected.push(read);
                }
            }
            let mut found = ways(reader, name);
            expected.sort();
            found.sort();
            assert!(found == expected, "{name} read as a {reader}");
            compared += 1;
        }
    }
    assert_eq!(compared, 50);
}

// Common practice: A11 and the enables of these two are swapped.
#[test]
fn a_2532_read_as_a_2732_shows_its_lower_half_twice() {
    let chip = content(4096);
    let lower = &chip[..2048];
    assert_eq!(ways("2732", "2532"), [[lower, lower].concat()]);
    // The other way round A11 drives an enable, and the chip's own A11 is at VPP: its upper half where A11 is 0.
    let upper = &chip[2048..];
    assert_eq!(ways("2532", "2732"), [[upper, &[0xFF; 2048]].concat()]);
}

// Common practice: the 24-pin 8K mask ROM has A11 where a 2732 is enabled, and A12 where that has A11.
#[test]
fn a_2364_read_as_a_2732_shows_every_second_2k_or_nothing() {
    let chip = content(8192);
    let reads = ways("2732", "2364");
    let shown = [&chip[..0x800], &chip[0x1000..0x1800]].concat();
    assert_eq!(reads, [shown, vec![0xFF; 4096]]);
}

#[test]
fn a_2332_read_as_a_2732_answers_in_one_half_only() {
    let lower = &content(4096)[..2048];
    let (none, nothing) = ([0xFF; 2048], vec![0xFF; 4096]);
    let mut reads = ways("2732", "2332");
    reads.sort();
    let mut expected = vec![[lower, &none].concat(), [&none, lower].concat(), nothing];
    expected.sort();
    assert_eq!(reads, expected);
}

// Common practice: pin 1 is A15 on one and VPP on the other, which is at the supply while it is read.
#[test]
fn a_27c512_read_as_a_27c256_shows_its_upper_half() {
    let chip = content(65_536);
    assert_eq!(ways("27C256", "27C512"), [&chip[32_768..]]);
}

#[test]
fn a_28c256_read_as_a_27c256_shows_its_upper_half_twice() {
    let chip = content(32_768);
    let upper = &chip[16_384..];
    assert_eq!(ways("27C256", "28C256"), [[upper, upper].concat()]);
}

#[test]
fn a_right_part_is_no_cousin() {
    let names = |reader: &str, bytes: usize| -> Vec<String> {
        let cousins = cousins_of(find(reader).unwrap(), bytes, parts::all());
        cousins
            .into_iter()
            .flat_map(|cousin| cousin.parts)
            .collect()
    };
    // The same pins for reading: other kinds, other voltages.
    assert!(names("2764", 8192).is_empty());
    assert_eq!(
        Way::all(find("2764").unwrap(), find("28C64").unwrap()).len(),
        1
    );
    assert!(!names("27C256", 32_768).contains(&"29C256".to_owned()));
    // A smaller part that repeats, as one in a larger socket does.
    assert!(!names("2732", 2048).contains(&"2716".to_owned()));
}

#[test]
fn ways_that_are_the_same_are_one_with_all_names() {
    let cousins = cousins_of(find("27C256").unwrap(), 65_536, parts::all());
    // The mask ROM's selects may be active at the other level; then nothing is read.
    let names: Vec<&[String]> = cousins.iter().map(|cousin| &cousin.parts[..]).collect();
    assert_eq!(names[1..], [["23512"]]);
    assert_eq!(cousins[1].way.answers(), &Answers::Never);
    for name in ["27512", "27C512", "27E512", "23512"] {
        assert!(names[0].contains(&name.to_owned()), "{name}");
    }
    for reader in parts::all() {
        for bytes in (10..21).map(|lines| 1 << lines) {
            let cousins = cousins_of(reader, bytes, parts::all());
            for (i, cousin) in cousins.iter().enumerate() {
                assert!(cousins[..i].iter().all(|other| other.way != cousin.way));
            }
        }
    }
}

#[test]
fn no_way_where_the_tables_tell_nothing() {
    let part = |name: &str| find(name).unwrap();
    // The supplies of a three-supply part would meet signals of the other, and the other way round.
    assert!(Way::all(part("2716"), part("2708")).is_empty());
    assert!(Way::all(part("2708"), part("2716")).is_empty());
    assert!(
        Way::all(part("27C1024"), part("27C1024")).is_empty(),
        "16 bits"
    );
    let mut unknown = part("2732").clone();
    unknown.pinout = None;
    assert!(Way::all(&unknown, part("2732")).is_empty());
    assert!(Way::all(part("2732"), &unknown).is_empty());
    // More unknown levels than a read can tell.
    let mut many = part("2764").clone();
    many.pinout = many.pinout.map(|pins| {
        let line = |pin| match pin {
            parts::Pin::Address(8..=12) => parts::Pin::Nc,
            pin => pin,
        };
        pins.into_iter().map(line).collect()
    });
    assert!(Way::all(&many, part("2764")).is_empty());
}

// A 24-pin part in the lower end of a 28-pin socket: its supply comes on the pin of A13, or on one that goes nowhere.
#[test]
fn a_smaller_part_sits_in_the_lower_end() {
    let part = |name: &str| find(name).unwrap();
    let [way] = &Way::all(part("27C128"), part("2716"))[..] else {
        panic!("one way");
    };
    assert_eq!(way.answers(), &Answers::While(vec![(13, true)]));
    assert_eq!(way.address()[10], Gets::Line(10));
    let chip = content(2048);
    let expected = [vec![0xFF; 8192], chip.repeat(4)].concat();
    assert_eq!(way.read(&chip), expected);
    assert_eq!(Way::all(part("2764"), part("2716")).len(), 2);
    assert!(
        Way::all(part("2716"), part("2764")).is_empty(),
        "larger than the socket"
    );
}

#[test]
fn data_lines_that_moved_show_moved() {
    let way = Way {
        address: vec![Gets::Line(0)],
        data: [
            Some(7),
            Some(1),
            None,
            Some(3),
            Some(4),
            Some(5),
            Some(6),
            Some(0),
        ],
        answers: Answers::While(Vec::new()),
        lines: 2,
    };
    assert_eq!(way.read(&[0x80, 0x01]), [0x05, 0x84, 0x05, 0x84]);
    assert_eq!(
        way.read(&[0x80]),
        [0x05, 0xFF, 0x05, 0xFF],
        "a chip cut short"
    );
}
