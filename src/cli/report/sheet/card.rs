//! A chip's card: its part, files and sums, and what there is to know of it.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::socket::{bank_table, socket};
use super::words::{long, safe, unbroken};
use crate::cli::report::address::address_width;
use crate::cli::report::style::size_text;
use crate::image::{AddressRange, Image};
use crate::parts::{Kind, Part};
use crate::prose::plural;
use crate::sums::Algo;

/// Bytes shown of a chip's beginning and of its end.
const ENDS: u64 = 16;

/// The card of one chip.
pub(super) fn card(chip: &SheetChip) -> Markup {
    let part = chip.part;
    html! {
        article.chip {
            header.who {
                h2 class=[long(chip.label)] { (safe(chip.label)) }
                @match part {
                    Some(part) => p.part { (safe(&part.name)) }
                    None => p.part.none { "no part chosen" }
                }
                @if let Some(part) = part { (package(part)) }
            }
            div.sums {
                @for sum in &chip.sums {
                    @if sum.algo != Algo::SHA256 {
                        div { p { (sum_name(sum.algo)) } code data-sum=(sum.algo.name()) { (sum.value) } }
                    }
                }
            }
            (remarks(chip))
            div.pair {
                dl {
                    (facts(chip))
                }
                @if let Some(part) = part { (notes(part)) }
            }
            @if let Some(seat) = chip.seat {
                @if chip.rearranged_by.is_none() { (bank_table(chip, seat)) }
            }
            ul.done {
                @for word in to_tick(part) { li { (word) } }
            }
        }
    }
}

/// What is done with a chip, to be ticked off. A mask ROM is only read.
fn to_tick(part: Option<&Part>) -> &'static [&'static str] {
    match part {
        Some(part) if part.kind == Kind::MaskRom => &["sum compared", "labelled"],
        _ => &["blank", "sum compared", "burnt", "verified", "labelled"],
    }
}

/// What a sum is, in the words of a programmer's display.
fn sum_name(algo: Algo) -> String {
    match algo {
        Algo::SUM16 => "sum of bytes, 16 bits".into(),
        Algo::SUM32 => "sum of bytes, 32 bits".into(),
        Algo::SUM16LE => "sum of words, 16 bits".into(),
        Algo::CRC32 => "CRC-32".into(),
        other => other.to_string(),
    }
}

/// Why the programmer may show another sum.
fn remarks(chip: &SheetChip) -> Markup {
    let beyond = chip.seat.is_some_and(|s| {
        chip.image
            .extent()
            .is_some_and(|e| e.last() >= s.part().bytes())
    });
    html! {
        @if chip.image.is_empty() {
            p.warn { "This piece holds no byte." }
        } @else if chip.holes() > 0 {
            p.warn {
                "Not full: " (plural(chip.holes(), "byte")) " hollow and in none of the sums, so the programmer will show "
                "another one. Fill and pad it to the part before you burn."
            }
        }
        @if beyond { p.warn { "Bytes lie beyond the end of this part: it does not fit." } }
    }
}

fn facts(chip: &SheetChip) -> Markup {
    let image = chip.image;
    let w = address_width(chip.range().map_or(0, |r| r.last()));
    html! {
        dt { "File" }
        @if chip.files.is_empty() { dd { "not written before this sheet" } }
        @for (name, format) in &chip.files { dd { code.name { (safe(name)) } " " span.soft { (format) } } }
        dt { "Size" }
        dd { (plural(image.len(), "byte")) @if image.len() >= 1024 && image.len() % 1024 == 0 { " (" (size_text(image.len())) ")" } }
        @if let Some(seat) = chip.seat {
            (socket(chip, seat))
        }
        @if let Some(extent) = image.extent() {
            @let first = AddressRange::new(extent.first(), extent.last().min(extent.first().saturating_add(ENDS - 1)));
            @let last = AddressRange::new(extent.first().max(extent.last().saturating_sub(ENDS - 1)), extent.last());
            @if let Some(first) = first { dt { "First bytes" } dd { (bytes(image, first, w)) } }
            @if let Some(last) = last { dt { "Last bytes" } dd { (bytes(image, last, w)) } }
        }
        @if let Some(sum) = chip.sums.iter().find(|s| s.algo == Algo::SHA256) {
            dt { "SHA-256" }
            dd { code.hash data-sum="sha256" {
                @for i in (0..sum.value.len()).step_by(16) { span { (sum.value.get(i..i + 16).unwrap_or_default()) } }
            } }
        }
    }
}

/// `0000 > 00 11 00 00 . 00 00 04 00 < 0007`, in halves that may stand below one another.
fn bytes(image: &Image, range: AddressRange, w: usize) -> Markup {
    let all: Vec<String> = (range.first()..=range.last())
        .map(|a| image.byte(a).map_or("__".into(), |b| format!("{b:02X}")))
        .collect();
    let quads: Vec<String> = all.chunks(4).map(|quad| quad.join(" ")).collect();
    let halves: Vec<String> = quads.chunks(2).map(|half| half.join(" . ")).collect();
    html! {
        code.bytes {
            @for (i, half) in halves.iter().enumerate() {
                span {
                    @if i == 0 { (format!("{:0w$X} > ", range.first())) } @else { ". " }
                    (half)
                    @if i + 1 == halves.len() { (format!(" < {:0w$X}", range.last())) } @else { " " }
                }
            }
        }
    }
}

/// What the part table knows.
fn notes(part: &Part) -> Markup {
    let made = match part.kind {
        Kind::UvEprom => "EPROM",
        Kind::OneTimeEprom => "one-time EPROM",
        Kind::ElectricEprom => "electrically erased EPROM",
        Kind::Eeprom => "EEPROM",
        Kind::BulkFlash => "flash, erased whole",
        Kind::SectorFlash => "flash, erased by the sector",
        Kind::PageFlash => "flash, written by the page",
        Kind::MaskRom => "mask ROM",
        Kind::BipolarProm => "bipolar PROM",
    };
    let blocks = [("Page", part.page), ("Sector", part.sector)];
    html! {
        div.notes {
            h3 { (safe(&part.name)) ", " (part.organisation()) " " (made) }
            ul {
                @if let Some(voltage) = part.voltage() { li { (voltage) } }
                @if !part.note.is_empty() { li { (safe(&part.note)) } }
                @if let Some(estimate) = part.estimate() { li { "Programming takes " (estimate) "." } }
                @for (name, bytes) in blocks {
                    @if let Some(bytes) = bytes { li { (name) "s of " (size_text(bytes.into())) " bytes." } }
                }
                @if let Some(sectors) = &part.sectors { li { "Sectors from address 0 up: " (sectors) " bytes." } }
                li { (unbroken(part.kind.erasing())) }
            }
            p.small { "Typical values, " (safe(&part.source)) "." }
        }
    }
}

/// The package from above, with its notch and pin 1.
fn package(part: &Part) -> Markup {
    const PITCH: u32 = 6;
    let side = u32::from(part.pins) / 2;
    let length = side * PITCH + 6;
    html! {
        svg.dip width=(length + 2) height="54" viewBox=(format!("0 0 {} 54", length + 2)) role="img" aria-label=(format!("{} pins; pin 1 is the lower left one with the notch on the left", part.pins)) {
            @for n in 0..side {
                rect.leg x=(n * PITCH + 6) y="2" width="3" height="6" {}
                rect.leg x=(n * PITCH + 6) y="32" width="3" height="6" {}
            }
            rect.body x="1" y="8" width=(length) height="24" rx="1" {}
            path.notch d="M1 15a5 5 0 0 1 0 10z" {}
            @if part.kind == Kind::UvEprom { circle.window cx=(length / 2 + 1) cy="20" r="8" {} }
            circle.first cx="7.5" cy="46" r="2.5" {}
            text x="14" y="50" { "pin 1 of " (part.pins) }
        }
    }
}
