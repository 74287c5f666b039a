//! What the pins of a part carry.
//!
//! A pinout is the list of its pins' functions from pin 1 up, counted as on every dual in-line
//! package: down one side, up the other. The byte-wide parts of 24, 28 and 32 pins share one
//! order (the byte-wide pinouts JEDEC publishes in JESD21-C; written here from memory): a smaller
//! one sits in the lower end of a larger one's socket, so it is cut out of the larger one's list.
//! What differs is said as changes to it. That's where the cousins part: A11 and the select lines.

use std::fmt;
use std::str::FromStr;

use serde::{Serialize, Serializer};

use Pin::{
    Address as A, ByteMode, ByteModeVpp, ChipEnable, ChipEnableProgram, ChipEnableVpp, Data as D,
    Ground, Nc, OutputEnable, OutputEnableVpp, Program, Reset, Select, Vbb, Vcc, Vdd, Vpp,
    WriteEnable,
};

/// What one pin carries. Prints and parses as data sheets name it: `A14`, `D7`, `CE`, `OE/VPP`.
///
/// Enables are active low (common practice); a [`Pin::Select`] may be either way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Pin {
    /// Address line, counted from A0. On a 16-bit part A0 counts words.
    Address(u8),
    /// Data line, counted from D0.
    Data(u8),
    /// Chip enable, `CE`.
    ChipEnable,
    /// Output enable, `OE`.
    OutputEnable,
    /// Write enable, `WE`.
    WriteEnable,
    /// Chip select, `CS`, whose active level differs: chosen with a mask ROM's content, or by the
    /// maker.
    Select,
    /// Reset, `RESET`, active low: high while the part is read.
    Reset,
    /// Programming pulse, `PGM`.
    Program,
    /// Chip enable that also takes the programming pulse, `CE/PGM`.
    ChipEnableProgram,
    /// Chip enable that also takes the programming voltage, `CE/VPP`.
    ChipEnableVpp,
    /// Output enable that also takes the programming voltage, `OE/VPP`.
    OutputEnableVpp,
    /// Byte or word mode, `BYTE`: low makes a 16-bit part give bytes.
    ByteMode,
    /// Byte or word mode, that also takes the programming voltage, `BYTE/VPP`.
    ByteModeVpp,
    /// Programming voltage, `VPP`.
    Vpp,
    /// Supply, `VCC`, 5 V.
    Vcc,
    /// Second positive supply of the three-supply parts, `VDD`.
    Vdd,
    /// Negative supply of the three-supply parts, `VBB`.
    Vbb,
    /// Ground, `GND`.
    Ground,
    /// No connection, or a function that differs by maker and has no part in reading, `NC`.
    Nc,
}

/// The pins that carry no number, with their names.
const NAMES: [(Pin, &str); 17] = [
    (ChipEnable, "CE"),
    (OutputEnable, "OE"),
    (WriteEnable, "WE"),
    (Select, "CS"),
    (Reset, "RESET"),
    (Program, "PGM"),
    (ChipEnableProgram, "CE/PGM"),
    (ChipEnableVpp, "CE/VPP"),
    (OutputEnableVpp, "OE/VPP"),
    (ByteMode, "BYTE"),
    (ByteModeVpp, "BYTE/VPP"),
    (Vpp, "VPP"),
    (Vcc, "VCC"),
    (Vdd, "VDD"),
    (Vbb, "VBB"),
    (Ground, "GND"),
    (Nc, "NC"),
];

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            A(line) => write!(f, "A{line}"),
            D(line) => write!(f, "D{line}"),
            other => {
                let named = NAMES.iter().find(|(pin, _)| pin == other);
                f.pad(named.map_or("NC", |(_, name)| name))
            }
        }
    }
}

/// A word that names no pin's function.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected a pin's function: A0, A1, ..., D0, D1, ..., CE, OE, WE, CS, RESET, PGM, CE/PGM, CE/VPP, \
     OE/VPP, BYTE, BYTE/VPP, VPP, VCC, VDD, VBB, GND or NC"
)]
pub struct UnknownPin;

crate::prose::debug_as_display!(UnknownPin);

impl FromStr for Pin {
    type Err = UnknownPin;

    fn from_str(word: &str) -> Result<Pin, UnknownPin> {
        let word = word.to_ascii_uppercase();
        if let Some((pin, _)) = NAMES.iter().find(|(_, name)| *name == word) {
            return Ok(*pin);
        }
        let line = |digits: &str| match digits.parse::<u8>() {
            Ok(line) if digits.len() <= 2 && digits.bytes().all(|b| b.is_ascii_digit()) => Ok(line),
            _ => Err(UnknownPin),
        };
        match word.split_at_checked(1) {
            Some(("A", digits)) => line(digits).map(A),
            Some(("D", digits)) => line(digits).map(D),
            _ => Err(UnknownPin),
        }
    }
}

impl Serialize for Pin {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The smaller pinout that sits in the lower end of a larger one's socket: the middle of its list.
const fn cut<const SMALL: usize, const LARGE: usize>(large: [Pin; LARGE]) -> [Pin; SMALL] {
    let mut small = [Nc; SMALL];
    let mut i = 0;
    while i < SMALL {
        small[i] = large[i + (LARGE - SMALL) / 2];
        i += 1;
    }
    small
}

/// The same pinout but for these pins.
const fn but<const N: usize>(mut pins: [Pin; N], changes: &[(usize, Pin)]) -> [Pin; N] {
    let mut i = 0;
    while i < changes.len() {
        pins[changes[i].0 - 1] = changes[i].1;
        i += 1;
    }
    pins
}

/// Byte-wide, 32 pins, all address lines in use: that of the 27C040.
#[rustfmt::skip]
pub(super) const BYTE_32: [Pin; 32] = [
    Vpp, A(16), A(15), A(12), A(7), A(6), A(5), A(4), A(3), A(2), A(1), A(0), D(0), D(1), D(2), Ground,
    D(3), D(4), D(5), D(6), D(7), ChipEnable, A(10), OutputEnable, A(11), A(9), A(8), A(13), A(14), A(17), A(18), Vcc,
];
/// Byte-wide, 28 pins, all address lines in use.
const BYTE_28: [Pin; 28] = but(cut(BYTE_32), &[(28, Vcc)]);
/// Byte-wide, 24 pins, all address lines in use.
const BYTE_24: [Pin; 24] = but(cut(BYTE_28), &[(24, Vcc)]);

// 24 pins: EPROMs.
#[rustfmt::skip]
pub(super) const P2708: [Pin; 24] = but(BYTE_24, &[(18, Program), (19, Vdd), (20, Select), (21, Vbb)]);
pub(super) const P2716: [Pin; 24] = but(BYTE_24, &[(18, ChipEnableProgram), (21, Vpp)]);
pub(super) const P2732: [Pin; 24] = but(BYTE_24, &[(20, OutputEnableVpp)]);
pub(super) const P2532: [Pin; 24] =
    but(BYTE_24, &[(18, A(11)), (20, ChipEnableProgram), (21, Vpp)]);
pub(super) const P68764: [Pin; 24] = but(BYTE_24, &[(18, A(11)), (20, ChipEnableVpp), (21, A(12))]);
// 24 pins: EEPROM and mask ROMs.
pub(super) const P28C16: [Pin; 24] = but(BYTE_24, &[(21, WriteEnable)]);
pub(super) const P2316: [Pin; 24] = but(BYTE_24, &[(18, Select), (20, Select), (21, Select)]);
pub(super) const P2332: [Pin; 24] = but(BYTE_24, &[(18, A(11)), (20, Select), (21, Select)]);
pub(super) const P2364: [Pin; 24] = but(BYTE_24, &[(18, A(11)), (20, Select), (21, A(12))]);

// 28 pins: EPROMs.
pub(super) const P2764: [Pin; 28] = but(P27128, &[(26, Nc)]);
pub(super) const P27128: [Pin; 28] = but(BYTE_28, &[(1, Vpp), (27, Program)]);
pub(super) const P27256: [Pin; 28] = but(BYTE_28, &[(1, Vpp)]);
pub(super) const P27512: [Pin; 28] = but(BYTE_28, &[(22, OutputEnableVpp)]);
// 28 pins: EEPROMs and page flash. The 28C256 has A14 on pin 1; the 29C256 has it where EPROMs do.
pub(super) const P28C64: [Pin; 28] = but(BYTE_28, &[(1, Nc), (26, Nc), (27, WriteEnable)]);
pub(super) const P28C256: [Pin; 28] = but(BYTE_28, &[(1, A(14)), (27, WriteEnable)]);
pub(super) const P29C256: [Pin; 28] = but(BYTE_28, &[(1, WriteEnable)]);
// 28 pins: mask ROMs.
#[rustfmt::skip]
pub(super) const P23128: [Pin; 28] = but(BYTE_28, &[(1, Nc), (20, Select), (22, Select), (27, Select)]);
pub(super) const P23256: [Pin; 28] = but(BYTE_28, &[(1, Nc), (20, Select), (22, Select)]);
pub(super) const P23512: [Pin; 28] = but(BYTE_28, &[(20, Select), (22, Select)]);

// 32 pins: EPROMs. The 27C1000 follows a mask ROM: A16 and OE change places.
pub(super) const P27C010: [Pin; 32] = but(P27C020, &[(30, Nc)]);
pub(super) const P27C020: [Pin; 32] = but(BYTE_32, &[(31, Program)]);
pub(super) const P27C080: [Pin; 32] = but(BYTE_32, &[(1, A(19)), (24, OutputEnableVpp)]);
pub(super) const P27C1000: [Pin; 32] = but(P27C010, &[(2, OutputEnable), (24, A(16))]);
// 32 pins: EEPROMs and flash written from 5 V.
pub(super) const WRITTEN_512: [Pin; 32] = but(WRITTEN_010, &[(2, Nc)]);
pub(super) const WRITTEN_010: [Pin; 32] = but(WRITTEN_020, &[(30, Nc)]);
pub(super) const WRITTEN_020: [Pin; 32] = but(BYTE_32, &[(1, Nc), (31, WriteEnable)]);
pub(super) const WRITTEN_040: [Pin; 32] = but(BYTE_32, &[(1, A(18)), (31, WriteEnable)]);
pub(super) const P29F002: [Pin; 32] = but(WRITTEN_020, &[(1, Reset)]);
// 32 pins: flash with a programming voltage.
pub(super) const P28F256: [Pin; 32] = but(P28F512, &[(3, Nc)]);
pub(super) const P28F512: [Pin; 32] = but(P28F010, &[(2, Nc)]);
pub(super) const P28F010: [Pin; 32] = but(P28F020, &[(30, Nc)]);
pub(super) const P28F020: [Pin; 32] = but(BYTE_32, &[(31, WriteEnable)]);

/// Word-wide, 40 pins, all address lines in use: that of the 27C4096.
#[rustfmt::skip]
pub(super) const WORD_40: [Pin; 40] = [
    Vpp, ChipEnable, D(15), D(14), D(13), D(12), D(11), D(10), D(9), D(8), Ground, D(7), D(6), D(5), D(4), D(3), D(2), D(1), D(0), OutputEnable,
    A(0), A(1), A(2), A(3), A(4), A(5), A(6), A(7), A(8), Ground, A(9), A(10), A(11), A(12), A(13), A(14), A(15), A(16), A(17), Vcc,
];
pub(super) const P27C1024: [Pin; 40] = but(P27C2048, &[(38, Nc)]);
pub(super) const P27C2048: [Pin; 40] = but(WORD_40, &[(39, Program)]);

/// Word-wide in a mask ROM's order, 42 pins: that of the 27C160 in word mode. In byte mode the pin
/// of D15 is the lowest address line.
#[rustfmt::skip]
pub(super) const ROM_42: [Pin; 42] = [
    A(18), A(17), A(7), A(6), A(5), A(4), A(3), A(2), A(1), A(0), ChipEnable, Ground, OutputEnable, D(0), D(8), D(1), D(9), D(2), D(10), D(3), D(11),
    Vcc, D(4), D(12), D(5), D(13), D(6), D(14), D(7), D(15), Ground, ByteModeVpp, A(16), A(15), A(14), A(13), A(12), A(11), A(10), A(9), A(8), A(19),
];
pub(super) const P27C400: [Pin; 40] = cut(ROM_42);
pub(super) const P27C800: [Pin; 42] = but(ROM_42, &[(42, Nc)]);
pub(super) const P27C322: [Pin; 42] = but(ROM_42, &[(13, OutputEnableVpp), (32, A(20))]);

// Bipolar PROMs.
#[rustfmt::skip]
pub(super) const PROM_32X8: [Pin; 16] = [
    D(0), D(1), D(2), D(3), D(4), D(5), D(6), Ground,
    D(7), A(0), A(1), A(2), A(3), A(4), Select, Vcc,
];
#[rustfmt::skip]
pub(super) const PROM_512X4: [Pin; 16] = [
    A(6), A(5), A(4), A(3), A(0), A(1), A(2), Ground,
    D(3), D(2), D(1), D(0), Select, A(8), A(7), Vcc,
];
pub(super) const PROM_256X4: [Pin; 16] = but(PROM_512X4, &[(14, Select)]);
#[rustfmt::skip]
pub(super) const PROM_1024X4: [Pin; 18] = [
    A(6), A(5), A(4), A(3), A(0), A(1), A(2), Select, Ground,
    Select, D(3), D(2), D(1), D(0), A(9), A(8), A(7), Vcc,
];
#[rustfmt::skip]
pub(super) const PROM_512X8: [Pin; 20] = [
    A(0), A(1), A(2), A(3), A(4), D(0), D(1), D(2), D(3), Ground,
    D(4), D(5), D(6), D(7), Select, A(5), A(6), A(7), A(8), Vcc,
];
#[rustfmt::skip]
pub(super) const PROM_256X8: [Pin; 20] = but(PROM_512X8, &[(16, Select), (17, A(5)), (18, A(6)), (19, A(7))]);
#[rustfmt::skip]
pub(super) const PROM_1024X8: [Pin; 24] = but(BYTE_24, &[(18, Select), (19, Select), (20, Select), (21, Select)]);
#[rustfmt::skip]
pub(super) const PROM_2048X8: [Pin; 24] = but(BYTE_24, &[(18, Select), (19, Select), (20, Select), (21, A(10))]);

/// Word-wide flash for surface mounting, 44 pins in two rows: a 27C400 with two pins more at the notch on either side. Pin
/// 2 is a ready signal.
#[rustfmt::skip]
pub(super) const P29F400: [Pin; 44] = [
    Nc, Nc, A(17), A(7), A(6), A(5), A(4), A(3), A(2), A(1), A(0), ChipEnable, Ground, OutputEnable,
    D(0), D(8), D(1), D(9), D(2), D(10), D(3), D(11), Vcc, D(4), D(12), D(5), D(13), D(6), D(14), D(7), D(15),
    Ground, ByteMode, A(16), A(15), A(14), A(13), A(12), A(11), A(10), A(9), A(8), WriteEnable, Reset,
];
