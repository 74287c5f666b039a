//! `0x8000`, `8000h`, `32768`, `32K`, `1M`.

use std::str::FromStr;

use super::bad_value::BadValue;
use super::digits::{Digits, read_digits};
use super::meant::number_meant;

/// A number: decimal, hexadecimal with `0x` in front or `h` at the end, or decimal with `K` (1024) or `M` (1024 K) at the end.
///
/// # Errors
/// [`BadValue`] for anything else, and for what does not fit 64 bits.
pub fn number(text: &str) -> Result<u64, BadValue> {
    match read_digits(text) {
        Digits::Number(number) => return Ok(number),
        Digits::TooLarge => {
            let fact = format!("`{text}` does not fit 64 bits");
            return Err(BadValue::new(fact, "use a smaller number"));
        }
        Digits::Other => {}
    }
    let lower = text.to_ascii_lowercase();
    let error = match number_meant(text) {
        _ if text.is_empty() => BadValue::fact("there is no number here"),
        Some(meant) => {
            let hex = meant.strip_prefix("0x");
            // Nothing but a mark is wrong with the digits themselves.
            let marked = ["$", "#", "&"].iter().any(|mark| lower.starts_with(mark));
            let bare = lower.bytes().all(|b| b.is_ascii_hexdigit());
            match hex.filter(|_| marked || bare) {
                Some(digits) => BadValue::new(
                    format!("`{text}` has no mark that says it is hexadecimal"),
                    format!("write 0x{digits} or {digits}h"),
                ),
                None => BadValue::new(
                    format!("`{text}` is not a number"),
                    format!("write {meant}"),
                ),
            }
            .meaning(meant)
        }
        None => BadValue::new(
            format!("`{text}` is not a number"),
            "write it as 32768, 0x8000, 8000h, 32K or 1M, where K is 1024",
        ),
    };
    Err(error)
}

/// A size in bytes, at least 1; written as a [`number`].
///
/// # Errors
/// [`BadValue`] for 0 and for what is not a number.
pub fn size(text: &str) -> Result<u64, BadValue> {
    match number(text)? {
        0 => Err(BadValue::new("a size can't be 0", "give at least 1 byte")),
        n => Ok(n),
    }
}

/// A number, parsed from a text by [`number`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Number(pub u64);

impl FromStr for Number {
    type Err = BadValue;

    fn from_str(text: &str) -> Result<Self, BadValue> {
        number(text).map(Self)
    }
}

/// A size in bytes, parsed from a text by [`size`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Size(pub u64);

impl FromStr for Size {
    type Err = BadValue;

    fn from_str(text: &str) -> Result<Self, BadValue> {
        size(text).map(Self)
    }
}

/// How far to move: a [`number`] with a sign before it, `+` or `-`.
///
/// # Errors
/// [`BadValue`] when the sign or the number is missing.
pub fn offset(text: &str) -> Result<i128, BadValue> {
    match text.split_at_checked(1) {
        Some(("+", n)) => Ok(i128::from(number(n)?)),
        Some(("-", n)) => Ok(-i128::from(number(n)?)),
        _ => Err(BadValue::new(
            format!("`{text}` has no sign"),
            format!("write +{text} to move up, -{text} to move down"),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_to_write_a_number() {
        for (text, value) in [
            ("0", 0),
            ("32768", 32768),
            ("0x8000", 0x8000),
            ("0Xffff", 0xFFFF),
            ("8000h", 0x8000),
            ("FFH", 0xFF),
            ("32K", 32 * 1024),
            ("32k", 32 * 1024),
            ("1M", 1024 * 1024),
            ("0xFFFFFFFFFFFFFFFF", u64::MAX),
        ] {
            assert_eq!(number(text), Ok(value), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_gets_told_how_to_write_it() {
        for (text, message) in [
            (
                "FFFF",
                "`FFFF` has no mark that says it is hexadecimal: write 0xFFFF or FFFFh",
            ),
            (
                "$ff",
                "`$ff` has no mark that says it is hexadecimal: write 0xFF or FFh",
            ),
            ("", "there is no number here"),
            (
                "#8000",
                "`#8000` has no mark that says it is hexadecimal: write 0x8000 or 8000h",
            ),
            (
                "&HFF",
                "`&HFF` has no mark that says it is hexadecimal: write 0xFF or FFh",
            ),
            ("32KB", "`32KB` is not a number: write 32K"),
            (
                "-1",
                "`-1` is not a number: write it as 32768, 0x8000, 8000h, 32K or 1M, where K is 1024",
            ),
            (
                "0x",
                "`0x` is not a number: write it as 32768, 0x8000, 8000h, 32K or 1M, where K is 1024",
            ),
            (
                "+5",
                "`+5` is not a number: write it as 32768, 0x8000, 8000h, 32K or 1M, where K is 1024",
            ),
            (
                "0x10K",
                "`0x10K` is not a number: write it as 32768, 0x8000, 8000h, 32K or 1M, where K is 1024",
            ),
            (
                "18446744073709551616",
                "`18446744073709551616` does not fit 64 bits: use a smaller number",
            ),
            (
                "99999999999999999M",
                "`99999999999999999M` does not fit 64 bits: use a smaller number",
            ),
        ] {
            assert_eq!(number(text).unwrap_err().to_string(), message);
        }
    }

    #[test]
    fn a_move_has_a_sign() {
        assert_eq!(offset("+0x100"), Ok(256));
        assert_eq!(offset("-8K"), Ok(-8192));
        assert_eq!(
            offset("0x100").unwrap_err().to_string(),
            "`0x100` has no sign: write +0x100 to move up, -0x100 to move down"
        );
        assert!(offset("").is_err() && offset("+").is_err() && offset("é").is_err());
    }

    #[test]
    fn a_size_is_at_least_one() {
        assert!(size("0").is_err());
        assert_eq!(size("2K"), Ok(2048));
    }
}
