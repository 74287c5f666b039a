//! The sentences: what must be true, what decides, what to be careful about.

use crate::board::{Adapter, Condition, Deciding, Level};
use crate::parts::Pin;

/// `20`, `20 and 22`, `20, 22 and 27`.
pub(super) fn numbers(numbers: &[u8]) -> String {
    let numbers: Vec<String> = numbers.iter().map(u8::to_string).collect();
    joined_by_and(&numbers)
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn joined_by_and(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// `pin 20`, `pins 20 and 22`.
pub(super) fn pins(pins: &[u8]) -> String {
    let word = if pins.len() == 1 { "pin" } else { "pins" };
    format!("{word} {}", numbers(pins))
}

/// `pin 1 (VPP)`, `pins 1 (VPP) and 22 (OE/VPP)`.
fn named(pins: &[(u8, Pin)]) -> String {
    let word = if pins.len() == 1 { "pin" } else { "pins" };
    let names: Vec<String> = pins
        .iter()
        .map(|(pin, function)| format!("{pin} ({function})"))
        .collect();
    format!("{word} {}", joined_by_and(&names))
}

/// What has to be true, as the end of a sentence that begins with `fits if`.
pub(super) fn conditions(plan: &Adapter, conditions: &[Condition]) -> String {
    let is_level = |condition: &&Condition| matches!(condition, Condition::Level { .. });
    let mut measured: Vec<String> = Vec::new();
    for condition in conditions.iter().filter(is_level) {
        measured.push(wanted(plan, condition));
    }
    let looked_up: Vec<u8> = (conditions.iter())
        .filter_map(|condition| match condition {
            Condition::Unconnected { chip_pin, .. } => Some(*chip_pin),
            _ => None,
        })
        .collect();
    let mut out = joined_by_and(&measured);
    if !measured.is_empty() {
        out += " (measure without the chip)";
    }
    if !looked_up.is_empty() {
        if !measured.is_empty() {
            out += ", and ";
        }
        out += &match looked_up.len() {
            1 => format!(
                "pin {} of the chip is not connected inside it",
                numbers(&looked_up)
            ),
            _ => format!(
                "pins {} of the chip are not connected inside it",
                numbers(&looked_up)
            ),
        };
        out += " (see its data sheet)";
    }
    out
}

/// `pin 27 is high`.
fn wanted(plan: &Adapter, condition: &Condition) -> String {
    match condition {
        Condition::Level { pin, level, .. } => {
            let is_vpp = plan.socket_pin(*pin) == Some(Pin::Vpp);
            let level = match level {
                Level::High if is_vpp => "is at VCC",
                Level::High => "is high",
                Level::Low => "is low",
                Level::Any => "is high or low and never changes",
            };
            format!("pin {pin} {level}")
        }
        Condition::Unconnected { chip_pin, .. } => {
            format!("pin {chip_pin} of the chip is not connected inside it")
        }
    }
}

/// What matters apart from the wires.
pub(super) fn deciding_sentence(plan: &Adapter, deciding: &Deciding) -> String {
    match deciding {
        Deciding::SocketWiring => "Compare the socket with this plan, with a meter and without power: what is printed on a \
                                   board or on the old chip does not say how a socket is wired."
            .into(),
        Deciding::SocketVoltages(holes) => format!(
            "Measure {} of the socket against GND, without the chip, in every state of the board: a voltage above VCC or \
             below GND destroys a chip that is not made for it. Measure it; do not assume it.",
            named(holes)
        ),
        Deciding::ChipVpp(own) => format!(
            "VPP ({} of the chip) is at VCC while it is read. No programming voltage may ever reach it here.",
            pins(own)
        ),
        Deciding::HeldHigh(own) => format!(
            "{} of the chip must be high all the time, so that nothing is written here: use a wire to VCC.",
            first_upper(&named(own))
        ),
        Deciding::SelectOn { taken, held } => {
            let other = match (taken.1, held.1) {
                (Pin::OutputEnable | Pin::OutputEnableVpp, _) => {
                    "Like this the time from select to data is mostly shorter, but the chip draws its full current all the time. \
                     The other way round it draws less between reads and answers later."
                }
                _ => {
                    "Like this the chip draws less current between reads, but the time from select to data is mostly longer. \
                     The other way round it is shorter, but the full current flows all the time."
                }
            };
            format!(
                "The board's select is on {} (pin {} of the chip), and {} (pin {}) is held enabled. {other}",
                taken.1, taken.0, held.1, held.0
            )
        }
        Deciding::Written { pin } => format!(
            "The socket has WE on pin {pin}: the board may write here. A part that is written does not drive its data lines while \
             WE is low. This chip does not get that WE, and drives against the processor if it is enabled then. Make sure \
             that the board never writes here."
        ),
        Deciding::ResetUnused { pin } => format!(
            "The socket's RESET (pin {pin}) is not connected: the chip answers during a reset too."
        ),
        Deciding::Alone => "The socket is wired for open-collector outputs, but this chip drives both levels. You said \
                            that nothing else drives these lines while it answers: check that on the board's drawing."
            .into(),
        Deciding::PullUps => "The chip has open-collector outputs: each data line needs a resistor to VCC, unless the board has \
                              one there. Its value depends on the data sheet and on the time that the lines may take."
            .into(),
        Deciding::ThreeSupplies => "The chip has three supplies. VBB comes first and goes last (common practice; see its data \
                                    sheet), and a chip that is turned round or in the wrong socket is destroyed at once. PGM, if it has one, is at \
                                    GND while it is read (from memory; see the data sheet)."
            .into(),
        Deciding::Carrier => "The packages don't fit each other's sockets: the chip needs a carrier, and every pin a \
                              wire from there."
            .into(),
        Deciding::Repeated(times) => format!(
            "The socket has more address lines than the chip: the bus sees the chip {times} times, one after another."
        ),
        Deciding::AccessTime => "Access time: from address to data, and from select to data, the chip must not be slower \
                                 than the board allows. The times of the old chip were fast enough for the board."
            .into(),
        Deciding::Current => "Supply current: compare the highest in the chip's data sheet with what the board can give this \
                              socket."
            .into(),
        Deciding::Capacitor => {
            let own = |function: Pin| -> Vec<u8> { plan.chip.pins_of(function).collect() };
            format!(
                "A ceramic capacitor of about 100 nF (common practice) between VCC ({}) and GND ({}) of the chip, as close \
                 to it as possible.",
                pins(&own(Pin::Vcc)),
                pins(&own(Pin::Ground))
            )
        }
        Deciding::Height => "Height: what is put between socket and chip must leave room for covers, for what is beside it, \
                             and for the board above."
            .into(),
    }
}

fn first_upper(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(chars).collect()
}

/// What to be careful about, whatever the chip.
pub(super) const CAUTIONS: [&str; 4] = [
    "For reading in this board only. Program the chip in a programmer, out of the board and out of any adapter like this.",
    "Power off, and wait until the supply is down, before a chip or a wire goes in or out. A chip turned round, or one pin \
     off, is destroyed. The chip's pin 1 is not always at the socket's pin 1.",
    "Mains and picture-tube voltages inside old machines can kill, long after the plug is out. Measuring with the power on \
     is for qualified people where local rules say so.",
    "Earth yourself first: static destroys chips and leaves no trace. The makers' data sheets come before everything said here.",
];
