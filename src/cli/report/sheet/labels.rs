//! Labels to cut out, as large as the package of each part allows.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::words::{said, short};
use crate::cli::report::address::address_width;
use crate::cli::report::places::SeatPlace;
use crate::parts::Part;

/// Pins of a part without a known package, for its label.
const USUAL_PINS: u8 = 28;

/// A label's length and height in millimetres.
///
/// Pins are 2.54 mm apart, and a millimetre is left at both ends. Packages with up to 20 pins are 7 mm wide between their
/// rows (common practice), those with 24 to 42 pins 14 mm; those with more are for surface mounting, and small.
fn label_size(pins: u8) -> (u32, u32) {
    let along = (u32::from(pins) / 2 * 254).saturating_sub(200) / 100;
    match pins {
        0..=20 => (along, 6),
        21..=42 => (along, 12),
        _ => (17, 10),
    }
}

fn pins(chip: &SheetChip) -> u8 {
    chip.part.map_or(USUAL_PINS, |part| part.pins)
}

/// What goes on the chips; nothing for those that are not burned.
pub(super) fn label_section(chips: &[SheetChip], title: &str, date: Option<&str>) -> Markup {
    let labelled: Vec<&SheetChip> = chips.iter().filter(|chip| !chip.is_erased()).collect();
    let mut sizes: Vec<u8> = labelled.iter().map(|chip| pins(chip)).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let sizes: Vec<String> = sizes
        .into_iter()
        .map(|pins| {
            let (length, height) = label_size(pins);
            format!("{length} x {height} mm for {pins} pins")
        })
        .collect();
    if labelled.is_empty() {
        return html! {};
    }
    html! {
        section.strip {
            h2 { "Labels" }
            p.small {
                (sizes.join(", ")) ". Print at full size. A label over a window must be opaque: daylight erases slowly."
            }
            div.cut { @for chip in &labelled { (label(chip, title, date)) } }
        }
    }
}

fn label(chip: &SheetChip, title: &str, date: Option<&str>) -> Markup {
    let (length, height) = label_size(pins(chip));
    let part = chip.part.map_or("", |part: &Part| part.name.as_str());
    // Letters of 6.5 pt are about 1.25 mm wide.
    let room = length as usize * 4 / 5;
    let sum = chip
        .sums
        .first()
        .map(|sum| sum.value.as_str())
        .unwrap_or_default();
    html! {
        div class=(if height < 10 { "label low" } else { "label" }) style=(format!("width:{length}mm;height:{height}mm")) {
            b { (short(chip.name, room / 2)) } i { (short(part, room / 2)) }
            code { (sum) } i { (short(&if height < 10 { seen_at(chip) } else { date.unwrap_or_default().to_owned() }, room * 3 / 5)) }
            @if height >= 10 {
                span { (short(&seen_at(chip), room)) }
                span { (short(title, room)) }
            }
        }
    }
}

/// `CPU C000-FFFF`, and whether that is not all.
fn seen_at(chip: &SheetChip) -> String {
    let seat = chip.seat.filter(|_| chip.rearranged_by.is_none());
    let places = seat.map(SeatPlace::of).unwrap_or_default();
    let Some(first) = places.first() else {
        return String::new();
    };
    let range = said(first.range, address_width(first.range.last));
    let more = if places.len() > 1 { " ..." } else { "" };
    format!("{} {range}{more}", first.bus())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lengths of plastic packages by JEDEC MS-011 (600 mil) and MS-001 (300 mil), from memory.
    #[test]
    fn a_label_is_shorter_than_its_package() {
        for (pins, package) in [(16, 19.2), (24, 31.2), (28, 36.4), (32, 41.5), (40, 51.7)] {
            let (length, _) = label_size(pins);
            let spare = package - f64::from(length);
            assert!((1.0..5.0).contains(&spare), "{pins} pins: {length} mm");
        }
    }
}
