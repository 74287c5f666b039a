//! What a pin of a part carries.

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
    /// No connection, or a function that differs by maker and does not matter for reading, `NC`.
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

/// A word that is not a pin's function.
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
