//! What can be wrong with address and data lines.

/// What is wrong with one line or two, of the address or of the data, as seen after the fault: by
/// the chip on address lines, by the reader on data lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LineFault {
    /// Always 0.
    StuckLow(u8),
    /// Always 1.
    StuckHigh(u8),
    /// The opposite level.
    Inverted(u8),
    /// Each carries the other's level. The lower line comes first.
    Swapped(u8, u8),
    /// Joined, and 0 wins (wired-AND). The lower line comes first.
    ShortedLow(u8, u8),
    /// Joined, and 1 wins (wired-OR). The lower line comes first.
    ShortedHigh(u8, u8),
    /// Joined, and the driver of one line wins over the other's.
    Overdriven {
        /// The line whose level both carry.
        winner: u8,
        /// The line whose own level is lost.
        loser: u8,
    },
}

impl LineFault {
    /// Every fault of every kind on this many lines.
    pub fn all(lines: u8) -> Vec<LineFault> {
        let mut all = Vec::new();
        for i in 0..lines {
            all.extend([Self::StuckLow(i), Self::StuckHigh(i), Self::Inverted(i)]);
            for j in i + 1..lines {
                all.extend([
                    Self::Swapped(i, j),
                    Self::ShortedLow(i, j),
                    Self::ShortedHigh(i, j),
                    Self::Overdriven {
                        winner: i,
                        loser: j,
                    },
                    Self::Overdriven {
                        winner: j,
                        loser: i,
                    },
                ]);
            }
        }
        all
    }

    /// The levels after the fault; bit i is line i.
    #[inline]
    pub fn apply(self, levels: usize) -> usize {
        match self {
            Self::StuckLow(i) => levels & !(1 << i),
            Self::StuckHigh(i) => levels | 1 << i,
            Self::Inverted(i) => levels ^ 1 << i,
            Self::Swapped(i, j) => {
                let differ = (levels >> i ^ levels >> j) & 1;
                levels ^ (differ << i | differ << j)
            }
            Self::ShortedLow(i, j) => {
                let both = 1 << i | 1 << j;
                if levels & both == both {
                    levels
                } else {
                    levels & !both
                }
            }
            Self::ShortedHigh(i, j) => {
                let both = 1 << i | 1 << j;
                if levels & both == 0 {
                    levels
                } else {
                    levels | both
                }
            }
            Self::Overdriven { winner, loser } => {
                levels & !(1 << loser) | (levels >> winner & 1) << loser
            }
        }
    }

    /// The lines that have the fault, one or two.
    pub fn lines(self) -> (u8, Option<u8>) {
        match self {
            Self::StuckLow(i) | Self::StuckHigh(i) | Self::Inverted(i) => (i, None),
            Self::Swapped(i, j) | Self::ShortedLow(i, j) | Self::ShortedHigh(i, j) => (i, Some(j)),
            Self::Overdriven { winner, loser } => (winner, Some(loser)),
        }
    }

    /// Whether levels only are swapped and none is lost: then burning and reading through
    /// the fault cancel each other.
    pub fn loses_nothing(self) -> bool {
        matches!(self, Self::Inverted(_) | Self::Swapped(..))
    }

    /// Whether the two faults have a line in common, so that it matters which comes first.
    pub(super) fn meets(self, other: LineFault) -> bool {
        let (a, b) = self.lines();
        let (c, d) = other.lines();
        a == c || Some(a) == d || b == Some(c) || (b.is_some() && b == d)
    }
}

/// What a cell does when it is written again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cells {
    /// The later value replaces the earlier, as in EEPROM.
    Overwrite,
    /// Bits only go from 1 to 0, so a cell contains the AND of all writes, as in EPROM and flash.
    OnlyClear,
}

/// When an address line was bad. (With a bad data line it makes no difference to the read.)
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum When {
    /// While reading; the chip is right.
    Reading,
    /// While burning; the chip is wrong and read well.
    Burning(Cells),
    /// Both, as in the programmer's socket.
    Both(Cells),
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The levels of line 1 and line 3 after each fault of the two, for 00, 01, 10 and 11 on them.
    #[test]
    fn levels_by_hand() {
        let levels = [0b0101, 0b0111, 0b1101, 0b1111];
        let after = |fault: LineFault| levels.map(|levels| fault.apply(levels));
        assert_eq!(
            after(LineFault::StuckLow(1)),
            [0b0101, 0b0101, 0b1101, 0b1101]
        );
        assert_eq!(
            after(LineFault::StuckHigh(3)),
            [0b1101, 0b1111, 0b1101, 0b1111]
        );
        assert_eq!(
            after(LineFault::Inverted(1)),
            [0b0111, 0b0101, 0b1111, 0b1101]
        );
        assert_eq!(
            after(LineFault::Swapped(1, 3)),
            [0b0101, 0b1101, 0b0111, 0b1111]
        );
        assert_eq!(
            after(LineFault::ShortedLow(1, 3)),
            [0b0101, 0b0101, 0b0101, 0b1111]
        );
        assert_eq!(
            after(LineFault::ShortedHigh(1, 3)),
            [0b0101, 0b1111, 0b1111, 0b1111]
        );
        let driven = |winner, loser| after(LineFault::Overdriven { winner, loser });
        assert_eq!(driven(1, 3), [0b0101, 0b1111, 0b0101, 0b1111]);
        assert_eq!(driven(3, 1), [0b0101, 0b0101, 0b1111, 0b1111]);
    }

    #[test]
    fn all_faults_of_some_lines() {
        // Three of each line, five of each pair.
        assert_eq!(
            [0, 1, 2, 4].map(|lines| LineFault::all(lines).len()),
            [0, 3, 11, 42]
        );
        let mut all = LineFault::all(4);
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), 42);
        for fault in &all {
            // What loses nothing can be undone: no two levels become one.
            let mut after: Vec<usize> = (0..16).map(|levels| fault.apply(levels)).collect();
            after.sort_unstable();
            after.dedup();
            assert_eq!(fault.loses_nothing(), after.len() == 16, "{fault:?}");
            for other in &all {
                let lines = |fault: LineFault| {
                    let (one, two) = fault.lines();
                    [Some(one), two]
                };
                let shared = |line: &Option<u8>| line.is_some() && lines(*other).contains(line);
                assert_eq!(fault.meets(*other), lines(*fault).iter().any(shared));
            }
        }
    }
}
