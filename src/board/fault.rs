//! What is wrong with a board, and with which word of its description.

use std::fmt;

use crate::image::AddressRange;
use crate::prose::{plural, thousands};

/// Why a board can't be built: which description, which key of it, and what is wrong there.
#[derive(Clone, PartialEq, Eq)]
pub struct BoardFault {
    /// Which of the `[[sockets]]`, counted from 0.
    pub sockets: usize,
    /// Which of its windows, counted from 0, where it is about one.
    pub window: Option<usize>,
    /// The key.
    pub key: Key,
    /// What is wrong.
    pub wrong: Wrong,
}

/// The words of a description.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Key {
    /// `names`
    Names,
    /// `part`
    Part,
    /// `lanes`
    Lanes,
    /// `order`
    Order,
    /// `with`
    With,
    /// `space`
    Space,
    /// `window`
    Window,
    /// `at`
    At,
    /// `size`
    Size,
    /// `from`
    From,
    /// `banks`
    Banks,
    /// `switch`
    Switch,
    /// `tied`
    Tied,
    /// `mirrored`
    Mirrored,
    /// `except`
    Except,
    /// `wires`
    Wires,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Wrong {
    /// There is no name.
    #[error("there is no socket: `names` is empty")]
    NoNames,
    /// Every place is without a chip.
    #[error("every place is without a chip")]
    NoChip,
    /// A name that means something else in an address.
    #[error("a socket can't be called `{0}`: before an address that word means something else")]
    Reserved(String),
    /// A name with a character that no name has.
    #[error("`{0}` can't be a name: a name has only letters, digits, `_`, `-` and `.`")]
    NotAName(String),
    /// Two sockets, or a socket and a space, with one name.
    #[error("`{0}` is named twice; capital and small letters count as the same")]
    NameTwice(String),
    /// The names don't make whole rows.
    #[error("{names} names don't make whole rows of {lanes} lanes")]
    Rows {
        /// Names given.
        names: usize,
        /// Lanes.
        lanes: u32,
    },
    /// A count of lanes that no bus has.
    #[error("a bus has 1 to 16 lanes, not {0}")]
    Lanes(u32),
    /// A part 16 bits wide whose byte order is not said.
    #[error("a {0} is 16 bits wide, so the order of its bytes must be said: little or big")]
    OrderOpen(String),
    /// A part without an erased value.
    #[error("a {0} has no erased value of its own, so the content of unused cells must be said")]
    NoErased(String),
    /// A value that does not fit in a cell.
    #[error("{value:02X} does not fit in a cell of {width} bits")]
    Wide {
        /// The value.
        value: u8,
        /// Bits of a cell.
        width: u8,
    },
    /// No bus sees the sockets.
    #[error("nothing says where a bus sees these sockets")]
    NoWindow,
    /// A window without a byte, or with part of a bus word.
    #[error("the window size ({}) is not a multiple of the bus word ({})", plural(*.size, "byte"), plural(*.unit, "byte"))]
    PartWord {
        /// Its size.
        size: u64,
        /// Bytes of a bus word.
        unit: u64,
    },
    /// A window that starts inside a bus word.
    #[error("0x{at:04X} is not a multiple of the bus word ({})", plural(*.unit, "byte"))]
    InWord {
        /// The address.
        at: u64,
        /// Bytes of a bus word.
        unit: u64,
    },
    /// A window beyond the last address.
    #[error("a window of {} at 0x{at:04X} ends above the last 64-bit address", plural(*.size, "byte"))]
    TooHigh {
        /// Its first address.
        at: u64,
        /// Its size.
        size: u64,
    },
    /// A window that is larger than what it shows.
    #[error("the window has {}, but there are only {} to show", plural(*.size, "byte"), thousands(*.shown))]
    Larger {
        /// Its size.
        size: u64,
        /// Bytes there are.
        shown: u64,
    },
    /// A window that shows a part, and nothing says which.
    #[error(
        "the window has {} and the chips {}, and nothing says which part of them it shows",
        plural(*.size, "byte"), thousands(*.shown)
    )]
    Open {
        /// Its size.
        size: u64,
        /// Bytes there are.
        shown: u64,
    },
    /// A start that is not in the store.
    #[error("0x{from:04X} is not in the chips, which have {}", plural(*.store, "byte"))]
    Outside {
        /// The start.
        from: u64,
        /// Bytes of the store.
        store: u64,
    },
    /// The window runs past the chips' end.
    #[error("{} from 0x{from:04X} up go past the end of the chips, 0x{last:04X}", plural(*.size, "byte"))]
    PastEnd {
        /// The start.
        from: u64,
        /// The window's size.
        size: u64,
        /// Last byte of what is shown.
        last: u64,
    },
    /// A start that a held or switched pin contradicts.
    #[error("0x{from:04X} needs A{pin} at one level, but the pin is held at the other")]
    AgainstLevel {
        /// The start.
        from: u64,
        /// The pin.
        pin: u8,
    },
    /// Bus address and start differ in lines that the chip takes from the bus.
    #[error("{}", misaligned(*at, *from, *lines, *size, size == block))]
    Misaligned {
        /// The bus address.
        at: u64,
        /// The start in the store.
        from: u64,
        /// Lines they share.
        lines: u32,
        /// Bytes after which these lines start again.
        block: u64,
        /// Bytes of the window.
        size: u64,
        /// The two bus addresses that would do, below and above.
        bases: (u64, u64),
    },
    /// A pin that the part does not have.
    #[error("a {part} has no {letter}{pin}: its lines are {letter}0 to {letter}{last}")]
    NoSuchPin {
        /// The part.
        part: String,
        /// `A` or `D`.
        letter: char,
        /// The pin.
        pin: u8,
        /// The highest it has.
        last: u8,
    },
    /// A pin that is given twice.
    #[error("{letter}{pin} is given twice")]
    PinTwice {
        /// `A` or `D`.
        letter: char,
        /// The pin.
        pin: u8,
    },
    /// A pin that is held and switched, or held and wired.
    #[error("A{0} is held at a level, so nothing else can arrive there")]
    Held(u8),
    /// A switch without positions.
    #[error("a switch needs the positions at which this window answers")]
    NoBanks,
    /// Positions that end before they start.
    #[error("positions {0} to {1} are back to front")]
    BanksBackwards(u64, u64),
    /// More positions than the pins tell apart.
    #[error(
        "{positions} positions are too many: {} can tell only {different} apart",
        plural((*.pins).into(), "pin")
    )]
    TooManyBanks {
        /// Positions given.
        positions: u64,
        /// Pins of the switch.
        pins: u32,
        /// Positions they tell apart.
        different: u64,
    },
    /// A position that would choose sockets that are not there.
    #[error("position {bank} chooses a row of sockets that does not exist: there are {rows}")]
    NoRow {
        /// The position.
        bank: u64,
        /// Rows there are.
        rows: u64,
    },
    /// Several positions, and neither a size nor pins.
    #[error(
        "nothing says how much of the chips each of the {0} positions shows: neither `size` nor `switch` is given"
    )]
    SizeOpen(u64),
    /// The window's size leaves the upper pins open.
    #[error(
        "the size of the switched window ({}) is not a power of two of bus words, so the pins that the switch sets must be named",
        plural(*.0, "byte")
    )]
    SwitchOpen(u64),
    /// A line that goes to two pins.
    #[error("{letter}{line} goes to two pins, and {letter}{missing} to none")]
    LineTwice {
        /// `A` or `D`.
        letter: char,
        /// The line.
        line: u8,
        /// The lowest that goes nowhere.
        missing: u8,
    },
    /// A range that no window shows.
    #[error("{range} is not in any window of these sockets")]
    NotShown {
        /// The range.
        range: AddressRange,
    },
    /// Two windows that answer at one address.
    #[error("{other} answers at {range}{} too", in_bank(.bank))]
    Clash {
        /// The addresses.
        range: AddressRange,
        /// The bank, where both are switched.
        bank: Option<u64>,
        /// The sockets of the other window.
        other: String,
    },
    /// Too many windows or banks for a board.
    #[error("{0} is too many: a board has at most {1}")]
    TooMany(u64, u64),
}

fn in_bank(bank: &Option<u64>) -> String {
    bank.map_or(String::new(), |bank| format!(" in bank {bank}"))
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Key::Names => "names",
            Key::Part => "part",
            Key::Lanes => "lanes",
            Key::Order => "order",
            Key::With => "with",
            Key::Space => "space",
            Key::Window => "window",
            Key::At => "at",
            Key::Size => "size",
            Key::From => "from",
            Key::Banks => "banks",
            Key::Switch => "switch",
            Key::Tied => "tied",
            Key::Mirrored => "mirrored",
            Key::Except => "except",
            Key::Wires => "wires",
        })
    }
}

impl fmt::Display for BoardFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.wrong.fmt(f)
    }
}

impl std::error::Error for BoardFault {}

crate::prose::debug_as_display!(BoardFault);

/// Why a window can't begin at `at`; `whole` when these lines are all that go through the window.
fn misaligned(at: u64, from: u64, lines: u32, size: u64, whole: bool) -> String {
    match from {
        0 if whole => format!(
            "0x{at:04X} is not a multiple of the window size ({})",
            plural(size, "byte")
        ),
        _ => format!(
            "0x{at:04X} on the bus should show 0x{from:04X} of the chips, but they differ in the lower {lines} address \
             lines, which both have in common"
        ),
    }
}
