//! Addresses with `cpu:` in front.

use std::str::FromStr;

use super::bad_value::BadValue;
use super::number::number;
use super::range::range;
use crate::image::AddressRange;

/// Whose addresses a number means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Space {
    /// The piece's own: the CPU's before it is seated, the chip's after.
    #[default]
    Own,
    /// The CPU's, through the map that seating keeps.
    Cpu,
}

/// An address (`u64`) or a range of them ([`AddressRange`]), and in which space they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InSpace<T> {
    /// Whose.
    pub space: Space,
    /// The address, or the range.
    pub value: T,
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

fn space(text: &str) -> (Space, &str) {
    match text.strip_prefix("cpu:") {
        Some(rest) => (Space::Cpu, rest),
        None => (Space::Own, text),
    }
}

/// An address: a [`number`], with `cpu:` in front for the CPU's.
///
/// # Errors
/// [`BadValue`] as for a number.
pub fn address(text: &str) -> Result<InSpace<u64>, BadValue> {
    let (space, rest) = space(text);
    Ok(InSpace {
        space,
        value: number(rest)?,
    })
}

/// A [`range`], with `cpu:` in front for the CPU's.
///
/// # Errors
/// [`BadValue`] as for a range.
pub fn addresses(text: &str) -> Result<InSpace<AddressRange>, BadValue> {
    let (space, rest) = space(text);
    // `cpu:0x8000-cpu:0xFFFF` says it twice, and means the same.
    let rest = rest.replace("-cpu:", "-");
    Ok(InSpace {
        space,
        value: range(&rest)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cpus_addresses_are_marked() {
        let plain = address("0xFFFC").unwrap();
        assert_eq!((plain.space, plain.value), (Space::Own, 0xFFFC));
        let cpu = address("cpu:0xFFFC").unwrap();
        assert_eq!((cpu.space, cpu.value), (Space::Cpu, 0xFFFC));
        for text in [
            "cpu:0x8000-0xFFFF",
            "cpu:0x8000+32K",
            "cpu:0x8000-cpu:0xFFFF",
        ] {
            let reach = addresses(text).unwrap();
            assert_eq!(reach.space, Space::Cpu);
            assert_eq!(reach.value, AddressRange::new(0x8000, 0xFFFF).unwrap());
        }
        assert!(address("CPU:1").is_err());
    }
}
