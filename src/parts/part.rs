//! A row of the table, and what can be worked out from it.

use serde::ser::{Serialize, Serializer};

use super::{Drive, Kind, Pin, Sectors, WrittenTwice};

/// One row of the table. The [columns](super#columns) are described with the module.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The trade number, or the organisation.
    pub name: String,
    /// Other numbers of the same part.
    pub also: Vec<String>,
    /// How many words; a power of two.
    pub words: u32,
    /// Bits in a word: 4, 8 or 16.
    pub width: u8,
    /// How it is written and erased.
    pub kind: Kind,
    /// What every byte reads as after erasing; of a 4-bit part, the nibble, 0x00 or 0x0F.
    pub erased: Option<u8>,
    /// Bytes loaded and written in one go.
    pub page: Option<u32>,
    /// Bytes erased in one go, where all sectors are equal.
    pub sector: Option<u32>,
    /// What is erased in one go, where sectors are of different sizes; `sector` is `None` then.
    pub sectors: Option<Sectors>,
    /// Pins of its package, in two rows.
    pub pins: u8,
    /// What the pins carry, from pin 1 up.
    pub pinout: Option<Vec<Pin>>,
    /// What `pinout` was compared with, or where it comes from.
    pub pinout_source: String,
    /// How its outputs drive a line.
    pub outputs: Drive,
    /// Typical time to write one byte, word or page, in microseconds.
    pub write_us: Option<u32>,
    /// Programming voltage, in volts.
    pub program_volts: Option<f64>,
    /// Where the other figures come from.
    pub source: String,
    /// What to watch for; may be empty.
    pub note: String,
}

impl Part {
    /// Bytes in an image of the whole part: two a word for 16-bit parts, one a word for others.
    /// A word of a 4-bit part takes the low half of its byte (common practice).
    pub fn bytes(&self) -> u64 {
        u64::from(self.words) * u64::from(self.width.div_ceil(8))
    }

    /// How many bits it has.
    pub fn bits(&self) -> u64 {
        u64::from(self.words) * u64::from(self.width)
    }

    /// What it erases at once, equal or not; `None` for parts that erase whole, by the page or never, and where the table
    /// does not say.
    pub fn erased_in(&self) -> Option<Sectors> {
        let equal = self.sector.map(|bytes| Sectors::equal(bytes.into()));
        self.sectors.clone().or(equal)
    }

    /// How many address lines it has: 15 for 32K words.
    pub fn address_lines(&self) -> u8 {
        // At most 31, since `words` has 32 bits.
        self.words.trailing_zeros() as u8
    }

    /// Its size in the form of data sheets, such as `32Kx8`.
    pub fn organisation(&self) -> String {
        const UNITS: [(u32, &str); 2] = [(1 << 20, "M"), (1 << 10, "K")];
        let unit = UNITS
            .iter()
            .find(|(unit, _)| self.words >= *unit && self.words % *unit == 0);
        match unit {
            Some((unit, letter)) => format!("{}{letter}x{}", self.words / unit, self.width),
            None => format!("{}x{}", self.words, self.width),
        }
    }

    /// All its names: `name`, then `also`.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name)
            .chain(&self.also)
            .map(String::as_str)
    }

    /// The pin, counted from 1, that carries address line `line`. `None` when the part has no such
    /// line, or the table does not have its pins.
    pub fn pin_of_address(&self, line: u8) -> Option<u8> {
        self.pins_of(Pin::Address(line)).next()
    }

    /// The pin, counted from 1, that carries data line `line`; `None` as in
    /// [`pin_of_address`](Part::pin_of_address).
    pub fn pin_of_data(&self, line: u8) -> Option<u8> {
        self.pins_of(Pin::Data(line)).next()
    }

    /// The pins, counted from 1, with this function.
    pub fn pins_of(&self, function: Pin) -> impl Iterator<Item = u8> {
        let pins = self.pinout.iter().flatten();
        // A checked pinout has at most 64 pins.
        (1..)
            .zip(pins)
            .filter_map(move |(number, &pin)| (pin == function).then_some(number))
    }

    /// The pins that carry one thing on this part and another on `other`, as (pin, here, there).
    /// `None` when the packages differ, or the table does not have the pins of both.
    ///
    /// ```
    /// use romloom::parts::{Pin, find};
    /// let moved = find("2332")?.pins_that_differ(find("2732")?).expect("both have 24 pins");
    /// assert!(moved.contains(&(18, Pin::Address(11), Pin::ChipEnable)));
    /// # Ok::<(), romloom::parts::UnknownPart>(())
    /// ```
    pub fn pins_that_differ(&self, other: &Part) -> Option<Vec<(u8, Pin, Pin)>> {
        let (ours, theirs) = (self.pinout.as_ref()?, other.pinout.as_ref()?);
        (ours.len() == theirs.len()).then(|| {
            (1..)
                .zip(ours.iter().zip(theirs))
                .filter(|(_, (here, there))| here != there)
                .map(|(number, (&here, &there))| (number, here, there))
                .collect()
        })
    }

    /// What a cell contains that was written twice without an erase step between.
    pub fn written_twice(&self) -> WrittenTwice {
        if !self.kind.is_writable() {
            WrittenTwice::NotWritable
        } else if self.kind.erases_as_it_writes() {
            WrittenTwice::LaterWins
        } else {
            match self.erased {
                None => WrittenTwice::OneWay,
                Some(0) => WrittenTwice::Or,
                Some(_) => WrittenTwice::And,
            }
        }
    }

    /// Whether a later write replaces the content of a cell.
    pub fn overwrites(&self) -> bool {
        self.written_twice() == WrittenTwice::LaterWins
    }

    /// Whether programming only turns 1 into 0, so that a cell written twice contains the AND.
    pub fn only_clears(&self) -> bool {
        self.written_twice() == WrittenTwice::And
    }

    /// What to know about its programming voltage, as a sentence; `None` for parts that are not
    /// programmed.
    pub fn voltage(&self) -> Option<String> {
        match (self.kind, self.program_volts) {
            (_, Some(volts)) => Some(format!(
                "It is programmed at {volts} V. A higher voltage destroys it: check the maker's \
                 data sheet."
            )),
            (Kind::MaskRom, _) => None,
            (kind, None) if kind.takes_programming_voltage() => Some(
                "Its number does not say its programming voltage, and too high a voltage destroys \
                 it: check the maker's data sheet."
                    .to_owned(),
            ),
            (Kind::BipolarProm, None) => Some(
                "Each maker has a method of its own for blowing the fuses: check the maker's data sheet."
                    .to_owned(),
            ),
            _ => Some("It needs no programming voltage: it is written from its supply.".to_owned()),
        }
    }
}

impl Serialize for Part {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        /// The columns, in the order of the module's description.
        #[derive(serde::Serialize)]
        struct Columns<'a> {
            name: &'a str,
            also: &'a [String],
            words: u32,
            width: u8,
            bytes: u64,
            kind: Kind,
            erased: Option<u8>,
            page: Option<u32>,
            sector: Option<u32>,
            sectors: &'a Option<Sectors>,
            pins: u8,
            pinout: &'a Option<Vec<Pin>>,
            pinout_source: &'a str,
            outputs: Drive,
            write_us: Option<u32>,
            program_volts: Option<f64>,
            source: &'a str,
            note: &'a str,
        }
        Columns {
            name: &self.name,
            also: &self.also,
            words: self.words,
            width: self.width,
            bytes: self.bytes(),
            kind: self.kind,
            erased: self.erased,
            page: self.page,
            sector: self.sector,
            sectors: &self.sectors,
            pins: self.pins,
            pinout: &self.pinout,
            pinout_source: &self.pinout_source,
            outputs: self.outputs,
            write_us: self.write_us,
            program_volts: self.program_volts,
            source: &self.source,
            note: &self.note,
        }
        .serialize(serializer)
    }
}
