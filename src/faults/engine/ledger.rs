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
