//! The page of a verdict: what was found in words, the chip with the pin to look at, what to do next, and the picture of the
//! differences.

use maud::{Markup, html};

use super::difference_map::DifferenceMap;
use super::frame::{boxes, frame, to_fill_in};
use super::pins::chip_drawing;
use super::words::{long, safe, with_typed_words};
use crate::cli::report::diagnosis::{DiagnosisReport, SetReport};
use crate::cli::report::verdict::Paragraph;
use crate::parts::Part;

/// The page about one chip.
pub struct VerdictPage<'a> {
    /// The verdict.
    pub report: &'a DiagnosisReport,
    /// The chip's part, where it is known.
    pub part: Option<&'a Part>,
    /// Where the read differs; none where the two images can't be drawn as one chip.
    pub drawing: Option<&'a DifferenceMap>,
    /// The answer about the set that the chip belongs to.
    pub set: Option<&'a SetReport>,
}

impl VerdictPage<'_> {
    /// The page: one file that needs no others, for a screen and for A4 and Letter paper.
    pub fn html(&self) -> String {
        let report = self.report;
        let name = report.reads.join(", ");
        let marked: Vec<(String, Option<u8>)> = report.lines_to_look_at();
        let pins: Vec<u8> = marked.iter().filter_map(|(_, pin)| *pin).collect();
        let drawing = self.part.and_then(|part| chip_drawing(part, &pins));
        let body = html! {
            header.head {
                h1 class=[long(&name)] { (safe(&name)) }
                p.under {
                    span { "Verdict" }
                    @if let Some(part) = self.part { span { (safe(&part.name)) } }
                    @if let Some(wanted) = &report.wanted { span { "against " (safe(wanted)) } }
                    span { (safe(&report.compared_in_words())) }
                }
            }
            section.finding {
                h2 { "Finding" }
                (paragraphs(&report.findings()))
            }
            div.pair {
                @if let Some(drawing) = &drawing {
                    div.pins {
                        (drawing)
                        @if !pins.is_empty() { p.small { "Seen from above. Look at what is marked: " (look_at(&marked)) "." } }
                    }
                }
                div.about {
                    h2 { "Look next" }
                    (boxes(&report.places()))
                    h2 { "Because" }
                    ul.because { @for reason in report.reasons() { li { (with_typed_words(&reason)) } } }
                    (to_fill_in(&["Date", "Hand", "Measured, and read again"]))
                }
            }
            @if let Some(set) = self.set { (set_section(set, &name)) }
            figure.differing {
                @match self.drawing {
                    Some(drawing) if drawing.is_empty() => figcaption { p { "No byte differs." } },
                    Some(drawing) => {
                        figcaption { h2 { "Where it differs" } p { (drawing.count_in_words()) "." } }
                        (drawing.square())
                        (drawing.bars())
                    },
                    None => figcaption {
                        p.small { "No picture: the read and the wanted image must have the same size, a power of two." }
                    },
                }
            }
            p.small {
                "Power off when a chip goes in or out. Mains and picture-tube voltages inside old machines can kill, long after \
                 the plug is out: unplug, wait, discharge, and leave it to qualified people where local rules say so."
            }
        };
        frame(&name, "verdict", &body)
    }
}

/// `A7 on pin 3`.
fn look_at(marked: &[(String, Option<u8>)]) -> String {
    let words = marked
        .iter()
        .filter_map(|(line, pin)| Some(format!("{line} on pin {}", (*pin)?)));
    let words: Vec<String> = words.collect();
    words.join(", ")
}

fn paragraphs(all: &[Paragraph]) -> Markup {
    html! {
        @for one in all {
            @match one {
                Paragraph::Sentence(text) => p { (with_typed_words(text)) },
                Paragraph::Item(text) => p.item { (with_typed_words(text)) },
            }
        }
    }
}

/// The answers about all chips of the set, with the one of this page marked.
fn set_section(set: &SetReport, own: &str) -> Markup {
    html! {
        section.set {
            h2 { "The set" }
            @for finding in &set.findings { p { (with_typed_words(finding)) "." } }
            table {
                tbody {
                    @for (name, row) in set.rows() {
                        tr class=[(name == own).then_some("own")] { td { (safe(&name)) } td { (with_typed_words(&row)) } }
                    }
                }
            }
            (boxes(&set.look_next))
        }
    }
}
