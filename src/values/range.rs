//! `0x8000-0xFFFF` and `0x8000+32K`.

use std::str::FromStr;

use super::bad_value::BadValue;
use super::meant::range_meant;
use super::number::{number, size};
use crate::image::AddressRange;

/// A range of addresses: `FIRST-LAST`, both included, or `START+LENGTH`.
///
/// # Errors
/// [`BadValue`] when it is neither, is back to front, or leaves the address space.
pub fn range(text: &str) -> Result<AddressRange, BadValue> {
    read(text).map_err(|error| match range_meant(text) {
        Some(meant) => error.meaning(meant),
        // An end by itself is no range.
        None => BadValue::clone(&error).meaning_nothing(),
    })
}

fn read(text: &str) -> Result<AddressRange, BadValue> {
    let too_far = || {
        BadValue::new(
            format!("`{text}` goes past the last address"),
            "addresses end at 0xFFFFFFFFFFFFFFFE",
        )
    };
    if text.matches('-').count() > 1 && text.contains(',') {
        return Err(BadValue::fact(format!("`{text}` is several ranges")));
    }
    if let Some((first, last)) = text.split_once('-') {
        let (first, last) = (number(first.trim())?, number(last.trim())?);
        return AddressRange::new(first, last).ok_or_else(|| match last < first {
            true => BadValue::new(
                format!("`{text}` is back to front"),
                format!("write 0x{last:X}-0x{first:X}"),
            ),
            false => too_far(),
        });
    }
    if let Some((start, length)) = text.split_once('+') {
        let (start, length) = (number(start.trim())?, size(length.trim())?);
        return AddressRange::from_len(start, length).ok_or_else(too_far);
    }
    let halves = ["..", ":", "/", ","]
        .iter()
        .find_map(|m| text.split_once(m));
    let halves = halves.map(|(a, b)| (number(a.trim()), number(b.trim_start_matches('=').trim())));
    let ordered = match halves {
        Some((Ok(first), Ok(last))) if first < last => Some((first, last)),
        _ => None,
    };
    let advice = match (number(text), ordered) {
        // The other notation may or may not include the last address, so both are shown.
        (Err(_), Some((first, last))) => {
            format!(
                "write 0x{first:X}-0x{last:X}, or 0x{first:X}-0x{:X} without the last address",
                last - 1
            )
        }
        (Ok(_), _) => format!("write {text}-LAST (both included) or {text}+LENGTH"),
        (Err(_), None) => {
            "write FIRST-LAST (both included), such as 0x8000-0xFFFF, or START+LENGTH, such as 0x8000+32K"
                .into()
        }
    };
    Err(BadValue::new(format!("`{text}` is not a range"), advice))
}

/// As [`range`].
impl FromStr for AddressRange {
    type Err = BadValue;

    fn from_str(text: &str) -> Result<Self, BadValue> {
        range(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_forms_mean_the_same() {
        let wanted = AddressRange::new(0x8000, 0xFFFF).unwrap();
        for text in [
            "0x8000-0xFFFF",
            "8000h-FFFFh",
            "0x8000+32K",
            "32K+0x8000",
            "32768 - 65535",
        ] {
            assert_eq!(range(text), Ok(wanted), "{text}");
        }
        assert_eq!(range("5-5").unwrap().len(), 1);
    }

    #[test]
    fn what_is_no_range_gets_told_how_to_write_it() {
        for (text, message) in [
            (
                "0xFFFF-0x8000",
                "`0xFFFF-0x8000` is back to front: write 0x8000-0xFFFF",
            ),
            (
                "0x8000",
                "`0x8000` is not a range: write 0x8000-LAST (both included) or 0x8000+LENGTH",
            ),
            (
                "0x8000..0xFFFF",
                "`0x8000..0xFFFF` is not a range: write 0x8000-0xFFFF, or 0x8000-0xFFFE without the last address",
            ),
            ("0x8000+0", "a size can't be 0: give at least 1 byte"),
            (
                "0xFFFFFFFFFFFFFFFF+2",
                "`0xFFFFFFFFFFFFFFFF+2` goes past the last address: addresses end at 0xFFFFFFFFFFFFFFFE",
            ),
            (
                "8000-FFFF",
                "`FFFF` has no mark that says it is hexadecimal: write 0xFFFF or FFFFh",
            ),
        ] {
            assert_eq!(range(text).unwrap_err().to_string(), message);
        }
    }
}
