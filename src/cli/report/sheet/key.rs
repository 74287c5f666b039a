//! The map's key, and its textures.

use maud::{Markup, html};

use super::canvas::Drawing;
use super::words::short_start;
use crate::cli::report::legend::Tone;
use crate::prose::plural;

/// Lines in the key; more origins are only counted.
const MOST_KEYS: usize = 24;

impl Drawing {
    /// The key below all bars.
    pub fn legend(&mut self) {
        let pitch = 18;
        let hollow =
            self.hollow
                .then_some(("url(#hollow)".to_owned(), None, "hollow".to_owned(), None));
        let known = self
            .keys
            .iter()
            .enumerate()
            .take(MOST_KEYS)
            .map(|(i, key)| {
                let bytes = Some(plural(key.bytes, "byte"));
                let name = match (key.tone, self.filler) {
                    (Tone::Faint, Some(value)) => format!("{} {value:02X}", key.origin),
                    _ => key.origin.clone(),
                };
                (self.fill(i), Some(key.letter), name, bytes)
            });
        let lines: Vec<Markup> = known
            .chain(hollow)
            .enumerate()
            .map(|(i, (fill, letter, name, bytes))| {
                let y = self.y + pitch * i as u32;
                html! {
                    rect x="0" y=(y) width="30" height="13" fill=(fill) {}
                    rect.frame x="0" y=(y) width="30" height="13" {}
                    @if let Some(letter) = letter { text.l x="42" y=(y + 11) { (letter) } }
                    text x="62" y=(y + 11) { (short_start(&name, 28)) }
                    @if let Some(bytes) = bytes { text.a.e x="100%" y=(y + 11) { (bytes) } }
                }
            })
            .collect();
        self.y += pitch * lines.len() as u32;
        self.marks.extend(lines);
        if self.keys.len() > MOST_KEYS {
            let more = self.keys.len() - MOST_KEYS;
            self.y += 13;
            let y = self.y;
            self.marks
                .push(html! { text.a x="62" y=(y) { "and " (more) " more" } });
            self.y += 8;
        }
    }
}

/// Eight colours with eight textures, and the hatching of holes, which alone is slanted.
pub(super) fn textures() -> Markup {
    let overlays = [
        "",
        "M2 2h2v2h-2zM6 6h2v2h-2z",
        "M1 0h2v8h-2z",
        "M0 1h8v2h-8z",
        "M0 0h8v1.4h-8zM0 0h1.4v8h-1.4z",
        "M0 0h4v4h-4zM4 4h4v4h-4z",
        "M3 1h2v6h-2zM1 3h6v2h-6z",
        "M1 0h1.4v8h-1.4zM4 0h1.4v8h-1.4z",
    ];
    html! {
        @for (i, overlay) in overlays.iter().enumerate() {
            pattern id=(format!("t{i}")) width="8" height="8" patternUnits="userSpaceOnUse" {
                rect width="8" height="8" style=(format!("fill:var(--c{i})")) {}
                @if !overlay.is_empty() { path d=(overlay) style="fill:var(--paper);fill-opacity:.45" {} }
            }
        }
        (hatching())
    }
}

/// The hatching of holes.
pub fn hatching() -> Markup {
    html! {
        pattern id="hollow" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
            rect width="7" height="7" style="fill:var(--paper)" {}
            path d="M0 0h1.2v7h-1.2z" style="fill:var(--soft)" {}
        }
    }
}
