//! A bar of the map, with the letters and addresses under it.

use maud::html;

use super::canvas::{BarCell, BarSpan, Drawing, pc};
use super::words::said;
use crate::cli::report::legend::{LegendEntry, Tone};
use crate::image::AddressRange;

/// A stretch narrower than this, in per cent of the width, has its letter below it.
const NARROW: f64 = 5.5;
/// Room for a letter below a bar, in per cent of the width.
const LETTER: f64 = 4.5;
/// How far a letter may be from its place before it is left out.
const FARTHEST: f64 = 12.0;

impl Drawing {
    /// A bar of cells with its letters and, in `parts` steps, its addresses; neither below it where there are no parts.
    pub fn bar(
        &mut self,
        height: u32,
        place: BarSpan,
        cells: &[BarCell],
        range: AddressRange,
        parts: u64,
        w: usize,
    ) {
        let (y, count) = (self.y, cells.len() as u64);
        let mut at = 0;
        let mut letters: Vec<(f64, char)> = Vec::new();
        self.marks.push(html! {
            rect.bare x=(pc(place.from)) y=(y) width=(pc(place.width())) height=(height) {}
        });
        for stretch in cells.chunk_by(|a, b| a.shown() == b.shown()) {
            let cut = BarSpan {
                from: place.at(at, count),
                to: place.at(at + stretch.len() as u64, count),
            };
            at += stretch.len() as u64;
            let Some(shown) = stretch[0].shown() else {
                continue;
            };
            let fill = shown.map_or("url(#hollow)".into(), |key| self.fill(key));
            self.marks.push(html! {
                rect x=(pc(cut.from)) y=(y) width=(pc(cut.width())) height=(height) fill=(fill) {}
            });
            let Some(key) = shown else {
                self.hollow = true;
                continue;
            };
            let LegendEntry { letter, tone, .. } = self.keys[key];
            if cut.width() >= NARROW {
                let plate = height.min(18);
                self.marks.push(html! {
                    rect.plate x=(pc(cut.middle())) y=(y + (height - plate) / 2) width="16" height=(plate) rx="3" transform="translate(-8)" {}
                    text.l.m x=(pc(cut.middle())) y=(y + height / 2 + 4) { (letter) }
                });
            } else if tone != Tone::Faint {
                letters.push((cut.middle(), letter));
            }
        }
        letters.extend(self.hidden(cells, place));
        letters.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.marks.push(html! {
            rect.frame x=(pc(place.from)) y=(y) width=(pc(place.width())) height=(height) {}
        });
        self.y += height;
        // With little room, colour and texture must be enough, and the heading has the addresses.
        if parts > 0 {
            self.letters(letters);
            self.addresses(place, range, parts, w);
        }
    }

    /// Origins that no cell shows, because rarer ones are in the same cell: the first place of each, with its letter.
    fn hidden(&self, cells: &[BarCell], place: BarSpan) -> Vec<(f64, char)> {
        let keys = cells.iter().map(|cell| match cell {
            BarCell::Other => &[][..],
            BarCell::Keys(keys) => keys,
        });
        let mut seen: Vec<usize> = keys.clone().flat_map(|k| k.first()).copied().collect();
        let mut out = Vec::new();
        for (i, keys) in keys.enumerate() {
            for key in keys {
                if !seen.contains(key) && self.keys[*key].tone != Tone::Faint {
                    seen.push(*key);
                    let at = place.at(i as u64, cells.len() as u64);
                    out.push((at, self.keys[*key].letter));
                }
            }
        }
        out
    }

    /// Letters of stretches too narrow for them, below the bar, moved aside where they are crowded.
    fn letters(&mut self, wanted: Vec<(f64, char)>) {
        let mut placed: Vec<(f64, f64, char)> = Vec::new();
        for (at, letter) in wanted {
            let same = placed
                .last()
                .is_some_and(|l| l.2 == letter && at - l.0 < 2.0 * LETTER);
            let free = placed.last().map_or(LETTER / 2.0, |l| l.1 + LETTER);
            if !same && free - at < FARTHEST {
                placed.push((at, at.max(free), letter));
            }
        }
        // Those pushed over the right end go back.
        let mut limit = 100.0 - LETTER / 2.0;
        for place in placed.iter_mut().rev() {
            place.1 = place.1.min(limit);
            limit = place.1 - LETTER;
        }
        if placed.is_empty() {
            return;
        }
        let y = self.y;
        for (at, moved, letter) in placed {
            self.marks.push(html! {
                line.tick x1=(pc(at)) y1=(y) x2=(pc(moved)) y2=(y + 7) {}
                text.l.m x=(pc(moved)) y=(y + 18) { (letter) }
            });
        }
        self.y += 20;
    }

    /// The addresses under a bar: both ends, and what is between where it is wide enough.
    pub fn addresses(&mut self, place: BarSpan, range: AddressRange, parts: u64, w: usize) {
        self.y += if self.is_low { 14 } else { 16 };
        let y = self.y;
        let (first, last) = (range.first(), range.last());
        if place.width() < 30.0 {
            self.marks
                .push(html! { text.a x=(pc(place.from)) y=(y) { (said(range, w)) } });
            return;
        }
        let parts = match w {
            0..=6 if place.width() > 90.0 => parts,
            0..=6 => 2,
            8 if place.width() > 90.0 => 2,
            _ => 1,
        };
        let whole = range.len() % parts == 0;
        for n in 1..if whole { parts } else { 1 } {
            let address = first + range.len() / parts * n;
            self.marks.push(html! {
                text.a.m x=(pc(place.at(n, parts))) y=(y) { (format!("{address:0w$X}")) }
            });
        }
        self.marks.push(html! {
            text.a x=(pc(place.from)) y=(y) { (format!("{first:0w$X}")) }
            text.a.e x=(pc(place.to)) y=(y) { (format!("{last:0w$X}")) }
        });
    }
}
