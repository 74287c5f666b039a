//! Counts as messages show them.

/// `1 byte`, `2 bytes`, `32,768 bytes`.
pub(crate) fn plural(n: u64, noun: &str) -> String {
    format!("{} {noun}{}", thousands(n), ending(n))
}

fn ending(n: u64) -> &'static str {
    if n == 1 { "" } else { "s" }
}

/// `32,768`.
pub(crate) fn thousands(n: u64) -> String {
    let digits = n.to_string();
    let mut groups: Vec<&str> = digits
        .as_bytes()
        .rchunks(3)
        .filter_map(|group| std::str::from_utf8(group).ok())
        .collect();
    groups.reverse();
    groups.join(",")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_singular_and_thousands_are_set_apart() {
        assert_eq!(plural(0, "byte"), "0 bytes");
        assert_eq!(plural(1, "byte"), "1 byte");
        assert_eq!(plural(32_768, "byte"), "32,768 bytes");
        assert_eq!(thousands(999), "999");
        assert_eq!(thousands(1_000_000), "1,000,000");
    }
}
