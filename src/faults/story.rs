//! What may have turned the wanted image into the read.

use super::line_fault::{Cells, LineFault, When};

/// What a chip smaller than its socket contains of the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Holds {
    /// The first part.
    First,
    /// The last part: burned in this socket, where later writes win.
    Last,
    /// The AND of all parts: burned in this socket, where bits only clear.
    All,
}

/// What fills the place that a shifted image leaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ShiftedIn {
    /// The bytes that left at the other end.
    Wrapped,
    /// Erased cells.
    Erased,
}

/// The page that a burst longer than the chip's page ends up in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lands {
    /// The page that the burst's first byte named.
    First,
    /// The page that its last byte named.
    Last,
}

/// What cells contain that were not programmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Before {
    /// Erased cells.
    Erased,
    /// The old image of the case.
    Old,
}

/// What a transfer did to the file, before it was burned or after it was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Damage {
    /// Bit 7 of every byte was taken away: a line of 7 data bits, or parity in its place.
    Bit7Stripped,
    /// Each 0A became 0D 0A: sent as text.
    LfToCrLf,
    /// Each 0D 0A became 0A: sent as text.
    CrLfToLf,
    /// Each 0D became 0A: sent as text.
    CrToLf,
    /// Each 0D is missing: sent as text.
    CrDropped,
    /// Each 11 and 13 is missing: taken as flow control (XON, XOFF).
    FlowControlSwallowed,
    /// Each 00 is missing: read as the end of a string, or as a pause.
    NulDropped,
    /// Each FF came twice: FF is sent twice where it announces a command (TELNET, RFC 854).
    FfDoubled,
    /// Each byte from 80 up became two: taken as Latin-1 and written as UTF-8.
    Latin1ToUtf8,
    /// Each byte from 80 up became EF BF BD: decoded as text of 7 bits.
    NotAsciiReplaced,
    /// Each run of bytes that is not UTF-8 became EF BF BD (the maximal-subpart rule of the
    /// Unicode standard, chapter 3).
    NotUtf8Replaced,
    /// 1A up to the next multiple of 128: padded as XMODEM does.
    Tail1A,
    /// Nothing from the first 1A on: taken as the end of a text.
    EndedAt1A,
}

impl Damage {
    /// All of them.
    pub const ALL: [Damage; 13] = [
        Damage::Bit7Stripped,
        Damage::LfToCrLf,
        Damage::CrLfToLf,
        Damage::CrToLf,
        Damage::CrDropped,
        Damage::FlowControlSwallowed,
        Damage::NulDropped,
        Damage::FfDoubled,
        Damage::Latin1ToUtf8,
        Damage::NotAsciiReplaced,
        Damage::NotUtf8Replaced,
        Damage::Tail1A,
        Damage::EndedAt1A,
    ];
}

/// One thing that happened to a stretch of bytes. Places and lengths count bytes of the chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Edit {
    /// The block is at another place, and erased where it should be.
    Moved {
        /// Where it should be.
        from: usize,
        /// Its bytes.
        len: usize,
        /// Where it is.
        to: usize,
    },
    /// Two blocks are in each other's place.
    Swapped {
        /// The lower one.
        one: usize,
        /// The higher one.
        other: usize,
        /// Bytes of each.
        len: usize,
    },
    /// The block is at a second place, too.
    Repeated {
        /// Where it should be, and is.
        from: usize,
        /// Its bytes.
        len: usize,
        /// The second place.
        to: usize,
    },
    /// The block is not there: all its bytes read the same.
    Missing {
        /// Where it should be.
        at: usize,
        /// Its bytes.
        len: usize,
        /// What they read.
        reads: u8,
    },
    /// Bytes were lost, and everything after them is lower by as much.
    Lost {
        /// The first of them.
        at: usize,
        /// How many.
        len: usize,
    },
    /// Bytes were put in, and everything after them is higher by as much.
    PutIn {
        /// The first of them.
        at: usize,
        /// How many.
        len: usize,
        /// Whether they repeat the bytes before them: a block came twice.
        doubled: bool,
    },
}

/// What an open bus reads beyond the end of a chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum OpenBus {
    /// The high byte of the address, the last thing that many processors put on the bus.
    HighAddress,
    /// The low byte of the address.
    LowAddress,
    /// The chip's last byte.
    LastByte,
}

/// Why a read is longer or shorter than what is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Length {
    /// It ends too early.
    CutShort,
    /// It begins too late.
    StartMissing,
    /// It goes on with this byte.
    Padded(u8),
    /// It goes on with other bytes.
    More,
    /// Something comes before it.
    InFront,
    /// This byte comes before it, up to its place at the end.
    FilledInFront(u8),
    /// It comes over and over: a chip smaller than its socket, or a doubled file.
    Repeats,
    /// It was read beyond its end.
    OpenBus(OpenBus),
    /// It is one of `of` lanes: every `of`th byte.
    Lane {
        /// Which, from 0.
        n: usize,
        /// Of how many.
        of: usize,
    },
    /// It is one of `of` equal parts, a half or a bank.
    Part {
        /// Which, from 0.
        n: usize,
        /// Of how many.
        of: usize,
    },
    /// It is a part that begins here.
    Window {
        /// The first byte of it.
        from: usize,
    },
    /// Every second byte is of the image, the others are one byte throughout.
    OneLaneOf2 {
        /// Whether the even (0) or the odd bytes (1) are.
        n: usize,
        /// What the others read.
        other: u8,
    },
    /// Each byte comes twice.
    EachTwice,
}

/// Cells that are wrong and only have something in common. Which cells these are is a list, not a cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum CellKind {
    /// Single bits, in both directions.
    Scattered,
    /// Bits read 1 that should be 0: leaked, or not programmed well enough.
    ReadAsOne,
    /// Bits read 0 that should be 1: not blank before, or another chip on the bus.
    ReadAsZero,
    /// All on this data line.
    OneLine(u8),
    /// Each reads as the cell does whose address differs in this line.
    AsPartner(u8),
    /// Each reads, at least in some bits, as the cell before it: read too early.
    AsBefore,
    /// Whole bytes.
    Changed,
    /// Stretches of bytes: another version.
    Rewritten,
}

/// Wanted content in other places, as much as there is: what is left when no story fits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Moves {
    /// Bytes that are in their place.
    pub in_place: usize,
    /// Bytes that are wanted elsewhere.
    pub moved: usize,
    /// Bytes of constant runs.
    pub constant: usize,
    /// Bytes that are nowhere in the wanted image.
    pub new: usize,
    /// How many stretches the read is made of.
    pub stretches: usize,
}

/// What may be wrong, with a name.
///
/// Most say exactly what is read when an image is wanted. [`Cells`](Self::Cells), [`PagesLeft`](Self::PagesLeft),
/// [`Moves`](Self::Moves) and [`NothingInCommon`](Self::NothingInCommon) don't: they list what is read.
///
/// "Cell" is a byte in a chip of 8 data lines, a 16-bit word in one of 16. Addresses and sizes count cells, unless
/// they say bytes.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
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
    /// The old image given with the case: nothing was programmed.
    StillOld,
    /// Nothing was burned from this address up.
    Stopped {
        /// The first address that was not programmed.
        at: usize,
        /// What is there.
        above: Before,
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
        /// What it contains.
        holds: Holds,
    },
    /// The bytes of each word are in reverse order: the chips of a wide bus, or its lanes, swapped.
    LanesSwapped {
        /// Bytes in a word, 2 or 4.
        lanes: u8,
    },
    /// D0 is the highest line and the highest is D0.
    BitsReversed,
    /// Every bit is inverted.
    AllInverted,
    /// Everything is this many addresses higher (below 0: lower) than wanted.
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
    /// The chip is the part of this number among those given with the case, read as another one.
    Cousin(u8),
    /// The chip still contained the old image given with the case: wanted AND old.
    NotBlank,
    /// The chip answers together with one that contains the other image of this number: their AND.
    OtherOnBus(u8),
    /// One row or column inside the chip is dead: at every address that has these levels on these lines.
    Array {
        /// The address lines that have to agree, as a mask.
        lines: usize,
        /// Their levels.
        levels: usize,
        /// The data lines that are dead there, as a mask.
        data: u16,
        /// What they read.
        high: bool,
    },
    /// The bytes that unlock a chip for writing were stored as data.
    UnlockStored {
        /// Where AA and the command went.
        first: usize,
        /// Where 55 went.
        second: usize,
        /// The command, which was written last.
        command: u8,
    },
    /// The read is the text of a record file whose content is the wanted image: the text itself was burned.
    RecordText,
    /// The wanted image has the fault: the read with this line fault is the wanted image.
    WantedIsFaulty(LineOf),
    /// Banks in another order, or one more than once.
    Banks {
        /// Bytes in a bank.
        size: usize,
        /// The bank that is in each place.
        map: Vec<u32>,
    },
    /// Blocks moved, swapped, repeated, missing; bytes lost or put in.
    Edits(Vec<Edit>),
    /// Another length.
    Length(Length),

    /// Cells that are wrong.
    Cells(CellKind),
    /// Some pages were not written and contain what was there before.
    PagesLeft {
        /// Cells in a page: the largest size that fits.
        page: usize,
        /// How many of them.
        pages: usize,
        /// What they contain.
        before: Before,
    },
    /// Wanted content in other places.
    Moves(Moves),
    /// Another content altogether.
    NothingInCommon,
}

/// A line fault, and of which lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LineOf {
    /// An address line.
    Address(LineFault),
    /// A data line.
    Data(LineFault),
}

impl Model {
    /// Whether it says what each cell reads, and doesn't only list it.
    pub fn predicts(&self) -> bool {
        !matches!(
            self,
            Model::Cells(_) | Model::PagesLeft { .. } | Model::Moves(_) | Model::NothingInCommon
        )
    }

    /// Whether it is about address or data lines.
    pub fn is_line(&self) -> bool {
        matches!(
            self,
            Model::Address { .. } | Model::Data(_) | Model::WantedIsFaulty(_)
        )
    }

    /// A bad address line while reading.
    pub fn reading(fault: LineFault) -> Self {
        Model::Address {
            fault,
            when: When::Reading,
        }
    }

    /// A bad address line while burning a part of this kind.
    pub fn burning(fault: LineFault, cells: Cells) -> Self {
        Model::Address {
            fault,
            when: When::Burning(cells),
        }
    }
}

/// What happened: one thing, or two.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Story {
    /// The model; of two address faults that share a line the one nearer to the programmer, of
    /// two data faults the one nearer to the chip.
    pub first: Model,
    /// What happened to the result of the first.
    pub second: Option<Model>,
}

impl Story {
    /// Two things, the second to the result of the first.
    pub fn two(first: Model, second: Model) -> Self {
        Self {
            first,
            second: Some(second),
        }
    }

    /// The one or two models.
    pub fn models(&self) -> impl Iterator<Item = &Model> {
        std::iter::once(&self.first).chain(&self.second)
    }

    /// Whether it says what each cell reads.
    pub fn predicts(&self) -> bool {
        self.models().all(Model::predicts)
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
