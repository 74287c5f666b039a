//! All faults under one name.

use super::blocks::Block;
use super::cells::{Before, Cell};
use super::identity::Identity;
use super::lengths::Length;
use super::lines::{Cells, Kind, Lines, Phase};
use super::mistakes::Mistake;
use super::transfer::Damage;
use super::unheard::Unheard;

/// What else there is beside the image.
#[derive(Clone, Copy, Debug, Default)]
pub struct World<'a> {
    /// What the chip held before, of the image's length.
    pub old: &'a [u8],
    /// The chip of another socket, of the same length.
    pub other: &'a [u8],
    /// Whether the chip has 16 data lines.
    pub wide: bool,
}

/// One fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fault {
    Address(Kind, Phase),
    Data(Kind),
    /// The chip has so many address lines, fewer than the socket, and what it was burned with.
    Smaller(usize, Held),
    Cell(Cell),
    Block(Block),
    Length(Length),
    /// With `kept` the chip's size stays: cut off, or filled with FF.
    Transfer {
        damage: Damage,
        kept: bool,
    },
    Mistake(Mistake),
    Identity(Identity),
    Unheard(Unheard),
}

/// What a chip smaller than its socket holds of the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Held {
    /// The first part, burned elsewhere.
    First,
    /// Burned in this socket, later writes win.
    Last,
    /// Burned in this socket, bits only clear.
    All,
}

impl Fault {
    /// What is read from a chip of 8 data lines when `image` was meant and there is nothing else.
    pub fn read(self, image: &[u8]) -> Vec<u8> {
        self.read_in(image, &World::default())
    }

    /// What is read when `image` was meant.
    pub fn read_in(self, image: &[u8], world: &World) -> Vec<u8> {
        let on_lines = |address: Vec<Kind>, phase: Phase, data: Vec<Kind>| {
            let lines = Lines {
                address,
                phase,
                data,
            };
            match world.wide {
                true => lines.read_wide(image),
                false => lines.read(image),
            }
        };
        match self {
            Fault::Address(kind, phase) => on_lines(vec![kind], phase, vec![]),
            Fault::Data(kind) => on_lines(vec![], Phase::Reading, vec![kind]),
            Fault::Smaller(lines, held) => {
                smaller(image, (1 << lines) << u8::from(world.wide), held)
            }
            Fault::Cell(cell) => cell.read(image, world),
            Fault::Block(block) => block.read(image),
            Fault::Length(length) => length.read(image),
            Fault::Transfer { damage, kept } => {
                let mut read = damage.arrive(image);
                if kept {
                    read.resize(image.len(), 0xFF);
                }
                read
            }
            Fault::Mistake(mistake) => mistake.read(image, world.wide),
            Fault::Identity(identity) => identity.read(image, world),
            Fault::Unheard(unheard) => unheard.read(image, world),
        }
    }

    /// Every fault without a free measure, for a chip of so many address lines and 8 data lines.
    pub fn all(lines: usize) -> Vec<Fault> {
        use Cells::{OnlyClears, Overwrites};
        let mut all: Vec<Fault> = Damage::ALL
            .map(|damage| Fault::Transfer { damage, kept: true })
            .to_vec();
        all.extend(Kind::all(8).into_iter().map(Fault::Data));
        for kind in Kind::all(lines) {
            all.push(Fault::Address(kind, Phase::Reading));
            if !kind.cancels() {
                all.extend(
                    [
                        Phase::Burning(Overwrites),
                        Phase::Burning(OnlyClears),
                        Phase::Both(Overwrites),
                        Phase::Both(OnlyClears),
                    ]
                    .map(|phase| Fault::Address(kind, phase)),
                );
            }
        }
        for fewer in lines.saturating_sub(4)..lines {
            all.extend([Held::First, Held::Last, Held::All].map(|h| Fault::Smaller(fewer, h)));
        }
        all.extend([2, 4].map(|of| Fault::Mistake(Mistake::Reversed(of))));
        for banks in [2, 4, 8, 16] {
            let size = (1 << lines) / banks;
            for first in 0..banks {
                all.extend((first + 1..banks).map(|second| {
                    Fault::Block(Block::BanksSwapped {
                        size,
                        first,
                        second,
                    })
                }));
            }
        }
        all.extend([
            Fault::Mistake(Mistake::BitsReversed),
            Fault::Mistake(Mistake::Inverted),
            Fault::Block(Block::Rotated(1 << (lines - 1))),
            Fault::Cell(Cell::Nothing(Before::Blank)),
            Fault::Cell(Cell::Zeros),
        ]);
        for page in [16, 32, 64, 128, 256, 512] {
            for burst in [2 * page, 4 * page, 8 * page] {
                if burst <= 1 << lines {
                    all.extend([false, true].map(|into_last| {
                        Fault::Cell(Cell::PageWrapped {
                            page,
                            burst,
                            into_last,
                        })
                    }));
                }
            }
        }
        if lines == 12 {
            for select in [false, true] {
                all.extend([false, true].map(|a11| Fault::Identity(Identity::Cousin(select, a11))));
            }
        }
        all
    }

    /// Every fault with a free measure. Where the first byte that isn't burned would have been FF, the next measure
    /// reads the same and stands for both.
    pub fn measured(image: &[u8]) -> Vec<Fault> {
        let size = image.len();
        let before = Before::Blank;
        let mut all = Vec::new();
        for by in 1..size as isize {
            all.extend([by, -by].map(|by| Fault::Block(Block::Shifted(by))));
            if by < size as isize / 2 {
                all.extend([by, -by].map(|by| Fault::Block(Block::Rotated(by))));
            }
        }
        all.extend(
            (1..size)
                .filter(|&at| image[at] != 0xFF)
                .map(|at| Fault::Cell(Cell::Stopped { at, before })),
        );
        for page in [16, 32, 64, 128, 256, 512] {
            if page <= size {
                let written =
                    |kept: &usize| image.iter().skip(*kept).step_by(page).any(|&b| b != 0xFF);
                all.extend(
                    (1..page)
                        .filter(written)
                        .map(|kept| Fault::Cell(Cell::PageCut { page, kept, before })),
                );
            }
        }
        all
    }
}

fn smaller(image: &[u8], chip_size: usize, held: Held) -> Vec<u8> {
    let mut chip = vec![0xFF; chip_size];
    for (address, &byte) in image.iter().enumerate() {
        let cell = &mut chip[address % chip_size];
        match held {
            Held::First if address >= chip_size => {}
            Held::First | Held::Last => *cell = byte,
            Held::All => *cell &= byte,
        }
    }
    (0..image.len())
        .map(|address| chip[address % chip_size])
        .collect()
}
