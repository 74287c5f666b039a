//! The pins that select: which of the socket's goes to which of the chip's.

use super::ask::{AdapterOptions, SelectLevel};
use super::package::under;
use super::refusal::NoAdapter;
use crate::parts::{Part, Pin};

/// A pin that selects.
#[derive(Clone, Copy, Debug)]
pub(super) struct SelectPin {
    pub number: u8,
    pub function: Pin,
    /// The level that selects, `true` for 1; `None` until somebody says it.
    pub active: Option<bool>,
}

/// What a pin does while the chip is read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Does {
    Chip,
    Output,
    Select,
}

fn does(function: Pin) -> Option<Does> {
    match function {
        Pin::ChipEnable | Pin::ChipEnableProgram | Pin::ChipEnableVpp => Some(Does::Chip),
        Pin::OutputEnable | Pin::OutputEnableVpp => Some(Does::Output),
        Pin::Select => Some(Does::Select),
        _ => None,
    }
}

/// Whether a pin of this kind helps to select the chip while it is read.
pub(super) fn selects(function: Pin) -> bool {
    does(function).is_some()
}

/// The selecting pins of a socket: those that the board moves, and those that it holds at a level.
pub(super) struct SocketSelects {
    pub moved: Vec<SelectPin>,
    pub held: Vec<SelectPin>,
}

/// The selecting pins of the socket, with what is known of their levels.
pub(super) fn of_socket(part: &Part, options: &AdapterOptions) -> Result<SocketSelects, NoAdapter> {
    let mut moved = selecting(part);
    let mut held = Vec::new();
    for (i, &(pin, level)) in options.selects.iter().enumerate() {
        let other = options.selects[..i]
            .iter()
            .any(|(own, said)| *own == pin && *said != level);
        let level = match level {
            SelectLevel::Low => Some(false),
            SelectLevel::High => Some(true),
            SelectLevel::Always => None,
        };
        said(part, &mut moved, pin, level, other)?;
    }
    moved.retain(|own| {
        let always = options.selects.contains(&(own.number, SelectLevel::Always));
        if always {
            held.push(*own);
        }
        !always
    });
    Ok(SocketSelects { moved, held })
}

/// The selecting pins of the chip, with what is known of their levels.
pub(super) fn of_chip(part: &Part, options: &AdapterOptions) -> Result<Vec<SelectPin>, NoAdapter> {
    let mut pins = selecting(part);
    for (i, &(pin, high)) in options.chip_selects.iter().enumerate() {
        let other = options.chip_selects[..i].contains(&(pin, !high));
        said(part, &mut pins, pin, Some(high), other)?;
    }
    Ok(pins)
}

fn selecting(part: &Part) -> Vec<SelectPin> {
    let pins = (1..).zip(part.pinout.iter().flatten());
    pins.filter(|(_, function)| selects(**function))
        .map(|(number, &function)| SelectPin {
            number,
            function,
            // Enables are active low (common practice).
            active: (function != Pin::Select).then_some(false),
        })
        .collect()
}

/// Notes what was said of a pin; `other` is the error if something else was said of it before.
fn said(
    part: &Part,
    pins: &mut [SelectPin],
    pin: u8,
    level: Option<bool>,
    other: bool,
) -> Result<(), NoAdapter> {
    let Some(own) = pins.iter_mut().find(|own| own.number == pin) else {
        let pinout = part.pinout.as_deref().unwrap_or_default();
        return Err(NoAdapter::NotASelect {
            part: part.name.clone(),
            pin,
            function: usize::from(pin)
                .checked_sub(1)
                .and_then(|at| pinout.get(at).copied()),
        });
    };
    let is_fixed = own.function != Pin::Select;
    if other || (is_fixed && level == Some(true)) {
        return Err(NoAdapter::OtherLevel {
            part: part.name.clone(),
            pin,
            function: own.function,
        });
    }
    if !is_fixed {
        own.active = level;
    }
    Ok(())
}

/// For each selecting pin of the chip the one of the socket that goes there; every one of the socket goes to one of the
/// chip. Pins that sit on each other come first, then those that do the same; a level that is not known may be either.
pub(super) fn matched(
    socket: &Part,
    chip: &Part,
    moved: &[SelectPin],
    enables: &[SelectPin],
) -> Result<Vec<Option<SelectPin>>, NoAdapter> {
    let best = best(moved, &mut vec![None; enables.len()], &|select, enable| {
        let enable = &enables[enable];
        let level =
            select.active.is_none() || enable.active.is_none() || select.active == enable.active;
        let sits = under(enable.number, chip.pins, socket.pins) == Some(select.number);
        let same = match (does(select.function), does(enable.function)) {
            (select, enable) if select == enable => 3,
            (Some(Does::Select), Some(Does::Output)) => 2,
            _ => 1,
        };
        level.then_some(u32::from(sits) * 100 + same)
    });
    if let Some((_, matched)) = best {
        return Ok(matched);
    }
    let named = |pins: &[SelectPin]| pins.iter().map(|pin| (pin.number, pin.function)).collect();
    let (selects, is_short) = (named(moved), moved.len() > enables.len());
    let enables = named(enables);
    Err(match is_short {
        true => NoAdapter::NeedsGate { selects, enables },
        false => NoAdapter::NeedsInverter { selects, enables },
    })
}

type Matched = (u32, Vec<Option<SelectPin>>);

/// The assignment of a place to every one of `left` that has the highest worth; `None` where there is none.
fn best(
    left: &[SelectPin],
    taken: &mut Vec<Option<SelectPin>>,
    worth: &impl Fn(&SelectPin, usize) -> Option<u32>,
) -> Option<Matched> {
    let Some((select, left)) = left.split_first() else {
        return Some((0, taken.clone()));
    };
    let mut found: Option<Matched> = None;
    for place in 0..taken.len() {
        let own = worth(select, place).filter(|_| taken[place].is_none());
        let Some(own) = own else { continue };
        taken[place] = Some(*select);
        if let Some((rest, matched)) = best(left, taken, worth) {
            if found.as_ref().is_none_or(|(most, _)| rest + own > *most) {
                found = Some((rest + own, matched));
            }
        }
        taken[place] = None;
    }
    found
}
