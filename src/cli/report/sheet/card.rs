//! A chip's card: its file and how to load it, its sums, its pins, and what there is to know of it.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::frame::{boxes, to_fill_in};
use super::notes::{VOLTAGE_LINE, asks_for_voltage, notes};
use super::pins::chip_drawing;
use super::same_sums::residue_words;
use super::socket::{FILE_ORDER, bank_table, socket};
use super::words::{long, safe};
use crate::cli::report::address::address_width;
use crate::cli::report::style::size_text;
use crate::image::{AddressRange, Image};
use crate::parts::Part;
use crate::prose::plural;
use crate::sums::Algo;

/// Bytes shown of a chip's beginning and of its end.
const ENDS: u64 = 16;

/// The card of one chip. Where it is the only one of its sheet, the table has its name and its sum already.
pub(super) fn card(chip: &SheetChip, is_alone: bool) -> Markup {
    let part = chip.part;
    if chip.is_erased() {
        return html! {
            article.chip.erased {
                p { b { (safe(chip.name)) } @if let Some(part) = part { ", " (safe(&part.name)) } ": erased: nothing to burn" }
            }
        };
    }
    let sum = chip.sums.first();
    html! {
        article.chip {
            @if !is_alone {
                header.who {
                    h2 class=[long(chip.name)] { (safe(chip.name)) }
                    @match part {
                        Some(part) => p.part { (safe(&part.name)) },
                        None => p.part.none { "no part chosen" },
                    }
                    @if let Some(sum) = sum {
                        p.big { span.soft { (sum_name(sum.algo)) } " " code data-sum=(sum.algo.name()) { (sum.value) } }
                    }
                }
            }
            (remarks(chip))
            div.pair {
                @if let Some(drawing) = part.and_then(|part| chip_drawing(part, &[])) { div.pins { (drawing) } }
                div.about {
                    dl { (facts(chip)) }
                    @if let Some(part) = part { (notes(part)) }
                }
            }
            @if let Some(seat) = chip.seat {
                @if chip.rearranged_by.is_none() { (bank_table(chip, seat)) }
            }
            (ticks(part))
        }
    }
}

/// What is done with a chip, with boxes to tick, and lines for what only the bench knows. A mask ROM is only read.
fn ticks(part: Option<&Part>) -> Markup {
    let is_burned = part.is_none_or(|part| part.kind.is_writable());
    let is_blank_first = part.is_none_or(|part| !part.overwrites());
    let words: Vec<&str> = [
        (is_burned && is_blank_first, "blank"),
        (true, "sum compared"),
        (is_burned, "burned"),
        (is_burned, "verified"),
        (is_burned, "read back, sum again"),
        (true, "labelled"),
    ]
    .into_iter()
    .filter_map(|(is_done, word)| is_done.then_some(word))
    .collect();
    let mut lines = vec!["Date", "Hand", "Marking on the chip"];
    if part.is_some_and(asks_for_voltage) {
        lines.push(VOLTAGE_LINE);
    }
    html! { (boxes(&words)) (to_fill_in(&lines)) }
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
            p.warn { "This piece has no bytes." }
        } @else if chip.holes() > 0 {
            p.warn {
                "Not full: holes of " (plural(chip.holes(), "byte")) " are in none of the sums, so the programmer will show "
                "another sum. Fill it and pad it to the part before you burn."
            }
        }
        @if beyond { p.warn { "There are bytes beyond the end of this part: it does not fit." } }
        @if let Some(words) = residue_words(chip) { p.warn { (words) } }
    }
}

fn facts(chip: &SheetChip) -> Markup {
    let image = chip.image;
    let first = image.extent().map_or(0, AddressRange::first);
    let w = address_width(chip.range().map_or(0, |r| r.last()));
    let is_whole = image.len() >= 1024 && image.len() % 1024 == 0;
    html! {
        dt { "File" }
        @if chip.files.is_empty() { dd { "not written before this sheet" } }
        @for file in &chip.files {
            dd { code.name { (safe(&file.name)) } " " span.soft { (file.how_to_load(first)) } }
        }
        dt { "Content" }
        dd.sums {
            span { (plural(image.len(), "byte")) @if is_whole { " (" (size_text(image.len())) ")" } }
            @for sum in chip.sums.iter().skip(1) {
                @if sum.algo != Algo::SHA256 {
                    span { (sum_name(sum.algo)) " " code data-sum=(sum.algo.name()) { (sum.value) } }
                }
            }
        }
        @if chip.seat.is_none() && chip.part.is_some_and(|part| part.width == 16) { dt { "Words" } dd { (FILE_ORDER) } }
        @if let Some(seat) = chip.seat {
            (socket(chip, seat))
        }
        @if let Some(extent) = image.extent() {
            @let first = AddressRange::new(extent.first(), extent.last().min(extent.first().saturating_add(ENDS - 1)));
            @let last = AddressRange::new(extent.first().max(extent.last().saturating_sub(ENDS - 1)), extent.last());
            @if let Some(first) = first { dt { "First bytes" } dd { (bytes(image, first, w)) } }
            @if let Some(last) = last { dt { "Last bytes" } dd { (bytes(image, last, w)) } }
        }
        @if let Some(sum) = chip.sum(Algo::SHA256) {
            dt { "SHA-256" }
            dd { code.hash data-sum="sha256" {
                @for i in (0..sum.len()).step_by(16) { span { (sum.get(i..i + 16).unwrap_or_default()) } }
            } }
        }
    }
}

/// `0000 > 00 11 00 00 . 00 00 04 00 < 0007`, in halves of which one may be below the other.
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
                    @if i == 0 { (format!("{:0w$X} > ", range.first())) }
                    (half)
                    @if i + 1 == halves.len() { (format!(" < {:0w$X}", range.last())) } @else { " . " }
                }
            }
        }
    }
}
