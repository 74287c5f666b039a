//! The words of the glossary, from its page.

/// The page itself, so that it and the help can't differ.
const PAGE: &str = include_str!("../../../docs/glossary.md");

/// A word of the glossary.
pub struct GlossaryEntry {
    /// The word as the page has it; several, separated by commas, where they mean one thing.
    pub word: &'static str,
    /// What it means, as the page has it.
    text: &'static str,
}

impl GlossaryEntry {
    /// The names that it is found by.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.word.split(", ")
    }

    /// What it means, in one line.
    pub fn text(&self) -> String {
        let text = unlinked(self.text);
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// All of them, in the order of the page.
pub fn entries() -> impl Iterator<Item = GlossaryEntry> {
    let paragraphs = PAGE.split("\n\n");
    paragraphs.filter_map(|paragraph| {
        let (word, text) = paragraph.strip_prefix("**")?.split_once("**: ")?;
        Some(GlossaryEntry { word, text })
    })
}

/// The entry of a word, in upper or lower case, in the singular or the plural.
pub fn entry(word: &str) -> Option<GlossaryEntry> {
    let lower = word.to_lowercase().replace('-', " ");
    let singular = lower.strip_suffix('s').unwrap_or(&lower);
    entries().find(|entry| {
        let mut names = entry.names().map(|n| n.to_lowercase().replace('-', " "));
        names
            .any(|name| name == lower || name == singular || name.strip_suffix('s') == Some(&lower))
    })
}

/// `[boards.md](boards.md)` as `boards.md`: on a terminal nothing is linked.
fn unlinked(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('[') {
        let link = after.split_once("](").and_then(|(shown, target)| {
            let (_, behind) = target.split_once(')')?;
            Some((shown, behind))
        });
        // `[[sockets]]` is not a link.
        match link.filter(|(shown, _)| !shown.contains(['[', '\n', '`'])) {
            Some((shown, behind)) => {
                out += before;
                out += "docs/";
                out += shown;
                rest = behind;
            }
            None => {
                out += before;
                out.push('[');
                rest = after;
            }
        }
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_paragraph_of_the_page_is_an_entry() {
        let paragraphs = PAGE.trim().split("\n\n").count();
        // The title and the sentence below it are none.
        assert_eq!(entries().count(), paragraphs - 2);
        let words: Vec<&str> = entries().map(|entry| entry.word).collect();
        let mut sorted = words.clone();
        sorted.sort_by_key(|word| word.to_lowercase());
        assert_eq!(words, sorted);
    }

    #[test]
    fn every_word_is_found_by_each_of_its_names() {
        for wanted in entries() {
            for name in wanted.names() {
                assert_eq!(entry(name).unwrap().word, wanted.word);
            }
        }
        for (word, found) in [
            ("lanes", "Lane"),
            ("HOLE", "Hole"),
            ("read-back", "Read, read-back"),
            ("chip-address", "Chip address"),
        ] {
            assert_eq!(entry(word).unwrap().word, found);
        }
        assert!(entry("heron").is_none() && entry("").is_none() && entry("s").is_none());
    }

    #[test]
    fn links_are_shown_as_the_pages_they_lead_to() {
        assert_eq!(
            unlinked("A file ([boards.md](boards.md)) of `[[sockets]]`."),
            "A file (docs/boards.md) of `[[sockets]]`."
        );
        for entry in entries() {
            assert!(!entry.text().contains("]("), "{}", entry.word);
        }
    }
}
