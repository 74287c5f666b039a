//! Address ranges, first and last both included, as memory maps print them.

use std::fmt;

/// A non-empty range of addresses, first and last both included.
///
/// The very last 64-bit address is never used: so one past the end, and every length, fits a `u64`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct AddressRange {
    first: u64,
    last: u64,
}

impl AddressRange {
    /// The last address a range can contain, 2^64 - 2.
    pub const TOP: u64 = u64::MAX - 1;

    /// The range from `first` to `last`, both included.
    ///
    /// `None` when `last` is below `first` or above [`TOP`](Self::TOP).
    pub fn new(first: u64, last: u64) -> Option<Self> {
        (first <= last && last <= Self::TOP).then_some(Self { first, last })
    }

    /// All addresses from `first` up; `None` when there are none.
    pub fn from_up(first: u64) -> Option<Self> {
        Self::new(first, Self::TOP)
    }

    /// All addresses below `end`; `None` when `end` is 0.
    pub fn below(end: u64) -> Option<Self> {
        Self::new(0, end.checked_sub(1)?)
    }

    /// The range of `len` addresses from `first` up.
    ///
    /// `None` when `len` is 0 or the range would pass [`TOP`](Self::TOP).
    pub fn from_len(first: u64, len: u64) -> Option<Self> {
        Self::new(first, first.checked_add(len.checked_sub(1)?)?)
    }

    /// The first address.
    pub fn first(self) -> u64 {
        self.first
    }

    /// The last address; it belongs to the range.
    pub fn last(self) -> u64 {
        self.last
    }

    /// How many addresses, at least 1.
    #[allow(clippy::len_without_is_empty)] // a range is never empty
    pub fn len(self) -> u64 {
        self.last - self.first + 1
    }

    /// Whether `address` is inside.
    pub fn contains(self, address: u64) -> bool {
        (self.first..=self.last).contains(&address)
    }

    /// Whether all of `other` is inside.
    pub fn covers(self, other: AddressRange) -> bool {
        self.first <= other.first && other.last <= self.last
    }

    /// What the two ranges share.
    pub fn overlap(self, other: AddressRange) -> Option<AddressRange> {
        Self::new(self.first.max(other.first), self.last.min(other.last))
    }

    /// The smallest range that contains both.
    pub fn hull(self, other: AddressRange) -> AddressRange {
        Self {
            first: self.first.min(other.first),
            last: self.last.max(other.last),
        }
    }
}

/// Upper-case hex with at least four digits: `0x8000-0xFFFF`, or `0x8000` for one address.
impl fmt::Display for AddressRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.first == self.last {
            true => write!(f, "0x{:04X}", self.first),
            false => write!(f, "0x{:04X}-0x{:04X}", self.first, self.last),
        }
    }
}

impl fmt::Debug for AddressRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn length_counts_both_ends() {
        assert_eq!(AddressRange::new(0x8000, 0xFFFF).unwrap().len(), 0x8000);
        assert_eq!(AddressRange::from_len(5, 1), AddressRange::new(5, 5));
    }

    #[test]
    fn impossible_ranges_are_refused() {
        assert_eq!(AddressRange::new(2, 1), None);
        assert_eq!(AddressRange::new(0, u64::MAX), None);
        assert_eq!(AddressRange::from_len(0, 0), None);
        assert_eq!(AddressRange::from_len(u64::MAX, 2), None);
        assert_eq!(AddressRange::from_len(u64::MAX, 1), None);
        assert_eq!(
            AddressRange::from_len(AddressRange::TOP, 1).unwrap().len(),
            1
        );
    }

    #[test]
    fn a_range_is_shown_as_memory_maps_print_it() {
        let range = AddressRange::new(0x80, 0x1_0000).unwrap();
        assert_eq!(range.to_string(), "0x0080-0x10000");
        assert_eq!(format!("{range:?}"), range.to_string());
    }

    #[test]
    fn covering_takes_both_ends() {
        let range = |first, last| AddressRange::new(first, last).unwrap();
        assert!(range(2, 5).covers(range(2, 5)) && range(2, 5).covers(range(3, 4)));
        assert!(!range(2, 5).covers(range(1, 5)) && !range(2, 5).covers(range(2, 6)));
    }

    #[test]
    fn overlap_is_what_both_hold() {
        let r = |a, b| AddressRange::new(a, b).unwrap();
        assert_eq!(r(0, 9).overlap(r(5, 20)), Some(r(5, 9)));
        assert_eq!(r(0, 4).overlap(r(5, 20)), None);
    }
}
