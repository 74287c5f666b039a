//! What the pins of a chip get in a socket that is wired for another part.

use super::{Part, Pin};

/// What arrives at a pin of the chip while the socket is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Arrives {
    /// An address line of the socket, counted from A0.
    Line(u8),
    /// Always 0.
    Low,
    /// Always 1.
    High,
    /// Always 0 or always 1, but the table does not say which.
    Unknown,
}

/// A pin that must be at one level for the chip to answer: an enable, a select, a reset, a supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Gate {
    /// The pin of the chip, counted from 1.
    pub pin: u8,
    /// What arrives there.
    pub arrives: Arrives,
    /// The level at which the chip answers, `true` for 1; `None` where it differs by part, such as that of a mask ROM's `CS`.
    pub active: Option<bool>,
}

/// What a chip gets from a socket that is wired for another part, pin by pin; made by [`seen_in`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contacts {
    /// For each address line of the chip, from A0 up, what arrives at its pin.
    pub address: Vec<Arrives>,
    /// For each data line of the socket, from D0 up, the chip's data line that drives it; `None` where nothing does.
    pub data: Vec<Option<u8>>,
    /// The chip answers while every one of these is at its active level.
    pub gates: Vec<Gate>,
}

/// What `chip` gets in a socket, or in a reader set for a part, that is wired for `socket`.
///
/// While a socket is read its address lines move, its enables (`CE`, `OE`) are low, `PGM`, `WE` and `RESET` are high and
/// `VPP` is at the supply (common practice). The level of its `CS` and `NC` pins is not in the table; only a `CS`
/// on a `CS` counts as selected, because the reader is set for a part that has one there. A smaller chip sits in the lower
/// end of a larger socket, pin 1 of a 24-pin chip in hole 3 of a 28-pin socket (common practice). The chip's `VPP`, `PGM`
/// and `WE` don't matter while it is read (common practice; some parts need them high).
///
/// `None` where the tables don't say what is read: the chip is larger than the socket; the pins of one of them are not
/// known; two outputs meet, or an output meets a supply; the voltages of a three-supply part are on other pins than its own;
/// a 16-bit part is in the wrong mode.
///
/// ```
/// use romloom::parts::{Arrives, find, seen_in};
///
/// // The reader's A15 pin is VPP on a 27C256, and high: it reads the upper half of a 27C512.
/// let seen = seen_in(find("27C256")?, find("27C512")?).expect("both have 28 pins");
/// assert_eq!(seen.address[14], Arrives::Line(14));
/// assert_eq!(seen.address[15], Arrives::High);
/// # Ok::<(), romloom::parts::UnknownPart>(())
/// ```
pub fn seen_in(socket: &Part, chip: &Part) -> Option<Contacts> {
    let (holes, pins) = (socket.pinout.as_ref()?, chip.pinout.as_ref()?);
    let lower_end = holes.len().checked_sub(pins.len())? / 2;
    let mut seen = Contacts {
        address: vec![Arrives::Unknown; chip.address_lines().into()],
        data: vec![None; socket.width.into()],
        gates: Vec::new(),
    };
    for (number, (&pin, &hole)) in (1..).zip(pins.iter().zip(&holes[lower_end..])) {
        if let Pin::Data(line) = pin {
            match hole {
                Pin::Data(shown) if line < chip.width => {
                    *seen.data.get_mut(usize::from(shown))? = Some(line);
                }
                Pin::Nc => {}
                _ => return None,
            }
            continue;
        }
        let arrives = match sent(hole, socket) {
            Sent::Logic(arrives) => arrives,
            Sent::Other if hole == pin => continue,
            Sent::Other => return None,
        };
        let active = match pin {
            Pin::Address(line) => {
                *seen.address.get_mut(usize::from(line))? = arrives;
                continue;
            }
            Pin::Vpp | Pin::Program | Pin::WriteEnable | Pin::Nc => continue,
            Pin::ByteMode | Pin::ByteModeVpp => match arrives == byte_mode(chip) {
                true => continue,
                false => return None,
            },
            Pin::Data(_) | Pin::Vdd | Pin::Vbb => return None,
            Pin::Select if hole == Pin::Select => continue,
            Pin::Select => None,
            Pin::Vcc | Pin::Reset => Some(true),
            Pin::ChipEnable
            | Pin::OutputEnable
            | Pin::ChipEnableProgram
            | Pin::ChipEnableVpp
            | Pin::OutputEnableVpp
            | Pin::Ground => Some(false),
        };
        seen.gates.push(Gate {
            pin: number,
            arrives,
            active,
        });
    }
    Some(seen)
}

/// What a socket has on a pin while it is read.
enum Sent {
    Logic(Arrives),
    /// The chip's own output, or a supply at another voltage than the signals.
    Other,
}

fn sent(hole: Pin, socket: &Part) -> Sent {
    Sent::Logic(match hole {
        Pin::Data(_) | Pin::Vdd | Pin::Vbb => return Sent::Other,
        Pin::Address(line) if line < socket.address_lines() => Arrives::Line(line),
        Pin::Address(_) => Arrives::Unknown,
        Pin::Program | Pin::WriteEnable | Pin::Reset | Pin::Vpp | Pin::Vcc => Arrives::High,
        Pin::ByteMode | Pin::ByteModeVpp => byte_mode(socket),
        Pin::Select | Pin::Nc => Arrives::Unknown,
        Pin::ChipEnable
        | Pin::OutputEnable
        | Pin::ChipEnableProgram
        | Pin::ChipEnableVpp
        | Pin::OutputEnableVpp
        | Pin::Ground => Arrives::Low,
    })
}

/// The level of `BYTE` at which a part has the width of its row.
fn byte_mode(part: &Part) -> Arrives {
    match part.width {
        8 => Arrives::Low,
        _ => Arrives::High,
    }
}
