//! What matters apart from the wires, and is in no table.

use super::feeds::{AdapterPin, Feed};
use super::selects::selects;
use crate::parts::{Drive, Part, Pin};

/// Something to measure, to look up or to decide before the chip goes in.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Deciding {
    /// The plan assumes that the socket is wired for the part; that must be measured.
    SocketWiring,
    /// Pins of the socket that may have a voltage beyond the supply: measured, never assumed.
    SocketVoltages(Vec<(u8, Pin)>),
    /// Pins of the chip for the programming voltage, which are at the supply while it is read.
    ChipVpp(Vec<u8>),
    /// Pins of the chip that must be high while it is read: `PGM`, `WE`, `RESET`.
    HeldHigh(Vec<(u8, Pin)>),
    /// The socket has one select and the chip two enables: which of them gets it.
    SelectOn {
        /// The pin of the chip that has it, and what it carries.
        taken: (u8, Pin),
        /// The pin of the chip that is held enabled.
        held: (u8, Pin),
    },
    /// The board may write to this socket.
    Written {
        /// The socket's `WE`.
        pin: u8,
    },
    /// The socket has a reset, at which its own part stops driving the lines.
    ResetUnused {
        /// The socket's `RESET`.
        pin: u8,
    },
    /// The chip drives lines of a socket made for open-collector outputs; nothing else may drive them at that time.
    Alone,
    /// The chip's outputs are open-collector: each data line needs a resistor to the supply.
    PullUps,
    /// The chip has three supplies, with an order in which they come and go.
    ThreeSupplies,
    /// The chip is for surface mounting, or its rows have another distance: it needs a carrier.
    Carrier,
    /// The socket has lines that the chip lacks: the bus sees the chip this many times.
    Repeated(u64),
    /// Time from address, and from select, to data.
    AccessTime,
    /// Current of the chip, compared with what the board can give the socket.
    Current,
    /// A capacitor at the chip's supply pin.
    Capacitor,
    /// Height and room above the socket.
    Height,
}

/// Everything that matters, what can destroy something first.
pub(super) fn deciding(socket: &Part, chip: &Part, pins: &[AdapterPin]) -> Vec<Deciding> {
    let holes = || (1..).zip(socket.pinout.iter().flatten().copied());
    let found = |of: fn(Pin) -> bool| -> Vec<(u8, Pin)> {
        holes().filter(|(_, function)| of(*function)).collect()
    };
    let is_used = |hole: u8| pins.iter().any(|pin| pin.feed == Feed::Pin(hole));
    let mut out = vec![Deciding::SocketWiring];
    let three = |part: &Part| part.pins_of(Pin::Vbb).next().is_some();
    let mut voltages = found(|f| {
        matches!(
            f,
            Pin::Vpp
                | Pin::ChipEnableVpp
                | Pin::OutputEnableVpp
                | Pin::ByteModeVpp
                | Pin::Program
                | Pin::Vdd
                | Pin::Vbb
        )
    });
    // The pulse of other parts is an ordinary level.
    voltages.retain(|(_, function)| *function != Pin::Program || three(socket));
    if !voltages.is_empty() {
        out.push(Deciding::SocketVoltages(voltages));
    }
    let of_chip = |of: fn(Pin) -> bool| -> Vec<(u8, Pin)> {
        let pins = pins.iter().map(|pin| (pin.number, pin.function));
        pins.filter(|(_, function)| of(*function)).collect()
    };
    let vpp = of_chip(|f| f == Pin::Vpp);
    if !vpp.is_empty() {
        out.push(Deciding::ChipVpp(vpp.iter().map(|(pin, _)| *pin).collect()));
    }
    let high = of_chip(|f| matches!(f, Pin::Program | Pin::WriteEnable | Pin::Reset));
    if !high.is_empty() && !three(chip) {
        out.push(Deciding::HeldHigh(high));
    }
    if three(chip) {
        out.push(Deciding::ThreeSupplies);
    }
    match (socket.outputs, chip.outputs) {
        (Drive::OpenCollector, Drive::ThreeState) => out.push(Deciding::Alone),
        (Drive::ThreeState, Drive::OpenCollector) => out.push(Deciding::PullUps),
        _ => {}
    }
    for (pin, function) in found(|f| matches!(f, Pin::WriteEnable | Pin::Reset)) {
        match function {
            Pin::WriteEnable => out.push(Deciding::Written { pin }),
            _ if !is_used(pin) => out.push(Deciding::ResetUnused { pin }),
            _ => {}
        }
    }
    out.extend(select_on(socket, pins));
    if chip.address_lines() < socket.address_lines() {
        let lines = socket.address_lines() - chip.address_lines();
        out.push(Deciding::Repeated(1 << lines));
    }
    if pins.iter().all(|pin| pin.under.is_none()) {
        out.push(Deciding::Carrier);
    }
    out.extend([
        Deciding::AccessTime,
        Deciding::Current,
        Deciding::Capacitor,
        Deciding::Height,
    ]);
    out
}

/// Where one select goes to one of two enables.
fn select_on(socket: &Part, pins: &[AdapterPin]) -> Option<Deciding> {
    let is_select = |feed: Feed| {
        let Feed::Pin(hole) = feed else { return false };
        let pinout = socket.pinout.as_deref().unwrap_or_default();
        pinout
            .get(usize::from(hole) - 1)
            .is_some_and(|function| selects(*function))
    };
    let enables: Vec<&AdapterPin> = pins.iter().filter(|pin| selects(pin.function)).collect();
    let [one, other] = enables[..] else {
        return None;
    };
    let (taken, held) = match (is_select(one.feed), is_select(other.feed)) {
        (true, false) => (one, other),
        (false, true) => (other, one),
        _ => return None,
    };
    Some(Deciding::SelectOn {
        taken: (taken.number, taken.function),
        held: (held.number, held.function),
    })
}
