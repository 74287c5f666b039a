//! What people write elsewhere, as it is written here: `$8000`, `0x8000..0xFFFF`, `32KB`, `FFh`.
//!
//! Nothing here is taken for what it may mean; it is only what an answer may propose.

use super::digits::{Digits, read_digits};

/// Marks of hexadecimal before a number, the longer ones first (common practice of assemblers and languages).
const HEX_MARKS: [&str; 15] = [
    "#0x", "#$", "0x$", "16#", "16r", "\\x", "\\$", "&h", "h'", "x'", "0h", "$", "#", "&", "x",
];

/// Small numbers in words.
const WORDS: [(&str, &str); 9] = [
    ("zero", "0"),
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("six", "6"),
    ("eight", "8"),
    ("sixteen", "16"),
    ("none", "0"),
];

/// Signs between the two ends of a range, the longer ones first.
const BETWEEN: [&str; 13] = [
    "..<", "..=", "...", "..", "->", "=>", "–", "—", "~", "::", ":", "/", ",",
];

/// A number as it is written here; none where it is not clear, or where it is one already.
pub(super) fn number_meant(text: &str) -> Option<String> {
    let text = unquoted(text);
    if value(text).is_some() {
        return Some(text.to_owned());
    }
    let lower = text.to_ascii_lowercase();
    if let Some((_, digits)) = WORDS.iter().find(|(word, _)| *word == lower) {
        return Some((*digits).to_owned());
    }
    if let Some(size) = with_unit(&lower) {
        return Some(size);
    }
    let binary = ["0b", "%", "b'"].iter().find_map(|m| lower.strip_prefix(m));
    let binary = binary.map(|digits| digits.trim_end_matches('\'').replace('_', ""));
    if let Some(value) = binary.and_then(|digits| u64::from_str_radix(&digits, 2).ok()) {
        return Some(format!("0x{value:X}"));
    }
    // A comma or a blank between groups of digits, as in 32,768.
    let groups: Vec<&str> = lower.split([',', ' ', '_', '\'']).collect();
    let thousands = groups.len() > 1
        && groups[1..].iter().all(|g| g.len() == 3)
        && groups.iter().all(|g| all(g, |c| c.is_ascii_digit()));
    if thousands {
        return Some(groups.concat());
    }
    let digits = lower.trim_end_matches('\'').trim_end_matches('h');
    let digits = digits.strip_prefix("0x").unwrap_or(digits);
    let digits = (HEX_MARKS.iter())
        .find_map(|mark| digits.strip_prefix(mark))
        .unwrap_or(digits);
    let digits = digits.replace(['_', ' ', '.', ':'], "");
    let sound = (1..=16).contains(&digits.len()) && all(&digits, |c| c.is_ascii_hexdigit());
    sound.then(|| format!("0x{}", digits.to_ascii_uppercase()))
}

/// `32KB`, `32 KiB` and `256Kbit` in units of 1,024 bytes.
fn with_unit(lower: &str) -> Option<String> {
    let unit = lower.trim_start_matches(|c: char| c.is_ascii_digit());
    let value: u64 = lower[..lower.len() - unit.len()].parse().ok()?;
    let unit = unit.trim().replace(['-', ' '], "");
    Some(match unit.as_str() {
        "k" | "kb" | "kib" | "kbyte" | "kbytes" | "kibyte" | "ko" => format!("{value}K"),
        "m" | "mb" | "mib" | "mbyte" | "mbytes" => format!("{value}M"),
        "kbit" | "kbits" | "kibit" if value % 8 == 0 && value > 0 => format!("{}K", value / 8),
        "mbit" | "mbits" | "mibit" if value > 0 => format!("{}K", value.checked_mul(128)?),
        "b" | "byte" | "bytes" => value.to_string(),
        _ => return None,
    })
}

/// What a [`range`](super::range) was meant to be: as it is written here, both ends included.
pub(super) fn range_meant(text: &str) -> Option<String> {
    let text = unquoted(text).trim_matches(['[', ']', '(', ')']);
    let (first, mark, last) = halves(text)?;
    let (first, last) = ends(first, last)?;
    let (a, b) = (value(&first)?, value(&last)?);
    Some(match (mark, b > a) {
        ("+", _) => format!("{first}+{last}"),
        // Round ends are those of a notation without the last address.
        ("..<", true) => format!("{first}-0x{:X}", b - 1),
        ("..", true) if b % 256 == 0 && a % 256 == 0 => format!("{first}-0x{:X}", b - 1),
        (_, true) => format!("{first}-{last}"),
        ("-", false) => format!("{last}-{first}"),
        (_, false) if b > 0 => format!("{first}+{last}"),
        _ => return None,
    })
}

/// A text cut at the sign between the ends of a range.
fn halves(text: &str) -> Option<(&str, &str, &str)> {
    let signs = ["-", "+", " to ", " - "].iter().chain(&BETWEEN);
    let mut cut = signs.filter_map(|sign| {
        let (first, last) = text.split_once(sign)?;
        let clear = !first.trim().is_empty() && !last.trim().is_empty();
        (clear && !last.contains(sign)).then_some((first.trim(), *sign, last.trim()))
    });
    cut.find(|(first, _, last)| ends(first, last).is_some())
}

/// Both ends, where each is clear. Digits alone are hexadecimal where the other end can be nothing else.
fn ends(first: &str, last: &str) -> Option<(String, String)> {
    let decimal = |text: &str| all(text, |c| c.is_ascii_digit());
    let bare_hex = |text: &str| {
        all(text, |c| c.is_ascii_hexdigit()) && text.contains(|c: char| c.is_ascii_alphabetic())
    };
    let hex = |text: &str| format!("0x{}", text.to_ascii_uppercase());
    match (
        decimal(first) && bare_hex(last),
        bare_hex(first) && decimal(last),
    ) {
        (true, _) | (_, true) => Some((hex(first), hex(last))),
        _ => Some((number_meant(first)?, number_meant(last)?)),
    }
}

/// A byte string as it is written here.
pub(super) fn bytes_meant(text: &str) -> Option<String> {
    let inner = unquoted(text);
    let groups = inner.split([' ', ',', ';', ':', '{', '}', '[', ']']);
    let groups: Vec<&str> = groups.filter(|group| !group.is_empty()).collect();
    let decimal = |group: &str| match group.parse::<u8>() {
        Ok(value) if group.len() == 3 => Some(format!("{value:02X}")),
        _ => None,
    };
    if let [one] = groups[..] {
        if let Some(byte) = decimal(one) {
            return Some(byte);
        }
    }
    let pairs: Option<Vec<String>> = groups.iter().map(|group| pairs_meant(group)).collect();
    match pairs.filter(|pairs| !pairs.is_empty()) {
        Some(pairs) => Some(pairs.join(" ")),
        // A text: letters that are not hex digits.
        None => {
            let text = inner.strip_prefix("text=").unwrap_or(inner);
            let is_text = text.chars().all(|c| !c.is_control())
                && text.contains(|c: char| c.is_ascii_alphabetic())
                && !text.contains(['\\', '$', '=', '.', '/']);
            is_text.then(|| format!("text:{text}"))
        }
    }
}

/// `$FF`, `FFh`, `\xFF` and `F` as pairs of digits.
fn pairs_meant(group: &str) -> Option<String> {
    let lower = group.to_ascii_lowercase();
    let lower = lower.replace("\\x", "").replace("0x", "");
    let digits = lower.trim_end_matches('\'').trim_end_matches('h');
    let digits = (HEX_MARKS.iter())
        .find_map(|mark| digits.strip_prefix(mark))
        .unwrap_or(digits);
    let digits = digits.replace('_', "").to_ascii_uppercase();
    let sound = !digits.is_empty() && all(&digits, |c| c.is_ascii_hexdigit());
    match digits.len() {
        _ if !sound => None,
        1 => Some(format!("0{digits}")),
        n if n % 2 == 0 => Some(digits),
        _ => None,
    }
}

/// Without quotes that a shell has left, and blanks around.
fn unquoted(text: &str) -> &str {
    let text = text.trim();
    let quotes = ['\'', '"', '“', '”', '‘', '’', '`'];
    let inner = text
        .strip_prefix(quotes)
        .and_then(|t| t.strip_suffix(quotes));
    inner.unwrap_or(text).trim()
}

fn value(text: &str) -> Option<u64> {
    match read_digits(text) {
        Digits::Number(value) => Some(value),
        _ => None,
    }
}

fn all(text: &str, is: impl Fn(char) -> bool) -> bool {
    !text.is_empty() && text.chars().all(is)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_other_notations() {
        for (text, meant) in [
            ("$8000", Some("0x8000")),
            ("#$8000", Some("0x8000")),
            ("\\$8000", Some("0x8000")),
            ("&H8000", Some("0x8000")),
            ("0x8000h", Some("0x8000")),
            ("h'8000'", Some("0x8000")),
            ("0x8000_0000", Some("0x80000000")),
            ("C000", Some("0xC000")),
            ("'0x8000'", Some("0x8000")),
            ("32KB", Some("32K")),
            ("32 KiB", Some("32K")),
            ("32 K", Some("32K")),
            ("256Kbit", Some("32K")),
            ("2Mbit", Some("256K")),
            ("32,768", Some("32768")),
            ("0b1010", Some("0xA")),
            ("two", Some("2")),
            ("0x8000", Some("0x8000")),
            ("12Kbit", None),
            ("HERON", None),
            ("", None),
            ("é", None),
            ("$", None),
        ] {
            assert_eq!(number_meant(text).as_deref(), meant, "{text}");
        }
    }

    #[test]
    fn ranges_of_other_notations() {
        for (text, meant) in [
            ("0x8000..0xFFFF", Some("0x8000-0xFFFF")),
            ("0x8000..0x9000", Some("0x8000-0x8FFF")),
            ("0x8000:0xFFFF", Some("0x8000-0xFFFF")),
            ("$8000-$FFFF", Some("0x8000-0xFFFF")),
            ("8000-FFFF", Some("0x8000-0xFFFF")),
            ("8000h..FFFFh", Some("8000h-FFFFh")),
            ("[0x8000, 0xFFFF]", Some("0x8000-0xFFFF")),
            ("0x8000,32K", Some("0x8000+32K")),
            ("0x8000:$1000", Some("0x8000+0x1000")),
            ("0x9000-0x8000", Some("0x8000-0x9000")),
            ("0x8000 to 0xFFFF", Some("0x8000-0xFFFF")),
            ("0x8000–0xFFFF", Some("0x8000-0xFFFF")),
            ("0x8000+32KB", Some("0x8000+32K")),
            ("0x8000", None),
            ("..", None),
            ("0-1,3-4", None),
        ] {
            assert_eq!(range_meant(text).as_deref(), meant, "{text}");
        }
    }

    #[test]
    fn bytes_of_other_notations() {
        for (text, meant) in [
            ("FFh", Some("FF")),
            ("$FF", Some("FF")),
            ("255", Some("FF")),
            ("F", Some("0F")),
            ("0xEA,0xEA", Some("EA EA")),
            ("{0x4C, 0x00, 0x80}", Some("4C 00 80")),
            ("\\xEA\\xEB", Some("EAEB")),
            ("$A9 $00", Some("A9 00")),
            ("HERON", Some("text:HERON")),
            ("'HERON 8'", Some("text:HERON 8")),
            ("256", None),
            ("", None),
            ("chip.bin", None),
        ] {
            assert_eq!(bytes_meant(text).as_deref(), meant, "{text}");
        }
    }
}
