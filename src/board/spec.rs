//! A board as somebody writes it down, before it is checked.

use crate::image::AddressRange;
use crate::parts::Part;
use crate::sums::Order;

/// The space that is meant when none is named.
pub const CPU: &str = "cpu";

/// Sockets that are wired alike: one `[[sockets]]` of a board file.
#[derive(Clone, Debug)]
pub struct SocketsSpec {
    /// A name for each socket, the lowest row first, lane 0 first; `-` is a place without a chip.
    pub names: Vec<String>,
    /// The part in each socket.
    pub part: Part,
    /// Chips side by side on the bus, 1 to 16; of parts 4 bits wide two make a byte.
    pub lanes: u32,
    /// Which byte of a 16-bit word has the lower bus address; must be said for parts 16 bits wide.
    pub order: Option<Order>,
    /// The content of unused cells; `None` is the part's erased value.
    pub with: Option<u8>,
    /// The bus that shows them, unless a window names another.
    pub space: String,
    /// Where the bus sees them.
    pub windows: Vec<WindowSpec>,
    /// Bus ranges inside the windows where something else answers, whichever window it is.
    pub except: Vec<AddressRange>,
    /// Address pins that are held in every window.
    pub tied: Vec<(u8, Level)>,
    /// Pins on which another line is soldered than their name says.
    pub wires: Vec<Wire>,
    /// A remark for people.
    pub note: String,
}

/// One place where a bus sees the chips.
#[derive(Clone, Debug, Default)]
pub struct WindowSpec {
    /// Bus address of its first byte.
    pub at: u64,
    /// Bytes of the bus, all lanes together; `None` for everything there is to show.
    pub size: Option<u64>,
    /// Where in the store it starts, in bytes.
    pub from: Option<u64>,
    /// The positions of a switch at which it answers; `None` for always.
    pub banks: Option<(u64, u64)>,
    /// Address pins that the switch sets, the position's lowest bit first; empty for the upper ones.
    pub switch: Vec<SwitchedPin>,
    /// What switches them, in words for people.
    pub by: String,
    /// Address pins that are held in this window.
    pub tied: Vec<(u8, Level)>,
    /// Whether it may be larger than what there is to show.
    pub mirrored: bool,
    /// Another bus than the sockets'.
    pub space: Option<String>,
    /// Bus ranges inside this window where something else answers, in addition to those of the sockets.
    pub except: Vec<AddressRange>,
}

/// The level of a pin that does not follow the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Level {
    /// 0.
    Low,
    /// 1.
    High,
    /// Open or not known: the same bytes for both.
    Any,
}

/// An address pin that a switch sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SwitchedPin {
    /// Its number.
    pub pin: u8,
    /// Whether it has the complement of the position's bit.
    pub inverted: bool,
}

/// A pin of the chip that carries another line than its own, or its complement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wire {
    /// An address pin, and the line that arrives there.
    Address {
        /// The chip's pin.
        pin: u8,
        /// The line that belongs on that one.
        line: u8,
        /// Whether its complement arrives.
        inverted: bool,
    },
    /// A data pin likewise.
    Data {
        /// The chip's pin.
        pin: u8,
        /// The line that belongs on that one.
        line: u8,
        /// Whether its complement arrives.
        inverted: bool,
    },
}

impl Wire {
    /// The chip's pin, such as `A0`, and the line that is on it: `A3`, or `/A3` for its complement.
    pub fn names(self) -> (String, String) {
        let (letter, pin, line, inverted) = match self {
            Wire::Address {
                pin,
                line,
                inverted,
            } => ('A', pin, line, inverted),
            Wire::Data {
                pin,
                line,
                inverted,
            } => ('D', pin, line, inverted),
        };
        let complement = if inverted { "/" } else { "" };
        (
            format!("{letter}{pin}"),
            format!("{complement}{letter}{line}"),
        )
    }
}

impl SocketsSpec {
    /// Sockets of these names for this part, which no bus sees yet: add a [`window`](Self::window).
    pub fn new(part: Part, names: impl IntoIterator<Item = impl Into<String>>) -> Self {
        Self {
            names: names.into_iter().map(Into::into).collect(),
            part,
            lanes: 1,
            order: None,
            with: None,
            space: CPU.into(),
            windows: Vec::new(),
            except: Vec::new(),
            tied: Vec::new(),
            wires: Vec::new(),
            note: String::new(),
        }
    }

    /// The same, seen through one more window.
    pub fn window(mut self, window: WindowSpec) -> Self {
        self.windows.push(window);
        self
    }

    /// The same, seen whole from this bus address on.
    pub fn at(self, at: u64) -> Self {
        self.window(WindowSpec {
            at,
            ..WindowSpec::default()
        })
    }
}
