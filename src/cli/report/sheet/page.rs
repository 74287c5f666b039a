//! The burn sheet as a whole.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::card::card;
use super::cautions::cautions;
use super::chip::SheetChip;
use super::css::{COLOURS, PAGE, RULES};
use super::map;
use super::words::{long, safe, short};
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

    /// The page: one file with nothing outside it, for a screen and for A4 and Letter paper.
    pub fn html(&self) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    // The browser itself makes sure that nothing is fetched and nothing runs.
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                    title { (safe(&self.title)) }
                    style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(PAGE)) }
                }
                body {
                    (self.head())
                    figure.picture { (map::inline(&self.chips)) }
                    (cautions())
                    @for chip in &self.chips { (card(chip)) }
                    (self.labels())
                }
            }
            "\n"
        };
        page.into_string()
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
                p.lead {
                    "Load the file, choose the part, and compare the sum that the programmer shows with the one below. "
                    "If they differ, don’t burn. Verify after burning, then put the label on."
                }
            }
        }
    }

    /// What goes on the chips.
    fn labels(&self) -> Markup {
        html! {
            section.strip {
                h2 { "Labels" }
                p.small {
                    "38 x 14 mm; cut along the dashed lines. On a part with a window an opaque label keeps daylight out."
                }
                div.cut {
                    @for chip in &self.chips {
                        div.label {
                            b { (short(chip.label, 15)) }
                            code { @if let Some(sum) = chip.sums.first() { (sum.value) } }
                            i { (short(&small_print(chip, self.date.as_deref()), 18)) }
                            span { (short(&self.title, 24)) }
                        }
                    }
                }
            }
        }
    }
}

/// Part and date, for a label.
fn small_print(chip: &SheetChip, date: Option<&str>) -> String {
    let part = chip.part.map(|part| part.name.as_str());
    let words: Vec<&str> = part.into_iter().chain(date).collect();
    words.join(" ")
}
