//! The faults that are known by name, and which of them there are on a given chip.

use crate::wiring::Line;

/// What is wrong with one line or two, of the address or of the data, as seen behind them: the
/// chip sees address lines so, the reader data lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LineFault {
    /// Always 0.
    StuckLow(u8),
    /// Always 1.
    StuckHigh(u8),
    /// The other level than meant.
    Inverted(u8),
    /// Each carries the other's level. The lower line stands first.
    Swapped(u8, u8),
    /// Joined, and 0 wins (wired-AND). The lower line stands first.
    ShortedLow(u8, u8),
    /// Joined, and 1 wins (wired-OR). The lower line stands first.
    ShortedHigh(u8, u8),
    /// Joined, and the driver of one line wins over the other's.
    Overdriven {
        /// The line whose level both carry.
        winner: u8,
        /// The line whose own level is lost.
        loser: u8,
    },
}

impl LineFault {
    /// Every fault of every kind on so many lines.
    pub fn all(lines: u8) -> Vec<LineFault> {
        let mut all = Vec::new();
        for i in 0..lines {
            all.extend([Self::StuckLow(i), Self::StuckHigh(i), Self::Inverted(i)]);
            for j in i + 1..lines {
                all.extend([
                    Self::Swapped(i, j),
                    Self::ShortedLow(i, j),
                    Self::ShortedHigh(i, j),
                    Self::Overdriven {
                        winner: i,
                        loser: j,
                    },
                    Self::Overdriven {
                        winner: j,
                        loser: i,
                    },
                ]);
            }
        }
        all
    }

    /// The levels behind the fault; bit i is line i.
    #[inline]
    pub fn apply(self, levels: usize) -> usize {
        match self {
            Self::StuckLow(i) => levels & !(1 << i),
            Self::StuckHigh(i) => levels | 1 << i,
            Self::Inverted(i) => levels ^ 1 << i,
            Self::Swapped(i, j) => {
                let differ = (levels >> i ^ levels >> j) & 1;
                levels ^ (differ << i | differ << j)
            }
            Self::ShortedLow(i, j) => {
                let both = 1 << i | 1 << j;
                if levels & both == both {
                    levels
                } else {
                    levels & !both
                }
            }
            Self::ShortedHigh(i, j) => {
                let both = 1 << i | 1 << j;
                if levels & both == 0 {
                    levels
                } else {
                    levels | both
                }
            }
            Self::Overdriven { winner, loser } => {
                levels & !(1 << loser) | (levels >> winner & 1) << loser
            }
        }
    }

    /// The lines that have the fault, one or two.
    pub fn lines(self) -> (u8, Option<u8>) {
        match self {
            Self::StuckLow(i) | Self::StuckHigh(i) | Self::Inverted(i) => (i, None),
            Self::Swapped(i, j) | Self::ShortedLow(i, j) | Self::ShortedHigh(i, j) => (i, Some(j)),
            Self::Overdriven { winner, loser } => (winner, Some(loser)),
        }
    }

    /// Whether levels are only moved about and none is lost: then burning and reading through
    /// the fault cancel each other.
    pub fn loses_nothing(self) -> bool {
        matches!(self, Self::Inverted(_) | Self::Swapped(..))
    }

    /// Whether the two faults have a line in common, so that it matters which comes first.
    pub(super) fn meets(self, other: LineFault) -> bool {
        let (a, b) = self.lines();
        let (c, d) = other.lines();
        a == c || Some(a) == d || b == Some(c) || (b.is_some() && b == d)
    }
}

/// What a cell does when it is written again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cells {
    /// The later value replaces the earlier, as in EEPROM.
    Overwrite,
    /// Bits only go from 1 to 0, so a cell holds the AND of all, as in EPROM and flash.
    OnlyClear,
}

/// When an address line was bad. (With a bad data line it makes no difference to the read.)
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum When {
    /// While reading; the chip is right.
    Reading,
    /// While burning; the chip is wrong and read well.
    Burning(Cells),
    /// Both, as in the programmer's socket.
    Both(Cells),
}

/// What a chip smaller than its socket holds of the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Holds {
    /// The first part.
    First,
    /// The last part: burnt in this socket, where later writes win.
    Last,
    /// The AND of all parts: burnt in this socket, where bits only clear.
    All,
}

/// What comes in where a shifted image leaves room.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ShiftedIn {
    /// The bytes that left at the other end.
    Wrapped,
    /// Erased cells.
    Erased,
}

/// The page that a burst longer than the chip's page ends up in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Lands {
    /// The page that the burst's first byte named.
    First,
    /// The page that its last byte named.
    Last,
}

/// What a transfer did to the file, before it was burnt or after it was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Damage {
    /// Bit 7 of every byte was taken away: a line of 7 data bits, or parity in its place.
    Bit7Stripped,
    /// Each 0A became 0D 0A: sent as text.
    LfToCrLf,
    /// Each 0D 0A became 0A: sent as text.
    CrLfToLf,
    /// Each 11 and 13 is missing: taken as flow control (XON, XOFF).
    FlowControlSwallowed,
    /// Each byte from 80 up became EF BF BD: decoded as text of 7 bits.
    NotAsciiReplaced,
    /// Each run of bytes that is no UTF-8 became EF BF BD (the maximal-subpart rule of the
    /// Unicode standard, chapter 3).
    NotUtf8Replaced,
    /// 1A up to the next multiple of 128: padded as XMODEM does.
    Tail1A,
    /// Nothing from the first 1A on: taken as the end of a text.
    EndedAt1A,
}

impl Damage {
    /// All of them.
    pub const ALL: [Damage; 8] = [
        Damage::Bit7Stripped,
        Damage::LfToCrLf,
        Damage::CrLfToLf,
        Damage::FlowControlSwallowed,
        Damage::NotAsciiReplaced,
        Damage::NotUtf8Replaced,
        Damage::Tail1A,
        Damage::EndedAt1A,
    ];
}

/// A fault with a name.
///
/// Most say exactly what is read when an image is wanted. The last five, from
/// [`Floating`](Self::Floating) on, leave open which cells are wrong and only say what each byte
/// *may* read, so that they can be consistent with a read but never be proved by it.
///
/// "Cell" is a byte in a chip of 8 data lines, a 16-bit word in one of 16. Addresses and sizes
/// count cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Model {
    /// The transfer damaged the bytes.
    Transfer(Damage),
    /// The read is one of the other images given with the case, by its number: another chip.
    OtherImage(u8),
    /// All cells erased: blank, not selected, or not there.
    Blank,
    /// All cells zero.
    AllZeros,
    /// Nothing was burnt from this address up.
    Stopped {
        /// The first address that differs.
        at: usize,
    },
    /// A bad address line.
    Address {
        /// What is wrong with it.
        fault: LineFault,
        /// When it was.
        when: When,
    },
    /// A bad data line.
    Data(LineFault),
    /// The chip has fewer address lines than its socket, and repeats.
    Smaller {
        /// The address lines it has.
        lines: u8,
        /// What it holds.
        holds: Holds,
    },
    /// The bytes of each word stand in reverse: the chips of a wide bus, or its lanes, exchanged.
    LanesExchanged {
        /// Bytes in a word, 2 or 4.
        lanes: u8,
    },
    /// Two banks stand in each other's place.
    BanksExchanged {
        /// Cells in a bank.
        size: usize,
        /// The lower bank, counted from 0.
        first: u8,
        /// The higher one.
        second: u8,
    },
    /// D0 is the highest line and the highest is D0.
    BitsReversed,
    /// Every bit is inverted.
    AllInverted,
    /// Everything stands so many addresses higher (below 0: lower) than wanted.
    Shifted {
        /// Cells, not 0; when wrapped, at most half the chip either way.
        by: isize,
        /// What came in.
        fill: ShiftedIn,
    },
    /// Only the first cells of each page were written.
    PageCut {
        /// Cells in a page.
        page: usize,
        /// Cells written of each.
        kept: usize,
    },
    /// The programmer's bursts were longer than the chip's page, whose address wrapped.
    PageWrapped {
        /// Cells in the chip's page.
        page: usize,
        /// Cells in the programmer's burst.
        burst: usize,
        /// Which page took them.
        lands: Lands,
    },
    /// A 24-pin part read as its cousin: what the reader drives as A11 is a select of the chip,
    /// and the chip's A11 stays at one level.
    Cousin {
        /// The level of the reader's A11 that selects the chip.
        selects: bool,
        /// The level that the chip's A11 stays at.
        a11: bool,
    },
    /// The chip still held the old image given with the case: wanted AND old.
    NotBlank,
    /// The chip answers together with one that holds the other image of this number: their AND.
    OtherOnBus(u8),

    /// A line that is open and floats, read as 0 at one time and as 1 at another.
    Floating(Line),
    /// Read too early: some cells, or some of their bits, still show the cell before.
    Late,
    /// Some pages were not written and hold what was there before: the old image of the case,
    /// or erased cells.
    PagesLeft {
        /// Cells in a page: the largest size that fits.
        page: usize,
    },
    /// Bits are 0 that should be 1, and none the other way: not blank before with unknown
    /// content, or another chip on the bus.
    OnlyToZero,
    /// Bits are 1 that should be 0, and none the other way: leaked, or not programmed well
    /// enough.
    OnlyToOne,
}

/// One model, or two at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Story {
    /// The model; of two address faults that share a line the one nearer to the programmer, of
    /// two data faults the one nearer to the chip.
    pub first: Model,
    /// The other one.
    pub second: Option<Model>,
}

impl Story {
    /// The one or two models.
    pub fn models(self) -> impl Iterator<Item = Model> {
        std::iter::once(self.first).chain(self.second)
    }
}

impl From<Model> for Story {
    fn from(model: Model) -> Self {
        Self {
            first: model,
            second: None,
        }
    }
}

/// The lines of a chip, and what is known of its cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Shape {
    pub address_lines: u8,
    pub data_lines: u8,
    pub cells: Option<Cells>,
}

impl Shape {
    pub fn size(self) -> usize {
        1 << self.address_lines
    }

    /// What an erased cell reads.
    pub fn erased(self) -> u16 {
        u16::MAX >> (16 - self.data_lines)
    }

    /// The kinds of cell that the chip may have.
    fn kinds(self) -> impl Iterator<Item = Cells> + Clone {
        [Cells::Overwrite, Cells::OnlyClear]
            .into_iter()
            .filter(move |kind| self.cells.is_none_or(|known| known == *kind))
    }

    /// The times at which a fault can have been there; reading first.
    pub fn all_times(self) -> impl Iterator<Item = When> {
        let bad_burns = self
            .kinds()
            .flat_map(|kind| [When::Burning(kind), When::Both(kind)]);
        std::iter::once(When::Reading).chain(bad_burns)
    }

    /// The times at which this fault makes a difference of its own: one that loses nothing
    /// cancels when it is there all the time, and reads the same whether it was there first or
    /// last.
    pub fn times(self, fault: LineFault) -> impl Iterator<Item = When> {
        let most = if fault.loses_nothing() { 1 } else { usize::MAX };
        self.all_times().take(most)
    }

    /// The models whose read doesn't depend on a measure found in the read itself, but for the
    /// line faults.
    pub fn fixed(self) -> Vec<Model> {
        let mut models = vec![
            Model::Blank,
            Model::AllZeros,
            Model::BitsReversed,
            Model::AllInverted,
        ];
        let lines = self.address_lines;
        for fewer in lines.saturating_sub(4)..lines {
            let held = [
                (Holds::First, None),
                (Holds::Last, Some(Cells::Overwrite)),
                (Holds::All, Some(Cells::OnlyClear)),
            ];
            for (holds, needs) in held {
                if needs.is_none_or(|needs| self.kinds().any(|kind| kind == needs)) {
                    models.push(Model::Smaller {
                        lines: fewer,
                        holds,
                    });
                }
            }
        }
        for lanes in [2u8, 4] {
            if self.size() * usize::from(self.data_lines) / 8 >= usize::from(lanes) {
                models.push(Model::LanesExchanged { lanes });
            }
        }
        for banks in [2u8, 4, 8, 16] {
            if self.size() < usize::from(banks) {
                break;
            }
            for first in 0..banks {
                models.extend((first + 1..banks).map(|second| Model::BanksExchanged {
                    size: self.size() / usize::from(banks),
                    first,
                    second,
                }));
            }
        }
        for page in PAGES {
            for burst in [2 * page, 4 * page, 8 * page] {
                if burst <= self.size() {
                    models.extend([Lands::First, Lands::Last].map(|lands| Model::PageWrapped {
                        page,
                        burst,
                        lands,
                    }));
                }
            }
        }
        // 4 KiB is the one size at which 24-pin parts differ so.
        if lines == 12 && self.data_lines == 8 {
            for selects in [false, true] {
                models.extend([false, true].map(|a11| Model::Cousin { selects, a11 }));
            }
        }
        models
    }
}

/// Page sizes of parts, in cells.
pub(super) const PAGES: [usize; 6] = [16, 32, 64, 128, 256, 512];
