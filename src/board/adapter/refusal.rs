//! Why there is no adapter.

use crate::parts::Pin;
use crate::prose::debug_as_display;

/// Why there is no adapter from a socket to a chip.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum NoAdapter {
    /// The table has no pins of a part.
    #[error("the table does not have the pins of a {part}")]
    NoPins {
        /// The part.
        part: String,
    },
    /// A pin was said to select, but does not.
    #[error("pin {pin} of a {part} {}, which selects nothing", carries(.function))]
    NotASelect {
        /// The part.
        part: String,
        /// The pin, counted from 1.
        pin: u8,
        /// What it carries; `None` where the part has no such pin.
        function: Option<Pin>,
    },
    /// A pin whose level is known was said to have another one, or one pin has two.
    #[error("pin {pin} of a {part} carries {function}, which {}", at_most_one(.function))]
    OtherLevel {
        /// The part.
        part: String,
        /// The pin, counted from 1.
        pin: u8,
        /// What it carries.
        function: Pin,
    },
    /// A word of the chip has more or fewer bits than one of the socket.
    #[error("the socket has {socket} data lines, but the chip has {chip}")]
    Width {
        /// Bits of the socket's part.
        socket: u8,
        /// Bits of the chip.
        chip: u8,
    },
    /// The chip needs supplies that the socket does not have.
    #[error("the chip needs the supplies {}, which the socket does not have", listed(.supplies))]
    Supplies {
        /// `VDD`, `VBB` or both.
        supplies: Vec<Pin>,
    },
    /// The board selects with more pins than the chip has for it.
    #[error(
        "it needs a gate: the board selects with {} of the socket, but the chip has {}. If a select is left out, two chips \
         drive the bus",
        pins(.selects),
        for_it(.enables)
    )]
    NeedsGate {
        /// Pins of the socket that select.
        selects: Vec<(u8, Pin)>,
        /// Pins of the chip that enable it.
        enables: Vec<(u8, Pin)>,
    },
    /// The board does not select with the level that enables the chip.
    #[error(
        "it needs an inverter: the levels with which the board selects, on {} of the socket, are not those that enable the \
         chip, on {}",
        pins(.selects),
        pins(.enables)
    )]
    NeedsInverter {
        /// Pins of the socket that select.
        selects: Vec<(u8, Pin)>,
        /// Pins of the chip that enable it.
        enables: Vec<(u8, Pin)>,
    },
    /// The socket is wired for open-collector outputs, and the chip drives its lines.
    #[error(
        "the socket is wired for open-collector outputs, but this chip drives both levels: if other chips answer on the \
         same lines at the same time, they drive against each other"
    )]
    Drives,
}

debug_as_display!(NoAdapter);

impl NoAdapter {
    /// Whether an answer that was given is wrong, and not the pair of parts.
    pub fn is_about_options(&self) -> bool {
        matches!(self, Self::NotASelect { .. } | Self::OtherLevel { .. })
    }
}

fn carries(function: &Option<Pin>) -> String {
    match function {
        Some(function) => format!("carries {function}"),
        None => "is not there".to_owned(),
    }
}

fn at_most_one(function: &Pin) -> &'static str {
    match function {
        Pin::Select => "has one level that selects, but two were given",
        _ => "selects when it is low",
    }
}

fn listed(functions: &[Pin]) -> String {
    let names: Vec<String> = functions.iter().map(Pin::to_string).collect();
    names.join(" and ")
}

/// `pin 20 (CE)`, `pins 20 (CE) and 22 (OE)`.
fn pins(pins: &[(u8, Pin)]) -> String {
    let named: Vec<String> = pins
        .iter()
        .map(|(pin, function)| format!("{pin} ({function})"))
        .collect();
    match &named[..] {
        [] => "no pin".to_owned(),
        [one] => format!("pin {one}"),
        [most @ .., last] => format!("pins {} and {last}", most.join(", ")),
    }
}

fn for_it(enables: &[(u8, Pin)]) -> String {
    match enables {
        [] => "none for it".to_owned(),
        [_] => format!("only {}", pins(enables)),
        _ => format!("{} for it", pins(enables)),
    }
}
