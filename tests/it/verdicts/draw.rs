//! A case in the making: what was wanted, what else there is, and the chance that decides the rest.

use crate::support::broken::{Chance, Fault, Kind, Length, Phase, World};
use crate::support::contents::{self, Content};

/// What a class of cases draws its faults from, and may change.
pub struct Draw {
    pub chance: Chance,
    pub content: Content,
    /// What was wanted.
    pub wanted: Vec<u8>,
    /// What the chip held before.
    pub old: Vec<u8>,
    /// The chip of another socket.
    pub other: Vec<u8>,
    /// Whether the chip has 16 data lines.
    pub wide: bool,
    /// Whether the judge's engine is told what the chip held.
    pub gives_old: bool,
    /// Whether it is told what the chip of the other socket has.
    pub gives_other: bool,
    /// Whether the fault is in the wanted image and the chip is right.
    pub turned: bool,
}

impl Draw {
    /// `largest` is the most address lines of a chip, 11 at least.
    pub fn new(mut chance: Chance, largest: u32) -> Self {
        let chance_of = &mut chance;
        let content = some_content(contents::Kind::REAL, largest, chance_of);
        let mut draw = Self {
            content,
            wanted: content.bytes(),
            old: Vec::new(),
            other: Vec::new(),
            wide: false,
            gives_old: false,
            gives_other: false,
            turned: false,
            chance,
        };
        draw.other = draw.another();
        draw.old = match draw.chance.once_in(2) {
            true => draw.another(),
            false => {
                let (stretches, seed) = (draw.chance.between(5, 60), draw.seed());
                let version = crate::support::broken::Identity::Version { stretches, seed };
                Fault::Identity(version).read(&draw.wanted)
            }
        };
        draw
    }

    /// The content is one of these kinds.
    pub fn of_kind(&mut self, kinds: &[contents::Kind]) {
        self.content.kind = self.chance.pick(kinds);
        self.wanted = self.content.bytes();
    }

    /// The other chip has nothing in common with this one, neither samples nor blank cells.
    pub fn of_strangers(&mut self) {
        use contents::Kind::{Banks, M6502, M68000, Tables, Text, Z80};
        let kinds = [Banks, M6502, M68000, Tables, Text, Z80];
        self.of_kind(&kinds);
        let (kind, seed) = (self.chance.pick(&kinds), self.seed());
        self.other = Content {
            kind,
            seed,
            ..self.content
        }
        .bytes();
    }

    /// The chip has so many address lines.
    pub fn of_lines(&mut self, lines: u32) {
        self.content.lines = lines;
        self.wanted = self.content.bytes();
        (self.old, self.other) = (self.another(), self.another());
    }

    /// Another chip of the same size.
    fn another(&mut self) -> Vec<u8> {
        let kind = self.chance.pick(&contents::Kind::REAL);
        let seed = self.content.seed ^ 0x5A5A;
        Content {
            kind,
            seed,
            ..self.content
        }
        .bytes()
    }

    pub fn world(&self) -> World<'_> {
        World {
            old: &self.old,
            other: &self.other,
            wide: self.wide,
        }
    }

    pub fn seed(&mut self) -> u64 {
        self.chance.next()
    }

    pub fn size(&self) -> usize {
        self.wanted.len()
    }

    /// Address lines of the chip.
    pub fn lines(&self) -> usize {
        let lines = self.wanted.len().ilog2() as usize;
        if self.wide { lines - 1 } else { lines }
    }

    pub fn data_lines(&self) -> usize {
        if self.wide { 16 } else { 8 }
    }

    /// A place for a block of `length` bytes. Half of them start where programs and buffers do.
    pub fn place(&mut self, length: usize) -> usize {
        let room = self.size() - length;
        let unit = self.chance.pick(&[1, 1, 1, 16, 128, 256]);
        self.chance.below(room / unit + 1) * unit
    }

    /// A length of a block: a power of two or anything, up to a quarter of the chip.
    pub fn length(&mut self) -> usize {
        let most = self.size().ilog2() as usize - 2;
        let power = self.chance.between(4, most);
        match self.chance.once_in(2) {
            true => 1 << power,
            false => self.chance.between(16, 1 << power),
        }
    }

    /// Something wrong with address lines of the chip.
    pub fn address_kind(&mut self) -> Kind {
        let lines = self.lines();
        self.kind(lines)
    }

    pub fn data_kind(&mut self) -> Kind {
        let lines = self.data_lines();
        self.kind(lines)
    }

    fn kind(&mut self, lines: usize) -> Kind {
        let i = self.chance.below(lines);
        let j = (i + self.chance.between(1, lines - 1)) % lines;
        self.chance.pick(&[
            Kind::Low(i),
            Kind::Low(i),
            Kind::High(i),
            Kind::High(i),
            Kind::Inverted(i),
            Kind::Swapped(i, j),
            Kind::WiredAnd(i, j),
            Kind::WiredOr(i, j),
            Kind::Driven(i, j),
        ])
    }

    /// Reading half of the time; a fault that cancels is never there both times.
    pub fn phase(&mut self, kind: Kind) -> Phase {
        match self.chance.once_in(2) || kind.cancels() {
            true => Phase::Reading,
            false => self.chance.pick(&Phase::ALL[1..]),
        }
    }

    /// Only what the program uses is wanted, as an assembler writes it.
    pub fn trim(&mut self) {
        let used = self
            .wanted
            .iter()
            .rposition(|&byte| byte != 0xFF)
            .unwrap_or(0)
            + 1;
        let used = used.max(64).min(self.size() - 1 - self.chance.below(60));
        self.wanted = Fault::Length(Length::Cut(used)).read(&self.wanted);
    }
}

/// A content of one of the kinds; small chips more often than large ones.
pub fn some_content<const N: usize>(
    kinds: [contents::Kind; N],
    largest: u32,
    chance: &mut Chance,
) -> Content {
    let spread = (largest - 11) as usize + 1;
    let within = 1 + chance.below(spread);
    Content {
        kind: chance.pick(&kinds),
        lines: 11 + chance.below(within) as u32,
        seed: chance.next() >> 16,
    }
}
