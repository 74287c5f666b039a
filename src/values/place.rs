//! Addresses with a place before them: `cpu:0xFFFC`, `bank3:0x4007`, `video:bank0-7:0x10`, `U7:0x10`.

use std::fmt;
use std::str::FromStr;

use super::bad_value::BadValue;
use super::number::number;
use super::range::range;
use crate::image::AddressRange;

/// Whose addresses a number means.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Place {
    /// The piece's own: the CPU's before it is seated, the chip's after.
    #[default]
    Own,
    /// Those of a bus, in one or more positions of a switch; or those of the chip in a socket.
    On {
        /// The bus or the socket; the board knows which of the two. `None` for the bus `cpu`.
        name: Option<String>,
        /// The positions; `None` where none was written.
        banks: Option<BankSet>,
    },
}

/// Positions of a switch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BankSet {
    /// Every position.
    All,
    /// These, each with its first and last.
    Some(Vec<(u64, u64)>),
}

/// An address (`u64`) or a range of them ([`AddressRange`]), and the place it belongs to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InSpace<T> {
    /// Whose.
    pub place: Place,
    /// The address, or the range.
    pub value: T,
}

impl Place {
    /// The bus `cpu`, in no bank.
    pub fn cpu() -> Self {
        Place::On {
            name: Some("cpu".into()),
            banks: None,
        }
    }

    /// The bus or socket that it is on; `None` for the piece's own addresses.
    pub fn bus(&self) -> Option<&str> {
        match self {
            Place::Own => None,
            Place::On { name, .. } => Some(name.as_deref().unwrap_or("cpu")),
        }
    }

    /// Whether it names banks.
    pub fn has_banks(&self) -> bool {
        matches!(self, Place::On { banks: Some(_), .. })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Place::On { name, banks } = self else {
            return Ok(());
        };
        if let Some(name) = name {
            write!(f, "{name}:")?;
        }
        match banks {
            None => Ok(()),
            Some(BankSet::All) => f.write_str("bank:"),
            Some(BankSet::Some(ranges)) => {
                let ranges = ranges.iter().map(|(first, last)| match first == last {
                    true => first.to_string(),
                    false => format!("{first}-{last}"),
                });
                write!(f, "bank{}:", ranges.collect::<Vec<_>>().join(","))
            }
        }
    }
}

impl FromStr for Place {
    type Err = BadValue;

    /// A place without an address, with or without the colon at its end: `bank1`, `video`, `video:bank3`, `U20`.
    fn from_str(text: &str) -> Result<Self, BadValue> {
        let whole = format!("{}:", text.strip_suffix(':').unwrap_or(text));
        match place(&whole) {
            (place @ Place::On { .. }, "") => Ok(place),
            _ => Err(BadValue::new(
                format!("`{text}` is not a bank, a bus or a socket"),
                "write bank1, video, video:bank3 or U7",
            )),
        }
    }
}

impl FromStr for InSpace<u64> {
    type Err = BadValue;

    fn from_str(text: &str) -> Result<Self, BadValue> {
        address(text)
    }
}

impl FromStr for InSpace<AddressRange> {
    type Err = BadValue;

    fn from_str(text: &str) -> Result<Self, BadValue> {
        addresses(text)
    }
}

/// The place at the start of a text, and what comes after it.
fn place(text: &str) -> (Place, &str) {
    let (first, rest) = match word(text) {
        None => return (Place::Own, text),
        Some(found) => found,
    };
    if let Some(banks) = banks(first) {
        let banks = Some(banks);
        return (Place::On { name: None, banks }, rest);
    }
    let name = Some(first.to_owned());
    if let Some((second, after)) = word(rest) {
        if let Some(banks) = banks(second) {
            let banks = Some(banks);
            return (Place::On { name, banks }, after);
        }
    }
    (Place::On { name, banks: None }, rest)
}

/// A name and what comes after its colon; nothing for a number, which is never a place.
fn word(text: &str) -> Option<(&str, &str)> {
    let (word, rest) = text.split_once(':')?;
    let begins = word.starts_with(|c: char| c.is_alphabetic() || c == '_');
    let is_name = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | ',');
    let fits = begins && word.chars().all(is_name) && number(word).is_err();
    fits.then_some((word, rest))
}

/// `bank`, `bank3`, `bank0-30`, `bank1,3`.
fn banks(word: &str) -> Option<BankSet> {
    let list = word.strip_prefix("bank")?;
    if list.is_empty() {
        return Some(BankSet::All);
    }
    let number = |text: &str| text.parse::<u64>().ok();
    let ranges = list.split(',').map(|part| match part.split_once('-') {
        Some((first, last)) => Some((number(first)?, number(last)?)),
        None => number(part).map(|bank| (bank, bank)),
    });
    let ranges: Option<Vec<(u64, u64)>> = ranges.collect();
    let ranges = ranges?;
    let sound = ranges.iter().all(|(first, last)| first <= last);
    sound.then_some(BankSet::Some(ranges))
}

/// An address: a [`number`], with or without a place before it.
///
/// # Errors
/// [`BadValue`] as for a number.
pub fn address(text: &str) -> Result<InSpace<u64>, BadValue> {
    let (place, rest) = place(text);
    match number(rest) {
        Ok(value) => Ok(InSpace { place, value }),
        Err(error) => Err(meant_there(error, &place)),
    }
}

/// A [`range`], with or without a place before it.
///
/// # Errors
/// [`BadValue`] as for a range.
pub fn addresses(text: &str) -> Result<InSpace<AddressRange>, BadValue> {
    let (place, rest) = place(text);
    // `cpu:0x8000-cpu:0xFFFF` says it twice, and means the same.
    let rest = match &place {
        Place::Own => rest.to_owned(),
        named => rest.replace(&format!("-{named}"), "-"),
    };
    match range(&rest) {
        Ok(value) => Ok(InSpace { place, value }),
        Err(error) => Err(meant_there(error, &place)),
    }
}

/// What was meant, with the place before it.
fn meant_there(error: BadValue, place: &Place) -> BadValue {
    match error.meant().map(|meant| format!("{place}{meant}")) {
        Some(meant) => error.meaning(meant),
        None => error,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(name: Option<&str>, banks: Option<BankSet>) -> Place {
        Place::On {
            name: name.map(String::from),
            banks,
        }
    }

    #[test]
    fn addresses_are_marked_with_their_place() {
        let banks = |ranges: &[(u64, u64)]| Some(BankSet::Some(ranges.to_vec()));
        for (text, place, value) in [
            ("0xFFFC", Place::Own, 0xFFFC),
            ("cpu:0xFFFC", Place::cpu(), 0xFFFC),
            ("video:0x10", on(Some("video"), None), 0x10),
            ("bank3:0x4007", on(None, banks(&[(3, 3)])), 0x4007),
            ("bank0-30:5", on(None, banks(&[(0, 30)])), 5),
            ("bank1,3-4:5", on(None, banks(&[(1, 1), (3, 4)])), 5),
            ("bank:5", on(None, Some(BankSet::All)), 5),
            ("video:bank3:7", on(Some("video"), banks(&[(3, 3)])), 7),
            ("U7:0x10", on(Some("U7"), None), 0x10),
        ] {
            let found = address(text).unwrap();
            assert_eq!((&found.place, found.value), (&place, value), "{text}");
            assert_eq!(
                format!("{place}"),
                text[..text.rfind(':').map_or(0, |at| at + 1)]
            );
        }
        for text in [
            "cpu:0x8000-0xFFFF",
            "cpu:0x8000+32K",
            "cpu:0x8000-cpu:0xFFFF",
        ] {
            let found = addresses(text).unwrap();
            assert_eq!(found.place, Place::cpu());
            assert_eq!(found.value, AddressRange::new(0x8000, 0xFFFF).unwrap());
        }
        for text in ["8000h:1", "0x10:2", ":1", "a b:1", "cpu:"] {
            assert!(address(text).is_err(), "{text}");
        }
        assert_eq!(
            "bank1".parse::<Place>().unwrap(),
            on(None, banks(&[(1, 1)]))
        );
        assert!("0x10".parse::<Place>().is_err());
    }
}
