//! Whether the chip may be put into the socket as it is.

use super::feeds::{AdapterPin, Feed};
use super::selects::SelectPin;
use crate::board::spec::Level;
use crate::parts::{Part, Pin};

/// How the chip and the socket go together.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fitting {
    /// Every pin sits where it belongs.
    AsItIs,
    /// Every pin sits where it belongs if all of these are true, which the tables don't say.
    If(Vec<Condition>),
    /// Some pins must be kept out of the socket and wired.
    NeedsWiring,
    /// The answer to a question decides.
    Undecided,
}

/// What must be true if the chip is put into the socket as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Condition {
    /// This pin of the socket, measured without the chip, is at the supply (`High`), at ground (`Low`), or at either of them
    /// and never in between (`Any`).
    Level {
        /// The pin of the socket, counted from 1.
        pin: u8,
        /// The pin of the chip that sits there.
        chip_pin: u8,
        /// The level.
        level: Level,
    },
    /// This pin of the chip is not connected inside it.
    Unconnected {
        /// The pin of the chip, counted from 1.
        chip_pin: u8,
        /// The pin of the socket that it sits in.
        pin: u8,
    },
}

/// What is known when the pins have their feeds.
pub(super) struct Straight<'p> {
    pub socket: &'p Part,
    pub chip: &'p Part,
    pub pins: &'p [AdapterPin],
    /// Selecting pins of the socket that the board holds.
    pub held: &'p [SelectPin],
    /// Whether the content is the same for both levels of a line that the socket lacks.
    pub any: bool,
    /// Whether the socket's lines need resistors for this chip.
    pub pull_ups: bool,
}

impl Straight<'_> {
    /// How the chip and the socket go together.
    pub fn fitting(&self) -> Fitting {
        if self.pins.iter().any(|pin| pin.feed == Feed::Asked) {
            return Fitting::Undecided;
        }
        if self.pull_ups {
            return Fitting::NeedsWiring;
        }
        let mut conditions = Vec::new();
        for pin in self.pins {
            match self.sits(pin) {
                Sits::Well => {}
                Sits::If(condition) => conditions.push(condition),
                Sits::Wrong => return Fitting::NeedsWiring,
            }
        }
        match conditions.is_empty() {
            true => Fitting::AsItIs,
            false => Fitting::If(conditions),
        }
    }

    fn sits(&self, pin: &AdapterPin) -> Sits {
        let Some(under) = pin.under else {
            return Sits::Wrong;
        };
        if pin.is_straight() {
            return Sits::Well;
        }
        let pinout = self.socket.pinout.as_deref().unwrap_or_default();
        let Some(&hole) = pinout.get(usize::from(under) - 1) else {
            return Sits::Wrong;
        };
        // The socket was made for this part.
        let same = self.socket.name == self.chip.name;
        let at = |level: Level| {
            Sits::If(Condition::Level {
                pin: under,
                chip_pin: pin.number,
                level,
            })
        };
        let as_wired = self.level_of(pin);
        match (pin.function, hole) {
            (own, hole) if same && own == hole && own != Pin::Select => Sits::Well,
            (Pin::Nc, Pin::Nc) => Sits::Well,
            (Pin::Nc, _) => Sits::If(Condition::Unconnected {
                chip_pin: pin.number,
                pin: under,
            }),
            // Both are high whenever the socket is read; otherwise its own part could not be read either.
            (Pin::WriteEnable, Pin::WriteEnable) | (Pin::Reset, Pin::Reset) => Sits::Well,
            (Pin::ByteMode, Pin::ByteMode) => Sits::Well,
            (Pin::Vpp, Pin::Vpp)
            | (Pin::Program | Pin::WriteEnable, Pin::Program | Pin::WriteEnable)
            | (Pin::ByteMode | Pin::ByteModeVpp, Pin::ByteMode | Pin::ByteModeVpp) => {
                as_wired.map_or(Sits::Wrong, at)
            }
            // A line that the socket lacks, on a pin that has a level while the socket is read.
            (Pin::Address(_), Pin::Program | Pin::WriteEnable) => match self.any {
                true => at(Level::Any),
                false => as_wired.map_or(Sits::Wrong, at),
            },
            (_, hole) if self.held.iter().any(|own| own.number == under) => {
                match super::selects::selects(pin.function) && super::selects::selects(hole) {
                    true => as_wired.map_or(Sits::Wrong, at),
                    false => Sits::Wrong,
                }
            }
            _ => Sits::Wrong,
        }
    }

    /// The level that the plan gives to a pin.
    fn level_of(&self, pin: &AdapterPin) -> Option<Level> {
        let Feed::Pin(number) = pin.feed else {
            return None;
        };
        let pinout = self.socket.pinout.as_deref().unwrap_or_default();
        match pinout.get(usize::from(number) - 1)? {
            Pin::Vcc => Some(Level::High),
            Pin::Ground => Some(Level::Low),
            _ => None,
        }
    }
}

/// How one pin sits in the socket's.
enum Sits {
    Well,
    If(Condition),
    Wrong,
}
