//! Where buses see a chip, in the words of reports.

use serde::Serialize;

use super::address::{RangeView, address_width};
use super::style::safe_char;
use crate::board::{CPU, Level, Seat, Window};
use crate::prose::plural;

/// Stretches of a chip named in a line; more are only counted.
const MOST_STRETCHES: usize = 4;
/// The name for the states of a switch that a hand sets.
pub(super) const POSITION: &str = "position";

/// A window of a bus as it shows one chip.
#[derive(Clone, Debug, Serialize)]
pub struct SeatPlace {
    /// The bus: `cpu`, or a name of its own.
    pub space: String,
    /// Bus addresses, from the first word that the chip gives a part of to the last.
    pub range: RangeView,
    /// The banks in which the window answers; nothing where it always does.
    pub banks: Option<RangeView>,
    /// What switches it, in words.
    pub by: String,
    /// Addresses of the chip that it shows, in any bank.
    pub chip: Vec<RangeView>,
    /// Whether it shows the same bytes more than once.
    pub mirrored: bool,
    /// Address pins that are held, such as `A15=1`, or `A15=any` for an open one.
    pub tied: Vec<String>,
    /// Bus addresses where something else answers.
    pub except: Vec<RangeView>,
}

impl SeatPlace {
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
            chip: seat
                .ever_shown(window)
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
        self.banks.map(|banks| banks_in_words(&[banks], &self.by))
    }

    /// `A15 tied to 1`, `the same for both levels of A13 and A14`.
    pub(super) fn ties_in_words(&self) -> Vec<String> {
        let ties = self.tied.iter().filter_map(|tie| tie.split_once('='));
        let (open, tied): (Vec<_>, Vec<_>) = ties.partition(|(_, level)| *level == "any");
        let tied = tied
            .iter()
            .map(|(pin, level)| format!("{pin} tied to {level}"));
        let mut out: Vec<String> = tied.collect();
        let open: Vec<&str> = open.iter().map(|(pin, _)| *pin).collect();
        if let [others @ .., last] = &open[..] {
            let others = match others {
                [] => String::new(),
                others => others.join(", ") + " and ",
            };
            out.push(format!("the same for both levels of {others}{last}"));
        }
        out
    }
}

/// What a map says of a chip's places in addition to where it begins: a line for each window, for pins that are held, and for
/// places where something else answers. Nothing for a chip that one window always shows.
pub(super) fn remarks(seat: &Seat, places: &[SeatPlace]) -> Vec<String> {
    const MOST: usize = 8;
    let last = places.iter().map(|place| place.range.last).max();
    let w = address_width(last.unwrap_or(0));
    let c = address_width(seat.part().bytes().saturating_sub(1));
    let mut out: Vec<String> = Vec::new();
    let windows = windows(places);
    if places.len() > 1 || places.iter().any(|place| place.banks.is_some()) {
        let shown = windows.iter().take(MOST);
        out.extend(shown.map(|same| window_line(same, w, c)));
        if windows.len() > MOST {
            let more = (windows.len() - MOST) as u64;
            out.push(format!("and {}", plural(more, "more window")));
        }
    }
    let mut add = |line: String| {
        if !out.contains(&line) {
            out.push(line);
        }
    };
    for place in places.iter().take(MOST) {
        let bus = place.bus();
        if !place.tied.is_empty() {
            add(place.ties_in_words().join(", "));
        }
        if place.mirrored {
            add(format!("mirrored in {bus} {}", place.range.text(w)));
        }
        if !place.except.is_empty() {
            let except = ranges_in_words(&place.except, w);
            add(format!("something else at {bus} {except}"));
        }
    }
    let counts_bytes = |place: &&SeatPlace| place.space != CPU && seat.store().word_bytes() > 1;
    if let Some(place) = places.iter().find(counts_bytes) {
        add(format!("addresses of {} count bytes", place.bus()));
    }
    out
}

/// Places by the window that they are seen in: those that one switch shows at the same addresses together.
fn windows(places: &[SeatPlace]) -> Vec<Vec<&SeatPlace>> {
    let mut out: Vec<Vec<&SeatPlace>> = Vec::new();
    let key = |place: &SeatPlace| {
        (
            place.space.clone(),
            place.range,
            place.by.clone(),
            place.banks.is_some(),
        )
    };
    for place in places {
        match out.iter_mut().find(|same| key(same[0]) == key(place)) {
            Some(same) => same.push(place),
            None => out.push(vec![place]),
        }
    }
    out
}

/// `CPU 4000-5FFF shows chip 00000-3FFFF, banks 0 to 31, by register 0x20`.
fn window_line(places: &[&SeatPlace], w: usize, c: usize) -> String {
    let all = places.iter().flat_map(|place| &place.chip);
    let chip = ranges_in_words(&touching(all.copied().collect()), c);
    let mut line = format!("{} {}", places[0].bus(), places[0].range.text(w));
    line += &format!(" shows chip {chip}");
    let banks: Vec<RangeView> = places.iter().filter_map(|place| place.banks).collect();
    if !banks.is_empty() {
        line += &format!(", {}", banks_in_words(&banks, &places[0].by));
    }
    line
}

/// `banks 0 to 31, by register 0x20`.
pub(super) fn banks_in_words(banks: &[RangeView], by: &str) -> String {
    let banks = touching(banks.to_vec());
    let noun = bank_word(by);
    let words: Vec<String> = banks
        .iter()
        .map(|RangeView { first, last }| match first == last {
            true => first.to_string(),
            false => format!("{first} to {last}"),
        })
        .collect();
    let one = matches!(banks[..], [RangeView { first, last }] if first == last);
    let ending = if one { "" } else { "s" };
    let mut text = format!("{noun}{ending} {}", words.join(", "));
    if !by.is_empty() {
        text += &format!(", by {by}");
    }
    text
}

/// Ranges in order, those that touch as one.
fn touching(mut ranges: Vec<RangeView>) -> Vec<RangeView> {
    ranges.sort_unstable_by_key(|range| (range.first, range.last));
    ranges.dedup_by(|next, last| {
        let touch = next.first <= last.last.saturating_add(1);
        if touch {
            last.last = last.last.max(next.last);
        }
        touch
    });
    ranges
}

/// `0000-1FFF 4000-5FFF`, and how many more.
pub(super) fn ranges_in_words(ranges: &[RangeView], w: usize) -> String {
    let shown = ranges.iter().take(MOST_STRETCHES);
    let mut words: Vec<String> = shown.map(|range| range.text(w)).collect();
    if ranges.len() > MOST_STRETCHES {
        words.push(format!("and {} more", ranges.len() - MOST_STRETCHES));
    }
    words.join(" ")
}

/// The name of a bus in reports.
pub(super) fn bus_word(space: &str) -> &str {
    match space {
        CPU => "CPU",
        other => other,
    }
}

/// The name for a switch's states: those that a hand sets are positions, those of a register are banks.
pub(super) fn bank_word(by: &str) -> &'static str {
    let by = by.to_lowercase();
    match ["switch", "jumper", "link"].iter().any(|w| by.contains(w)) {
        true => POSITION,
        false => "bank",
    }
}
