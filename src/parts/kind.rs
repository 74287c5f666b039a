//! Kinds of memory: how each is written and erased, and what a cell written twice contains.

use serde::{Deserialize, Serialize};

/// What a part is made of, which decides how it is written and erased.
///
/// The number's prefix does not decide it: a 28C is an EEPROM and a 28F bulk-erase flash, a 29F
/// erases by the sector and a 29C by the page it writes, and some 27 parts erase electrically.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Kind {
    /// EPROM with a window, erased whole by UV-C light. The same number in a package without a
    /// window can be programmed once.
    UvEprom,
    /// EPROM without a window: programmed once, never erased.
    OneTimeEprom,
    /// Like an EPROM, but erased whole by the programmer, electrically.
    ElectricEprom,
    /// EEPROM: every byte is erased as it is written.
    Eeprom,
    /// Flash that is erased whole, before it is programmed.
    BulkFlash,
    /// Flash that is erased by the sector, before it is programmed.
    SectorFlash,
    /// Flash that erases the page it writes; bytes of the page that were not loaded become FF.
    PageFlash,
    /// ROM made with its content; nothing can be written.
    MaskRom,
    /// Fuses, blown once. Which value an unblown fuse reads as differs from part to part.
    BipolarProm,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 9] = [
        Kind::UvEprom,
        Kind::OneTimeEprom,
        Kind::ElectricEprom,
        Kind::Eeprom,
        Kind::BulkFlash,
        Kind::SectorFlash,
        Kind::PageFlash,
        Kind::MaskRom,
        Kind::BipolarProm,
    ];

    /// Its name in the table's columns, such as `uv-eprom`.
    pub fn name(self) -> &'static str {
        match self {
            Kind::UvEprom => "uv-eprom",
            Kind::OneTimeEprom => "one-time-eprom",
            Kind::ElectricEprom => "electric-eprom",
            Kind::Eeprom => "eeprom",
            Kind::BulkFlash => "bulk-flash",
            Kind::SectorFlash => "sector-flash",
            Kind::PageFlash => "page-flash",
            Kind::MaskRom => "mask-rom",
            Kind::BipolarProm => "bipolar-prom",
        }
    }

    /// How it is erased, as a sentence.
    pub fn erasing(self) -> &'static str {
        match self {
            Kind::UvEprom => {
                "Erase it whole under a UV-C lamp, through the window; UV-C harms eyes and skin, so \
                 the lamp must be shielded and interlocked. Without a window it can't be erased."
            }
            Kind::OneTimeEprom => "It can't be erased.",
            Kind::ElectricEprom => "The programmer erases it whole, electrically.",
            Kind::Eeprom => "It needs no erasing: every byte is erased as it is written.",
            Kind::BulkFlash => "The programmer erases it whole before it programs it.",
            Kind::SectorFlash => "The programmer erases whole sectors before it programs them.",
            Kind::PageFlash => {
                "It needs no erasing: it writes whole pages, and bytes of a page that were not \
                 loaded become FF."
            }
            Kind::MaskRom => "It is made with its content. It can't be written or erased.",
            Kind::BipolarProm => "It can't be erased: its fuses are blown once.",
        }
    }

    /// Whether it can be written at all.
    pub fn is_writable(self) -> bool {
        self != Kind::MaskRom
    }

    /// Whether its cells change while the part is written without an erase step before.
    pub(super) fn erases_as_it_writes(self) -> bool {
        matches!(self, Kind::Eeprom | Kind::PageFlash)
    }

    /// Whether bytes are loaded into a page and written in one go.
    pub(super) fn may_have_pages(self) -> bool {
        self.erases_as_it_writes()
    }

    /// Whether a row must say what its erased cells read as: true for parts that can be erased, and for those
    /// that are sold erased.
    pub(super) fn has_erased_value(self) -> bool {
        !matches!(self, Kind::MaskRom | Kind::BipolarProm)
    }

    /// Whether programming takes a voltage above the supply.
    pub fn takes_programming_voltage(self) -> bool {
        matches!(
            self,
            Kind::UvEprom | Kind::OneTimeEprom | Kind::ElectricEprom | Kind::BulkFlash
        )
    }
}

/// How the outputs of a part drive a line.
///
/// A socket wired for open-collector outputs has a resistor that pulls each line up, and often other chips on it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Drive {
    /// They drive 0 and 1, and nothing while the part is not selected.
    #[default]
    ThreeState,
    /// They drive 0 only; a resistor makes the 1.
    OpenCollector,
}

/// What a cell contains that was programmed twice without an erase step between.
///
/// A cell is written twice when an address line is bad while the part is programmed, and when an
/// image is programmed over the part's old content.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum WrittenTwice {
    /// The later value: the part erases as it writes.
    LaterWins,
    /// The AND of both: programming only turns 1 into 0.
    And,
    /// The OR of both: programming only turns 0 into 1.
    Or,
    /// One of the last two, but the table does not say which.
    OneWay,
    /// The part can't be written.
    NotWritable,
}
