//! `EA EA 4C0080` and `text:HELLO`.

use std::str::FromStr;

use super::bad_value::BadValue;
use super::meant::bytes_meant;

const HOW: &str = "write pairs of hex digits, such as EA EA 4C0080, or text:HELLO";

/// A byte string, at least one byte: pairs of hex digits, with or without blanks between them, each group with or without
/// `0x` before it; or `text:` and a text with the escapes of [`text`].
///
/// # Errors
/// [`BadValue`] for anything else.
pub fn bytes(words: &str) -> Result<Vec<u8>, BadValue> {
    read(words).map_err(|error| match bytes_meant(words) {
        Some(meant) if !words.starts_with("text:") => error.meaning(meant),
        _ => error,
    })
}

fn read(words: &str) -> Result<Vec<u8>, BadValue> {
    if let Some(words) = words.strip_prefix("text:") {
        let bytes = text(words)?;
        return match bytes.is_empty() {
            true => Err(BadValue::new("`text:` has no text after it", HOW)),
            false => Ok(bytes),
        };
    }
    let mut out = Vec::new();
    for group in words.split_ascii_whitespace() {
        let digits = group
            .strip_prefix("0x")
            .or_else(|| group.strip_prefix("0X"))
            .unwrap_or(group);
        if let Some(other) = digits.chars().find(|c| !c.is_ascii_hexdigit()) {
            return Err(BadValue::new(
                format!("`{other}` in `{group}` is not a hex digit"),
                HOW,
            ));
        }
        if digits.len() % 2 == 1 {
            let advice = match digits.len() {
                1 => format!("write 0{digits}"),
                _ => HOW.into(),
            };
            return Err(BadValue::new(
                format!("`{group}` has a hex digit without a partner"),
                advice,
            ));
        }
        out.extend(pairs(digits).unwrap_or_default());
    }
    match out.is_empty() {
        true => Err(BadValue::new("there are no bytes here", HOW)),
        false => Ok(out),
    }
}

/// Bytes, parsed from a text by [`bytes`].
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ByteString(pub Vec<u8>);

impl FromStr for ByteString {
    type Err = BadValue;

    fn from_str(text: &str) -> Result<Self, BadValue> {
        bytes(text).map(Self)
    }
}

/// Pairs of hex digits as bytes; `None` for anything else.
pub fn pairs(digits: &str) -> Option<Vec<u8>> {
    let nibble = |c: u8| char::from(c).to_digit(16);
    if digits.len() % 2 != 0 {
        return None;
    }
    digits
        .as_bytes()
        .chunks_exact(2)
        .map(|pair| Some((nibble(pair[0])? << 4 | nibble(pair[1])?) as u8))
        .collect()
}

/// One byte, written as [`bytes`] are: `FF`, `0xFF`.
///
/// # Errors
/// [`BadValue`] for anything else.
pub fn byte(words: &str) -> Result<u8, BadValue> {
    match bytes(words)?[..] {
        [byte] => Ok(byte),
        ref several => Err(BadValue::new(
            format!("`{words}` is {} bytes", several.len()),
            "one byte is needed here, such as FF or 0xFF",
        )),
    }
}

/// A text's bytes in UTF-8, with the escapes `\n \r \t \0 \xNN \\`.
///
/// # Errors
/// [`BadValue`] for any other escape.
pub fn text(words: &str) -> Result<Vec<u8>, BadValue> {
    let mut out = Vec::with_capacity(words.len());
    let mut rest = words;
    while let Some((plain, escape)) = rest.split_once('\\') {
        out.extend_from_slice(plain.as_bytes());
        let mut chars = escape.chars();
        let known = chars.next();
        rest = chars.as_str();
        out.push(match known {
            Some('n') => b'\n',
            Some('r') => b'\r',
            Some('t') => b'\t',
            Some('0') => 0,
            Some('\\') => b'\\',
            Some('x') => {
                let pair = rest.get(..2).and_then(pairs).ok_or_else(|| {
                    BadValue::new(
                        format!("`\\x` in `{words}` needs two hex digits after it"),
                        "write \\x0D for the byte 0D",
                    )
                })?;
                rest = &rest[2..];
                pair[0]
            }
            other => {
                return Err(BadValue::new(
                    match other {
                        Some(c) => format!("`\\{c}` in `{words}` means nothing"),
                        None => format!("`{words}` ends in a lone `\\`"),
                    },
                    "write one of \\n \\r \\t \\0 \\xNN and \\\\",
                ));
            }
        });
    }
    out.extend_from_slice(rest.as_bytes());
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_to_write_bytes() {
        for (words, wanted) in [
            ("EA EA 4C0080", &[0xEA, 0xEA, 0x4C, 0x00, 0x80][..]),
            ("ff", &[0xFF]),
            ("0xFF", &[0xFF]),
            ("0x1A 0x0d", &[0x1A, 0x0D]),
            ("text:HI", b"HI"),
            (r"text:A\n\r\t\0\x7F\\", b"A\n\r\t\0\x7F\\"),
            ("text:é", &[0xC3, 0xA9]),
        ] {
            assert_eq!(bytes(words).as_deref(), Ok(wanted), "{words}");
        }
    }

    #[test]
    fn what_are_no_bytes_gets_told_how_to_write_them() {
        for (words, message) in [
            ("F", "`F` has a hex digit without a partner: write 0F"),
            (
                "255",
                "`255` has a hex digit without a partner: write pairs of hex digits, such as EA EA 4C0080, or text:HELLO",
            ),
            (
                "+5",
                "`+` in `+5` is not a hex digit: write pairs of hex digits, such as EA EA 4C0080, or text:HELLO",
            ),
            (
                "",
                "there are no bytes here: write pairs of hex digits, such as EA EA 4C0080, or text:HELLO",
            ),
            (
                "text:",
                "`text:` has no text after it: write pairs of hex digits, such as EA EA 4C0080, or text:HELLO",
            ),
            (
                r"text:\q",
                r"`\q` in `\q` means nothing: write one of \n \r \t \0 \xNN and \\",
            ),
            (
                r"text:\x4",
                r"`\x` in `\x4` needs two hex digits after it: write \x0D for the byte 0D",
            ),
            (
                r"text:\x4é",
                r"`\x` in `\x4é` needs two hex digits after it: write \x0D for the byte 0D",
            ),
            (
                "text:A\\",
                "`A\\` ends in a lone `\\`: write one of \\n \\r \\t \\0 \\xNN and \\\\",
            ),
        ] {
            assert_eq!(bytes(words).unwrap_err().to_string(), message);
        }
        assert_eq!(
            byte("EA EA").unwrap_err().to_string(),
            "`EA EA` is 2 bytes: one byte is needed here, such as FF or 0xFF"
        );
    }
}
