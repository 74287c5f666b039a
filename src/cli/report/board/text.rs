//! A board as text: one fact a line, so that narrow terminals show it too.

use super::view::{BoardReport, BusView, ShownView, SocketView, WindowView};
use crate::cli::report::address::{RangeView, address_width};
use crate::cli::report::style::{Style, safe_char, size_text, thousands};
use crate::cli::report::{Report, plural};

/// Stretches of one window, banks of one switch and ranges of one chip that are told; the rest is counted.
const FEW: usize = 6;

impl Report for BoardReport {
    const STEP: &'static str = "board";

    fn text(&self, style: Style) -> String {
        let mut out = String::new();
        if !self.title.is_empty() {
            out += &format!("{}\n\n", style.strong(&safe(&self.title)));
        }
        for bus in &self.buses {
            self.bus(bus, style, &mut out);
            out.push('\n');
        }
        out += &format!("{}\n", style.strong("sockets"));
        let width = self.sockets.iter().map(|s| s.name.chars().count()).max();
        let width = width.unwrap_or(0).min(16);
        for socket in &self.sockets {
            told(socket, width, style, &mut out);
        }
        let all_seen = self.sockets.iter().all(|s| s.unseen_bytes == Some(0));
        if all_seen {
            out += "Every byte of every chip is seen.\n";
        }
        out
    }
}

impl BoardReport {
    fn bus(&self, bus: &BusView, style: Style, out: &mut String) {
        let w = address_width(bus.range.last);
        *out += &format!("{}\n", style.strong(&format!("bus {}", bus.space)));
        let indent = 2 * w + 3;
        let mut nothing = bus.nothing.iter().peekable();
        for window in &bus.windows {
            while let Some(range) = nothing.next_if(|range| range.first < window.range.first) {
                let empty = format!("nothing answers, {}", amount(len(*range)));
                *out += &format!("{}  {}\n", range.text(w), style.faint(&empty));
            }
            let names = listed(&window.sockets);
            let lines = style.fill(indent, indent, &names);
            *out += &format!("{}  {}\n", window.range.text(w), style.strong(&lines));
            for fact in self.facts(window, w) {
                *out += &format!("{:indent$}{}\n", "", style.fill(indent, indent, &fact));
            }
        }
    }

    /// What is told below a window's first line.
    fn facts(&self, window: &WindowView, w: usize) -> Vec<String> {
        let mut facts = Vec::new();
        if let Some(RangeView { first, last }) = window.banks {
            facts.push(match first == last {
                true => format!("in bank {first}"),
                false => format!("in banks {first} to {last}"),
            });
            let by = match window.by.as_str() {
                "" => String::new(),
                by => format!(" by {}", safe(by)),
            };
            if !window.switch.is_empty() {
                let comma = if by.is_empty() { "" } else { "," };
                let pins = pins(&window.switch);
                facts.push(format!("switched{by}{comma} through {pins}"));
            } else if !by.is_empty() {
                facts.push(format!("switched{by}"));
            }
        } else if !window.by.is_empty() {
            facts.push(safe(&window.by));
        }
        for tied in &window.tied {
            facts.push(match tied.split_once('=') {
                Some((pin, "any")) => format!("{pin} open: the same for 0 and 1"),
                Some((pin, level)) => format!("{pin} tied to {level}"),
                None => tied.clone(),
            });
        }
        if window.mirrored {
            facts.push("mirrored: bytes are seen more than once".into());
        }
        facts.extend(window.except.iter().map(|range| {
            let bytes = amount(len(*range));
            format!("except {} ({bytes})", range.text(w))
        }));
        self.shows(window, w, &mut facts);
        facts
    }

    fn shows(&self, window: &WindowView, w: usize, facts: &mut Vec<String>) {
        let shows = &window.shows;
        if shows.is_empty() {
            facts.push("shows bytes too scattered to list".into());
            return;
        }
        let one_each = shows.windows(2).all(|pair| pair[0].bank != pair[1].bank);
        let told: Vec<&ShownView> = match one_each && shows.len() > FEW {
            // The first two and the last show the pattern.
            true => shows[..2].iter().chain(shows.last()).collect(),
            false => shows.iter().take(FEW).collect(),
        };
        let several = window.sockets.len() > told[0].sockets.len();
        let is_whole = |shown: &ShownView| {
            (shown.bus.first, shown.bus.last) == (window.range.first, window.range.last)
        };
        for (i, shown) in told.iter().enumerate() {
            let mut fact = match one_each && shows.len() > FEW && i == 2 {
                true => "and so on to ".to_owned(),
                false => String::new(),
            };
            if let Some(bank) = shown.bank {
                fact += &format!("bank {bank}: ");
            }
            if !is_whole(shown) {
                fact += &format!("{} is ", shown.bus.text(w));
            }
            fact += &format!("chip {}", shown.chip.text(self.chip_width(shown)));
            if several {
                fact += &format!(" of {}", listed(&shown.sockets));
            }
            facts.push(fact);
        }
        let left_out = match one_each && shows.len() > FEW {
            true => window.shows_left_out,
            false => {
                let here = (shows.len() - told.len()) as u64;
                window.shows_left_out.map(|more| more + here)
            }
        };
        match left_out {
            Some(0) => {}
            Some(more) if one_each && shows.len() > 1 => {
                facts.push(format!("and so on, {} more", thousands(more)))
            }
            Some(more) => facts.push(format!("and {} more ranges", thousands(more))),
            None => facts.push("and more, too scattered to count".into()),
        }
    }

    fn chip_width(&self, shown: &ShownView) -> usize {
        let own = self.sockets.iter();
        let mut own = own.filter(|socket| Some(&socket.name) == shown.sockets.first());
        own.next()
            .map_or(4, |s| address_width(s.bytes.saturating_sub(1)))
    }
}

fn told(socket: &SocketView, width: usize, style: Style, out: &mut String) {
    let RangeView { first, last } = socket.data_lines;
    let name = format!("{:width$}", socket.name);
    *out += &format!(
        "{}  {}, {}, D{first}-D{last}\n",
        style.strong(&name),
        safe(&socket.part),
        size_text(socket.bytes),
    );
    let indent = width + 2;
    let mut facts = Vec::new();
    if !socket.wires.is_empty() {
        let wires = socket.wires.iter();
        let wires = wires.map(|wire| format!("{} on pin {}", wire.line, wire.pin));
        facts.push(format!("wired: {}", wires.collect::<Vec<_>>().join(", ")));
    }
    match socket.unseen_bytes {
        Some(0) => {}
        None => facts.push("bytes that no bus sees are too scattered to list".into()),
        Some(bytes) => {
            let w = address_width(socket.bytes.saturating_sub(1));
            let all = socket.unseen.len() as u64 + socket.unseen_left_out;
            let mut text = match bytes == socket.bytes {
                true => "no bus sees any of it".into(),
                false => {
                    let ranges = socket.unseen.iter().take(FEW);
                    let ranges: Vec<String> = ranges.map(|range| range.text(w)).collect();
                    format!("no bus sees {}, {}", ranges.join(", "), amount(bytes))
                }
            };
            let more = all.saturating_sub(FEW as u64);
            if more > 0 && bytes != socket.bytes {
                text += &format!(" with {}", plural(more, "range more"));
            }
            facts.push(text);
        }
    }
    if !socket.note.is_empty() {
        facts.push(safe(&socket.note));
    }
    for fact in facts {
        *out += &format!("{:indent$}{}\n", "", style.fill(indent, indent, &fact));
    }
}

fn safe(text: &str) -> String {
    text.chars().map(safe_char).collect()
}

fn len(range: RangeView) -> u64 {
    (range.last - range.first).saturating_add(1)
}

/// `16K`, or `256 bytes`.
pub(super) fn amount(bytes: u64) -> String {
    match bytes % 1024 {
        0 => size_text(bytes),
        _ => plural(bytes, "byte"),
    }
}

/// `A13 to A17` if they follow one another, otherwise each.
fn pins(pins: &[String]) -> String {
    let number = |pin: &String| pin.strip_prefix('A')?.parse::<u8>().ok();
    let follow = pins.windows(2).all(|pair| {
        let (one, next) = (number(&pair[0]), number(&pair[1]));
        one.is_some() && one.map(|n| n + 1) == next
    });
    match pins {
        [first, .., last] if follow && pins.len() > 2 => format!("{first} to {last}"),
        _ => listed(pins),
    }
}

/// `a`, `a and b`, `a, b and c`; of many the ends.
fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] if names.len() <= 8 => format!("{} and {last}", most.join(", ")),
        [first, .., last] => format!("{first} to {last}, {} of them", names.len()),
    }
}
