//! The table against the facts of the trade.
//!
//! Facts marked "common practice" have no one source; what no line marks otherwise is from memory.

use std::collections::HashSet;

use crate::parts::*;

fn part(name: &str) -> &'static Part {
    find(name).unwrap()
}

/// Family, letters, digits, suffix: `27`, `C`, `256`, ``.
fn number(name: &str) -> Option<(&str, u64)> {
    // A maker's letters in front, as they are printed; what is after a hyphen says which form of the part.
    let name = name.split('-').next().unwrap_or(name);
    let name = name.trim_start_matches(|c: char| c.is_ascii_uppercase());
    let (family, rest) = name.split_at_checked(2)?;
    if !["23", "25", "27", "28", "29", "39"].contains(&family) {
        return None;
    }
    let digits = rest
        .trim_start_matches(|c: char| c.is_ascii_alphabetic())
        .trim_end_matches(|c: char| c.is_ascii_alphabetic());
    Some((digits, digits.parse().unwrap()))
}

/// The numbers whose digits are not kilobits, with the kilobits they have.
const EXCEPTIONS: [(&str, u64); 22] = [
    // Megabits, 010 to 080 and their longer and shorter spellings (common practice).
    ("010", 1024),
    ("002", 2 * 1024),
    ("020", 2 * 1024),
    ("040", 4 * 1024),
    ("080", 8 * 1024),
    ("1000", 1024),
    ("1001", 1024),
    ("2000", 2 * 1024),
    ("2001", 2 * 1024),
    ("4000", 4 * 1024),
    ("4001", 4 * 1024),
    ("4002", 4 * 1024),
    ("301", 1024),
    ("801", 8 * 1024),
    // 16-bit parts: megabits in the second digit after a 2, or in front.
    ("210", 1024),
    ("220", 2 * 1024),
    ("240", 4 * 1024),
    ("400", 4 * 1024),
    ("800", 8 * 1024),
    ("160", 16 * 1024),
    ("322", 32 * 1024),
    // 256 kbit; the last digit tells it from the part erased by light.
    ("257", 256),
];

// Common practice: in these families the digits give kilobits.
#[test]
fn the_kilobit_rule_holds_on_every_row() {
    let mut followed = 0;
    let mut unused: HashSet<&str> = EXCEPTIONS.iter().map(|&(code, _)| code).collect();
    let by_number = |part: &&Part| part.kind != Kind::BipolarProm;
    for part in all().iter().filter(by_number) {
        for name in part.names() {
            let Some((digits, kilobits)) = number(name) else {
                assert!(name.starts_with("6876"), "{name}");
                continue;
            };
            let exception = EXCEPTIONS.iter().find(|(code, _)| *code == digits);
            let expected = exception.map_or(kilobits, |&(_, kilobits)| kilobits);
            assert_eq!(part.bits(), expected * 1024, "{name}");
            followed += u32::from(exception.is_none());
            unused.remove(digits);
        }
    }
    assert!(followed > 40, "{followed}");
    assert!(unused.is_empty(), "{unused:?}");
}

#[test]
fn a_bipolar_prom_is_what_its_name_says() {
    for part in all().iter().filter(|part| part.kind == Kind::BipolarProm) {
        let size = format!("prom-{}x{}", part.words, part.width);
        let package = match part.name.contains("24pin") {
            true => "-24pin",
            false => "",
        };
        let outputs = match part.outputs {
            Drive::ThreeState => "",
            Drive::OpenCollector => "-oc",
        };
        assert_eq!(part.name, format!("{size}{package}{outputs}"));
        assert!(package.is_empty() || part.pins == 24);
    }
}

#[test]
fn the_table_holds_what_was_promised() {
    let promised = "2708 2716 2732 2764 27128 27256 27512 27C16 27C32 27C64 27C128 27C256 27C512 \
        27C010 27C020 27C040 27C080 27C801 27C1024 27C2048 27C4096 27C400 27C800 27C160 27C322 \
        28C16 28C64 28C256 28C010 29F010 29F040 39SF010 39SF020 39SF040 28F010 29C256 29C010 \
        28F400-T 28F400-B 29F400BT 29F400BB 29F800BT 29F800BB 29F160DT 29F160DB 39SF512 \
        82S123 82S126 82S129 82S131 82S137 82S141 82S181 82S191 \
        74S188 74S287 74S288 74S387 74S471 74S472 74S474 \
        2316 2332 2364 23128 23256 23512 prom-32x8 prom-256x4 prom-512x8";
    for name in promised.split_whitespace() {
        part(name);
    }
}

#[test]
fn every_row_is_sound_and_every_name_stands_once() {
    let mut names = HashSet::new();
    for part in all() {
        if let Some(fault) = part.fault() {
            panic!("{}, {}: {}", part.name, fault.column, fault.message);
        }
        assert_eq!(1_u32 << part.address_lines(), part.words, "{}", part.name);
        assert!(part.source.contains("from memory"), "{}", part.name);
        for name in part.names() {
            assert_eq!(check::name(name), Ok(()));
            assert!(names.insert(name.to_lowercase()), "{name} stands twice");
        }
    }
}

#[test]
fn every_line_has_its_pin_and_no_other() {
    for part in all() {
        let pins: Vec<u8> = (0..part.address_lines())
            .map(|line| part.pin_of_address(line).unwrap())
            .chain((0..part.width).map(|line| part.pin_of_data(line).unwrap()))
            .collect();
        let unique: HashSet<&u8> = pins.iter().collect();
        assert_eq!(unique.len(), pins.len(), "{}", part.name);
        assert!(pins.iter().all(|pin| (1..=part.pins).contains(pin)));
        assert_eq!(part.pin_of_address(part.address_lines()), None);
        assert_eq!(part.pin_of_data(part.width), None);
    }
}

// Supplies of the byte-wide packages stand in two corners: the last pin and the last of the first
// side (common practice).
#[test]
fn supplies_stand_in_the_corners() {
    let byte_wide = |part: &&Part| part.width == 8 && (24..=32).contains(&part.pins);
    for part in all().iter().filter(byte_wide) {
        assert_eq!(
            part.pins_of(Pin::Ground).collect::<Vec<_>>(),
            [part.pins / 2]
        );
        assert_eq!(part.pins_of(Pin::Vcc).collect::<Vec<_>>(), [part.pins]);
    }
}

// A smaller part sits in the lower end of a larger one's socket (common practice): so do A0 to
// A10 of all byte-wide parts, counted from the end without the notch, and all their data lines.
#[test]
fn byte_wide_parts_share_their_lower_end() {
    let byte_wide = |part: &&Part| {
        part.width == 8
            && (24..=32).contains(&part.pins)
            && part.kind != Kind::BipolarProm
            // Its supplies are where the others have A10.
            && part.name != "2716-three-supply"
    };
    for part in all().iter().filter(byte_wide) {
        let shift = (part.pins - 24) / 2;
        for line in 0..8 {
            assert_eq!(
                part.pin_of_address(line),
                Some(8 - line + shift),
                "{}",
                part.name
            );
        }
        for (line, pin) in [(8, 23), (9, 22), (10, 19)] {
            if line < part.address_lines() {
                assert_eq!(
                    part.pin_of_address(line),
                    Some(pin + shift),
                    "{}",
                    part.name
                );
            }
        }
        for (line, pin) in (0..8).zip([9, 10, 11, 13, 14, 15, 16, 17]) {
            assert_eq!(part.pin_of_data(line), Some(pin + shift), "{}", part.name);
        }
    }
}

#[test]
fn the_lines_that_move_stand_where_the_trade_puts_them() {
    // (part, address line, pin)
    for (name, line, pin) in [
        ("2732", 11, 21),
        ("2532", 11, 18),
        ("2332", 11, 18),
        ("2364", 11, 18),
        ("2364", 12, 21),
        ("68764", 12, 21),
        ("2764", 12, 2),
        ("27128", 13, 26),
        ("27256", 14, 27),
        ("27512", 15, 1),
        ("28C256", 14, 1),
        ("29C256", 14, 27),
        ("23256", 14, 27),
        ("27C010", 16, 2),
        ("27C1000", 16, 24),
        ("27C020", 17, 30),
        ("27C040", 18, 31),
        ("29F040", 18, 1),
        ("39SF040", 18, 1),
        ("27C080", 19, 1),
        ("27C1024", 15, 37),
        ("27C2048", 16, 38),
        ("27C4096", 17, 39),
        ("27C400", 17, 1),
        ("27C800", 18, 1),
        ("27C160", 19, 42),
        ("27C322", 20, 32),
    ] {
        assert_eq!(part(name).pin_of_address(line), Some(pin), "{name} A{line}");
    }
}

#[test]
fn control_pins_stand_where_the_trade_puts_them() {
    for (name, function, pins) in [
        ("2716", Pin::Vpp, &[21][..]),
        ("2732", Pin::OutputEnableVpp, &[20]),
        ("2532", Pin::ChipEnableProgram, &[20]),
        ("2764", Pin::Vpp, &[1]),
        ("2764", Pin::Program, &[27]),
        ("27256", Pin::Vpp, &[1]),
        ("27512", Pin::OutputEnableVpp, &[22]),
        ("27C010", Pin::Program, &[31]),
        ("27C080", Pin::OutputEnableVpp, &[24]),
        ("28C16", Pin::WriteEnable, &[21]),
        ("28C256", Pin::WriteEnable, &[27]),
        ("29C256", Pin::WriteEnable, &[1]),
        ("39SF010", Pin::WriteEnable, &[31]),
        ("2316", Pin::Select, &[18, 20, 21]),
        ("2332", Pin::Select, &[20, 21]),
        ("2364", Pin::Select, &[20]),
    ] {
        let found: Vec<u8> = part(name).pins_of(function).collect();
        assert_eq!(found, pins, "{name} {function}");
    }
}

// The 2532 and the 2732 exchange A11 and their enables; a 2532 goes into the socket of a 2332.
#[test]
fn cousins_differ_in_a11_and_the_select_lines_only() {
    let moved = part("2532").pins_that_differ(part("2732")).unwrap();
    let pins: Vec<u8> = moved.iter().map(|&(pin, ..)| pin).collect();
    assert_eq!(pins, [18, 20, 21]);
    let moved = part("2532").pins_that_differ(part("2332")).unwrap();
    assert!(moved.iter().all(|(_, here, there)| {
        !matches!(here, Pin::Address(_)) && !matches!(there, Pin::Address(_))
    }));
    assert_eq!(part("2732").pins_that_differ(part("2764")), None);
    assert_eq!(part("2732").pins_that_differ(part("2732A")), Some(vec![]));
}

#[test]
fn voltage_goes_by_generation_and_is_given_only_where_the_number_decides() {
    for (name, volts) in [
        ("2716", 25.0),
        ("2732", 25.0),
        ("2532", 25.0),
        ("2732A", 21.0),
        ("2764", 21.0),
        ("27128", 21.0),
        ("2732B", 12.5),
        ("2764A", 12.5),
        ("27128A", 12.5),
        ("28F010", 12.0),
    ] {
        assert_eq!(part(name).program_volts, Some(volts), "{name}");
    }
    for part in all() {
        let name = &part.name;
        if name.starts_with("27C") || name.starts_with("27E") || name == "27256" {
            assert_eq!(part.program_volts, None, "{name}");
        }
        match part.kind {
            Kind::MaskRom => assert_eq!(part.voltage(), None),
            Kind::SectorFlash if name.starts_with("28F400") => {
                assert_eq!(part.program_volts, Some(12.0), "{name}");
            }
            Kind::Eeprom | Kind::SectorFlash | Kind::PageFlash => {
                assert_eq!(part.program_volts, None, "{name}");
            }
            _ => assert!(
                part.voltage()
                    .unwrap()
                    .contains("check the maker's data sheet")
            ),
        }
    }
    assert!(part("2764").voltage().unwrap().contains("at 21 V"));
}

// Common practice: erased EPROM, EEPROM and flash read FF; mask and bipolar parts have no erased
// value.
#[test]
fn erased_values() {
    for part in all() {
        let none = matches!(part.kind, Kind::MaskRom | Kind::BipolarProm);
        assert_eq!(part.erased, (!none).then_some(0xFF), "{}", part.name);
    }
}

// Kind is a column, not the prefix.
#[test]
fn kinds_and_what_writing_twice_leaves() {
    for (name, kind, twice) in [
        ("27C256", Kind::UvEprom, WrittenTwice::And),
        ("27E512", Kind::ElectricEprom, WrittenTwice::And),
        ("28C256", Kind::Eeprom, WrittenTwice::LaterWins),
        ("28F256", Kind::BulkFlash, WrittenTwice::And),
        ("29F040", Kind::SectorFlash, WrittenTwice::And),
        ("29C256", Kind::PageFlash, WrittenTwice::LaterWins),
        ("23256", Kind::MaskRom, WrittenTwice::NotWritable),
        ("prom-256x4", Kind::BipolarProm, WrittenTwice::OneWay),
    ] {
        assert_eq!(part(name).kind, kind, "{name}");
        assert_eq!(part(name).written_twice(), twice, "{name}");
    }
    assert!(part("28C64").overwrites() && !part("28C64").only_clears());
    assert!(part("2716").only_clears() && !part("2716").overwrites());
    let mut zeros = part("2716").clone();
    zeros.erased = Some(0);
    assert_eq!(zeros.written_twice(), WrittenTwice::Or);
}

// The 64 bytes of the 28C256 are common practice.
#[test]
fn pages_and_sectors() {
    for (name, page, sector) in [
        ("28C16", None, None),
        ("28C64", None, None),
        ("28C256", Some(64), None),
        ("28C010", Some(128), None),
        ("29C256", Some(64), None),
        ("29C010", Some(128), None),
        ("29C020", None, None),
        ("29F010", None, Some(16 * 1024)),
        ("29F040", None, Some(64 * 1024)),
        ("39SF010", None, Some(4096)),
        ("39SF040", None, Some(4096)),
        ("27C512", None, None),
    ] {
        assert_eq!(
            (part(name).page, part(name).sector),
            (page, sector),
            "{name}"
        );
    }
}

// From memory, as the rest of the table.
#[test]
fn unequal_sectors_are_those_of_the_whole_part() {
    for (name, sectors) in [
        ("29F002T", "3 x 64K, 32K, 2 x 8K, 16K"),
        ("29F002BB", "16K, 2 x 8K, 32K, 3 x 64K"),
        ("29F400T", "7 x 64K, 32K, 2 x 8K, 16K"),
        ("29F400BB", "16K, 2 x 8K, 32K, 7 x 64K"),
        ("29F800T", "15 x 64K, 32K, 2 x 8K, 16K"),
        ("29F160DB", "16K, 2 x 8K, 32K, 31 x 64K"),
        ("28F400BX-T", "3 x 128K, 96K, 2 x 8K, 16K"),
    ] {
        let found = part(name).sectors.as_ref().unwrap();
        assert_eq!(found.to_string(), sectors, "{name}");
        assert_eq!(part(name).erased_in().as_ref(), Some(found));
    }
    // Where the small ones are decides what a burn erases, so a number that does not tell is no part.
    assert!(find("29F002").is_err() && find("29F002B").is_err());
    assert!(find("29F400").is_err() && find("29F400B").is_err());
    assert_eq!(part("29F040").erased_in(), Some(Sectors::equal(64 << 10)));
    assert_eq!(part("27C256").erased_in(), None);
    let unequal = all().iter().filter(|part| part.sectors.is_some());
    assert_eq!(unequal.count(), 20);
    assert_eq!(part("29F002BT").pins_of(Pin::Reset).next(), Some(1));
    assert_eq!(part("29F002NBT").pins_of(Pin::Reset).next(), None);
}

// It has the order of the mask ROMs that the 27C400 follows, two pins on (common practice).
#[test]
fn word_wide_flash_is_a_27c400_two_pins_on() {
    let (flash, eprom) = (part("29F400T"), part("27C400"));
    for line in 0..18 {
        let pin = eprom.pin_of_address(line).unwrap();
        assert_eq!(flash.pin_of_address(line), Some(pin + 2), "A{line}");
    }
    for line in 0..16 {
        let pin = eprom.pin_of_data(line).unwrap();
        assert_eq!(flash.pin_of_data(line), Some(pin + 2), "D{line}");
    }
    for pin in [Pin::ChipEnable, Pin::OutputEnable, Pin::Ground, Pin::Vcc] {
        let moved: Vec<u8> = eprom.pins_of(pin).map(|pin| pin + 2).collect();
        assert_eq!(flash.pins_of(pin).collect::<Vec<_>>(), moved, "{pin}");
    }
}

/// Common practice: with `BYTE` low a 16-bit part has twice the words, and the pin of D15 is the lowest address line, which
/// data sheets call A-1.
#[test]
fn a_byte_mode_is_the_same_chip_in_bytes() {
    let mut pairs = 0;
    for bytes in all() {
        let Some(name) = bytes.name.strip_suffix("-x8") else {
            continue;
        };
        let words = part(name);
        assert_eq!((words.width, bytes.width), (16, 8), "{name}");
        assert_eq!(
            (words.bytes(), words.pins),
            (bytes.bytes(), bytes.pins),
            "{name}"
        );
        assert_eq!(words.erased_in(), bytes.erased_in(), "{name}");
        assert_eq!(bytes.pin_of_address(0), words.pin_of_data(15), "{name}");
        for line in 0..words.address_lines() {
            let pin = words.pin_of_address(line);
            assert_eq!(bytes.pin_of_address(line + 1), pin, "{name} A{line}");
        }
        for line in 0..8 {
            assert_eq!(
                bytes.pin_of_data(line),
                words.pin_of_data(line),
                "{name} D{line}"
            );
        }
        pairs += 1;
    }
    assert_eq!(pairs, 11);
    // Neither has this one a pin for it.
    assert!(find("27C322-x8").is_err());
}

// Common practice: of two numbers of one organisation the other has open-collector outputs.
#[test]
fn small_proms_by_their_numbers() {
    for (number, size, pins, outputs) in [
        ("82S23", "32x8", 16, Drive::OpenCollector),
        ("82S123", "32x8", 16, Drive::ThreeState),
        ("82S126", "256x4", 16, Drive::OpenCollector),
        ("82S129", "256x4", 16, Drive::ThreeState),
        ("82S131", "512x4", 16, Drive::ThreeState),
        ("82S137", "1Kx4", 18, Drive::ThreeState),
        ("82S141", "512x8", 24, Drive::ThreeState),
        ("82S181", "1Kx8", 24, Drive::ThreeState),
        ("82S191", "2Kx8", 24, Drive::ThreeState),
        ("74S188", "32x8", 16, Drive::OpenCollector),
        ("74S288", "32x8", 16, Drive::ThreeState),
        ("74S287", "256x4", 16, Drive::ThreeState),
        ("74S387", "256x4", 16, Drive::OpenCollector),
        ("74S470", "256x8", 20, Drive::OpenCollector),
        ("74S471", "256x8", 20, Drive::ThreeState),
        ("74S472", "512x8", 20, Drive::ThreeState),
        ("74S474", "512x8", 24, Drive::ThreeState),
    ] {
        let part = part(number);
        let found = (part.organisation(), part.pins, part.outputs);
        assert_eq!(found, (size.to_owned(), pins, outputs), "{number}");
    }
}

#[test]
fn sizes_of_images() {
    assert_eq!(part("27C256").bytes(), 32 * 1024);
    assert_eq!(part("27C1024").bytes(), 128 * 1024);
    assert_eq!(part("prom-256x4").bytes(), 256);
    assert_eq!(part("27C322").organisation(), "2Mx16");
    assert_eq!(part("2716").organisation(), "2Kx8");
    assert_eq!(part("prom-512x4").organisation(), "512x4");
}

#[test]
fn pins_are_read_as_they_are_printed() {
    for pin in all().iter().flat_map(|part| part.pinout.iter().flatten()) {
        assert_eq!(pin.to_string().parse(), Ok(*pin));
    }
    assert_eq!("a14".parse(), Ok(Pin::Address(14)));
    assert_eq!("oe/vpp".parse(), Ok(Pin::OutputEnableVpp));
    for word in ["", "A", "A+1", "A256", "A 1", "X", "\u{e4}1", "D-1"] {
        assert_eq!(word.parse::<Pin>(), Err(UnknownPin), "{word}");
    }
}

#[test]
fn kinds_are_named_alike_everywhere() {
    for kind in Kind::ALL {
        assert_eq!(serde_json::to_value(kind).unwrap(), kind.name());
        assert!(kind.erasing().ends_with('.'));
    }
    assert!(Kind::UvEprom.erasing().contains("shielded"));
}

#[test]
fn json_has_the_columns() {
    let json = serde_json::to_value(part("2716")).unwrap();
    assert_eq!(json["name"], "2716");
    assert_eq!(json["bytes"], 2048);
    assert_eq!(json["kind"], "uv-eprom");
    assert_eq!(json["program_volts"], 25.0);
    assert_eq!(json["pinout"][20], "VPP");
    assert_eq!(json["pinout_source"], "from memory");
    assert_eq!(json["outputs"], "three-state");
    assert_eq!(json["page"], serde_json::Value::Null);
}
