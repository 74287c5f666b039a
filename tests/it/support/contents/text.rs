//! Text in words of our own.

use crate::support::broken::Chance;

const NOUNS: &[&str] = &[
    "heron",
    "kingfisher",
    "reed",
    "river",
    "pool",
    "nest",
    "feather",
    "fish",
    "stone",
    "bridge",
    "weir",
    "lamp",
    "bank",
    "socket",
    "drawer",
    "keeper",
    "boat",
    "current",
    "frog",
    "willow",
    "meadow",
    "gauge",
    "ladder",
    "signal",
    "gate",
];
const VERBS: &[&str] = &[
    "waits for",
    "looks at",
    "crosses",
    "finds",
    "counts",
    "carries",
    "leaves",
    "follows",
    "opens",
    "wakes",
    "paints",
    "remembers",
    "measures",
    "loses",
    "turns",
    "calls",
    "mends",
    "weighs",
];
const KINDS: &[&str] = &[
    "grey", "blue", "small", "quiet", "second", "last", "broken", "early", "wide", "cold",
    "patient", "hidden", "warm", "open", "heavy", "new", "crooked", "hungry",
];
const PLACES: &[&str] = &[
    "at dawn",
    "under the bridge",
    "by the weir",
    "in the reeds",
    "before the rain",
    "on the far bank",
    "at low water",
    "for an hour",
    "without a sound",
    "again",
    "in the shallows",
    "after the flood",
    "until noon",
];

/// One sentence, in ASCII, with its line end.
pub fn sentence(chance: &mut Chance) -> Vec<u8> {
    let mut said = String::from(chance.pick(&["The ", "A ", "Each ", "No ", "This "]));
    if chance.once_in(2) {
        said += chance.pick(KINDS);
        said += " ";
    }
    said += chance.pick(NOUNS);
    said += " ";
    said += chance.pick(VERBS);
    said += " the ";
    if chance.once_in(2) {
        said += chance.pick(KINDS);
        said += " ";
    }
    said += chance.pick(NOUNS);
    if chance.once_in(2) {
        said += " ";
        said += chance.pick(PLACES);
    }
    if chance.once_in(4) {
        said += &format!(", {} times", 2 + chance.below(90));
    }
    said += ".";
    said += chance.pick(&["\r\n", "\r\n", "\r\n", " ", "\r"]);
    said.into_bytes()
}

/// So many bytes of pages, each with a heading.
pub fn pages(size: usize, chance: &mut Chance) -> Vec<u8> {
    let mut pages = Vec::with_capacity(size + 100);
    let mut page = 0;
    while pages.len() < size {
        page += 1;
        let word = chance.pick(NOUNS).to_uppercase();
        pages.extend(format!("\r\nPAGE {page:03}  {word}\r\n\r\n").into_bytes());
        for _ in 0..6 + chance.below(20) {
            pages.extend(sentence(chance));
        }
        pages.push(0x1A);
    }
    pages.truncate(size);
    pages
}
