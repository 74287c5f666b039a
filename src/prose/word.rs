//! A user's word inside a message.

/// A word made fit for a message: control characters escaped, one longer than 60 characters shortened.
pub(crate) fn shown(word: &str) -> String {
    const MOST: usize = 60;
    let mut chars = word.chars();
    let mut shown: String = chars
        .by_ref()
        .take(MOST)
        .flat_map(char::escape_debug)
        .collect();
    if chars.next().is_some() {
        shown.push_str("...");
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_wild_reaches_a_message() {
        assert_eq!(shown("27C256"), "27C256");
        assert_eq!(shown("\u{1b}[2J\n"), "\\u{1b}[2J\\n");
        assert_eq!(shown(&"s".repeat(61)), format!("{}...", "s".repeat(60)));
    }
}
