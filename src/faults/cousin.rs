//! A chip in a reader that is set for another part with as many pins: what is read, according to the two pin tables.

use crate::parts::{Arrives, Contacts, Gate, Part, seen_in};

/// Levels that the tables don't say: with more of them, there are so many ways of reading the chip that they mean nothing.
const MOST_UNKNOWN: u32 = 4;

/// What a reader drives, or an open data line, when no chip answers (common practice).
const OPEN: u8 = 0xFF;

/// A way in which a chip is read through pins meant for another part, and the parts of which that is so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cousin {
    /// The parts that are read alike, by name, in the table's order.
    pub parts: Vec<String>,
    /// How.
    pub way: Way,
}

/// Where each byte of a read comes from, with every level known.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Way {
    /// For each address line of the chip, from A0 up, what arrives there.
    address: Vec<Gets>,
    /// For each data line of the reader, from D0 up, the chip's line that it shows; `None`: open, reads 1.
    data: [Option<u8>; 8],
    answers: Answers,
    /// Address lines of the reader.
    lines: u8,
}

/// What an address line of the chip gets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Gets {
    /// An address line of the reader.
    Line(u8),
    /// One level throughout.
    Level(bool),
}

/// When the chip answers; otherwise FF is read.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Answers {
    /// At no address.
    Never,
    /// While each of these address lines of the reader is at its level, `true` for 1; none of them: always.
    While(Vec<(u8, bool)>),
}

/// The ways of reading a chip of `chip_bytes` bytes that is not the part the reader is set for, over all `parts` with as
/// many pins. Ways that read the chip as a right part would are left out, from address 0 up, repeated where the reader has
/// more lines. Ways that are the same are one, with all the parts.
///
/// Parts of 8 bits only; no way where the table has not the pins, or where they tell nothing (see [`seen_in`]).
///
/// ```
/// use romloom::faults::cousin::cousins_of;
/// use romloom::parts;
///
/// // A 2532 in a reader that is set for a 2732: it shows its lower half twice.
/// let chip: Vec<u8> = (0..4096).map(|a| (a >> 4) as u8).collect();
/// let cousins = cousins_of(parts::find("2732")?, chip.len(), parts::all());
/// let cousin = cousins.iter().find(|cousin| cousin.parts.contains(&"2532".to_owned()));
/// let read = cousin.expect("the table has both").way.read(&chip);
/// assert_eq!(read, [&chip[..2048], &chip[..2048]].concat());
/// # Ok::<(), parts::UnknownPart>(())
/// ```
pub fn cousins_of<'a>(
    reader: &Part,
    chip_bytes: usize,
    parts: impl IntoIterator<Item = &'a Part>,
) -> Vec<Cousin> {
    let mut cousins: Vec<Cousin> = Vec::new();
    let parts = parts.into_iter();
    for part in parts.filter(|part| part.pins == reader.pins && part.bytes() == chip_bytes as u64) {
        for way in Way::all(reader, part) {
            if way.is_plain() {
                continue;
            }
            match cousins.iter_mut().find(|cousin| cousin.way == way) {
                Some(cousin) if cousin.parts.contains(&part.name) => {}
                Some(cousin) => cousin.parts.push(part.name.clone()),
                None => cousins.push(Cousin {
                    parts: vec![part.name.clone()],
                    way,
                }),
            }
        }
    }
    cousins
}

impl Way {
    /// Every way in which a reader set for `reader` may read `chip`: one for each setting of the levels that the tables
    /// don't say, each once, at most 16. None where the tables tell nothing, and where there would be more.
    pub fn all(reader: &Part, chip: &Part) -> Vec<Way> {
        let mut ways: Vec<Way> = Vec::new();
        let seen = match seen_in(reader, chip) {
            Some(seen) if (reader.width, chip.width) == (8, 8) => seen,
            _ => return ways,
        };
        let unknown = Way::of(&seen, reader, &mut Settings { levels: 0, used: 0 }).1;
        if unknown > MOST_UNKNOWN {
            return ways;
        }
        for levels in 0..1 << unknown {
            let (way, _) = Way::of(&seen, reader, &mut Settings { levels, used: 0 });
            if !ways.contains(&way) {
                ways.push(way);
            }
        }
        ways
    }

    /// The way for one setting of the unknown levels, and how many there are.
    fn of(seen: &Contacts, reader: &Part, settings: &mut Settings) -> (Way, u32) {
        let answers = Answers::of(&seen.gates, settings);
        let level = |arrives: &Arrives| match *arrives {
            Arrives::Line(line) => Gets::Line(line),
            Arrives::Low => Gets::Level(false),
            Arrives::High => Gets::Level(true),
            Arrives::Unknown => Gets::Level(settings.next()),
        };
        let mut way = Way {
            address: seen.address.iter().map(level).collect(),
            data: std::array::from_fn(|line| seen.data.get(line).copied().flatten()),
            answers,
            lines: reader.address_lines(),
        };
        if way.answers == Answers::Never {
            // Then nothing else can be read.
            way.address.fill(Gets::Level(false));
            way.data = [None; 8];
        }
        (way, settings.used)
    }

    /// For each address line of the chip, from A0 up, what arrives there.
    pub fn address(&self) -> &[Gets] {
        &self.address
    }

    /// For each data line of the reader, from D0 up, the chip's line that it shows; `None`: it is open, and reads 1.
    pub fn data(&self) -> &[Option<u8>; 8] {
        &self.data
    }

    /// When the chip answers.
    pub fn answers(&self) -> &Answers {
        &self.answers
    }

    /// Whether a chip is read so by a reader that is set for it: line by line, a line that only the chip has at 0.
    fn is_plain(&self) -> bool {
        let plain = |line: u8| match line < self.lines {
            true => Gets::Line(line),
            false => Gets::Level(false),
        };
        self.answers == Answers::While(Vec::new())
            && (0..)
                .zip(&self.address)
                .all(|(line, level)| *level == plain(line))
            && (0..)
                .zip(&self.data)
                .all(|(line, data)| *data == Some(line))
    }

    /// What is read from a chip with these bytes, over the whole of the reader's part. FF where the chip does not answer,
    /// and above its bytes.
    pub fn read(&self, chip: &[u8]) -> Vec<u8> {
        let bytes: [u8; 256] = std::array::from_fn(|byte| self.shown(byte as u8));
        let fixed = |(line, level): (u32, &Gets)| match level {
            Gets::Level(true) => 1 << line,
            _ => 0,
        };
        let base: usize = (0..).zip(&self.address).map(fixed).sum();
        let (mask, wanted) = match &self.answers {
            Answers::Never => return vec![OPEN; 1 << self.lines],
            Answers::While(levels) => {
                levels
                    .iter()
                    .fold((0, 0), |(mask, wanted), &(line, level)| {
                        (mask | 1 << line, wanted | usize::from(level) << line)
                    })
            }
        };
        // Each address line of the reader adds its own bits to the chip's address, so two short tables serve for all.
        let (few, rest) = (self.lines / 2, self.lines - self.lines / 2);
        let (low, high) = (self.lands(0, few), self.lands(few, rest));
        let of = |address: usize| {
            let at = base + low[address % low.len()] + high[address / low.len()];
            match chip.get(at) {
                Some(&byte) if address & mask == wanted => bytes[usize::from(byte)],
                _ => OPEN,
            }
        };
        (0..1 << self.lines).map(of).collect()
    }

    /// What `count` lines of the reader from `first` up add to the chip's address, for each of their settings.
    fn lands(&self, first: u8, count: u8) -> Vec<usize> {
        let bit = |setting: usize, level: &Gets| match level {
            Gets::Line(line) if (first..first + count).contains(line) => {
                setting >> (line - first) & 1
            }
            _ => 0,
        };
        let lands = |setting| {
            let lines = (0..).zip(&self.address);
            lines
                .map(|(to, level): (u32, _)| bit(setting, level) << to)
                .sum()
        };
        (0..1 << count).map(lands).collect()
    }

    /// What the reader shows of a byte that the chip drives.
    fn shown(&self, byte: u8) -> u8 {
        let line = |(to, from): (u32, &Option<u8>)| match from {
            Some(line) => (byte >> line & 1) << to,
            None => 1 << to,
        };
        (0..).zip(&self.data).map(line).sum()
    }
}

impl Answers {
    fn of(gates: &[Gate], settings: &mut Settings) -> Answers {
        let mut lines: Vec<(u8, bool)> = Vec::new();
        let (mut never, mut perhaps) = (false, false);
        for gate in gates {
            match (gate.arrives, gate.active) {
                (Arrives::Line(line), active) => {
                    lines.push((line, active.unwrap_or_else(|| settings.next())));
                }
                (Arrives::Low, Some(active)) => never |= active,
                (Arrives::High, Some(active)) => never |= !active,
                (Arrives::Low | Arrives::High, None) | (Arrives::Unknown, _) => perhaps = true,
            }
        }
        // Of pins at levels that never change one setting alone matters: all of them select the chip, or not.
        never |= perhaps && settings.next();
        lines.sort_unstable();
        lines.dedup();
        let contradict = lines.windows(2).any(|pair| pair[0].0 == pair[1].0);
        match never || contradict {
            true => Answers::Never,
            false => Answers::While(lines),
        }
    }
}

/// One setting of all levels that the tables don't say, handed out one after another.
struct Settings {
    levels: u32,
    used: u32,
}

impl Settings {
    fn next(&mut self) -> bool {
        let level = self.levels.checked_shr(self.used).unwrap_or(0) & 1 == 1;
        self.used += 1;
        level
    }
}

#[cfg(test)]
mod tests;
