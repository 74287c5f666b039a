//! The stories that were tried, with what each costs and leaves over.

use crate::faults::cost::{A_WRONG_CELL, LEFT_OVER, Literals, Tally, leftover_bits};
use crate::faults::story::{CellKind, Story};
use crate::wiring::Width;

/// A story that costs this many bits more than the cheapest until now is not followed to the end.
const HOPELESS: f64 = 30.0;
/// Wrong cells that a story may have before its cost is in doubt at all.
const A_FEW: usize = 8;
/// Cells that are predicted at once.
const CHUNK: usize = 1024;

/// A story that was compared with the read.
#[derive(Clone, Debug)]
pub(in crate::faults) struct Told {
    pub story: Story,
    /// What the story and what it leaves over cost together.
    pub bits: f64,
    /// Cells that it predicts wrongly, and how they are listed.
    pub wrong: usize,
    pub left: Option<CellKind>,
    /// A fingerprint of the read that it predicts; a list predicts none.
    pub print: Option<u64>,
    /// Whether it is a list in disguise: so many steps that it is never more than likely.
    pub list: bool,
    /// Whether it leaves so much over that another story's list would do without it.
    pub passenger: bool,
}

/// The read, and the stories that were told about it.
pub(in crate::faults) struct Ledger<'a> {
    pub read: &'a [u16],
    pub width: Width,
    pub literals: &'a Literals,
    pub told: Vec<Told>,
    /// The cost of the cheapest story until now.
    pub bound: f64,
}

impl<'a> Ledger<'a> {
    pub fn new(read: &'a [u16], width: Width, literals: &'a Literals) -> Self {
        Ledger {
            read,
            width,
            literals,
            told: Vec::new(),
            bound: f64::INFINITY,
        }
    }

    /// Whether a story of this cost can still matter.
    pub fn hopeless(&self, bits: f64) -> bool {
        bits > self.bound + HOPELESS
    }

    /// Adds a story whose cost is known.
    pub fn add(&mut self, told: Told) {
        self.bound = self.bound.min(told.bits);
        self.told.push(told);
    }

    /// Adds a list: a story that predicts nothing, so it predicts nothing wrongly.
    pub fn list(&mut self, story: Story, bits: f64) {
        self.add(Told {
            story,
            bits,
            wrong: 0,
            left: None,
            print: None,
            list: true,
            passenger: false,
        });
    }

    /// Compares a prediction with the read, and adds the story unless it is hopeless. Returns the cells that it
    /// predicts wrongly if it was followed to the end.
    pub fn hold(
        &mut self,
        bits: f64,
        predicted: &dyn Fn(usize) -> u16,
        story: impl FnOnce() -> Story,
    ) -> Option<usize> {
        let tally = self.tally(bits, predicted)?;
        let left = leftover_bits(&tally);
        let more = left.map_or(0.0, |(_, bits)| bits + LEFT_OVER);
        let wrong = tally.wrong;
        let print = tally.print;
        self.add(Told {
            story: story(),
            bits: bits + more,
            wrong,
            left: left.map(|(kind, _)| kind),
            print: Some(print),
            list: false,
            passenger: false,
        });
        Some(wrong)
    }

    /// As [`hold`](Self::hold), for a prediction in bytes; it must be as long as the read.
    pub fn hold_bytes(
        &mut self,
        bits: f64,
        predicted: &[u8],
        story: impl FnOnce() -> Story,
    ) -> Option<usize> {
        if predicted.len() != self.read.len() * self.width.bytes() {
            return None;
        }
        match self.width {
            Width::Eight => self.hold(bits, &|a| u16::from(predicted[a]), story),
            Width::Sixteen => self.hold(
                bits,
                &|a| u16::from_le_bytes([predicted[2 * a], predicted[2 * a + 1]]),
                story,
            ),
        }
    }

    /// Counts what a prediction gets wrong; gives up when that is too much for the story to matter.
    fn tally(&self, bits: f64, predicted: &dyn Fn(usize) -> u16) -> Option<Tally<'a>> {
        if self.hopeless(bits) {
            return None;
        }
        let room = (self.bound + HOPELESS - bits) / A_WRONG_CELL;
        let most = (room.min(1e12) as usize).saturating_add(A_FEW);
        let mut tally = Tally::new(self.literals, self.width);
        let mut cells = [0u16; CHUNK];
        for (n, read) in self.read.chunks(CHUNK).enumerate() {
            let cells = &mut cells[..read.len()];
            for (cell, a) in cells.iter_mut().zip(n * CHUNK..) {
                *cell = predicted(a);
            }
            tally.take(cells, read);
            if tally.wrong > most {
                return None;
            }
        }
        Some(tally)
    }

    /// Sorts the stories, the cheapest first.
    pub fn sort(&mut self) {
        self.told.sort_by(|a, b| a.bits.total_cmp(&b.bits));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::story::Model;

    fn with<R>(read: &[u16], width: Width, ask: impl FnOnce(&mut Ledger) -> R) -> R {
        let literals = Literals::of(&[]);
        ask(&mut Ledger::new(read, width, &literals))
    }

    fn story() -> Story {
        Model::Blank.into()
    }

    /// What a story leaves over costs 3 and the cheapest list.
    #[test]
    fn what_is_left_over_is_listed() {
        let read = [0x11u16; 4096];
        with(&read, Width::Eight, |ledger| {
            assert_eq!(ledger.hold(10.0, &|_| 0x11, story), Some(0));
            let told = &ledger.told[0];
            assert_eq!((told.bits, told.wrong, told.left), (10.0, 0, None));
            assert!(told.print.is_some() && !told.list);
            assert_eq!(ledger.bound, 10.0);
            // One bit of 8 x 4096, which has leaked: 14 bits, and 1 for their number.
            let wrong = |a: usize| if a == 2000 { 0x10 } else { 0x11 };
            assert_eq!(ledger.hold(11.0, &wrong, story), Some(1));
            let told = &ledger.told[1];
            assert_eq!((told.wrong, told.left), (1, Some(CellKind::ReadAsOne)));
            let zeros = 8.0 * 4096.0 - 2.0 * 4096.0 + 1.0f64;
            assert!((told.bits - (11.0 + 3.0 + 1.0 + zeros.log2())).abs() < 1e-9);
            assert_eq!(ledger.bound, 10.0, "the cheapest until now");
            assert_ne!(ledger.told[0].print, ledger.told[1].print);
            ledger.list(story(), 9.0);
            assert_eq!(ledger.bound, 9.0);
            ledger.sort();
            let bits: Vec<f64> = ledger.told.iter().map(|told| told.bits.floor()).collect();
            assert_eq!(bits, [9.0, 10.0, 29.0]);
        });
    }

    /// A story that is 30 bits dearer than the cheapest is not followed, nor one that leaves so many cells over.
    #[test]
    fn hopeless_stories_are_dropped() {
        let read = [0x11u16; 4096];
        with(&read, Width::Eight, |ledger| {
            ledger.list(story(), 100.0);
            assert_eq!(ledger.hold(130.1, &|_| 0x11, story), None);
            assert_eq!(ledger.hold(130.0, &|_| 0x11, story), Some(0));
        });
        // With 50 bits of room there may be 10 cells at 5 bits each, and 8 more.
        let wrong = |cells: usize| {
            with(&read, Width::Eight, |ledger| {
                ledger.list(story(), 100.0);
                let predicted = |a: usize| if a < cells { 0x10 } else { 0x11 };
                ledger.hold(80.0, &predicted, story)
            })
        };
        assert_eq!((wrong(18), wrong(19)), (Some(18), None));
        // While nothing else is known, everything is followed.
        with(&read, Width::Eight, |ledger| {
            assert_eq!(ledger.hold(1e6, &|_| 0x10, story), Some(4096));
        });
    }

    #[test]
    fn bytes_are_compared_as_cells() {
        let read = [0x2211u16, 0x4433];
        with(&read, Width::Sixteen, |ledger| {
            assert_eq!(ledger.hold_bytes(1.0, &[0x11, 0x22, 0x33], story), None);
            assert_eq!(
                ledger.hold_bytes(1.0, &[0x11, 0x22, 0x33, 0x44], story),
                Some(0)
            );
            assert_eq!(
                ledger.hold_bytes(1.0, &[0x11, 0x22, 0x33, 0x45], story),
                Some(1)
            );
        });
        with(&[0x11, 0x22], Width::Eight, |ledger| {
            assert_eq!(ledger.hold_bytes(1.0, &[0x11, 0x22], story), Some(0));
            assert_eq!(ledger.hold_bytes(1.0, &[0x11, 0x21], story), Some(1));
            assert_eq!(ledger.hold_bytes(1.0, &[0x11], story), None);
        });
    }
}
