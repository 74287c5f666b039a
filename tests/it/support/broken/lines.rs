//! Lines that are stuck, swapped or shorted, while a chip is burned, read, or both.

/// What a cell does when it is written a second time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cells {
    /// As in an EEPROM: the later value replaces the earlier.
    Overwrites,
    /// As in an EPROM: bits only go from 1 to 0.
    OnlyClears,
}

/// When the fault was there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Phase {
    /// Burned well, read through the fault.
    Reading,
    /// Burned through the fault, read well.
    Burning(Cells),
    /// Burned and read through the fault.
    Both(Cells),
}

impl Phase {
    pub const ALL: [Phase; 5] = [
        Phase::Reading,
        Phase::Burning(Cells::Overwrites),
        Phase::Burning(Cells::OnlyClears),
        Phase::Both(Cells::Overwrites),
        Phase::Both(Cells::OnlyClears),
    ];
}

/// What is wrong with one line or two, of the address or of the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Always 0.
    Low(usize),
    /// Always 1.
    High(usize),
    /// The other level than meant.
    Inverted(usize),
    /// Each carries the other's level.
    Swapped(usize, usize),
    /// Joined, a 0 wins.
    WiredAnd(usize, usize),
    /// Joined, a 1 wins.
    WiredOr(usize, usize),
    /// Joined, the first line's driver wins.
    Driven(usize, usize),
}

impl Kind {
    /// Every fault of every kind on `lines` lines.
    pub fn all(lines: usize) -> Vec<Kind> {
        let mut all = Vec::new();
        for i in 0..lines {
            all.extend([Kind::Low(i), Kind::High(i), Kind::Inverted(i)]);
            for j in i + 1..lines {
                all.extend([
                    Kind::Swapped(i, j),
                    Kind::WiredAnd(i, j),
                    Kind::WiredOr(i, j),
                    Kind::Driven(i, j),
                    Kind::Driven(j, i),
                ]);
            }
        }
        all
    }

    /// The levels after the fault, when these are before it; bit i is line i.
    pub fn through(self, levels: usize) -> usize {
        let level = |line: usize| levels >> line & 1;
        let with = |levels: usize, line: usize, level: usize| {
            if level == 1 {
                levels | 1 << line
            } else {
                levels & !(1 << line)
            }
        };
        let both = |i: usize, j: usize, level: usize| with(with(levels, i, level), j, level);
        match self {
            Kind::Low(i) => with(levels, i, 0),
            Kind::High(i) => with(levels, i, 1),
            Kind::Inverted(i) => with(levels, i, 1 - level(i)),
            Kind::Swapped(i, j) => with(with(levels, i, level(j)), j, level(i)),
            Kind::WiredAnd(i, j) => both(i, j, level(i) & level(j)),
            Kind::WiredOr(i, j) => both(i, j, level(i) | level(j)),
            Kind::Driven(winner, loser) => with(levels, loser, level(winner)),
        }
    }

    /// Whether it only moves levels about, so that burning and reading through it cancel.
    pub fn cancels(self) -> bool {
        matches!(self, Kind::Inverted(_) | Kind::Swapped(..))
    }
}

/// Faults of the lines, one after the other as seen from the programmer.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Lines {
    pub address: Vec<Kind>,
    pub phase: Phase,
    pub data: Vec<Kind>,
}

impl Lines {
    /// What is read from a chip of 8 data lines when `image` was meant.
    pub fn read(&self, image: &[u8]) -> Vec<u8> {
        let cells: Vec<usize> = image.iter().map(|&byte| byte.into()).collect();
        let read = self.read_cells(&cells, 0xFF);
        read.into_iter().map(|cell| cell as u8).collect()
    }

    /// The same of a chip of 16 data lines; D0 to D7 are the first byte of each two.
    pub fn read_wide(&self, image: &[u8]) -> Vec<u8> {
        let cells: Vec<usize> = image
            .chunks_exact(2)
            .map(|word| usize::from(word[0]) | usize::from(word[1]) << 8)
            .collect();
        let read = self.read_cells(&cells, 0xFFFF);
        read.into_iter()
            .flat_map(|cell| [cell as u8, (cell >> 8) as u8])
            .collect()
    }

    fn read_cells(&self, image: &[usize], erased: usize) -> Vec<usize> {
        let at = |address: usize| self.address.iter().fold(address, |a, kind| kind.through(a));
        let none = |address: usize| address;
        let read = match self.phase {
            Phase::Reading => read_out(image, at),
            Phase::Burning(cells) => read_out(&burn(image, erased, cells, at), none),
            Phase::Both(cells) => read_out(&burn(image, erased, cells, at), at),
        };
        let data = |levels: usize| self.data.iter().fold(levels, |d, kind| kind.through(d));
        read.into_iter().map(data).collect()
    }
}

fn burn(image: &[usize], erased: usize, cells: Cells, at: impl Fn(usize) -> usize) -> Vec<usize> {
    let mut chip = vec![erased; image.len()];
    for (address, &meant) in image.iter().enumerate() {
        let cell = &mut chip[at(address)];
        *cell = match cells {
            Cells::Overwrites => meant,
            Cells::OnlyClears => *cell & meant,
        };
    }
    chip
}

fn read_out(chip: &[usize], at: impl Fn(usize) -> usize) -> Vec<usize> {
    (0..chip.len()).map(|address| chip[at(address)]).collect()
}
