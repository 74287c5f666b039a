//! A chip drawn pin by pin, seen from above.
//!
//! Sizes are those of the screen, so that the letters are as large on a telephone as on paper.

use maud::{Markup, html};

use super::words::short;
use crate::parts::{Kind, Part, Pin};

/// From one pin to the next, and from the top to the first.
const PITCH: u32 = 12;
const TOP: u32 = 18;
/// Where the package begins, and how wide it is.
const LEFT: u32 = 74;
const WIDTH: u32 = 76;
/// Length of a leg.
const LEG: u32 = 9;
/// Packages with more pins than this are for surface mounting, or have legs on four sides: not drawn.
const MOST_PINS: u8 = 48;

/// The package with its notch, and what each pin carries; `marked` are the pins to look at.
pub(super) fn chip_drawing(part: &Part, marked: &[u8]) -> Option<Markup> {
    let pins = part.pinout.as_ref()?;
    if pins.len() > usize::from(MOST_PINS) || pins.len() % 2 == 1 {
        return None;
    }
    let side = pins.len() / 2;
    let length = side as u32 * PITCH + 8;
    let (width, height) = (2 * LEFT + WIDTH, TOP + length + 4);
    let (body_top, middle) = (TOP - 10, LEFT + WIDTH / 2);
    let aria = format!(
        "{} from above, {} pins; pin 1 is the upper left one, left of the notch",
        part.name,
        pins.len()
    );
    let drawn = pins.iter().enumerate().map(|(i, pin)| {
        let is_left = i < side;
        let row = if is_left { i } else { pins.len() - 1 - i };
        let y = TOP + row as u32 * PITCH;
        one_pin(*pin, i as u8 + 1, is_left, y, marked)
    });
    let drawn: Vec<Markup> = drawn.collect();
    let centre = body_top + length / 2;
    Some(html! {
        svg.dip width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) role="img" aria-label=(aria) {
            rect.body x=(LEFT) y=(body_top) width=(WIDTH) height=(length) rx="2" {}
            path.notch d=(format!("M{} {body_top}a7 7 0 0 0 14 0z", middle - 7)) {}
            @if part.kind == Kind::UvEprom {
                circle.window cx=(middle) cy=(centre) r="15" {}
            }
            text.kind x=(middle) y=(centre) transform=(format!("rotate(90 {middle} {centre})")) dy="4" { (short(&part.name, 16)) }
            circle.first cx=(LEFT + 21) cy=(TOP - 3) r="2.2" {}
            @for pin in &drawn { (pin) }
        }
    })
}

/// A leg with its number inside the package, and what it carries beside it.
fn one_pin(pin: Pin, number: u8, is_left: bool, y: u32, marked: &[u8]) -> Markup {
    let (leg, inside, outside, end) = match is_left {
        true => (LEFT - LEG, LEFT + 4, LEFT - LEG - 4, "end"),
        false => (
            LEFT + WIDTH,
            LEFT + WIDTH - 4,
            LEFT + WIDTH + LEG + 4,
            "start",
        ),
    };
    let number_end = if is_left { "start" } else { "end" };
    let is_marked = marked.contains(&number);
    let class = if is_marked { "look" } else { role(pin) };
    let name = pin.to_string();
    // So wide that the longest name fits.
    let plate = name.chars().count() as u32 * 9 + 6;
    let plate_at = match is_left {
        true => outside + 3 - plate,
        false => outside - 3,
    };
    html! {
        @if is_marked { rect.plate x=(plate_at) y=(y - 6) width=(plate) height=(PITCH) rx="2" {} }
        rect class=(class) x=(leg) y=(y - 2) width=(LEG) height="4" {}
        text.number x=(inside) y=(y + 4) text-anchor=(number_end) { (number) }
        text class=(class) x=(outside) y=(y + 4) text-anchor=(end) { (name) }
    }
}

/// What a pin is for, as the class that colours it.
fn role(pin: Pin) -> &'static str {
    match pin {
        Pin::Address(_) => "address",
        Pin::Data(_) => "data",
        Pin::Vpp | Pin::ChipEnableVpp | Pin::OutputEnableVpp | Pin::ByteModeVpp => "vpp",
        Pin::Vcc | Pin::Vdd | Pin::Vbb | Pin::Ground => "supply",
        Pin::Nc => "nc",
        _ => "enable",
    }
}
