//! The one table of a sheet: which file goes into which socket, and which sum the programmer must show.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::same_sums::shared_sums;
use super::words::{safe, short_start};
use crate::parts::Part;
use crate::sums::Algo;

/// Letters of a file's name in the table; its card has all of it.
const MOST_LETTERS: usize = 36;

/// The table, and a sentence for each sum that two chips share.
pub(super) fn overview(chips: &[SheetChip]) -> Markup {
    let shared = shared_sums(chips);
    let class = if chips.len() == 1 {
        "sheet one"
    } else {
        "sheet"
    };
    html! {
        table class=(class) {
            thead {
                tr {
                    th { "Socket" } th { "Part" } th { "File" } th { "The programmer must show" }
                    th.box { "loaded" } th.box { "burned" }
                }
            }
            tbody {
                @for (n, chip) in chips.iter().enumerate() {
                    (row(chip, shared.iter().any(|(_, group)| group.contains(&n))))
                }
            }
        }
        @for (sentence, _) in &shared { p.warn { (sentence) } }
    }
}

fn row(chip: &SheetChip, is_shared: bool) -> Markup {
    let is_burned = chip.part.is_none_or(|part| part.kind.is_writable());
    html! {
        tr {
            td.socket { (safe(chip.name)) }
            td.part { (part_name(chip.part)) }
            @if chip.is_erased() {
                td.file.none { "erased: nothing to burn" }
                td.sum { span.soft { "–" } }
                td.box {} td.box {}
            } @else {
                td.file {
                    @for file in &chip.files { p { (short_start(&file.name, MOST_LETTERS)) } }
                    @if chip.files.is_empty() { span.soft { "not written before this sheet" } }
                    @if chip.holes() > 0 { p.flag { "not full" } }
                }
                td.sum {
                    @match (chip.image.is_empty(), chip.sum(Algo::SUM16)) {
                        (false, Some(sum)) => code.first data-sum="sum16" { (sum) },
                        _ => span.soft { "no bytes" },
                    }
                    @if let Some(words) = chip.sum(Algo::SUM16LE) { p { "or, of words, " code { (words) } } }
                    @if is_shared { p.flag { "shared, see below" } }
                }
                td.box { span.tick {} span.word { "loaded" } }
                td.box { @if is_burned { span.tick {} span.word { "burned" } } @else { span.soft { "read only" } } }
            }
        }
    }
}

fn part_name(part: Option<&Part>) -> Markup {
    match part {
        Some(part) => html! { (safe(&part.name)) },
        None => html! { span.soft { "no part chosen" } },
    }
}
