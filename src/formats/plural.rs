//! Counted nouns in messages.

/// `1 line`, `2 lines`.
pub(crate) fn plural(n: u64, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}
