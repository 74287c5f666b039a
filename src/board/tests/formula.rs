//! Random boards against a formula that shares no code with them: every byte of every chip, there and back.

use std::collections::BTreeMap;

use crate::board::{
    Answer, Board, CPU, Level, Outside, Program, Socket, SocketsSpec, SwitchedPin, Target,
    WindowSpec, Wire,
};
use crate::image::{AddressRange, Clash, Image, Source};
use crate::parts::{self, Part};
use crate::sums::Order;

/// Numbers that are the same in every run.
pub(super) struct Chance(pub(super) u64);

impl Chance {
    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ z >> 31
    }

    pub(super) fn below(&mut self, n: u64) -> u64 {
        self.next() % n
    }

    pub(super) fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    fn shuffled(&mut self, n: u8) -> Vec<u8> {
        let mut list: Vec<u8> = (0..n).collect();
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i as u64 + 1) as usize);
        }
        list
    }
}

/// A part of so many words, made from one of the table so that its other columns are sound.
fn part(lines: u32, width: u8) -> Part {
    let mut part = parts::find("27C64").unwrap().clone();
    part.name = format!("{}x{width}", 1u32 << lines);
    part.words = 1 << lines;
    part.width = width;
    part.erased = Some(if width == 4 { 0x0F } else { 0xFF });
    part
}

pub(super) fn sockets(chance: &mut Chance, number: u64, slot: &mut u64) -> SocketsSpec {
    let width = [8, 8, 8, 16, 4][chance.below(5) as usize];
    let lines = 3 + chance.below(3) as u8;
    let lanes = [1, 1, 2, 2, 3, 4, 8][chance.below(7) as usize];
    let rows = 1 + chance.below(3);
    let places = lanes * rows as u32;
    let name = |i: u32| match chance_name(number, i) {
        _ if places > 1 && i == 1 && number == 3 => "-".to_owned(),
        name => name,
    };
    let mut spec = SocketsSpec::new(part(lines.into(), width), (0..places).map(name));
    spec.lanes = lanes;
    spec.order = Some(if chance.one_in(2) {
        Order::Little
    } else {
        Order::Big
    });
    if chance.one_in(5) {
        spec.with = Some(0x05);
    }
    if chance.one_in(6) {
        spec.space = "video".into();
    }
    let mut free: Vec<u8> = chance.shuffled(lines);
    for _ in 0..chance.below(3) {
        let level = [Level::Low, Level::High, Level::Any][chance.below(3) as usize];
        spec.tied.push((free.pop().unwrap(), level));
    }
    if chance.one_in(2) {
        // Only lines that are not held can go elsewhere.
        let mut to = free.clone();
        to.sort_unstable_by_key(|line| chance_key(*line, number));
        for (pin, line) in free.iter().zip(to) {
            let inverted = chance.one_in(3);
            spec.wires.push(Wire::Address {
                pin: *pin,
                line,
                inverted,
            });
        }
        for (pin, line) in (0..width).zip(chance.shuffled(width)) {
            let inverted = chance.one_in(4);
            spec.wires.push(Wire::Data {
                pin,
                line,
                inverted,
            });
        }
    }
    let unit = (u64::from(lanes) * u64::from(width)).div_ceil(8);
    for _ in 0..1 + chance.below(3) {
        let window = window(chance, &spec, rows, lines, unit, slot);
        spec.windows.push(window);
    }
    if chance.one_in(3) {
        let at = spec.windows[0].at + unit * chance.below(4);
        let size = unit * (1 + chance.below(3));
        spec.except.extend(AddressRange::from_len(at, size));
    }
    spec
}

fn chance_name(number: u64, i: u32) -> String {
    format!("U{number}.{i}")
}

fn chance_key(line: u8, number: u64) -> u64 {
    u64::from(line).wrapping_mul(7 + 2 * number) % 11
}

fn window(
    chance: &mut Chance,
    spec: &SocketsSpec,
    rows: u64,
    lines: u8,
    unit: u64,
    slot: &mut u64,
) -> WindowSpec {
    let held = spec.tied.len() as u32;
    let own = u32::from(lines) - held;
    let mut window = WindowSpec::default();
    let mut words = rows << own;
    match chance.below(4) {
        0 => {
            // The upper pins on a switch.
            words = 1 << (own - 1).saturating_sub(chance.below(2) as u32);
            let most = (rows.next_power_of_two() << own) / words;
            let first = chance.below(most);
            let last = first + chance.below(most - first);
            window.banks = Some((first, last));
            window.size = Some(words * unit);
            window.from = chance.one_in(2).then_some(0);
        }
        1 => {
            // Named pins on a switch.
            let is_held = |pin: &u8| spec.tied.iter().any(|(own, _)| own == pin);
            let mut pins: Vec<u8> = chance.shuffled(lines);
            pins.retain(|pin| !is_held(pin));
            pins.truncate(1 + chance.below(2) as usize);
            window.switch = pins
                .iter()
                .map(|&pin| SwitchedPin {
                    pin,
                    inverted: chance.one_in(2),
                })
                .collect();
            let first = chance.below(6);
            window.banks = Some((first, first + chance.below(1 << pins.len())));
        }
        2 => {
            // A part of it, at any word.
            let from = chance.below(words);
            window.size = Some((1 + chance.below(words - from)) * unit);
            // In the lines that are not held.
            let mut number = from;
            let mut store = 0;
            for line in 0..lines {
                let level = spec.tied.iter().find(|(own, _)| *own == line);
                let bit = match level {
                    Some((_, level)) => u64::from(*level == Level::High),
                    None => {
                        let bit = number & 1;
                        number >>= 1;
                        bit
                    }
                };
                store |= bit << line;
            }
            window.from = Some((store | number << lines) * unit);
            window.at = (from % (1 << own)) * unit;
        }
        _ if chance.one_in(3) => {
            window.size = Some(words * unit * 2);
            window.mirrored = true;
        }
        _ => {}
    }
    // Each window has a place of its own, but for a few that share one by their banks.
    if window.banks.is_none() || !chance.one_in(3) {
        *slot += 1;
    }
    window.at += *slot * 4096 * unit;
    window
}

/// Where the formula finds a byte of the bus: the chip's place, its pins, and for each of its bits the pin and whether it
/// is inverted.
pub(super) struct Found {
    pub(super) place: usize,
    pub(super) pins: u64,
    pub(super) bits: Vec<(u8, u8, bool)>,
}

/// The formula: which cells have the byte at `offset` of a window.
pub(super) fn formula(
    spec: &SocketsSpec,
    window: &WindowSpec,
    bank: u64,
    offset: u64,
) -> Vec<Found> {
    let part = &spec.part;
    let lanes = u64::from(spec.lanes);
    let rows = spec.names.len() as u64 / lanes;
    let width = u64::from(part.width);
    let unit = (lanes * width).div_ceil(8);
    let lines = part.words.ilog2() as u64;
    let mut all_lines = lines;
    while 1u64 << (all_lines - lines) < rows {
        all_lines += 1;
    }
    let tied = |line: u64| {
        let levels = spec.tied.iter().chain(&window.tied);
        let mut levels = levels.filter(|(pin, _)| u64::from(*pin) == line);
        levels.next().map(|(_, level)| *level)
    };
    // The switch: named pins, or those above what the window goes through.
    let mut switch: Vec<(u64, bool)> = window
        .switch
        .iter()
        .map(|own| (u64::from(own.pin), own.inverted))
        .collect();
    if let (Some((_, last)), true) = (window.banks, switch.is_empty()) {
        let mut through = window.size.unwrap() / unit;
        let mut needed = last;
        for line in 0..all_lines {
            if tied(line).is_some() {
                continue;
            }
            if through > 1 {
                through /= 2;
            } else if needed > 0 {
                switch.push((line, false));
                needed /= 2;
            }
        }
    }
    // Word by word: the number that the free lines count.
    let start = window.from.unwrap_or(0) / unit;
    let mut first = 0;
    let mut free = Vec::new();
    for line in 0..all_lines {
        if tied(line).is_none() && !switch.iter().any(|(own, _)| *own == line) {
            first += (start >> line & 1) << free.len();
            free.push(line);
        }
    }
    let row_lines = free.iter().filter(|line| **line >= lines).count() as u64;
    let count = match row_lines == all_lines - lines {
        true => (1u64 << (free.len() as u64 - row_lines)) * rows,
        false => 1 << free.len(),
    };
    let mut number = (first + offset / unit) % count;
    let mut level = vec![0u64; all_lines as usize];
    for line in &free {
        level[*line as usize] = number % 2;
        number /= 2;
    }
    for (bit, (line, inverted)) in switch.iter().enumerate() {
        level[*line as usize] = (bank >> bit & 1) ^ u64::from(*inverted);
    }
    let mut open = Vec::new();
    for line in 0..lines {
        match tied(line) {
            Some(Level::High) => level[line as usize] = 1,
            Some(Level::Any) => open.push(line),
            _ => {}
        }
    }
    let byte = offset % unit;
    let mut found = Vec::new();
    for levels in 0..1u64 << open.len() {
        for (bit, line) in open.iter().enumerate() {
            level[*line as usize] = levels >> bit & 1;
        }
        let row: u64 = (lines..all_lines)
            .map(|line| level[line as usize] << (line - lines))
            .sum();
        let mut pins = 0;
        for pin in 0..lines {
            let mut value = level[pin as usize];
            for wire in &spec.wires {
                if let Wire::Address {
                    pin: own,
                    line,
                    inverted,
                } = wire
                {
                    if u64::from(*own) == pin {
                        value = level[usize::from(*line)] ^ u64::from(*inverted);
                    }
                }
            }
            pins |= value << pin;
        }
        // Bit b of the bus's byte is line `b + above` of lane `lane`.
        let halves: Vec<(u64, u64, std::ops::Range<u64>)> = match width {
            16 => {
                let upper = (byte % 2 == 1) == (spec.order == Some(Order::Little));
                vec![(byte / 2, if upper { 8 } else { 0 }, 0..8)]
            }
            4 => vec![(byte * 2, 0, 0..4), (byte * 2 + 1, 0, 4..8)],
            _ => vec![(byte, 0, 0..8)],
        };
        for (lane, above, bits) in halves {
            if lane >= lanes {
                continue;
            }
            let mut wired = Vec::new();
            for bit in bits.clone() {
                let line = bit - bits.start + above;
                let mut at = (line as u8, false);
                for wire in &spec.wires {
                    if let Wire::Data {
                        pin,
                        line: own,
                        inverted,
                    } = wire
                    {
                        if u64::from(*own) == line {
                            at = (*pin, *inverted);
                        }
                    }
                }
                wired.push((bit as u8, at.0, at.1));
            }
            found.push(Found {
                place: (row * lanes + lane) as usize,
                pins,
                bits: wired,
            });
        }
    }
    found
}

/// The chips of one description, as words by place.
type Words = Vec<Vec<u16>>;

pub(super) fn file_of(words: &[u16], width: u8) -> Vec<u8> {
    let bytes = words.iter().flat_map(|word| {
        let [low, high] = word.to_le_bytes();
        [Some(low), (width == 16).then_some(high)]
    });
    bytes.flatten().collect()
}

/// What is shown by one window at one bank: space, bank, addresses with their bytes.
type Bus = BTreeMap<(String, Option<u64>), BTreeMap<u64, u8>>;

fn check(specs: &[SocketsSpec], board: &Board, chance: &mut Chance) {
    // The chips hold any bytes where a bus sees them, and filler elsewhere.
    let mut buses: Bus = BTreeMap::new();
    let mut chips: Vec<Words> = Vec::new();
    for spec in specs {
        let count = spec.part.words as usize;
        let filler = spec.with.or(spec.part.erased).unwrap();
        let filler = match spec.part.width {
            16 => u16::from_le_bytes([filler, filler]),
            _ => filler.into(),
        };
        let mut words: Words = spec.names.iter().map(|_| vec![filler; count]).collect();
        // Bits that have been given a value.
        let mut known: Vec<Vec<u16>> = spec.names.iter().map(|_| vec![0; count]).collect();
        let width = spec.part.width;
        let unit = (u64::from(spec.lanes) * u64::from(width)).div_ceil(8);
        for (number, window) in spec.windows.iter().enumerate() {
            let size = {
                let store = board.stores().iter();
                let mut store = store.filter(|s| {
                    s.names()
                        .flatten()
                        .any(|n| spec.names.contains(&n.to_owned()))
                });
                store.next().unwrap().windows()[number].range().len()
            };
            let banks = match window.banks {
                None => vec![None],
                Some((first, last)) => (first..=last).map(Some).collect(),
            };
            for bank in banks {
                for offset in 0..size {
                    let address = window.at + offset;
                    if spec.except.iter().any(|range| range.contains(address)) {
                        continue;
                    }
                    let mut byte = chance.next() as u8;
                    if width == 4 && spec.lanes % 2 == 1 && offset % unit == unit - 1 {
                        byte &= 0x0F;
                    }
                    let found = formula(spec, window, bank.unwrap_or(0), offset);
                    let mut absent = false;
                    // Bits that another window has given stay.
                    for cell in &found {
                        absent |= spec.names[cell.place] == "-";
                        let word = words[cell.place][cell.pins as usize];
                        let known = known[cell.place][cell.pins as usize];
                        for (bit, pin, inverted) in &cell.bits {
                            if known >> pin & 1 == 1 {
                                let value = (word >> pin & 1) as u8 ^ u8::from(*inverted);
                                byte = byte & !(1 << bit) | value << bit;
                            }
                        }
                    }
                    if absent {
                        // Half a byte without a chip would be lost.
                        continue;
                    }
                    for cell in &found {
                        let word = &mut words[cell.place][cell.pins as usize];
                        for (bit, pin, inverted) in &cell.bits {
                            let value = u16::from(byte >> bit & 1) ^ u16::from(*inverted);
                            *word = *word & !(1 << pin) | value << pin;
                            known[cell.place][cell.pins as usize] |= 1 << pin;
                        }
                    }
                    let space = window.space.as_deref().unwrap_or(&spec.space);
                    let bus = buses.entry((space.to_owned(), bank)).or_default();
                    assert!(bus.insert(address, byte).is_none(), "two windows answer");
                    check_cells(board, spec, space, bank, address, &found);
                }
            }
        }
        chips.push(words);
    }
    // There.
    let images: Vec<(String, Option<u64>, Image)> = buses
        .iter()
        .map(|((space, bank), bytes)| (space.clone(), *bank, image(bytes)))
        .collect();
    let programs: Vec<Program> = images
        .iter()
        .map(|(space, bank, image)| Program {
            name: "program",
            image: image.clone(),
            target: Target::Bus {
                space: space.clone(),
                bank: *bank,
            },
        })
        .collect();
    let laid = board
        .lay(programs, Clash::Same, Outside::Refuse)
        .unwrap_or_else(|error| panic!("{error}\n{}", described(specs)));
    assert!(laid.dropped.is_empty());
    check_stretches(specs, board, chance);
    for chip in &laid.chips {
        let spec = &specs[chip.socket.store];
        let place = chip.socket.row * spec.lanes + chip.socket.lane;
        let wanted = file_of(&chips[chip.socket.store][place as usize], spec.part.width);
        let [span] = chip.image.spans() else {
            panic!("a chip with a hole");
        };
        assert_eq!(
            span.bytes(),
            wanted,
            "{:?}\n{}",
            chip.socket,
            described(specs)
        );
    }
    // And back, in any order.
    let mut chips: Vec<(Socket, &Image)> =
        laid.chips.iter().map(|c| (c.socket, &c.image)).collect();
    chips.sort_by_cached_key(|_| chance.next());
    for (space, bank, image) in &images {
        let ranges: Vec<AddressRange> = image.ranges().collect();
        let seen = board.view(&chips, space, *bank, &ranges).unwrap();
        let mut seen = seen;
        seen.keep(&ranges);
        let mut own = image.clone();
        // What is always seen is in no bank's program.
        if bank.is_some() {
            let always = images.iter().find(|(s, b, _)| s == space && b.is_none());
            if let Some((_, _, always)) = always {
                let ranges: Vec<_> = always.ranges().collect();
                own.remove_all(&ranges);
                seen.remove_all(&ranges);
            }
        }
        let differs = own
            .spans()
            .iter()
            .flat_map(|s| s.range().first()..=s.range().last());
        let differs: Vec<String> = differs
            .filter(|at| own.byte(*at) != seen.byte(*at))
            .map(|at| format!("{at:X}: {:?} {:?}", own.byte(at), seen.byte(at)))
            .take(8)
            .collect();
        assert!(
            seen.same_bytes(&own),
            "{space} {bank:?} {differs:?}\n{}",
            described(specs)
        );
    }
    let chips = chips
        .iter()
        .map(|(socket, image)| (*socket, Image::clone(image)));
    let unseated = board.unseat(chips.collect()).unwrap();
    let again: Vec<Program> = unseated
        .seen
        .into_iter()
        .map(|own| Program {
            name: "again",
            image: own.image,
            target: Target::Bus {
                space: own.space,
                bank: own.bank.map(|(bank, _)| bank),
            },
        })
        .collect();
    let again = board.lay(again, Clash::Refuse, Outside::Refuse).unwrap();
    for (one, other) in laid.chips.iter().zip(&again.chips) {
        let differs: Vec<u64> = (0..one.image.len())
            .filter(|at| one.image.byte(*at) != other.image.byte(*at))
            .collect();
        assert!(
            differs.is_empty(),
            "{:?} {differs:?}\n{}",
            one.socket,
            described(specs)
        );
    }
}

/// What a failing board is, in few lines.
pub(super) fn described(specs: &[SocketsSpec]) -> String {
    let line = |spec: &SocketsSpec| {
        let SocketsSpec {
            names,
            lanes,
            order,
            with,
            space,
            windows,
            except,
            tied,
            wires,
            ..
        } = spec;
        let part = &spec.part.name;
        format!(
            "{part} {names:?} {lanes} lanes {order:?} {with:?} {space} {tied:?} {except:?}\n  {windows:?}\n  {wires:?}"
        )
    };
    specs.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn check_cells(
    board: &Board,
    spec: &SocketsSpec,
    space: &str,
    bank: Option<u64>,
    address: u64,
    found: &[Found],
) {
    let Answer::Cells(cells) = board.at(space, bank, address) else {
        panic!(
            "nothing at {address:X}: {}",
            described(std::slice::from_ref(spec))
        );
    };
    let mut wanted: Vec<(usize, u64)> = found.iter().map(|f| (f.place, f.pins)).collect();
    wanted.sort_unstable();
    let pins = |address: u64| match spec.part.width {
        16 => address / 2,
        _ => address,
    };
    let place = |socket: Socket| (socket.row * spec.lanes + socket.lane) as usize;
    let mut has: Vec<(usize, u64)> = cells
        .iter()
        .map(|cell| (place(cell.socket), pins(cell.address)))
        .collect();
    has.sort_unstable();
    assert_eq!(has, wanted, "{address:X}");
    for cell in cells {
        let seen = board.seen(cell.socket, cell.address);
        let is_this = |s: &super::super::Seen| {
            s.space == space && s.address == address && (s.bank == bank || s.bank.is_none())
        };
        assert!(seen.iter().any(is_this), "{cell:?} {seen:?}");
    }
}

/// The stretches that a window shows of a chip, of all its addresses and of some, are those that it shows byte by byte.
fn check_stretches(specs: &[SocketsSpec], board: &Board, chance: &mut Chance) {
    for (socket, name) in board.sockets() {
        let store = &board.stores()[socket.store];
        for window in store.windows() {
            let bank = window.banks().map(|(first, last)| {
                let count = last - first + 1;
                first + chance.below(count)
            });
            let whole = window.range();
            let first = whole.first() + chance.below(whole.len());
            let some = AddressRange::from_len(first, 1 + chance.below(whole.len()));
            let mut hull: Option<AddressRange> = None;
            for bus in [Some(whole), some].into_iter().flatten() {
                let has: Vec<u64> = window
                    .chip_ranges(store, socket, bank, bus)
                    .iter()
                    .flat_map(|range| range.first()..=range.last())
                    .collect();
                let wanted: Vec<u64> = (0..store.part().bytes())
                    .filter(|address| {
                        let seen = board.seen(socket, *address);
                        let seen = seen.iter().filter(|seen| {
                            seen.space == window.space()
                                && seen.bank == bank
                                && bus.contains(seen.address)
                                && whole.contains(seen.address)
                        });
                        for seen in seen.clone() {
                            let one = AddressRange::from_len(seen.address, 1).unwrap();
                            hull = Some(hull.map_or(one, |hull| hull.hull(one)));
                        }
                        seen.count() > 0
                    })
                    .collect();
                // A word whose one byte is seen comes with both.
                let words = |list: &[u64]| -> Vec<u64> {
                    let bytes = u64::from(store.part().width.div_ceil(8));
                    let mut words: Vec<u64> = list.iter().map(|at| at / bytes).collect();
                    words.dedup();
                    words
                };
                let about = format!("{name} {bank:?} {bus:?}\n{}", described(specs));
                assert_eq!(words(&has), words(&wanted), "{about}");
            }
            let range = window.bus_range(store, socket);
            if let Some(hull) = hull {
                let range = range.unwrap();
                assert!(
                    range.covers(hull),
                    "{name} {range} {hull}\n{}",
                    described(specs)
                );
            }
        }
        let seat = super::super::Seat::new(std::sync::Arc::new(board.clone()), socket).unwrap();
        let Some((space, offset)) = seat.offset() else {
            continue;
        };
        for address in 0..seat.part().bytes() {
            for seen in seat.seen(address) {
                assert_eq!(
                    (seen.space, seen.address),
                    (space, address + offset),
                    "{name}"
                );
            }
        }
    }
}

fn image(bytes: &BTreeMap<u64, u8>) -> Image {
    let mut image = Image::new();
    let mut run: Vec<u8> = Vec::new();
    let mut start = 0;
    for (address, byte) in bytes {
        if start + run.len() as u64 != *address && !run.is_empty() {
            let whole = std::mem::take(&mut run);
            image.put(start, whole, Source::Patch).unwrap();
        }
        if run.is_empty() {
            start = *address;
        }
        run.push(*byte);
    }
    image.put(start, run, Source::Patch).unwrap();
    image
}

#[test]
fn every_byte_of_random_boards_is_where_the_formula_says() {
    let thorough = std::env::var_os("ROMLOOM_THOROUGH").is_some();
    let wanted = if thorough { 2000 } else { 150 };
    let mut chance = Chance(14);
    let mut sound = 0;
    let mut tried = 0;
    let mut seen: BTreeMap<&str, u32> = BTreeMap::new();
    while sound < wanted {
        tried += 1;
        let mut slot = 0;
        let count = 1 + chance.below(6);
        let specs: Vec<SocketsSpec> = (0..count)
            .map(|number| sockets(&mut chance, number, &mut slot))
            .collect();
        let Ok(board) = Board::new("", specs.clone()) else {
            assert!(tried < 40 * wanted + 1000, "too few boards are sound");
            continue;
        };
        sound += 1;
        check(&specs, &board, &mut chance);
        for spec in &specs {
            for (what, is_there) in [
                ("x4", spec.part.width == 4),
                ("x16", spec.part.width == 16),
                ("three lanes", spec.lanes == 3),
                ("eight lanes", spec.lanes == 8),
                ("rows", spec.names.len() > spec.lanes as usize),
                ("held", spec.tied.iter().any(|(_, l)| *l != Level::Any)),
                ("open", spec.tied.iter().any(|(_, l)| *l == Level::Any)),
                ("wires", !spec.wires.is_empty()),
                ("except", !spec.except.is_empty()),
                ("video", spec.space != CPU),
                ("from", spec.windows.iter().any(|w| w.from > Some(0))),
                ("banks", spec.windows.iter().any(|w| w.banks.is_some())),
                ("switch", spec.windows.iter().any(|w| !w.switch.is_empty())),
                ("mirrored", spec.windows.iter().any(|w| w.mirrored)),
                ("windows", spec.windows.len() > 1),
            ] {
                *seen.entry(what).or_default() += u32::from(is_there);
            }
        }
    }
    assert_eq!(seen.len(), 15);
    for (what, count) in seen {
        assert!(count as u64 >= wanted / 20, "{what}: only {count} boards");
    }
}
