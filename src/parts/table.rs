//! The rows of the table.
//!
//! Everything here was written from memory, and every row's `source` says so; the pins of some were then compared with
//! those of a library of electronic symbols, and `pinout_source` says which. A figure that differs from maker to maker is
//! left out, and the row's note says by how much it differs.

use std::sync::LazyLock;

use super::pinouts::*;
use super::{Drive, Kind, Part, Pin, Sectors};

/// The `source` of every row here.
const FROM_MEMORY: &str = "from memory; check the maker's data sheet";

/// The `pinout_source` of the rows that a symbol of KiCad's library agrees with; `tests/it/pins.rs` checks which these are.
const IN_KICAD: &str = "as in KiCad's symbol library";

/// The `pinout_source` of the others.
const PINS_FROM_MEMORY: &str = "from memory";

/// The built-in rows, by family and size.
pub(super) fn built_in() -> &'static [Part] {
    static PARTS: LazyLock<Vec<Part>> = LazyLock::new(|| ROWS.iter().map(TableRow::part).collect());
    &PARTS
}

/// A row as it is written here; the columns are those of [`Part`].
#[derive(Clone, Copy)]
struct TableRow {
    name: &'static str,
    also: &'static [&'static str],
    words: u32,
    width: u8,
    kind: Kind,
    erased: Option<u8>,
    page: Option<u32>,
    sector: Option<u32>,
    /// Where they are unequal; a test checks that they can be read.
    sectors: &'static [&'static str],
    pins: &'static [Pin],
    /// Whether KiCad's symbol library has these pins.
    in_kicad: bool,
    outputs: Drive,
    write_us: Option<u32>,
    program_volts: Option<f64>,
    note: &'static str,
}

impl TableRow {
    fn part(&self) -> Part {
        Part {
            name: self.name.to_owned(),
            also: self.also.iter().map(|&name| name.to_owned()).collect(),
            words: self.words,
            width: self.width,
            kind: self.kind,
            erased: self.erased,
            page: self.page,
            sector: self.sector,
            sectors: Sectors::read(self.sectors.iter().copied()).ok(),
            pins: self.pins.len() as u8,
            pinout: Some(self.pins.to_vec()),
            pinout_source: match self.in_kicad {
                true => IN_KICAD.to_owned(),
                false => PINS_FROM_MEMORY.to_owned(),
            },
            outputs: self.outputs,
            write_us: self.write_us,
            program_volts: self.program_volts,
            source: FROM_MEMORY.to_owned(),
            note: self.note.to_owned(),
        }
    }
}

const K: u32 = 1024;
const M: u32 = 1024 * K;

/// Erased cells of EPROMs, EEPROMs and flash read as ones (common practice).
const UV: TableRow = TableRow {
    name: "",
    also: &[],
    words: 0,
    width: 8,
    kind: Kind::UvEprom,
    erased: Some(0xFF),
    page: None,
    sector: None,
    sectors: &[],
    pins: &[],
    in_kicad: false,
    outputs: Drive::ThreeState,
    write_us: None,
    program_volts: None,
    note: "",
};
/// UV EPROMs of the C forms from 64 kbit up: one pulse of 100 us a byte is mostly enough (common
/// practice). The number does not decide the voltage.
const UV_C: TableRow = TableRow {
    write_us: Some(100),
    note: C_VOLTS,
    ..UV
};
/// The megabit ones came after the 21 V generation.
const UV_MBIT: TableRow = TableRow {
    note: MBIT_VOLTS,
    ..UV_C
};
const UV_X16: TableRow = TableRow {
    width: 16,
    ..UV_MBIT
};
const ELECTRIC: TableRow = TableRow {
    kind: Kind::ElectricEprom,
    note: "Erasing needs a voltage of its own, above the programming voltage.",
    ..UV
};
const EEPROM: TableRow = TableRow {
    kind: Kind::Eeprom,
    ..UV
};
/// Bulk-erase flash programs in pulses of 10 us, at 12 V.
const BULK: TableRow = TableRow {
    kind: Kind::BulkFlash,
    write_us: Some(10),
    program_volts: Some(12.0),
    note: "Every byte is programmed to 00 before an erase; the programmer does that.",
    ..UV
};
/// Sector flash of this family takes about 7 us a byte.
const SECTOR_29F: TableRow = TableRow {
    kind: Kind::SectorFlash,
    write_us: Some(7),
    ..UV
};
/// This family has sectors of 4 KiB and takes about 14 us a byte.
const SECTOR_39SF: TableRow = TableRow {
    kind: Kind::SectorFlash,
    sector: Some(4 * K),
    write_us: Some(14),
    ..UV
};
/// Page flash takes up to 10 ms a page.
const PAGE_29C: TableRow = TableRow {
    kind: Kind::PageFlash,
    write_us: Some(10_000),
    ..UV
};
const MASK: TableRow = TableRow {
    kind: Kind::MaskRom,
    erased: None,
    note: MASK_SELECTS,
    ..UV
};
const FUSES: TableRow = TableRow {
    kind: Kind::BipolarProm,
    erased: None,
    note: FUSE_VALUE,
    ..UV
};

const FUSES_OPEN: TableRow = TableRow {
    outputs: Drive::OpenCollector,
    ..FUSES
};
/// Word-wide parts in byte mode. They are programmed in words, so no time for a byte is given.
const UV_BYTES: TableRow = TableRow {
    width: 8,
    write_us: None,
    note: BYTE_MODE,
    ..UV_X16
};
/// Flash of 16 bits.
const FLASH_X16: TableRow = TableRow {
    width: 16,
    write_us: None,
    note: WORDS,
    ..SECTOR_29F
};
const FLASH_BYTES: TableRow = TableRow {
    width: 8,
    note: BYTES,
    ..FLASH_X16
};
/// Boot-block flash of the 28F family, programmed at 12 V.
const BOOT_28F: TableRow = TableRow {
    program_volts: Some(12.0),
    ..FLASH_X16
};

const C_VOLTS: &str = "The number does not say the programming voltage: most take 12.5 V to 13 V, \
                       early ones 21 V.";
const MBIT_VOLTS: &str =
    "The number does not say the programming voltage: most take 12.5 V to 13 V.";
const C_VOLTS_24: &str = "The number does not say the programming voltage: early ones take 25 V, \
                          later ones 12.5 V to 13 V.";
const OLD_PULSES: &str = "The time is that of the interactive method, a pulse of 1 ms and a last one \
                          of 4 ms; the older method takes 50 ms a byte.";
const MASK_SELECTS: &str = "The active level of its select lines was chosen with its content.";
const RESET_ON_1: &str = "T or B at the end of the number says whether the small sectors are at the top or at the \
                          bottom. Forms with an N in the number, \
                          such as 29F002NBT, have no connection on pin 1.";
const TOP_OR_BOTTOM: &str = "T or B at the end of the number says whether the small sectors are at the top or at the \
                             bottom.";
const WORDS: &str = "T or B at the end of the number says whether the small sectors are at the top or at the bottom. Its \
                     package is for surface mounting; this is its word mode, with BYTE high.";
const BYTES: &str = "T or B at the end of the number says whether the small sectors are at the top or at the bottom. Its \
                     package is for surface mounting; this is its byte mode, with BYTE low: A0 is on the pin of D15.";
const BYTE_MODE: &str =
    "This is its byte mode, with BYTE low: A0 is on the pin of D15. It is programmed in words.";
const WORD_MODE: &str = "This is its word mode, with BYTE high. The number does not say the programming voltage: most \
                         take 12.5 V to 13 V.";
const FUSE_VALUE: &str = "Whether an unblown fuse reads 0 or 1 differs by part.";
const FUSES_20: &str = "The package has 20 pins; there is one of 24 pins. Whether an unblown fuse reads 0 or 1 differs by part.";
const FUSES_24: &str = "The package has 24 pins; there is one of 20 pins. Whether an unblown fuse reads 0 or 1 differs by part.";

/// In `also` are names that several makers use for one part, and letters after the number that change nothing here; names
/// with a maker's letters only where these mean another part: a W27C512 erases electrically. The kilobit rule is true of
/// all rows except those listed beside its test.
#[rustfmt::skip]
const ROWS: &[TableRow] = &[
    // UV EPROMs, 24 pins. Pulses of 50 ms; the 2708 takes short pulses in loops, 100 ms a byte in all.
    TableRow { name: "2708", words: K, pins: &P2708, write_us: Some(100_000),
          note: "Three supplies: +5 V, +12 V and -5 V. Few programmers take it, and it must not go into a 2716's socket.", ..UV },
    TableRow { name: "2716", also: &["2516"], words: 2 * K, pins: &P2716, write_us: Some(50_000), program_volts: Some(25.0),
          note: "This is the part with one supply; a part with three supplies has the same number, see 2716-three-supply.", ..UV },
    TableRow { name: "2716-three-supply", words: 2 * K, pins: &P2716_THREE,
          note: "Three supplies: +5 V, +12 V and -5 V. It must not go into the socket of a 2716 with one supply, nor the other way round.", ..UV },
    TableRow { name: "27C16", words: 2 * K, pins: &P2716, note: C_VOLTS_24, ..UV },
    TableRow { name: "2732", words: 4 * K, pins: &P2732, write_us: Some(50_000), program_volts: Some(25.0),
          note: "A11 is on pin 21; its cousin 2532 has A11 on pin 18.", ..UV },
    TableRow { name: "2732A", words: 4 * K, pins: &P2732, write_us: Some(50_000), program_volts: Some(21.0),
          note: "The 25 V of a plain 2732 destroy it.", ..UV },
    TableRow { name: "2732B", words: 4 * K, pins: &P2732, program_volts: Some(12.5),
          note: "The 25 V of a plain 2732 destroy it.", ..UV },
    TableRow { name: "27C32", words: 4 * K, pins: &P2732, note: C_VOLTS_24, ..UV },
    TableRow { name: "2532", words: 4 * K, pins: &P2532, write_us: Some(50_000), program_volts: Some(25.0),
          note: "A11 is on pin 18, like the 2332's; its cousin 2732 has A11 on pin 21.", ..UV },
    TableRow { name: "68764", also: &["68766"], words: 8 * K, pins: &P68764,
          note: "24 pins, and fits the socket of a 2364. The 68766 differs from it in how pin 20 enables.", ..UV },

    // UV EPROMs, 28 pins.
    TableRow { name: "2764", words: 8 * K, pins: &P2764, in_kicad: true, write_us: Some(5_000), program_volts: Some(21.0), note: OLD_PULSES, ..UV },
    TableRow { name: "2764A", words: 8 * K, pins: &P2764, write_us: Some(4_000), program_volts: Some(12.5),
          note: "The 21 V of a plain 2764 destroy it.", ..UV },
    TableRow { name: "27C64", also: &["27C64Q"], words: 8 * K, pins: &P2764, in_kicad: true, ..UV_C },
    TableRow { name: "27128", words: 16 * K, pins: &P27128, in_kicad: true, write_us: Some(5_000), program_volts: Some(21.0), note: OLD_PULSES, ..UV },
    TableRow { name: "27128A", words: 16 * K, pins: &P27128, write_us: Some(4_000), program_volts: Some(12.5),
          note: "The 21 V of a plain 27128 destroy it.", ..UV },
    TableRow { name: "27C128", also: &["27C128Q"], words: 16 * K, pins: &P27128, in_kicad: true, ..UV_C },
    TableRow { name: "27256", words: 32 * K, pins: &P27256, in_kicad: true, write_us: Some(4_000), note: C_VOLTS, ..UV },
    TableRow { name: "27C256", also: &["27C256B", "27C256Q", "27C256R"], words: 32 * K, pins: &P27256, in_kicad: true, ..UV_C },
    TableRow { name: "27512", words: 64 * K, pins: &P27512, in_kicad: true, write_us: Some(4_000),
          note: "The programming voltage comes on pin 22, not on pin 1.", ..UV },
    TableRow { name: "27C512", also: &["27C512Q", "27C512R"], words: 64 * K, pins: &P27512, in_kicad: true,
          note: "The programming voltage comes on pin 22, not on pin 1, mostly 12.5 V to 13 V. Some parts of this number erase electrically.", ..UV_C },

    // UV EPROMs, 32 pins.
    TableRow { name: "27C010", also: &["27C1001", "27C010A", "27C010L"], words: 128 * K, pins: &P27C010, in_kicad: true, ..UV_MBIT },
    TableRow { name: "27C1000", also: &["27C301"], words: 128 * K, pins: &P27C1000,
          note: "A cousin of the 27C010 that follows a mask ROM: A16 and OE are swapped (pins 2 and 24).", ..UV_MBIT },
    TableRow { name: "27C020", also: &["27C2001", "27C2000"], words: 256 * K, pins: &P27C020, in_kicad: true, ..UV_MBIT },
    TableRow { name: "27C040", also: &["27C4001", "27C4000"], words: 512 * K, pins: &BYTE_32, in_kicad: true, ..UV_MBIT },
    TableRow { name: "27C080", also: &["27C801"], words: M, pins: &P27C080, in_kicad: true, write_us: Some(50),
          note: "The programming voltage comes on pin 24, not on pin 1, mostly 12.5 V to 13 V.", ..UV_MBIT },

    // UV EPROMs of 16 bits: two orders of pins, one of their own and one that follows mask ROMs.
    TableRow { name: "27C1024", also: &["27C210"], words: 64 * K, pins: &P27C1024, ..UV_X16 },
    TableRow { name: "27C2048", also: &["27C220"], words: 128 * K, pins: &P27C2048, ..UV_X16 },
    TableRow { name: "27C4096", also: &["27C240", "27C4002"], words: 256 * K, pins: &WORD_40, ..UV_X16 },
    TableRow { name: "27C400", words: 256 * K, pins: &P27C400, write_us: None, note: WORD_MODE, ..UV_X16 },
    TableRow { name: "27C400-x8", words: 512 * K, pins: &P27C400_BYTES, ..UV_BYTES },
    TableRow { name: "27C800", words: 512 * K, pins: &P27C800, write_us: Some(50), note: WORD_MODE, ..UV_X16 },
    TableRow { name: "27C800-x8", words: M, pins: &P27C800_BYTES, ..UV_BYTES },
    TableRow { name: "27C160", words: M, pins: &ROM_42, write_us: Some(50), note: WORD_MODE, ..UV_X16 },
    TableRow { name: "27C160-x8", words: 2 * M, pins: &ROM_42_BYTES, ..UV_BYTES },
    TableRow { name: "27C322", words: 2 * M, pins: &P27C322, write_us: Some(50),
          note: "It has no byte mode, and the programming voltage comes on pin 13, not on pin 32.", ..UV_X16 },

    // 27 parts that erase electrically.
    TableRow { name: "27E257", also: &["W27E257"], words: 32 * K, pins: &P27256, write_us: Some(100), ..ELECTRIC },
    TableRow { name: "27E512", also: &["W27C512", "W27E512"], words: 64 * K, pins: &P27512, write_us: Some(100), ..ELECTRIC },
    TableRow { name: "27SF256", words: 32 * K, pins: &P27256, write_us: Some(20), ..ELECTRIC },
    TableRow { name: "27SF512", words: 64 * K, pins: &P27512, write_us: Some(20), ..ELECTRIC },
    TableRow { name: "27SF010", words: 128 * K, pins: &P27C010, write_us: Some(20), ..ELECTRIC },
    TableRow { name: "27SF020", words: 256 * K, pins: &P27C020, write_us: Some(20), ..ELECTRIC },

    TableRow { name: "27E010", also: &["W27E010", "W27C010"], words: 128 * K, pins: &P27C010, write_us: Some(100), ..ELECTRIC },
    TableRow { name: "27E020", also: &["W27E020", "W27C020"], words: 256 * K, pins: &P27C020, write_us: Some(100), ..ELECTRIC },
    TableRow { name: "27E040", also: &["W27E040", "W27C040"], words: 512 * K, pins: &BYTE_32, write_us: Some(100), ..ELECTRIC },

    // EEPROMs.
    TableRow { name: "28C16", also: &["28C16A"], words: 2 * K, pins: &P28C16,
          note: "Written by the byte, in 0.2 ms to 10 ms each, by maker.", ..EEPROM },
    TableRow { name: "28C64", also: &["28C64A"], words: 8 * K, pins: &P28C64,
          note: "Written by the byte, in 0.2 ms to 10 ms each, by maker; some makers' load pages, and take single bytes too. Pin 1 is a ready signal on some.", ..EEPROM },
    TableRow { name: "28C64B", also: &["28HC64B"], words: 8 * K, pins: &P28C64,
          note: "It loads pages, of 32 or 64 bytes by maker.", ..EEPROM },
    TableRow { name: "28C256", also: &["28C256E", "28HC256"], words: 32 * K, page: Some(64), pins: &P28C256, in_kicad: true, write_us: Some(5_000),
          note: "A14 is on pin 1; in EPROMs and in the 29C256 it is on pin 27.", ..EEPROM },
    TableRow { name: "28C512", words: 64 * K, page: Some(128), pins: &WRITTEN_512, write_us: Some(5_000), ..EEPROM },
    TableRow { name: "28C010", words: 128 * K, page: Some(128), pins: &WRITTEN_010, write_us: Some(5_000), ..EEPROM },
    TableRow { name: "28C040", words: 512 * K, page: Some(256), pins: &WRITTEN_040, write_us: Some(5_000), ..EEPROM },

    // Flash.
    TableRow { name: "28F256", words: 32 * K, pins: &P28F256, ..BULK },
    TableRow { name: "28F512", words: 64 * K, pins: &P28F512, ..BULK },
    TableRow { name: "28F010", words: 128 * K, pins: &P28F010, ..BULK },
    TableRow { name: "28F020", words: 256 * K, pins: &P28F020, ..BULK },
    TableRow { name: "29C256", words: 32 * K, page: Some(64), pins: &P29C256,
          note: "A14 is on pin 27 and write enable on pin 1; the 28C256 has these two swapped.", ..PAGE_29C },
    TableRow { name: "29C512", words: 64 * K, page: Some(128), pins: &WRITTEN_512, ..PAGE_29C },
    TableRow { name: "29C010", also: &["29C010A"], words: 128 * K, page: Some(128), pins: &WRITTEN_010, ..PAGE_29C },
    TableRow { name: "29C020", words: 256 * K, pins: &WRITTEN_020, write_us: None,
          note: "Its pages are of 128 or 256 bytes, by maker.", ..PAGE_29C },
    TableRow { name: "29C040", words: 512 * K, pins: &WRITTEN_040, write_us: None,
          note: "Its pages are of 256 or 512 bytes, by maker and suffix.", ..PAGE_29C },
    TableRow { name: "29C040A", words: 512 * K, page: Some(256), pins: &WRITTEN_040, ..PAGE_29C },
    TableRow { name: "29F010", also: &["29F010B"], words: 128 * K, sector: Some(16 * K), pins: &WRITTEN_010, ..SECTOR_29F },
    TableRow { name: "29F002BT", also: &["29F002T", "29F002TC"], words: 256 * K,
          sectors: &["3 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F002, note: RESET_ON_1, ..SECTOR_29F },
    TableRow { name: "29F002BB", also: &["29F002BC"], words: 256 * K,
          sectors: &["16K", "2 x 8K", "32K", "3 x 64K"], pins: &P29F002, note: RESET_ON_1, ..SECTOR_29F },
    TableRow { name: "29F002NBT", also: &["29F002NT"], words: 256 * K,
          sectors: &["3 x 64K", "32K", "2 x 8K", "16K"], pins: &WRITTEN_020, note: TOP_OR_BOTTOM, ..SECTOR_29F },
    TableRow { name: "29F002NBB", words: 256 * K,
          sectors: &["16K", "2 x 8K", "32K", "3 x 64K"], pins: &WRITTEN_020, note: TOP_OR_BOTTOM, ..SECTOR_29F },
    TableRow { name: "28F400-T", also: &["28F400BX-T", "28F400BV-T"], words: 256 * K,
          sectors: &["3 x 128K", "96K", "2 x 8K", "16K"], pins: &P28F400, in_kicad: true, ..BOOT_28F },
    TableRow { name: "28F400-T-x8", words: 512 * K, width: 8, note: BYTES,
          sectors: &["3 x 128K", "96K", "2 x 8K", "16K"], pins: &P28F400_BYTES, in_kicad: true, ..BOOT_28F },
    TableRow { name: "28F400-B", also: &["28F400BX-B", "28F400BV-B"], words: 256 * K,
          sectors: &["16K", "2 x 8K", "96K", "3 x 128K"], pins: &P28F400, in_kicad: true, ..BOOT_28F },
    TableRow { name: "28F400-B-x8", words: 512 * K, width: 8, note: BYTES,
          sectors: &["16K", "2 x 8K", "96K", "3 x 128K"], pins: &P28F400_BYTES, in_kicad: true, ..BOOT_28F },
    TableRow { name: "29F400BT", also: &["29F400T", "29F400TC", "29F400CT", "29F400FT"], words: 256 * K,
          sectors: &["7 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F400, ..FLASH_X16 },
    TableRow { name: "29F400BT-x8", words: 512 * K,
          sectors: &["7 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F400_BYTES, ..FLASH_BYTES },
    TableRow { name: "29F400BB", also: &["29F400BC", "29F400CB", "29F400FB"], words: 256 * K,
          sectors: &["16K", "2 x 8K", "32K", "7 x 64K"], pins: &P29F400, ..FLASH_X16 },
    TableRow { name: "29F400BB-x8", words: 512 * K,
          sectors: &["16K", "2 x 8K", "32K", "7 x 64K"], pins: &P29F400_BYTES, ..FLASH_BYTES },
    TableRow { name: "29F800BT", also: &["29F800T", "29F800CT", "29F800DT", "29F800FT"], words: 512 * K,
          sectors: &["15 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F800, ..FLASH_X16 },
    TableRow { name: "29F800BT-x8", words: M,
          sectors: &["15 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F800_BYTES, ..FLASH_BYTES },
    TableRow { name: "29F800BB", also: &["29F800CB", "29F800DB", "29F800FB"], words: 512 * K,
          sectors: &["16K", "2 x 8K", "32K", "15 x 64K"], pins: &P29F800, ..FLASH_X16 },
    TableRow { name: "29F800BB-x8", words: M,
          sectors: &["16K", "2 x 8K", "32K", "15 x 64K"], pins: &P29F800_BYTES, ..FLASH_BYTES },
    TableRow { name: "29F160DT", also: &["29F160FT"], words: M,
          sectors: &["31 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F160, ..FLASH_X16 },
    TableRow { name: "29F160DT-x8", words: 2 * M,
          sectors: &["31 x 64K", "32K", "2 x 8K", "16K"], pins: &P29F160_BYTES, ..FLASH_BYTES },
    TableRow { name: "29F160DB", also: &["29F160FB"], words: M,
          sectors: &["16K", "2 x 8K", "32K", "31 x 64K"], pins: &P29F160, ..FLASH_X16 },
    TableRow { name: "29F160DB-x8", words: 2 * M,
          sectors: &["16K", "2 x 8K", "32K", "31 x 64K"], pins: &P29F160_BYTES, ..FLASH_BYTES },
    TableRow { name: "29F040", also: &["29F040B", "29F040C"], words: 512 * K, sector: Some(64 * K), pins: &WRITTEN_040, ..SECTOR_29F },
    TableRow { name: "39SF512", words: 64 * K, pins: &WRITTEN_512, ..SECTOR_39SF },
    TableRow { name: "39SF010", also: &["39SF010A"], words: 128 * K, pins: &WRITTEN_010, in_kicad: true, ..SECTOR_39SF },
    TableRow { name: "39SF020", also: &["39SF020A"], words: 256 * K, pins: &WRITTEN_020, in_kicad: true, ..SECTOR_39SF },
    TableRow { name: "39SF040", words: 512 * K, pins: &WRITTEN_040, in_kicad: true, ..SECTOR_39SF },

    // Mask ROMs.
    TableRow { name: "2316", words: 2 * K, pins: &P2316, ..MASK },
    TableRow { name: "2332", words: 4 * K, pins: &P2332,
          note: "A11 is on pin 18, like the 2532's, and not on pin 21 like the 2732's. The active level of its select lines was chosen with its content.", ..MASK },
    TableRow { name: "2364", words: 8 * K, pins: &P2364,
          note: "24 pins: A11 is on pin 18, A12 on pin 21. Some makers' parts of this number have 28 pins. The active level of its select line was chosen with its content.", ..MASK },
    TableRow { name: "23128", also: &["23C128"], words: 16 * K, pins: &P23128, ..MASK },
    TableRow { name: "23256", also: &["23C256"], words: 32 * K, pins: &P23256, ..MASK },
    TableRow { name: "23512", also: &["23C512"], words: 64 * K, pins: &P23512, ..MASK },

    // Bipolar PROMs, named by their organisation, those with open-collector outputs apart: their numbers differ from maker
    // to maker.
    TableRow { name: "prom-32x8", also: &["82S123", "74S288", "27S19"], words: 32, pins: &PROM_32X8, ..FUSES },
    TableRow { name: "prom-32x8-oc", also: &["82S23", "74S188", "27S18"], words: 32, pins: &PROM_32X8, ..FUSES_OPEN },
    TableRow { name: "prom-256x4", also: &["82S129", "74S287", "27S21"], words: 256, width: 4, pins: &PROM_256X4, ..FUSES },
    TableRow { name: "prom-256x4-oc", also: &["82S126", "74S387", "27S20"], words: 256, width: 4, pins: &PROM_256X4, ..FUSES_OPEN },
    TableRow { name: "prom-256x8", also: &["82S135", "74S471"], words: 256, pins: &PROM_256X8, ..FUSES },
    TableRow { name: "prom-256x8-oc", also: &["74S470"], words: 256, pins: &PROM_256X8, ..FUSES_OPEN },
    TableRow { name: "prom-512x4", also: &["82S131", "74S571", "27S13"], words: 512, width: 4, pins: &PROM_512X4, ..FUSES },
    TableRow { name: "prom-512x4-oc", also: &["82S130", "74S570", "27S12"], words: 512, width: 4, pins: &PROM_512X4, ..FUSES_OPEN },
    TableRow { name: "prom-512x8", also: &["82S147", "74S472", "27S29"], words: 512, pins: &PROM_512X8, note: FUSES_20, ..FUSES },
    TableRow { name: "prom-512x8-oc", also: &["82S146", "74S473", "27S28"], words: 512, pins: &PROM_512X8, note: FUSES_20, ..FUSES_OPEN },
    TableRow { name: "prom-512x8-24pin", also: &["82S141", "74S474", "27S31"], words: 512, pins: &PROM_512X8_24, note: FUSES_24, ..FUSES },
    TableRow { name: "prom-512x8-24pin-oc", also: &["82S140", "74S475", "27S30"], words: 512, pins: &PROM_512X8_24, note: FUSES_24, ..FUSES_OPEN },
    TableRow { name: "prom-1024x4", also: &["82S137", "74S573", "27S33"], words: K, width: 4, pins: &PROM_1024X4, ..FUSES },
    TableRow { name: "prom-1024x4-oc", also: &["82S136", "74S572", "27S32"], words: K, width: 4, pins: &PROM_1024X4, ..FUSES_OPEN },
    TableRow { name: "prom-1024x8", also: &["82S181", "27S181"], words: K, pins: &PROM_1024X8, ..FUSES },
    TableRow { name: "prom-1024x8-oc", also: &["82S180", "27S180"], words: K, pins: &PROM_1024X8, ..FUSES_OPEN },
    TableRow { name: "prom-2048x8", also: &["82S191", "27S191"], words: 2 * K, pins: &PROM_2048X8, ..FUSES },
    TableRow { name: "prom-2048x8-oc", also: &["82S190", "27S190"], words: 2 * K, pins: &PROM_2048X8, ..FUSES_OPEN },
];
