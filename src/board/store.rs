//! The chips of some sockets as one store, and where buses see it.

use crate::image::AddressRange;
use crate::parts::Part;
use crate::sums::Order;

/// The chips of sockets that are wired alike, as one store: lane after lane inside a bus word, row after row.
///
/// A bus word is what all lanes of a row give at once. Store addresses count bytes in the order of the bus: byte `k` of
/// word `w` of row `r` is at `((r * words) + w) * word_bytes + k`.
#[derive(Clone, Debug)]
pub struct Store {
    pub(super) names: Vec<Option<String>>,
    pub(super) part: Part,
    pub(super) lanes: u32,
    pub(super) rows: u64,
    pub(super) order: Order,
    pub(super) order_said: bool,
    pub(super) filler: u8,
    pub(super) windows: Vec<Window>,
    /// What arrives at each address pin: which line, and whether its complement.
    pub(super) address: Vec<(u8, bool)>,
    /// What arrives at each data pin.
    pub(super) data: Vec<(u8, bool)>,
    pub(super) note: String,
}

/// One place where a bus sees a store.
#[derive(Clone, Debug)]
pub struct Window {
    pub(super) space: String,
    pub(super) range: AddressRange,
    pub(super) banks: Option<(u64, u64)>,
    pub(super) by: String,
    pub(super) mirrored: bool,
    /// The lines that follow the bus, the lowest first; those above the chip's own choose the row.
    pub(super) follows: Vec<u8>,
    /// The number that `follows` make for the window's first word.
    pub(super) first: u64,
    /// How many different words `follows` can make.
    pub(super) shown: u64,
    /// Lines held at a level, and those of them that are high.
    pub(super) held: u64,
    pub(super) high: u64,
    /// Lines that are open: the same bytes for both levels.
    pub(super) any: Vec<u8>,
    /// The lines that the switch sets, the position's lowest bit first, each with whether it is inverted.
    pub(super) switch: Vec<(u8, bool)>,
    /// Where something else answers.
    pub(super) except: Vec<AddressRange>,
}

impl Store {
    /// The names of the sockets, the lowest row first, lane 0 first; `None` for a place without a chip.
    pub fn names(&self) -> impl Iterator<Item = Option<&str>> {
        self.names.iter().map(Option::as_deref)
    }

    /// The part in each socket.
    pub fn part(&self) -> &Part {
        &self.part
    }

    /// Chips side by side on the bus; of parts 4 bits wide two make a byte.
    pub fn lanes(&self) -> u32 {
        self.lanes
    }

    /// Groups of lanes one after another.
    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// Which byte of a 16-bit word has the lower bus address.
    pub fn order(&self) -> Order {
        self.order
    }

    /// Whether the description says so; if it does not, the order makes no difference to any byte.
    pub fn order_is_said(&self) -> bool {
        self.order_said
    }

    /// The content of unused cells.
    pub fn filler(&self) -> u8 {
        self.filler
    }

    /// Where buses see it.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// A remark for people.
    pub fn note(&self) -> &str {
        &self.note
    }

    /// Bytes of a bus word: what all lanes give at once.
    pub fn word_bytes(&self) -> u64 {
        word_bytes(&self.part, self.lanes)
    }

    /// Words of one chip.
    pub fn words(&self) -> u64 {
        self.part.words.into()
    }

    /// Bytes that all chips together give.
    pub fn bytes(&self) -> u64 {
        self.rows * self.words() * self.word_bytes()
    }

    /// Whether a pin has another line soldered to it than its name says.
    pub fn is_rewired(&self) -> bool {
        let straight = |pins: &[(u8, bool)]| {
            let mut pins = pins.iter().zip(0u8..);
            pins.all(|((line, inverted), pin)| *line == pin && !inverted)
        };
        !(straight(&self.address) && straight(&self.data))
    }
}

/// Bytes of a bus word that this many chips give.
pub(super) fn word_bytes(part: &Part, lanes: u32) -> u64 {
    (u64::from(lanes) * u64::from(part.width)).div_ceil(8)
}

impl Window {
    /// The bus that it is on.
    pub fn space(&self) -> &str {
        &self.space
    }

    /// Its bus addresses.
    pub fn range(&self) -> AddressRange {
        self.range
    }

    /// The positions of its switch at which it answers, first and last; `None` for always.
    pub fn banks(&self) -> Option<(u64, u64)> {
        self.banks
    }

    /// What switches it, in words; may be empty.
    pub fn by(&self) -> &str {
        &self.by
    }

    /// Whether it shows some bytes more than once.
    pub fn is_mirrored(&self) -> bool {
        self.mirrored
    }

    /// Where something else answers.
    pub fn except(&self) -> &[AddressRange] {
        &self.except
    }

    /// Whether it answers at this address, in this bank.
    pub fn answers(&self, bank: Option<u64>, address: u64) -> bool {
        let in_bank = match (self.banks, bank) {
            (None, _) => true,
            (Some((first, last)), Some(bank)) => (first..=last).contains(&bank),
            (Some(_), None) => false,
        };
        in_bank && self.shows(address)
    }

    /// Whether it answers at this address in some bank.
    pub fn shows(&self, address: u64) -> bool {
        self.range.contains(address) && !self.except.iter().any(|range| range.contains(address))
    }
}
