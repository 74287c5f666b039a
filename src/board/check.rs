//! From a description to a complete and valid store, or to what is wrong with it.

use std::collections::BTreeSet;

use super::fault::{BoardFault, Key, Wrong};
use super::lines::{bits_for, collect, spread};
use super::spec::{Level, SocketsSpec, WindowSpec, Wire};
use super::store::{Store, Window, word_bytes};
use crate::image::AddressRange;
use crate::parts::Part;
use crate::sums::Order;

/// The most windows of one board.
const MOST_WINDOWS: usize = 4096;
/// The most positions of a switch.
const MOST_BANKS: u64 = 1 << 20;

/// A fault whose sockets are not known yet.
type Fault = (Option<usize>, Key, Wrong);

/// Checks the description of some sockets; `index` is their number on the board.
pub(super) fn store(index: usize, spec: &SocketsSpec) -> Result<Store, BoardFault> {
    checked(spec).map_err(|(window, key, wrong)| BoardFault {
        sockets: index,
        window,
        key,
        wrong,
    })
}

fn checked(spec: &SocketsSpec) -> Result<Store, Fault> {
    let part = &spec.part;
    let fault = |key, wrong| Err((None, key, wrong));
    if !(1..=16).contains(&spec.lanes) {
        return fault(Key::Lanes, Wrong::Lanes(spec.lanes));
    }
    let order = match (spec.order, part.width) {
        (Some(order), _) => order,
        (None, 16) => return fault(Key::Order, Wrong::OrderOpen(part.name.clone())),
        (None, _) => Order::Little,
    };
    let filler = match spec.with.or(part.erased) {
        None => return fault(Key::With, Wrong::NoErased(part.name.clone())),
        Some(value) if part.width == 4 && value > 0x0F => {
            let width = part.width;
            return fault(Key::With, Wrong::Wide { value, width });
        }
        Some(value) => value,
    };
    let names = names(spec).map_err(|wrong| (None, Key::Names, wrong))?;
    let rows = names.len() as u64 / u64::from(spec.lanes);
    let tied = tied(part, &spec.tied).map_err(|wrong| (None, Key::Tied, wrong))?;
    let (address, data) = wires(part, &spec.wires).map_err(|wrong| (None, Key::Wires, wrong))?;
    if spec.windows.is_empty() {
        return fault(Key::At, Wrong::NoWindow);
    }
    if spec.windows.len() > MOST_WINDOWS {
        let count = spec.windows.len() as u64;
        return fault(Key::Window, Wrong::TooMany(count, MOST_WINDOWS as u64));
    }
    let mut windows = Vec::new();
    for (number, window) in spec.windows.iter().enumerate() {
        let built = self::window(spec, rows, &tied, &address, window);
        windows.push(built.map_err(|(key, wrong)| (Some(number), key, wrong))?);
    }
    for range in &spec.except {
        let inside = |w: &&mut Window| w.range.overlap(*range).is_some();
        let mut shown = windows.iter_mut().filter(inside).peekable();
        if shown.peek().is_none() {
            return fault(Key::Except, Wrong::NotShown { range: *range });
        }
        for window in shown {
            window.except.extend(window.range.overlap(*range));
        }
    }
    Ok(Store {
        names,
        part: part.clone(),
        lanes: spec.lanes,
        rows,
        order,
        order_said: spec.order.is_some(),
        filler,
        windows,
        address,
        data,
        note: spec.note.clone(),
    })
}

fn names(spec: &SocketsSpec) -> Result<Vec<Option<String>>, Wrong> {
    if spec.names.is_empty() {
        return Err(Wrong::NoNames);
    }
    let count = spec.names.len();
    if count % spec.lanes as usize != 0 {
        return Err(Wrong::Rows {
            names: count,
            lanes: spec.lanes,
        });
    }
    let mut taken = BTreeSet::new();
    let mut names = Vec::new();
    for name in &spec.names {
        if name == "-" {
            names.push(None);
            continue;
        }
        is_name(name)?;
        if !taken.insert(name.to_lowercase()) {
            return Err(Wrong::NameTwice(name.clone()));
        }
        names.push(Some(name.clone()));
    }
    match taken.is_empty() {
        true => Err(Wrong::NoChip),
        false => Ok(names),
    }
}

/// Checks the name of a socket or space, which is put before addresses.
pub(super) fn is_name(name: &str) -> Result<(), Wrong> {
    let lower = name.to_lowercase();
    let is_letter = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.');
    if name.is_empty() || !name.chars().all(is_letter) || name.starts_with('-') {
        return Err(Wrong::NotAName(name.to_owned()));
    }
    let is_bank = lower.strip_prefix("bank").is_some_and(|rest| {
        let mut rest = rest.chars();
        rest.all(|c| c.is_ascii_digit() || c == '-')
    });
    match is_bank || ["cpu", "part", "text"].contains(&lower.as_str()) {
        true => Err(Wrong::Reserved(name.to_owned())),
        false => Ok(()),
    }
}

fn no_such_pin(part: &Part, letter: char, pin: u8) -> Wrong {
    let last = match letter {
        'A' => part.address_lines(),
        _ => part.width,
    };
    Wrong::NoSuchPin {
        part: part.name.clone(),
        letter,
        pin,
        last: last.saturating_sub(1),
    }
}

fn tied(part: &Part, pins: &[(u8, Level)]) -> Result<Vec<(u8, Level)>, Wrong> {
    for (i, (pin, _)) in pins.iter().enumerate() {
        if *pin >= part.address_lines() {
            return Err(no_such_pin(part, 'A', *pin));
        }
        if pins[..i].iter().any(|(other, _)| other == pin) {
            let (letter, pin) = ('A', *pin);
            return Err(Wrong::PinTwice { letter, pin });
        }
    }
    Ok(pins.to_vec())
}

/// What arrives at each pin.
type WireTable = Vec<(u8, bool)>;

fn wires(part: &Part, wires: &[Wire]) -> Result<(WireTable, WireTable), Wrong> {
    let straight = |count: u8| -> WireTable { (0..count).map(|line| (line, false)).collect() };
    let mut address = straight(part.address_lines());
    let mut data = straight(part.width);
    let mut named = BTreeSet::new();
    for wire in wires {
        let (letter, pins, pin, line, inverted) = match *wire {
            Wire::Address {
                pin,
                line,
                inverted,
            } => ('A', &mut address, pin, line, inverted),
            Wire::Data {
                pin,
                line,
                inverted,
            } => ('D', &mut data, pin, line, inverted),
        };
        let known = pins.len();
        for named in [pin, line] {
            if usize::from(named) >= known {
                return Err(no_such_pin(part, letter, named));
            }
        }
        if !named.insert((letter, pin)) {
            return Err(Wrong::PinTwice { letter, pin });
        }
        pins[usize::from(pin)] = (line, inverted);
    }
    for (letter, pins) in [('A', &address), ('D', &data)] {
        let lines: Vec<u8> = pins.iter().map(|(line, _)| *line).collect();
        let twice = (1..lines.len()).find(|i| lines[..*i].contains(&lines[*i]));
        if let Some(i) = twice {
            let missing = (0..lines.len() as u8).find(|line| !lines.contains(line));
            return Err(Wrong::LineTwice {
                letter,
                line: lines[i],
                missing: missing.unwrap_or_default(),
            });
        }
    }
    Ok((address, data))
}

/// One window, checked alone.
fn window(
    spec: &SocketsSpec,
    rows: u64,
    tied: &[(u8, Level)],
    wires: &[(u8, bool)],
    window: &WindowSpec,
) -> Result<Window, (Key, Wrong)> {
    let part = &spec.part;
    let chip_lines = part.address_lines();
    let unit = word_bytes(part, spec.lanes);
    let store = rows * u64::from(part.words) * unit;
    let own = self::tied(part, &window.tied).map_err(|wrong| (Key::Tied, wrong))?;
    if let Some((pin, _)) = own
        .iter()
        .find(|(pin, _)| tied.iter().any(|(p, _)| p == pin))
    {
        let (letter, pin) = ('A', *pin);
        return Err((Key::Tied, Wrong::PinTwice { letter, pin }));
    }
    let tied: Vec<(u8, Level)> = tied.iter().chain(&own).copied().collect();
    let is_tied = |line: u8| tied.iter().any(|(pin, _)| *pin == line);
    // The pin itself is held at a level, so no line is soldered there.
    let wired = wires.iter().zip(0u8..);
    let wired = wired.filter(|((line, inverted), pin)| *line != *pin || *inverted);
    if let Some((_, pin)) = wired.into_iter().find(|(_, pin)| is_tied(*pin)) {
        return Err((Key::Tied, Wrong::Held(pin)));
    }
    let banks = window.banks;
    if let Some((first, last)) = banks {
        if last < first {
            return Err((Key::Banks, Wrong::BanksBackwards(first, last)));
        }
        if last >= MOST_BANKS {
            return Err((
                Key::Banks,
                Wrong::TooMany(last.saturating_add(1), MOST_BANKS),
            ));
        }
    }
    for (i, switched) in window.switch.iter().enumerate() {
        let pin = switched.pin;
        if pin >= chip_lines {
            return Err((Key::Switch, no_such_pin(part, 'A', pin)));
        }
        if is_tied(pin) {
            return Err((Key::Switch, Wrong::Held(pin)));
        }
        if window.switch[..i].iter().any(|other| other.pin == pin) {
            return Err((Key::Switch, Wrong::PinTwice { letter: 'A', pin }));
        }
    }
    if banks.is_none() && !window.switch.is_empty() {
        return Err((Key::Banks, Wrong::NoBanks));
    }
    if window.at % unit != 0 {
        return Err((
            Key::At,
            Wrong::InWord {
                at: window.at,
                unit,
            },
        ));
    }
    let mut switch: Vec<(u8, bool)> = window
        .switch
        .iter()
        .map(|switched| (switched.pin, switched.inverted))
        .collect();
    let row_lines = bits_for(rows) as u8;
    let free = |switch: &[(u8, bool)]| -> Vec<u8> {
        let is_switched = |line: u8| switch.iter().any(|(own, _)| *own == line);
        let lines = 0..chip_lines + row_lines;
        lines
            .filter(|line| !is_tied(*line) && !is_switched(*line))
            .collect()
    };
    if let Some(size) = window.size {
        if size == 0 || size % unit != 0 {
            return Err((Key::Size, Wrong::PartWord { size, unit }));
        }
    }
    if let (Some((first, last)), true) = (banks, switch.is_empty()) {
        // The pins above those that the window itself goes through.
        let lines = free(&switch);
        let through = match window.size {
            // With one position it can show everything, and needs no pin for that.
            None if first == last => lines.len(),
            None => return Err((Key::Banks, Wrong::SizeOpen(last - first + 1))),
            Some(size) if !(size / unit).is_power_of_two() => {
                return Err((Key::Size, Wrong::SwitchOpen(size)));
            }
            Some(size) => (size / unit).trailing_zeros() as usize,
        };
        let upper = lines.get(through..).unwrap_or_default();
        let needed = bits_for(last + 1) as usize;
        switch = upper
            .iter()
            .take(needed)
            .map(|line| (*line, false))
            .collect();
        check_banks(first, last, switch.len(), window.mirrored)?;
    } else if let Some((first, last)) = banks {
        check_banks(first, last, switch.len(), window.mirrored)?;
    }
    let follows = free(&switch);
    let own_lines = follows.iter().filter(|line| **line < chip_lines).count() as u32;
    let all_rows = follows.len() as u32 - own_lines == u32::from(row_lines);
    let shown = match all_rows {
        true => rows << own_lines,
        false => 1 << follows.len(),
    };
    let size = window.size.unwrap_or(shown * unit);
    let range = AddressRange::from_len(window.at, size);
    let range = range.ok_or((
        Key::At,
        Wrong::TooHigh {
            at: window.at,
            size,
        },
    ))?;
    let except = window.except.iter();
    if let Some(outside) = except.copied().find(|own| range.overlap(*own).is_none()) {
        return Err((Key::Except, Wrong::NotShown { range: outside }));
    }
    let except = window.except.iter();
    let except = except.filter_map(|own| range.overlap(*own)).collect();
    let words = size / unit;
    if words > shown && !window.mirrored {
        let shown = shown * unit;
        return Err((Key::Size, Wrong::Larger { size, shown }));
    }
    let first = match window.from {
        None if words < shown => {
            let shown = shown * unit;
            return Err((Key::Size, Wrong::Open { size, shown }));
        }
        None => 0,
        Some(from) => first_word(from, unit, store, &tied, &switch, &follows)?,
    };
    if first + words > shown && !window.mirrored {
        return Err((
            Key::From,
            Wrong::PastEnd {
                from: window.from.unwrap_or_default(),
                size,
                last: (shown * unit).saturating_sub(1),
            },
        ));
    }
    // The lines that both the bus and the chip count through must agree.
    let shared = bits_for(words).min(own_lines);
    let block = 1u64 << shared;
    let (bus, chip) = (window.at / unit % block, first % block);
    if bus != chip {
        let back = (bus + block - chip) % block * unit;
        let below = window.at.saturating_sub(back);
        return Err((
            Key::At,
            Wrong::Misaligned {
                at: window.at,
                from: window.from.unwrap_or_default(),
                lines: shared,
                block: block * unit,
                size,
                bases: (below, below.saturating_add(block * unit)),
            },
        ));
    }
    if let Some((low, last)) = banks {
        // Where the switch chooses the row, it must not choose one that is not there.
        let is_row = |line: &u8| *line >= chip_lines;
        let free_rows: Vec<u8> = follows.iter().copied().filter(is_row).collect();
        let free_rows = spread(u64::MAX, &free_rows);
        let row = |bank: u64| {
            let lines = switch
                .iter()
                .enumerate()
                .filter(|(_, (line, _))| is_row(line));
            let set = lines.fold(free_rows, |out, (bit, (line, inverted))| {
                out | ((bank >> bit & 1) ^ u64::from(*inverted)) << line
            });
            set >> chip_lines
        };
        let switched = switch.iter().any(|(line, _)| is_row(line));
        if switched {
            if let Some(bank) = (low..=last).find(|bank| row(*bank) >= rows) {
                return Err((Key::Banks, Wrong::NoRow { bank, rows }));
            }
        }
    }
    let level = |wanted: Level| tied.iter().filter(move |(_, level)| *level == wanted);
    let mask = |lines: &mut dyn Iterator<Item = u8>| lines.fold(0, |out, line| out | 1u64 << line);
    let high = mask(&mut level(Level::High).map(|(pin, _)| *pin));
    let low = mask(&mut level(Level::Low).map(|(pin, _)| *pin));
    Ok(Window {
        space: window.space.clone().unwrap_or_else(|| spec.space.clone()),
        range,
        banks,
        by: window.by.clone(),
        mirrored: window.mirrored,
        follows,
        first,
        shown,
        held: high | low,
        high,
        any: level(Level::Any).map(|(pin, _)| *pin).collect(),
        switch,
        except,
    })
}

fn check_banks(first: u64, last: u64, pins: usize, mirrored: bool) -> Result<(), (Key, Wrong)> {
    let (positions, different) = (last - first + 1, 1u64 << pins.min(63));
    match positions > different && !mirrored {
        true => Err((
            Key::Banks,
            Wrong::TooManyBanks {
                positions,
                pins: pins as u32,
                different,
            },
        )),
        false => Ok(()),
    }
}

/// The number that the following lines make where a window starts in the store.
fn first_word(
    from: u64,
    unit: u64,
    store: u64,
    tied: &[(u8, Level)],
    switch: &[(u8, bool)],
    follows: &[u8],
) -> Result<u64, (Key, Wrong)> {
    if from % unit != 0 {
        return Err((Key::From, Wrong::InWord { at: from, unit }));
    }
    if from >= store {
        return Err((Key::From, Wrong::Outside { from, store }));
    }
    let word = from / unit;
    let is_high = |line: u8| word >> line & 1 == 1;
    let against = tied.iter().find(|(pin, level)| match level {
        Level::High => !is_high(*pin),
        Level::Low | Level::Any => is_high(*pin),
    });
    let against = against.map(|(pin, _)| *pin);
    let switched = switch.iter().map(|(line, _)| *line);
    if let Some(pin) = against.or(switched.into_iter().find(|line| is_high(*line))) {
        return Err((Key::From, Wrong::AgainstLevel { from, pin }));
    }
    Ok(collect(word, follows))
}
