//! Several reads of one chip, no two alike: what wavers, and why.

use super::draw::some_content;
use crate::support::broken::{
    Chance, Fault, Identity, flip, floating_address, floating_data, wavering,
};
use crate::support::contents::{Content, Kind};
use std::fmt;

/// Why the reads differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unsteady {
    /// A few cells hold so little that they read 0 or 1.
    WeakCells,
    /// Any bit, now and then.
    Noise,
    DataLine(usize),
    AddressLine(usize),
    /// The read of this number is wrong, the others are alike.
    Odd(usize),
    /// They are reads of different chips.
    Strangers,
}

impl Unsteady {
    pub const NAMES: [&str; 6] = [
        "weak cells",
        "noise",
        "a floating data line",
        "a floating address line",
        "one odd read",
        "reads of different chips",
    ];

    pub fn name(self) -> &'static str {
        match self {
            Unsteady::WeakCells => Self::NAMES[0],
            Unsteady::Noise => Self::NAMES[1],
            Unsteady::DataLine(_) => Self::NAMES[2],
            Unsteady::AddressLine(_) => Self::NAMES[3],
            Unsteady::Odd(_) => Self::NAMES[4],
            Unsteady::Strangers => Self::NAMES[5],
        }
    }
}

/// Reads of one chip, or what was thought to be one.
pub struct Reads {
    pub number: usize,
    pub content: Content,
    pub wanted: Vec<u8>,
    pub reads: Vec<Vec<u8>>,
    pub truth: Unsteady,
    /// Places that waver: byte times 8 and line; for a line none.
    pub places: Vec<usize>,
}

impl Reads {
    /// The case of this number; three to five reads, two of which differ at least.
    pub fn new(seed: u64, number: usize, largest: u32) -> Self {
        let chance =
            &mut Chance(seed ^ 0x5EAD ^ (number as u64).wrapping_mul(0xA24B_AED4_963E_E407));
        loop {
            let content = some_content(Kind::REAL, largest, chance);
            let wanted = content.bytes();
            let lines = content.lines as usize;
            let count = chance.between(3, 5);
            let mut places = Vec::new();
            let each =
                |read: &mut dyn FnMut(usize) -> Vec<u8>| (0..count).map(read).collect::<Vec<_>>();
            let (truth, reads) = match number % 6 {
                0 => {
                    let cells = chance.between(1, 60);
                    places = chance.some_of(cells, 8 * wanted.len());
                    (
                        Unsteady::WeakCells,
                        each(&mut |_| wavering(&wanted, &places, chance)),
                    )
                }
                1 => {
                    let bits = chance.between(10, 200);
                    (Unsteady::Noise, each(&mut |_| flip(&wanted, bits, chance)))
                }
                2 => {
                    let line = chance.below(8);
                    (
                        Unsteady::DataLine(line),
                        each(&mut |_| floating_data(&wanted, line, chance)),
                    )
                }
                3 => {
                    let line = chance.below(lines);
                    (
                        Unsteady::AddressLine(line),
                        each(&mut |_| floating_address(&wanted, line, chance)),
                    )
                }
                4 => {
                    let odd = chance.below(count);
                    let wrong = match chance.once_in(2) {
                        true => flip(&wanted, chance.between(1, 400), chance),
                        false => {
                            let (stretches, seed) = (chance.between(1, 20), chance.next());
                            Fault::Identity(Identity::Version { stretches, seed }).read(&wanted)
                        }
                    };
                    let read = |n| {
                        if n == odd {
                            wrong.clone()
                        } else {
                            wanted.clone()
                        }
                    };
                    (Unsteady::Odd(odd), (0..count).map(read).collect())
                }
                _ => {
                    let read = |n: usize| {
                        Content {
                            seed: content.seed + n as u64,
                            ..content
                        }
                        .bytes()
                    };
                    (Unsteady::Strangers, (0..count).map(read).collect())
                }
            };
            if reads.iter().any(|read| *read != reads[0]) {
                return Self {
                    number,
                    content,
                    wanted,
                    reads,
                    truth,
                    places,
                };
            }
        }
    }
}

impl fmt::Display for Reads {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Content { kind, lines, seed } = self.content;
        let reads = self.reads.len();
        write!(
            f,
            "reads {}: {:?}, {reads} reads, {kind:?}, {lines} lines, content {seed}",
            self.number, self.truth
        )
    }
}
