//! The plan of an adapter.

use super::ask::{AdapterOptions, UpperLines};
use super::deciding::{Deciding, deciding};
use super::feeds::{AdapterPin, Feed, Feeding};
use super::fitting::{Fitting, Straight};
use super::refusal::NoAdapter;
use super::selects;
use crate::board::spec::{Level, SocketsSpec, WindowSpec};
use crate::parts::{Drive, Part, Pin};

/// A chip in a socket that is wired for another part: what each of its pins gets while the board reads it.
///
/// This is true of the wires, whatever the [`fitting`](Self::fitting) says: every data line, and every address line that
/// both have, arrives once at the chip's pin of that name; every input of the chip has a level, and levels come from the
/// socket's `VCC` and `GND` only; its `VPP`, `PGM`, `WE` and `NC` pins go nowhere; every pin with which the board selects
/// helps to enable the chip. It is for reading in the board, never for programming there.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Adapter {
    /// The part that the socket is wired for.
    pub socket: Part,
    /// The chip.
    pub chip: Part,
    /// Whether the chip may be put there as it is.
    pub fitting: Fitting,
    /// The chip's pins, from 1 up.
    pub pins: Vec<AdapterPin>,
    /// What must be answered before the plan is complete; the wires that depend on it are not drawn.
    pub questions: Vec<Question>,
    /// Whether each data line needs a resistor to the supply.
    pub pull_ups: bool,
    /// What matters apart from the wires.
    pub deciding: Vec<Deciding>,
    upper: Option<UpperLines>,
}

/// Which level selects at a pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Question {
    /// At this pin of the socket; see [`AdapterOptions::selects`].
    OfSocket(u8),
    /// At this pin of the chip; see [`AdapterOptions::chip_selects`].
    OfChip(u8),
}

impl Adapter {
    /// The plan for `chip` in a socket that is wired for `socket`.
    ///
    /// ```
    /// use romloom::board::{Adapter, AdapterOptions, Feed, Fitting, Question, SelectLevel};
    /// use romloom::parts::find;
    ///
    /// // The level that selects a mask ROM was chosen with its content: the table can't know it.
    /// let (socket, chip) = (find("2364")?, find("27C64")?);
    /// let plan = Adapter::plan(socket, chip, &AdapterOptions::default())?;
    /// assert_eq!((plan.fitting, &plan.questions[..]), (Fitting::Undecided, &[Question::OfSocket(20)][..]));
    ///
    /// let options = AdapterOptions { selects: vec![(20, SelectLevel::Low)], ..AdapterOptions::default() };
    /// let plan = Adapter::plan(socket, chip, &options)?;
    /// assert_eq!(plan.fitting, Fitting::NeedsWiring);
    /// assert_eq!(plan.pins[22].feed, Feed::Pin(18)); // A11: pin 23 of the chip, pin 18 of the socket
    /// # Ok::<(), romloom::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`NoAdapter`]: why wires alone are not enough, or which option is wrong.
    pub fn plan(
        socket: &Part,
        chip: &Part,
        options: &AdapterOptions,
    ) -> Result<Adapter, NoAdapter> {
        for part in [socket, chip] {
            if part.pinout.is_none() {
                let part = part.name.clone();
                return Err(NoAdapter::NoPins { part });
            }
        }
        let selecting = selects::of_socket(socket, options)?;
        let enables = selects::of_chip(chip, options)?;
        if socket.width != chip.width {
            let (socket, chip) = (socket.width, chip.width);
            return Err(NoAdapter::Width { socket, chip });
        }
        let has = |part: &Part, function| part.pins_of(function).next().is_some();
        let lacks = |function: &Pin| has(chip, *function) && !has(socket, *function);
        let supplies: Vec<Pin> = [Pin::Vdd, Pin::Vbb].into_iter().filter(lacks).collect();
        if !supplies.is_empty() {
            return Err(NoAdapter::Supplies { supplies });
        }
        let pull_ups = match (socket.outputs, chip.outputs) {
            (Drive::OpenCollector, Drive::ThreeState) if !options.alone => {
                return Err(NoAdapter::Drives);
            }
            (Drive::ThreeState, Drive::OpenCollector) => true,
            _ => false,
        };
        let matched = selects::matched(socket, chip, &selecting.moved, &enables)?;
        let enables: Vec<_> = enables.into_iter().zip(matched).collect();
        let mut questions = Vec::new();
        for (own, select) in &enables {
            let select = select.filter(|select| select.active.is_none());
            questions.extend(select.map(|select| Question::OfSocket(select.number)));
            questions.extend(own.active.is_none().then_some(Question::OfChip(own.number)));
        }
        let mut feeding = Feeding {
            socket,
            chip,
            upper: options.upper,
            enables,
        };
        let fitting = |pins: &[AdapterPin]| {
            Straight {
                socket,
                chip,
                pins,
                held: &selecting.held,
                any: options.upper == Some(UpperLines::Any),
                pull_ups,
            }
            .fitting()
        };
        let mut pins = feeding.pins();
        let mut fits = fitting(&pins);
        if fits == Fitting::NeedsWiring && options.upper.is_none() {
            // It is wired anyway, so that the lowest part of the chip is used.
            feeding.upper = Some(UpperLines::Low);
            pins = feeding.pins();
            fits = fitting(&pins);
        }
        Ok(Adapter {
            socket: socket.clone(),
            chip: chip.clone(),
            fitting: fits,
            questions,
            pull_ups,
            deciding: deciding(socket, chip, &pins),
            pins,
            upper: options.upper,
        })
    }

    /// What a pin of the socket carries; `None` for one that is not there.
    pub fn socket_pin(&self, number: u8) -> Option<Pin> {
        let at = usize::from(number).checked_sub(1)?;
        self.socket.pinout.as_ref()?.get(at).copied()
    }

    /// The socket's pins that are not connected, with what they carry. Its `NC` pins are left out.
    pub fn unused(&self) -> Vec<(u8, Pin)> {
        let holes = (1..).zip(self.socket.pinout.iter().flatten().copied());
        let leads = |number: u8| self.pins.iter().any(|pin| pin.feed == Feed::Pin(number));
        let asked = |number: u8| self.questions.contains(&Question::OfSocket(number));
        holes
            .filter(|(number, function)| *function != Pin::Nc && !leads(*number) && !asked(*number))
            .collect()
    }

    /// The chip's pins that must not touch the socket's pin under them.
    pub fn insulated(&self) -> impl Iterator<Item = &AdapterPin> {
        self.pins.iter().filter(|pin| {
            let under = pin.under.and_then(|under| self.socket_pin(under));
            match (under, pin.function) {
                (None, _) | (Some(Pin::Nc), Pin::Nc) => false,
                _ => !pin.is_straight(),
            }
        })
    }

    /// How a board sees the chip: one window of the size of the socket's part, from `at`. A board of this makes the content
    /// for the chip.
    pub fn content(&self, name: &str, at: u64) -> SocketsSpec {
        let bytes = self.socket.bytes();
        let mut spec = SocketsSpec::new(self.chip.clone(), [name]);
        let mut window = WindowSpec {
            at,
            ..WindowSpec::default()
        };
        if self.chip.bytes() < bytes {
            window.size = Some(bytes);
            window.mirrored = true;
        }
        let mut switches = 0;
        for pin in &self.pins {
            let Pin::Address(line) = pin.function else {
                continue;
            };
            let level = match pin.feed {
                Feed::Switch(_) => {
                    switches += 1;
                    continue;
                }
                Feed::Pin(hole) => self.socket_pin(hole),
                Feed::Open | Feed::Asked => None,
            };
            match (level, self.upper) {
                (Some(Pin::Vcc | Pin::Ground), Some(UpperLines::Any)) => {
                    spec.tied.push((line, Level::Any));
                }
                (Some(Pin::Vcc), _) => spec.tied.push((line, Level::High)),
                (Some(Pin::Ground), _) => spec.tied.push((line, Level::Low)),
                _ => {}
            }
        }
        spec.tied.sort_by_key(|(line, _)| *line);
        if switches > 0 {
            window.size = Some(bytes);
            window.banks = Some((0, (1 << switches) - 1));
            window.by = "switch".into();
        }
        spec.windows.push(window);
        spec
    }
}
