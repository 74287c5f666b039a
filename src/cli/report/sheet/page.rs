//! The whole burn sheet, in the order in which the bench needs it.

use maud::{Markup, html};

use super::card::card;
use super::cautions::cautions;
use super::chip::SheetChip;
use super::frame::frame;
use super::labels::label_section;
use super::lines::deciding_lines;
use super::map;
use super::overview::overview;
use super::words::{long, safe};
use crate::cli::report::style::size_text;
use crate::prose::plural;

/// What the page is about.
pub struct BurnSheet<'a> {
    /// Its heading.
    pub title: String,
    /// The date, as given; a sheet without one has none.
    pub date: Option<String>,
    /// The chips, in order.
    pub chips: Vec<SheetChip<'a>>,
}

impl BurnSheet<'_> {
    /// The memory map alone, as an SVG file.
    pub fn svg(&self) -> String {
        map::map_alone(&self.title, &self.chips).into_string()
    }

    /// The page: one file that needs no others, for a screen and for A4 and Letter paper. With one chip it is one sheet
    /// of paper.
    pub fn html(&self) -> String {
        let chips = &self.chips;
        let is_one = chips.len() == 1;
        let body = html! {
            (self.head())
            (deciding_lines(chips))
            (overview(chips))
            @for chip in chips { (card(chip, is_one)) }
            @if chips.iter().any(|chip| !chip.image.is_empty()) {
                figure.picture { (map::inline(chips)) }
            }
            div.last {
                (cautions(chips))
                (label_section(chips, &self.title, self.date.as_deref()))
            }
        };
        frame(&self.title, if is_one { "alone" } else { "many" }, &body)
    }

    fn head(&self) -> Markup {
        let bytes: u64 = self.chips.iter().map(|c| c.image.len()).sum();
        let amount = match bytes % 1024 {
            0 => size_text(bytes),
            _ => plural(bytes, "byte"),
        };
        html! {
            header.head {
                h1 class=[long(&self.title)] { (safe(&self.title)) }
                p.under {
                    span { "Burn sheet" }
                    span { (plural(self.chips.len() as u64, "chip")) ", " (amount) }
                    @if let Some(date) = &self.date { span { (safe(date)) } }
                }
            }
        }
    }
}
