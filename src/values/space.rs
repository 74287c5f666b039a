//! Addresses with `cpu:` in front.

use super::{BadValue, number, range};
use crate::image::AddressRange;

/// Whose addresses a number means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Space {
    /// The piece's own: the CPU's before it is seated, the chip's after.
    #[default]
    Own,
    /// The CPU's, through the map that seating keeps.
    Cpu,
}

/// An address in one of the two spaces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Whose.
    pub space: Space,
    /// The number.
    pub address: u64,
}

/// A range in one of the two spaces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Whose.
    pub space: Space,
    /// The addresses.
    pub range: AddressRange,
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
pub fn spot(text: &str) -> Result<Spot, BadValue> {
    let (space, rest) = space(text);
    Ok(Spot {
        space,
        address: number(rest)?,
    })
}

/// A [`range`], with `cpu:` in front for the CPU's.
///
/// # Errors
/// [`BadValue`] as for a range.
pub fn reach(text: &str) -> Result<Reach, BadValue> {
    let (space, rest) = space(text);
    // `cpu:0x8000-cpu:0xFFFF` says it twice, and means the same.
    let rest = rest.replace("-cpu:", "-");
    Ok(Reach {
        space,
        range: range(&rest)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cpus_addresses_are_marked() {
        let plain = spot("0xFFFC").unwrap();
        assert_eq!((plain.space, plain.address), (Space::Own, 0xFFFC));
        let cpu = spot("cpu:0xFFFC").unwrap();
        assert_eq!((cpu.space, cpu.address), (Space::Cpu, 0xFFFC));
        for text in [
            "cpu:0x8000-0xFFFF",
            "cpu:0x8000+32K",
            "cpu:0x8000-cpu:0xFFFF",
        ] {
            let reach = reach(text).unwrap();
            assert_eq!(reach.space, Space::Cpu);
            assert_eq!(reach.range, AddressRange::new(0x8000, 0xFFFF).unwrap());
        }
        assert!(spot("CPU:1").is_err());
    }
}
