//! Stretches of a bus that the map draws as one bar each.

use super::canvas::BarSpan;
use super::chip::SheetChip;
use super::socket::bus_bits;
use super::words::said;
use crate::board::{CPU, Seat, Socket, Store, Window};
use crate::cli::report::places::{bank_word, bus_word};
use crate::image::AddressRange;

/// A window keeps at least this share of the bar that it is drawn in.
const SMALLEST: u64 = 20;

/// A window as it shows one chip of the sheet.
#[derive(Clone, Copy)]
pub(super) struct ShownChip<'b> {
    pub socket: Socket,
    pub store: &'b Store,
    pub window: &'b Window,
    /// Where on the bus it shows the chip.
    pub range: AddressRange,
}

/// Windows of one bus that are near each other.
pub(super) struct BusPart<'b> {
    pub space: String,
    /// From the first address of the windows to the last.
    pub range: AddressRange,
    shown: Vec<ShownChip<'b>>,
    /// The sockets whose chips are drawn below it: no other stretch shows more of them.
    drawn: Vec<Socket>,
    /// Where else these chips are seen, on which bus.
    also: Vec<(String, AddressRange)>,
}

/// A range of a bus in which a switch decides what is seen.
pub(super) struct SwitchedBlock {
    pub range: AddressRange,
    /// The lowest bank and the highest.
    banks: (u64, u64),
    by: String,
}

/// The stretches of the buses of these chips' board, each with chips below it: bus by bus, the lowest first.
pub(super) fn bus_parts<'b>(chips: &[&'b SheetChip]) -> Vec<BusPart<'b>> {
    let seats = chips.iter().filter_map(|chip| chip.seat);
    let mut all: Vec<ShownChip> = seats.flat_map(shown).collect();
    // The CPU's bus first.
    let key = |shown: &ShownChip<'b>| {
        let window = shown.window;
        let space = window.space();
        (space != CPU, space, window.range().first())
    };
    all.sort_by(|one, other| key(one).cmp(&key(other)));
    let mut out: Vec<BusPart> = Vec::new();
    let mut smallest = 0;
    for shown in all {
        let own = shown.window.range();
        match out.last_mut() {
            Some(last) if last.space == shown.window.space() && near(last.range, own, smallest) => {
                last.range = last.range.hull(own);
                smallest = smallest.min(own.len());
                last.shown.push(shown);
            }
            _ => {
                smallest = own.len();
                out.push(BusPart {
                    space: shown.window.space().to_owned(),
                    range: own,
                    shown: vec![shown],
                    drawn: Vec::new(),
                    also: Vec::new(),
                });
            }
        }
    }
    // Each chip is drawn once, below the stretch that shows most of it; of equal ones below the first.
    for seat in chips.iter().filter_map(|chip| chip.seat) {
        let most = |stretch: &BusPart| stretch.of(seat).map(|s| s.range.len()).sum::<u64>();
        let widest = out.iter().map(most).max().filter(|most| *most > 0);
        let own = out.iter().position(|stretch| Some(most(stretch)) == widest);
        let Some(own) = own else { continue };
        out[own].drawn.push(seat.socket());
        let also: Vec<(String, AddressRange)> = (0..out.len())
            .filter(|i| *i != own)
            .flat_map(|i| out[i].of(seat).map(|shown| shown.window))
            .map(|window| (window.space().to_owned(), window.range()))
            .collect();
        for place in also {
            if !out[own].also.contains(&place) {
                out[own].also.push(place);
            }
        }
    }
    out.retain(|stretch| !stretch.drawn.is_empty());
    out
}

/// The windows that show a chip.
fn shown(seat: &Seat) -> impl Iterator<Item = ShownChip<'_>> {
    let (store, socket) = (seat.store(), seat.socket());
    store.windows().iter().filter_map(move |window| {
        Some(ShownChip {
            socket,
            store,
            window,
            range: window.bus_range(store, socket)?,
        })
    })
}

/// Whether a window can be drawn in the bar of a stretch whose smallest window has this many bytes.
fn near(range: AddressRange, own: AddressRange, smallest: u64) -> bool {
    let touches = range.last().saturating_add(1) >= own.first();
    let smallest = smallest.min(own.len());
    touches || range.hull(own).len() / SMALLEST <= smallest
}

impl<'b> BusPart<'b> {
    /// The windows here that show this chip.
    pub fn of(&self, seat: &Seat) -> impl Iterator<Item = &ShownChip<'b>> {
        let socket = seat.socket();
        self.shown.iter().filter(move |s| s.socket == socket)
    }

    /// Whether the chip is drawn below this stretch.
    pub fn has(&self, chip: &SheetChip) -> bool {
        chip.seat.is_some_and(|s| self.drawn.contains(&s.socket()))
    }

    /// The place of a range in the bar.
    pub fn span(&self, range: AddressRange) -> BarSpan {
        let of = self.range.len();
        BarSpan {
            from: BarSpan::WHOLE.at(range.first().saturating_sub(self.range.first()), of),
            to: BarSpan::WHOLE.at(range.last() - self.range.first() + 1, of),
        }
    }

    /// Rows of sockets, where all are of one kind; 1 otherwise.
    pub fn rows(&self) -> u64 {
        match &self.shown[..] {
            [first, rest @ ..] if rest.iter().all(|s| std::ptr::eq(s.window, first.window)) => {
                first.store.rows()
            }
            _ => 1,
        }
    }

    /// `16 bits, 2 lanes, 2 rows` if everything is of one kind, otherwise the widths.
    pub fn bits(&self) -> String {
        let mut stores: Vec<&Store> = Vec::new();
        for shown in &self.shown {
            if !stores.iter().any(|own| std::ptr::eq(*own, shown.store)) {
                stores.push(shown.store);
            }
        }
        let [store] = stores[..] else {
            let mut bits: Vec<u64> = stores.iter().map(|store| bus_bits(store)).collect();
            bits.sort_unstable();
            bits.dedup();
            let bits: Vec<String> = bits.iter().map(u64::to_string).collect();
            return format!("{} bits", bits.join(" and "));
        };
        let mut words = vec![format!("{} bits", bus_bits(store))];
        if store.lanes() > 1 {
            words.push(format!("{} lanes", store.lanes()));
        }
        if store.rows() > 1 {
            words.push(format!("{} rows", store.rows()));
        }
        if self.shown.iter().any(|s| s.window.is_mirrored()) {
            words.push("mirrored".into());
        }
        words.join(", ")
    }

    /// Where a switch decides what is seen: windows of one range as one block.
    pub fn blocks(&self) -> Vec<SwitchedBlock> {
        let mut out: Vec<SwitchedBlock> = Vec::new();
        for shown in &self.shown {
            let Some((first, last)) = shown.window.banks() else {
                continue;
            };
            let range = shown.window.range();
            match out.iter_mut().find(|block| block.range == range) {
                Some(block) => {
                    block.banks = (block.banks.0.min(first), block.banks.1.max(last));
                    if block.by.is_empty() {
                        block.by = shown.window.by().into();
                    }
                }
                None => out.push(SwitchedBlock {
                    range,
                    banks: (first, last),
                    by: shown.window.by().into(),
                }),
            }
        }
        out
    }

    /// What switches, where else the chips are seen, and where they are not.
    pub fn notes(&self, w: usize) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        for block in self.blocks() {
            let by = match block.by.is_empty() {
                true => String::new(),
                false => format!(", by {}", block.by),
            };
            out.push(format!("{} at {}{by}", block.words(), said(block.range, w)));
        }
        for (space, range) in &self.also {
            let range = said(*range, w);
            out.push(match *space == self.space {
                true => format!("also at {range}"),
                false => format!("also at {} {range}", bus_word(space)),
            });
        }
        for shown in &self.shown {
            for range in shown.window.except() {
                let line = format!("something else at {}", said(*range, w));
                if !out.contains(&line) {
                    out.push(line);
                }
            }
        }
        let counts = |shown: &ShownChip| shown.store.word_bytes() > 1;
        if self.space != CPU && self.shown.iter().any(counts) {
            out.push("addresses count bytes".into());
        }
        out
    }
}

impl SwitchedBlock {
    /// `banks 0-31`.
    pub fn words(&self) -> String {
        let noun = bank_word(&self.by);
        match self.banks {
            (first, last) if first == last => format!("{noun} {first}"),
            (first, last) => format!("{noun}s {first}-{last}"),
        }
    }
}
