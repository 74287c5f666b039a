//! What each pin of the chip gets.

use super::ask::UpperLines;
use super::package::under;
use super::selects::SelectPin;
use crate::parts::{Part, Pin};

/// Where a pin of the chip is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Feed {
    /// To this pin of the socket, counted from 1: a line, a select, or the supply or ground that sets its level.
    Pin(u8),
    /// To a switch between the socket's supply and ground: this one, counted from 0.
    Switch(u8),
    /// To nothing.
    Open,
    /// Not known until a [`Question`](super::Question) is answered.
    Asked,
}

/// A pin of the chip, and what it gets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AdapterPin {
    /// Its number, from 1.
    pub number: u8,
    /// What it carries.
    pub function: Pin,
    /// Where it is connected.
    pub feed: Feed,
    /// The pin of the socket that it sits in when the chip is put there with the lower ends together; `None` where it is
    /// beyond the socket's end, or the packages don't fit each other.
    pub under: Option<u8>,
}

impl AdapterPin {
    /// Whether it sits where it is connected, so that it needs no wire.
    pub fn is_straight(&self) -> bool {
        self.under
            .is_some_and(|under| self.feed == Feed::Pin(under))
    }
}

/// The socket, and what the feeds of its chip are made from.
pub(super) struct Feeding<'p> {
    pub socket: &'p Part,
    pub chip: &'p Part,
    pub upper: Option<UpperLines>,
    /// The chip's selecting pins, each with the socket's that goes there.
    pub enables: Vec<(SelectPin, Option<SelectPin>)>,
}

impl Feeding<'_> {
    /// All pins of the chip.
    pub fn pins(&self) -> Vec<AdapterPin> {
        let mut switches = 0;
        let pins = (1..).zip(self.chip.pinout.iter().flatten());
        let mut pins: Vec<AdapterPin> = pins
            .map(|(number, &function)| AdapterPin {
                number,
                function,
                feed: Feed::Open,
                under: under(number, self.chip.pins, self.socket.pins),
            })
            .collect();
        // In the order of the lines, so that switches count from the lowest.
        let mut order: Vec<usize> = (0..pins.len()).collect();
        order.sort_by_key(|&at| match pins[at].function {
            Pin::Address(line) => line,
            _ => 0,
        });
        for at in order {
            pins[at].feed = self.feed(&pins[at], &mut switches);
        }
        pins
    }

    fn feed(&self, pin: &AdapterPin, switches: &mut u8) -> Feed {
        let own = |line: Option<u8>| line.map_or(Feed::Open, Feed::Pin);
        match pin.function {
            Pin::Address(line) if line < self.socket.address_lines() => {
                own(self.socket.pin_of_address(line))
            }
            Pin::Address(_) => self.upper(pin, switches),
            Pin::Data(line) => own(self.socket.pin_of_data(line)),
            Pin::Vcc | Pin::Ground | Pin::Vdd | Pin::Vbb => self.nearest(pin, pin.function),
            // The pulse of a part with three supplies is positive; between pulses it is at ground (from memory).
            Pin::Program if self.chip.pins_of(Pin::Vbb).next().is_some() => self.level(pin, false),
            Pin::Vpp | Pin::Program | Pin::WriteEnable | Pin::Reset => self.level(pin, true),
            Pin::ByteMode | Pin::ByteModeVpp => self.level(pin, self.chip.width == 16),
            Pin::Nc => Feed::Open,
            _ => self.enable(pin),
        }
    }

    /// The pin of the socket with this function, the one under the pin first.
    fn nearest(&self, pin: &AdapterPin, function: Pin) -> Feed {
        let all: Vec<u8> = self.socket.pins_of(function).collect();
        let here = pin.under.filter(|under| all.contains(under));
        here.or(all.first().copied()).map_or(Feed::Open, Feed::Pin)
    }

    fn level(&self, pin: &AdapterPin, high: bool) -> Feed {
        self.nearest(pin, if high { Pin::Vcc } else { Pin::Ground })
    }

    /// An address line that the socket lacks.
    fn upper(&self, pin: &AdapterPin, switches: &mut u8) -> Feed {
        match self.upper {
            Some(UpperLines::Switch) => {
                *switches += 1;
                Feed::Switch(*switches - 1)
            }
            Some(UpperLines::Low | UpperLines::Any) => self.level(pin, false),
            Some(UpperLines::High) => self.level(pin, true),
            None => self.level(pin, self.rests_high(pin)),
        }
    }

    /// Whether the socket's pin under this one is at 1 while the socket is read (common practice).
    fn rests_high(&self, pin: &AdapterPin) -> bool {
        let pinout = self.socket.pinout.as_deref().unwrap_or_default();
        let under = pin.under.map(|under| usize::from(under) - 1);
        let under = under.and_then(|under| pinout.get(under));
        match under {
            // That of a part with three supplies is at ground.
            Some(Pin::Program) => self.socket.pins_of(Pin::Vbb).next().is_none(),
            under => matches!(under, Some(Pin::WriteEnable | Pin::Vcc)),
        }
    }

    fn enable(&self, pin: &AdapterPin) -> Feed {
        let found = self
            .enables
            .iter()
            .find(|(own, _)| own.number == pin.number);
        match found {
            Some((own, Some(select))) => match own.active.is_some() && select.active.is_some() {
                true => Feed::Pin(select.number),
                false => Feed::Asked,
            },
            Some((own, None)) => own.active.map_or(Feed::Asked, |high| self.level(pin, high)),
            None => Feed::Open,
        }
    }
}
