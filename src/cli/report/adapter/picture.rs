//! The picture of an adapter: the chip from above, and beside each pin what it gets.

use maud::{Markup, PreEscaped, html};

use super::view::gets;
use crate::board::{Adapter, AdapterPin, Feed, Fitting};
use crate::cli::report::sheet::{COLOURS, RULES, short};
use crate::parts::Pin;

/// Sizes, in pixels: margin, a line of text, a pin's row, what is beside a pin, a leg, the body.
const MARGIN: u32 = 20;
const LINE: u32 = 20;
const ROW: u32 = 26;
const TAG: u32 = 104;
const LEG: u32 = 26;
const BODY: u32 = 150;

/// Rules for this drawing alone.
const OWN: &str = "\
.map .tag{stroke:var(--ink);stroke-width:1;fill:var(--paper)}.map .level{fill:var(--filler)}.map .wire{stroke-width:2.5}\
.map .out{stroke-dasharray:3 3}.map .leg{fill:var(--soft)}.map .first{fill:var(--ink)}\n";

/// The picture as a file of its own, SVG.
pub fn adapter_picture(plan: &Adapter) -> String {
    let sides = plan.pins.len() / 2;
    let width = 2 * (MARGIN + TAG + LEG) + BODY;
    let top = MARGIN + 4 * LINE;
    let body_height = sides as u32 * ROW + 12;
    let notes = notes(plan);
    let height = top + body_height + LINE + notes.len() as u32 * LINE + MARGIN;
    let body_x = MARGIN + TAG + LEG;
    let title = format!(
        "{} in a socket wired for a {}",
        plan.chip.name, plan.socket.name
    );
    let insulated: Vec<u8> = plan.insulated().map(|pin| pin.number).collect();
    let (left, right) = plan.pins.split_at(sides);
    let page = html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        svg xmlns="http://www.w3.org/2000/svg" width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) {
            title { (short(&title, 120)) }
            style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(OWN)) }
            g.map {
                rect.ground width="100%" height="100%" {}
                text.b x=(MARGIN) y=(MARGIN + 12) { (short(&plan.chip.name, 34)) }
                text x=(MARGIN) y=(MARGIN + 12 + LINE) { "in a socket wired for a " (short(&plan.socket.name, 28)) }
                text x=(MARGIN) y=(MARGIN + 12 + 2 * LINE) { (state(plan)) }
                rect.link x=(body_x) y=(top) width=(BODY) height=(body_height) rx="4" {}
                rect.frame x=(body_x) y=(top) width=(BODY) height=(body_height) rx="4" {}
                path.frame d=(format!("M{} {top}a12 12 0 0 0 24 0", body_x + BODY / 2 - 12)) {}
                circle.first cx=(body_x + 9) cy=(top + 9) r="3.5" {}
                @for (pin, row) in left.iter().zip(0u32..) {
                    (drawn(plan, pin, insulated.contains(&pin.number), top + 6 + row * ROW, false))
                }
                @for (pin, row) in right.iter().rev().zip(0u32..) {
                    (drawn(plan, pin, insulated.contains(&pin.number), top + 6 + row * ROW, true))
                }
                @for (note, line) in notes.iter().zip(1u32..) {
                    text x=(MARGIN) y=(top + body_height + 4 + line * LINE) { (note) }
                }
            }
        }
        "\n"
    };
    page.into_string()
}

fn state(plan: &Adapter) -> &'static str {
    match plan.fitting {
        Fitting::AsItIs => "fits as it is",
        Fitting::If(_) => "fits under conditions; otherwise wire these pins like this",
        Fitting::Undecided => "undecided: no wire yet where there is a ?",
        Fitting::NeedsWiring => "needs wiring",
    }
}

fn notes(plan: &Adapter) -> Vec<String> {
    let mut notes = vec![
        "Chip from above. Numbers at the tags: pins of the socket.".to_owned(),
        "Thick: a wire. Dashed: keep out of the socket, or insulate.".into(),
        "Grey: a level. Thin: sits where it belongs.".into(),
    ];
    if plan.pull_ups {
        notes.push("Each data line also has a resistor to VCC.".into());
    }
    notes.push("For reading in this board only. Never program here.".into());
    notes
}

fn drawn(plan: &Adapter, pin: &AdapterPin, out: bool, y: u32, right: bool) -> Markup {
    let body_x = MARGIN + TAG + LEG;
    let (tag_x, leg_x) = match right {
        false => (MARGIN, body_x - LEG),
        true => (body_x + BODY + LEG, body_x + BODY),
    };
    let (number_x, function_x) = match right {
        false => (leg_x + LEG / 2, body_x + 22),
        true => (leg_x + LEG / 2, body_x + BODY - 8),
    };
    let straight = pin.is_straight();
    let is_level = match pin.feed {
        Feed::Pin(hole) => matches!(plan.socket_pin(hole), Some(Pin::Vcc | Pin::Ground)),
        Feed::Switch(_) => true,
        Feed::Open | Feed::Asked => false,
    };
    let is_wire = !straight && pin.feed != Feed::Open;
    let middle = y + ROW / 2 + 4;
    html! {
        rect.leg x=(leg_x) y=(y + ROW / 2 + 6) width=(LEG) height="2" {}
        text.a.m x=(number_x) y=(middle - 1) { (pin.number) }
        text.l.e[right] x=(function_x) y=(middle) { (pin.function) }
        rect.tag.wire[is_wire].level[is_level].out[out] x=(tag_x) y=(y + 2) width=(TAG) height=(ROW - 5) rx="3" {}
        text.m x=(tag_x + TAG / 2) y=(middle) { (tag(plan, pin, out)) }
    }
}

fn tag(plan: &Adapter, pin: &AdapterPin, out: bool) -> String {
    match pin.feed {
        Feed::Pin(hole) if pin.is_straight() => format!("in {hole}"),
        Feed::Pin(hole) => format!("{}, {hole}", gets(plan, pin.feed)),
        Feed::Switch(_) => gets(plan, pin.feed),
        Feed::Open if out => "keep out".into(),
        Feed::Open => "open".into(),
        Feed::Asked => "?".into(),
    }
}
