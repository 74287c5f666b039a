//! Where buses see a chip, as reports say it.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::style::safe_char;
use crate::board::hw::{CPU, Level, Seat, Window};
use crate::image::AddressRange;
use crate::prose::plural;

/// Stretches of a chip named in a line; more are only counted.
const MOST_STRETCHES: usize = 4;

/// A window of a bus as it shows one chip.
#[derive(Clone, Debug, Serialize)]
pub struct Place {
    /// The bus: `cpu`, or a name of its own.
    pub space: String,
    /// Bus addresses, from the first word that the chip gives a part of to the last.
    pub range: RangeView,
    /// The banks in which the window answers; nothing where it always does.
    pub banks: Option<RangeView>,
    /// What switches it, in words.
    pub by: String,
    /// Addresses of the chip that it shows, in whichever bank.
    pub chip: Vec<RangeView>,
    /// Whether it shows the same bytes more than once.
    pub mirrored: bool,
    /// Address pins that are held, such as `A15=1`, or `A15=any` for an open one.
    pub tied: Vec<String>,
    /// Bus addresses where something else answers.
    pub except: Vec<RangeView>,
}

impl Place {
    /// All places of a chip, in the order of its board.
    pub fn of(seat: &Seat) -> Vec<Self> {
        let windows = seat.store().windows().iter();
        windows.filter_map(|w| Self::new(seat, w)).collect()
    }

    fn new(seat: &Seat, window: &Window) -> Option<Self> {
        let range = window.bus_range(seat.store(), seat.socket())?;
        let tied = window.tied();
        let tied = tied.iter().map(|(pin, level)| match level {
            Level::Low => format!("A{pin}=0"),
            Level::High => format!("A{pin}=1"),
            Level::Any => format!("A{pin}=any"),
        });
        Some(Self {
            space: window.space().into(),
            range: range.into(),
            banks: window
                .banks()
                .map(|(first, last)| RangeView { first, last }),
            by: window.by().chars().map(safe_char).collect(),
            chip: in_chip(seat, window)
                .into_iter()
                .map(RangeView::from)
                .collect(),
            mirrored: window.is_mirrored(),
            tied: tied.collect(),
            except: window.except().iter().map(|r| (*r).into()).collect(),
        })
    }

    /// `CPU`, or the bus's own name.
    pub(super) fn bus(&self) -> &str {
        bus_word(&self.space)
    }

    /// `banks 0 to 31, by register 0x20`; nothing where it always answers.
    pub(super) fn banks_in_words(&self) -> Option<String> {
        let banks = self.banks?;
        let noun = bank_word(&self.by);
        let mut text = match banks.first == banks.last {
            true => format!("{noun} {}", banks.first),
            false => format!("{noun}s {} to {}", banks.first, banks.last),
        };
        if !self.by.is_empty() {
            text += &format!(", by {}", self.by);
        }
        Some(text)
    }

    /// `A15 tied to 1`, `the same for both levels of A14`.
    pub(super) fn ties_in_words(&self) -> Vec<String> {
        let ties = self.tied.iter().filter_map(|tie| tie.split_once('='));
        ties.map(|(pin, level)| match level {
            "any" => format!("the same for both levels of {pin}"),
            level => format!("{pin} tied to {level}"),
        })
        .collect()
    }

    /// Whether there is nothing to say but where it begins.
    fn is_plain(&self) -> bool {
        self.banks.is_none() && !self.mirrored && self.tied.is_empty() && self.except.is_empty()
    }
}

/// What a map says of a chip's places besides where it begins: a line for each window, for what is held, and for what
/// something else answers. Nothing of a chip that one window always shows.
pub(super) fn lines(seat: &Seat, places: &[Place]) -> Vec<String> {
    const MOST: usize = 8;
    let last = places.iter().map(|place| place.range.last).max();
    let w = address_width(last.unwrap_or(0));
    let c = address_width(seat.part().bytes().saturating_sub(1));
    let mut out: Vec<String> = Vec::new();
    let mut add = |line: String| {
        if !out.contains(&line) {
            out.push(line);
        }
    };
    if let [place] = places {
        if place.banks.is_some() {
            add(window_line(place, w, c));
        }
    } else {
        places
            .iter()
            .take(MOST)
            .for_each(|place| add(window_line(place, w, c)));
        if let Some(more) = places.len().checked_sub(MOST).filter(|n| *n > 0) {
            add(format!("and {}", plural(more as u64, "more window")));
        }
    }
    for place in places.iter().filter(|place| !place.is_plain()).take(MOST) {
        let bus = place.bus();
        if !place.tied.is_empty() {
            add(place.ties_in_words().join(", "));
        }
        if place.mirrored {
            let RangeView { first, last } = place.range;
            add(format!("mirrored in {bus} {first:0w$X}-{last:0w$X}"));
        }
        if !place.except.is_empty() {
            let except = ranges_in_words(&place.except, w);
            add(format!("something else at {bus} {except}"));
        }
    }
    let counts_bytes = |place: &Place| place.space != CPU && seat.store().word_bytes() > 1;
    if let Some(place) = places.iter().find(|place| counts_bytes(place)) {
        add(format!("addresses of {} count bytes", place.bus()));
    }
    out
}

fn window_line(place: &Place, w: usize, c: usize) -> String {
    let RangeView { first, last } = place.range;
    let chip = ranges_in_words(&place.chip, c);
    let mut line = format!("{} {first:0w$X}-{last:0w$X} shows {chip}", place.bus());
    if let Some(banks) = place.banks_in_words() {
        line += &format!(", {banks}");
    }
    line
}

/// `0000-1FFF 4000-5FFF`, and how many more.
pub(super) fn ranges_in_words(ranges: &[RangeView], w: usize) -> String {
    let shown = ranges.iter().take(MOST_STRETCHES);
    let mut words: Vec<String> = shown
        .map(|RangeView { first, last }| format!("{first:0w$X}-{last:0w$X}"))
        .collect();
    if ranges.len() > MOST_STRETCHES {
        words.push(format!("and {} more", ranges.len() - MOST_STRETCHES));
    }
    words.join(" ")
}

/// The addresses of a chip that a window shows in whichever bank, lowest first.
pub(super) fn in_chip(seat: &Seat, window: &Window) -> Vec<AddressRange> {
    let Some((first, last)) = window.banks() else {
        return seat.shown(window, None);
    };
    // More positions than the switch's lines tell apart show the same again.
    let different = 1usize << window.switched(first).len().min(20);
    let mut all: Vec<AddressRange> = (first..=last)
        .take(different)
        .flat_map(|bank| seat.shown(window, Some(bank)))
        .collect();
    all.sort_unstable();
    all.dedup_by(|next, last| {
        let touch = next.first() <= last.last().saturating_add(1);
        if touch {
            *last = last.hull(*next);
        }
        touch
    });
    all
}

/// What a bus is called in reports.
pub(super) fn bus_word(space: &str) -> &str {
    match space {
        CPU => "CPU",
        other => other,
    }
}

/// What a switch's states are called: those of one that a hand sets are positions, those of a register are banks.
pub(super) fn bank_word(by: &str) -> &'static str {
    let by = by.to_lowercase();
    match ["switch", "jumper", "link"].iter().any(|w| by.contains(w)) {
        true => "position",
        false => "bank",
    }
}
