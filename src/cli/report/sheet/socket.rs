//! What a card says of a chip's socket: its data lines, where buses see it, what is in which bank.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::words::{safe, said, short_start};
use crate::board::{CPU, Seat, Store, Window, Wire};
use crate::cli::report::address::{RangeView, address_width};
use crate::cli::report::places::{POSITION, SeatPlace, bank_word, bus_word, ranges_in_words};
use crate::image::{AddressRange, Image};
use crate::prose::plural;
use crate::sums::Order;

/// Banks in a table; more are only counted.
const MOST_BANKS: usize = 64;
/// With more rows the table has three columns on paper, otherwise two.
const MOST_IN_TWO_COLUMNS: usize = 12;
/// Letters of what a bank contains.
const MOST_LETTERS: usize = 28;
/// What a bank without data contains.
const NOTHING: &str = "nothing";
/// The order of the two bytes of a word in a file for a programmer.
pub(super) const FILE_ORDER: &str = "the file has D0-D7 first, then D8-D15";

/// The socket among a card's facts.
pub(super) fn socket(chip: &SheetChip, seat: &Seat) -> Markup {
    let store = seat.store();
    let is_named_so = seat.name().to_lowercase() == chip.name.to_lowercase();
    let wires: Vec<String> = store.wires().into_iter().map(wire).collect();
    html! {
        @if !is_named_so { dt { "Socket" } dd { (safe(seat.name())) } }
        @if bus_bits(store) > 8 || store.part().width < 8 {
            dt { "Data lines" } dd { (data_lines(store, seat.socket().lane)) }
        }
        @if store.part().width == 16 { dt { "Words" } dd { (word_order(store)) } }
        @for place in SeatPlace::of(seat) { (this_place(chip, seat, &place)) }
        @if let Some(step) = chip.rearranged_by {
            dt { "Order" } dd { "as " code { (step) } " left it: no longer what the CPU sees" }
        }
        @if !wires.is_empty() { dt { "Wires" } dd { (wires.join(", ")) } }
        @if !store.note().is_empty() { dt { "Note" } dd { (safe(store.note())) } }
    }
}

/// One place: the bus's addresses, and what of the chip they show where that is not all of it.
fn this_place(chip: &SheetChip, seat: &Seat, place: &SeatPlace) -> Markup {
    let store = seat.store();
    let w = address_width(place.range.last);
    let c = address_width(seat.part().bytes().saturating_sub(1));
    let whole = RangeView {
        first: 0,
        last: seat.part().bytes().saturating_sub(1),
    };
    let part = (place.chip != [whole] || !place.tied.is_empty()) && chip.rearranged_by.is_none();
    let (any, held): (Vec<&str>, Vec<&str>) = place
        .tied
        .iter()
        .map(String::as_str)
        .partition(|tie| tie.ends_with("=any"));
    let open: Vec<&str> = any.iter().filter_map(|tie| tie.split('=').next()).collect();
    html! {
        dt { (place.bus()) }
        dd {
            code { (said(place.range, w)) }
            @if store.lanes() > 1 { ", lane " (seat.socket().lane) " of " (store.lanes()) }
            @if store.rows() > 1 { ", row " (seat.socket().row) " of " (store.rows()) }
            @if let Some(banks) = place.banks_in_words() { ", " (banks) }
            @if place.mirrored { ", mirrored: the same bytes more than once" }
            @if !place.except.is_empty() {
                "; something else at " code { (ranges_in_words(&place.except, w)) }
            }
            @if place.space != CPU && store.word_bytes() > 1 { "; addresses count bytes" }
        }
        @if part {
            dt { "In the chip" }
            dd {
                code { (ranges_in_words(&place.chip, c)) }
                @if !held.is_empty() { " with " (held.join(" ")) }
                @if !open.is_empty() {
                    @if held.is_empty() { ", " } @else { " and " }
                    "the same bytes for both levels of " (open.join(" "))
                }
            }
        }
    }
}

/// `A0 has A3`.
fn wire(wire: Wire) -> String {
    let (pin, line) = wire.names();
    format!("{pin} has {line}")
}

/// Bits of the bus that all lanes make together.
pub(super) fn bus_bits(store: &Store) -> u64 {
    u64::from(store.lanes()) * u64::from(store.part().width)
}

/// The data lines of a socket: little- and big-endian buses number the lanes from opposite ends.
fn data_lines(store: &Store, lane: u32) -> Markup {
    let width = u64::from(store.part().width);
    let lanes = u64::from(store.lanes());
    let lane = u64::from(lane);
    let named = |lane: u64| format!("D{}-D{}", lane * width, lane * width + width - 1);
    if store.order_is_said() || lanes == 1 || width * lanes == 8 {
        let (first, last) = store.data_lines(lane as u32);
        return html! { "D" (first) "-D" (last) };
    }
    if width == 4 {
        let half = if lane % 2 == 0 { "low" } else { "high" };
        return html! { "the " (half) " four bits of byte " (lane / 2) " of " (store.word_bytes()) };
    }
    let (little, big) = (named(lane), named(lanes - 1 - lane));
    // Which processor people know for a bus of this width.
    let (big_cpu, little_cpu) = match (width, bus_bits(store)) {
        (_, 16) => ("on a 68000", "on an 8086"),
        (8 | 16, 32) => ("on a 68020", "on an 80386"),
        _ => ("on a big-endian bus", "on a little-endian bus"),
    };
    html! { b { (big) } " " (big_cpu) ", " b { (little) } " " (little_cpu) }
}

/// How the two bytes of a word are in the file and on the bus.
fn word_order(store: &Store) -> String {
    let even = match store.order() {
        Order::Little => "D0-D7",
        Order::Big => "D8-D15",
    };
    format!("{FILE_ORDER}; on the bus {even} have the even address")
}

/// A bank of a window that shows the chip, or several empty ones one after another.
struct BankRow<'b> {
    window: &'b Window,
    bank: u64,
    last: u64,
    chip: Vec<AddressRange>,
    holds: String,
}

impl<'b> BankRow<'b> {
    fn new(window: &'b Window, bank: u64, chip: Vec<AddressRange>, image: &Image) -> Self {
        Self {
            window,
            bank,
            last: bank,
            holds: holds(image, &chip),
            chip,
        }
    }

    /// Adds the next bank if both are empty and its bytes follow; otherwise gives it back.
    fn take_in(&mut self, next: Self) -> Option<Self> {
        let follows = match (&mut self.chip[..], &next.chip[..]) {
            ([.., own], [other]) if own.last().checked_add(1) == Some(other.first()) => {
                Some((own, other))
            }
            _ => None,
        };
        let is_empty = self.holds == NOTHING && next.holds == NOTHING;
        let one_window = std::ptr::eq(self.window, next.window) && self.last + 1 == next.bank;
        match follows {
            Some((own, other)) if is_empty && one_window => {
                *own = own.hull(*other);
                self.last = next.bank;
                None
            }
            _ => Some(next),
        }
    }
}

/// What is in which bank; nothing for a chip that no switch concerns.
pub(super) fn bank_table(chip: &SheetChip, seat: &Seat) -> Markup {
    let mut rows: Vec<BankRow> = Vec::new();
    let mut left = 0;
    let windows = seat.store().windows().iter();
    for window in windows {
        // Each position that a hand sets has its row.
        let is_set_by_hand = bank_word(window.by()) == POSITION;
        for bank in window
            .banks()
            .into_iter()
            .flat_map(|(first, last)| first..=last)
        {
            let shown = seat.shown(window, Some(bank));
            if shown.is_empty() {
                continue;
            }
            let row = BankRow::new(window, bank, shown, chip.image);
            let row = match rows.last_mut() {
                Some(last) if !is_set_by_hand => last.take_in(row),
                _ => Some(row),
            };
            match row {
                Some(_) if rows.len() >= MOST_BANKS => left += 1,
                row => rows.extend(row),
            }
        }
    }
    rows.sort_by_key(|row| row.bank);
    let Some(first) = rows.first() else {
        return html! {};
    };
    let noun = bank_word(first.window.by());
    // A register sets its pins without help; the levels of a switch are for a hand.
    let mut pins: Vec<u8> = Vec::new();
    if noun == POSITION {
        let set = rows.iter().flat_map(|row| row.window.switched(row.bank));
        pins.extend(set.map(|(pin, _)| pin));
        pins.retain(|pin| *pin < seat.part().address_lines());
        pins.sort_unstable();
        pins.dedup();
        pins.reverse();
    }
    let level = |row: &BankRow, pin: u8| {
        let set = row.window.switched(row.bank);
        let level = set.iter().find(|(own, _)| *own == pin);
        level.map_or("-", |(_, high)| if *high { "1" } else { "0" })
    };
    let levels = |row: &BankRow| -> String {
        let levels: Vec<&str> = pins.iter().map(|pin| level(row, *pin)).collect();
        levels.join(" ")
    };
    let names: Vec<String> = pins.iter().map(|pin| format!("A{pin}")).collect();
    let place = |row: &BankRow| (row.window.space().to_owned(), row.window.range());
    let one_window = rows.iter().all(|row| place(row) == place(first));
    let highest = rows.iter().map(|row| row.window.range().last()).max();
    let w = address_width(highest.unwrap_or(0));
    let c = address_width(seat.part().bytes().saturating_sub(1));
    let ranges = |ranges: &[AddressRange]| {
        let ranges: Vec<RangeView> = ranges.iter().map(|r| (*r).into()).collect();
        ranges_in_words(&ranges, c)
    };
    html! {
        div class=(if rows.len() > MOST_IN_TWO_COLUMNS { "banks many" } else { "banks" }) {
        h3 { @if noun == POSITION { "Switch" } @else { "Banks" } }
        table {
            thead {
                tr {
                    th { @if noun == POSITION { "Position" } @else { "Bank" } }
                    @if !pins.is_empty() { th { (names.join(" ")) } }
                    th { "Chip" } @if !one_window { th { "Seen at" } } th { "Content" }
                }
            }
            tbody {
                @for row in &rows {
                    tr {
                        td { (row.bank) @if row.last > row.bank { "-" (row.last) } }
                        @if !pins.is_empty() { td { (levels(row)) } }
                        td { code { (ranges(&row.chip)) } " " }
                        @if !one_window {
                            td { (bus_word(row.window.space())) " " code { (said(row.window.range(), w)) } }
                        }
                        td { (short_start(&row.holds, MOST_LETTERS)) }
                    }
                }
            }
        }
        @if left > 0 { p.small { "And " (plural(left, &format!("more {noun}"))) "." } }
        @if one_window {
            p.small {
                @if first.window.space() == CPU { "The CPU" } @else { "The bus " (safe(first.window.space())) }
                " sees each at " code { (said(first.window.range(), w)) } "."
            }
        }
        }
    }
}

/// What is in a part of the chip: its origins, filler left out.
fn holds(image: &Image, ranges: &[AddressRange]) -> String {
    const MOST: usize = 6;
    let mut names: Vec<String> = Vec::new();
    for run in ranges.iter().flat_map(|r| image.origins().within(*r)) {
        let name = run.source.to_string();
        if !run.source.is_filler() && !names.contains(&name) {
            names.push(name);
        }
        if names.len() > MOST {
            names[MOST] = "more".into();
            break;
        }
    }
    match names.is_empty() {
        true => NOTHING.into(),
        false => names.join(", "),
    }
}
